"""Two insulated cores in a braid with air in the gaps: what one insulation throughout is off by.

A plain finite-difference solution on squares over a quarter of the cross-section; permittivities
may differ from place to place, which nothing in the product allows for. Round boundaries become
stairs, so it is good to a per cent.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import spsolve

from cablesim.cable.screened import twin

VACUUM_PF_PER_M = 8.8541878128
CORE_MM = 0.75


@dataclass(frozen=True)
class Row:
    """One cable: with one insulation throughout, and with air where cores and braid leave gaps."""

    insulation_mm: float
    permittivity: float
    filled_pf_per_m: tuple[float, float]  # core to braid, core to core
    gaps_pf_per_m: tuple[float, float]


def rows(points: int = 240) -> list[Row]:
    found = []
    for insulation_mm in (0.4, 0.8, 1.2):
        for permittivity in (2.4, 5.0):
            spacing = CORE_MM + 2 * insulation_mm
            filled = twin(CORE_MM, spacing, 2 * spacing, permittivity)
            found.append(
                Row(
                    insulation_mm,
                    permittivity,
                    (filled.core_braid_pf_per_m, filled.core_core_pf_per_m),
                    partial(insulation_mm, permittivity, 1.0, points),
                )
            )
    return found


def partial(
    insulation_mm: float, permittivity: float, between: float, points: int
) -> tuple[float, float]:
    """Core to braid and core to core [pF/m], with another permittivity in the gaps."""
    spacing = CORE_MM + 2 * insulation_mm
    alike, opposite = (
        _charge(CORE_MM, spacing, permittivity, between, points, odd) for odd in (False, True)
    )
    return alike, (opposite - alike) / 2


def _charge(
    core: float, spacing: float, permittivity: float, between: float, points: int, odd: bool
) -> float:
    """Charge of the core on the right at 1 V, the other at 1 V or, where odd, at -1 V."""
    screen_radius = spacing
    step = screen_radius / points
    # Middles of squares; what lies beyond the axes mirrors what lies before them.
    x, y = np.meshgrid(*[(np.arange(points + 1) + 0.5) * step] * 2, indexing="ij")
    off = np.hypot(x - spacing / 2, y)
    eps = np.where(off < spacing / 2, permittivity, between)
    volt = np.full(x.shape, np.nan)
    volt[np.hypot(x, y) >= screen_radius] = 0.0
    volt[off <= core / 2] = 1.0
    free = np.isnan(volt)
    number = np.full(x.shape, -1)
    number[free] = np.arange(free.sum())
    size = int(free.sum())
    entries: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
    own, right = np.zeros(size), np.zeros(size)
    for axis in (0, 1):
        for one, other in ((slice(None, -1), slice(1, None)), (slice(1, None), slice(None, -1))):
            here = tuple(one if k == axis else slice(None) for k in (0, 1))
            there = tuple(other if k == axis else slice(None) for k in (0, 1))
            link = 2 * eps[here] * eps[there] / (eps[here] + eps[there])
            inside = free[here]
            row, siemens = number[here][inside], link[inside]
            np.add.at(own, row, siemens)
            column, fixed = number[there][inside], volt[there][inside]
            inner = column >= 0
            entries.append((row[inner], column[inner], -siemens[inner]))
            np.add.at(right, row[~inner], siemens[~inner] * fixed[~inner])
    if odd:
        # The plane between the cores is at 0 V, half a step from the first squares.
        first = number[0][number[0] >= 0]
        np.add.at(own, first, 2 * eps[0][number[0] >= 0])
    entries.append((np.arange(size), np.arange(size), own))
    row, column, value = (np.concatenate(part) for part in zip(*entries, strict=True))
    volt[free] = spsolve(coo_matrix((value, (row, column)), (size, size)).tocsr(), right)
    # Charge is what leaves the squares of the core's metal; the quarter holds half of it.
    charge, metal = 0.0, off <= core / 2
    for axis in (0, 1):
        one = tuple(slice(None, -1) if k == axis else slice(None) for k in (0, 1))
        other = tuple(slice(1, None) if k == axis else slice(None) for k in (0, 1))
        link = 2 * eps[one] * eps[other] / (eps[one] + eps[other])
        across = metal[one] != metal[other]
        charge += float(np.sum(np.abs(volt[one] - volt[other])[across] * link[across]))
    return 2 * VACUUM_PF_PER_M * charge
