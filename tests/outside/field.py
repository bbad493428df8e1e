"""The field of round conductors in a round screen, by charges on all surfaces.

Nothing here is shared with the product: no images and no multipoles. Every surface carries charges
at equal steps, the screen as well; their potentials are those of free space, and how large they are
follows from the potentials that the surfaces must have.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

VACUUM_PF_PER_M = 8.8541878128


def capacitances(
    circles: Sequence[tuple[float, float]], screen_radius: float, points: int
) -> np.ndarray:
    """Charge on each conductor [pF/m of vacuum] for each one at 1 V, the screen at 0.

    ``circles`` are the centres on the x axis and the radii of the conductors.
    """
    turn = np.exp(2j * np.pi * (np.arange(points) + 0.5) / points)
    all_circles = [*circles, (0.0, screen_radius)]
    # Curved most, charged most unevenly: equal numbers of points on small and large circles.
    where = np.concatenate([centre + radius * turn for centre, radius in all_circles])
    size = len(where)
    with np.errstate(divide="ignore"):
        table = -np.log(np.abs(where[:, None] - where[None, :]))
    # What a point on a circle contributes to itself: then a uniform charge gives -ln(radius)
    # exactly, since the product of the distances from one of n points to the others is n r^(n-1).
    own = np.concatenate([np.full(points, -np.log(radius / points)) for _, radius in all_circles])
    np.fill_diagonal(table, own)
    # All charges together are none, and the potential has a free constant.
    full = np.ones((size + 1, size + 1))
    full[:size, :size] = table
    full[size, size] = 0.0
    wanted = np.zeros((size + 1, len(circles)))
    for k in range(len(circles)):
        wanted[k * points : (k + 1) * points, k] = 1.0
    charges = np.linalg.solve(full, wanted)[:size]
    per_circle = charges.reshape(len(all_circles), points, len(circles)).sum(axis=1)
    return 2 * np.pi * VACUUM_PF_PER_M * per_circle[:-1]


def twin_by_charges(
    core_diameter: float, core_spacing: float, screen_diameter: float, points: int = 100
) -> tuple[float, float]:
    """Core to braid and core to core [pF/m] in vacuum, from three sizes extrapolated."""
    circles = [(side * core_spacing / 2, core_diameter / 2) for side in (-1.0, 1.0)]
    one, two, four = (capacitances(circles, screen_diameter / 2, points * k) for k in (1, 2, 4))
    # The error falls with the third power of the step, and what is left of it with the fifth.
    first, second = two + (two - one) / 7, four + (four - two) / 7
    best = second + (second - first) / 31
    return float(best[0, 0] + best[0, 1]), float(-best[0, 1])
