"""The lumped ladder: an independent second formulation, exact as its rungs grow in number.

Each uniform piece becomes N equal rungs, each a lumped series resistance with half its leakage at
either end. The rungs are folded from one end with plain arrays: no power series, no graph. It is
the oracle for the exact piece and the source of benchmark data; its error falls with the square of
N, so two sizes extrapolate to the fourth order.

Folding eliminates node by node in the form that never subtracts (the diagonal is the sum of what
leaves a node), after W. K. Grassmann, M. I. Taksar and D. P. Heyman, Operations Research 33 (1985)
1107-1116 (from memory).
"""

from __future__ import annotations

from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cablesim.line.layout import MeshMaker
from cablesim.line.piece import Mesh
from cablesim.line.reduction import Admittance

__all__ = ["extrapolated", "ladder"]

_LEAST_LENGTH_M = 1e-18


def ladder(rungs: int) -> MeshMaker:
    """A maker of lumped pieces, to be given to `terminal_network` as ``mesh_of``.

    Parameters
    ----------
    rungs
        Number of equal rungs in every uniform piece, at least 1.
    """
    return partial(_lumped_piece, rungs)


def extrapolated(coarse: Admittance, fine: Admittance) -> Admittance:
    """Limit of two ladder results, the fine one with twice the rungs (Richardson, second order)."""
    return fine + (fine - coarse) / 3.0


def _lumped_piece(
    rungs: int,
    series_ohm_per_m: list[Admittance],
    leak_siemens_per_m: dict[tuple[int, int], Admittance],
    length_m: Admittance,
) -> Mesh:
    count = len(series_ohm_per_m)
    step_m = np.maximum(length_m, _LEAST_LENGTH_M) / rungs
    shape = np.broadcast_shapes(
        np.shape(step_m),
        *(np.shape(v) for v in series_ohm_per_m),
        *(np.shape(v) for v in leak_siemens_per_m.values()),
    )
    kind = np.result_type(*series_ohm_per_m, *leak_siemens_per_m.values(), float)
    # Off-diagonal conductances between 3 sets of conductors: the fixed near end, the last rung, the
    # next rung.
    mesh = np.zeros((3 * count, 3 * count, *shape), kind)
    near, last, new = (slice(k * count, (k + 1) * count) for k in range(3))
    half = _half_leak(leak_siemens_per_m, step_m, count, shape, kind)
    for i in range(count):
        _put(mesh, i, count + i, 1.0 / (series_ohm_per_m[i] * step_m))
    mesh[near, near] += half
    mesh[last, last] += half
    for _ in range(rungs - 1):
        mesh[last, last] += half
        for i in range(count):
            _put(mesh, count + i, 2 * count + i, 1.0 / (series_ohm_per_m[i] * step_m))
        mesh[new, new] += half
        for node in range(count, 2 * count):
            _fold(mesh, node)
        mesh[near, last], mesh[last, near] = mesh[near, new].copy(), mesh[new, near].copy()
        mesh[last, last] = mesh[new, new].copy()
        mesh[new], mesh[:, new] = 0.0, 0.0
    pairs = [(i, j) for i in range(count) for j in range(i, count)]
    through = {(i, j): mesh[i, count + j] for i, j in pairs}
    # Either end holds the same conductances by symmetry of the piece.
    across = {(i, j): mesh[i, j] for i, j in pairs if i < j}
    return Mesh(through, across)


def _half_leak(
    leak: dict[tuple[int, int], Admittance],
    step_m: Admittance,
    count: int,
    shape: tuple[int, ...],
    kind: np.dtype[Any],
) -> NDArray[Any]:
    half = np.zeros((count, count, *shape), kind)
    for (i, j), siemens in leak.items():
        half[i, j] = half[j, i] = siemens * step_m / 2
    return half


def _put(mesh: NDArray[Any], u: int, v: int, siemens: Admittance) -> None:
    mesh[u, v] = mesh[v, u] = siemens


def _fold(mesh: NDArray[Any], node: int) -> None:
    """Eliminate one node: what left through it now goes straight, in proportion."""
    leaving = mesh[node].copy()
    total = leaving.sum(axis=0) + 1e-300
    mesh[node], mesh[:, node] = 0.0, 0.0
    mesh += leaving[:, None] * (leaving / total)[None, :]
    for i in range(len(mesh)):
        mesh[i, i] = 0.0
