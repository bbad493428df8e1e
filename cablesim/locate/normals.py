"""In each cell a normal distribution of all unknowns: what the integral draws its points from."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import FloatArray
from cablesim.locate.cells import CellArrays
from cablesim.locate.explore import MISFIT_WINDOW, Cells
from cablesim.locate.fitting import Asking, Exact, descended
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns

__all__ = ["Normals", "cut", "root_covariance", "settled", "solved"]

# Steps of the fit of all unknowns inside a cell, and of that of a point's pivots.
_SETTLING, _SOLVING = 4, 2
# Steps where the fit ends too far off to keep, though the cell may hold what is near.
_AT_LENGTH = 20
# Keeps a precision positive where rounding would not, as a share of its diagonal.
_RIDGE = 1e-12


@dataclass(frozen=True, slots=True)
class Normals(CellArrays):
    """In each cell a normal distribution of all unknowns around the best fit inside its walls.

    Parameters
    ----------
    low, high : ndarray, shape (cells, size)
        Walls: of the cell, and of the cube for what is not in the grid.
    best : ndarray, shape (cells, size)
        Best fit between them.
    precision : ndarray, shape (cells, size, size)
        Inverse covariance.
    misfit : ndarray, shape (cells,)
        Sum of squares at the best fit.
    """

    low: FloatArray
    high: FloatArray
    best: FloatArray
    precision: FloatArray
    misfit: FloatArray


def solved(
    unknowns: Unknowns,
    displays: Displays,
    z: FloatArray,
    low: FloatArray,
    high: FloatArray,
    pivots: NDArray[np.bool_],
) -> Asking[tuple[FloatArray, FloatArray]]:
    """Fit some coordinates of the grid at each point, all others held.

    Parameters
    ----------
    unknowns, displays
        As for `explore`.
    z : ndarray, shape (points, size)
        Where to begin.
    low, high : ndarray, shape (points, size)
        Walls.
    pivots : ndarray, shape (points, grid)
        Which coordinates are fitted.

    Returns
    -------
    z : ndarray, shape (points, size)
        The fits.
    precision : ndarray, shape (points, grid, grid)
        Inverse covariance of the fitted coordinates there; the unit matrix for the others.
    """
    grid = unknowns.grid
    walls = z.copy(), z.copy()
    for wall, limit in zip(walls, (low, high), strict=True):
        wall[:, :grid] = np.where(pivots, limit[:, :grid], z[:, :grid])
    found = yield from descended(unknowns, displays, z, walls, _SOLVING, grid)
    along = found.jacobian * pivots[:, None, :]
    precision = np.swapaxes(along, 1, 2) @ along
    precision[:, np.arange(grid), np.arange(grid)] += np.where(pivots, 0.0, 1.0)
    return found.z, precision


def settled(
    unknowns: Unknowns, displays: Displays, cells: Cells, hopeless: float
) -> Asking[Normals]:
    """The best fit of all unknowns inside each cell, and how the misfit grows around it.

    Parameters
    ----------
    unknowns, displays
        As for `explore`.
    cells
        From `explore`.
    hopeless
        Sum of squares above which a hypothesis cannot have shown the readings.
    """
    found = yield from _settled(unknowns, displays, cells, _SETTLING)
    # A fit from the middle of a wide cell may take many steps to the wall where the mass lies.
    promising = cells.surely_misfit <= hopeless
    if found.misfit.min() > hopeless and promising.any():
        found = yield from _settled(unknowns, displays, cells.take(promising), _AT_LENGTH)
    return found.take(found.misfit - found.misfit.min() < MISFIT_WINDOW)


def _settled(unknowns: Unknowns, displays: Displays, cells: Cells, steps: int) -> Asking[Normals]:
    fit = cells.fit
    low = np.concatenate([cells.low, np.zeros_like(fit)], axis=1)
    high = np.concatenate([cells.high, np.ones_like(fit)], axis=1)
    start = np.concatenate([cells.middle, fit], axis=1)
    return (yield from _normals(unknowns, displays, start, low, high, steps, cells.exact))


def cut(unknowns: Unknowns, displays: Displays, cells: Normals) -> Asking[Normals]:
    """Cut each cell in two where its normal distribution is most likely to be wrong.

    Parameters
    ----------
    unknowns, displays
        As for `explore`.
    cells
        From `settled`.
    """
    grid, rows = unknowns.grid, np.arange(len(cells.low))
    alone = np.sqrt(np.einsum("nkk->nk", cells.precision))[:, :grid]
    spread = np.linalg.norm(root_covariance(cells.precision), axis=2)[:, :grid]
    low, high, best = cells.low[:, :grid], cells.high[:, :grid], cells.best[:, :grid]
    # The side along which the misfit changes most where the mass is.
    side = (np.minimum(high - low, 4 * spread) * alone).argmax(axis=1)
    low, high, best, spread = (values[rows, side] for values in (low, high, best, spread))
    # Through the best fit, or where that lies at a wall at a distance from it.
    away = np.minimum(1.5 * spread, (high - low) / 2)
    near = np.minimum(0.2 * (high - low), 0.5 * spread)
    at = np.where(best - low < near, low + away, np.where(high - best < near, high - away, best))
    first, second = cells.high.copy(), cells.low.copy()
    first[rows, side] = at
    second[rows, side] = at
    low, high = np.concatenate([cells.low, second]), np.concatenate([first, cells.high])
    start = np.clip(np.concatenate([cells.best, cells.best]), low, high)
    return (yield from _normals(unknowns, displays, start, low, high, _SETTLING))


def root_covariance(precision: FloatArray) -> FloatArray:
    """Lower triangular roots of covariances, without inverting what is nearly singular.

    Parameters
    ----------
    precision : ndarray, shape (cells, size, size)
        Inverse covariances.

    Returns
    -------
    ndarray, shape (cells, size, size)
        Each times its transpose is the covariance.
    """
    size = np.sqrt(np.einsum("nkk->nk", precision))
    scaled = precision / size[:, :, None] / size[:, None, :]
    diagonal = np.einsum("nkk->nk", scaled)
    diagonal += _RIDGE
    # From the last coordinate to the first, the root of the precision is an upper triangle, and the
    # inverse of its transpose is the root that is asked for.
    upper = np.linalg.cholesky(scaled[:, ::-1, ::-1])[:, ::-1, ::-1]
    return np.asarray(np.linalg.inv(np.swapaxes(upper, 1, 2)) / size[:, :, None])


def _normals(
    unknowns: Unknowns,
    displays: Displays,
    start: FloatArray,
    low: FloatArray,
    high: FloatArray,
    steps: int,
    exact: Exact | None = None,
) -> Asking[Normals]:
    walls = low, high
    found = yield from descended(unknowns, displays, start, walls, steps, exact=exact)
    # Where a meter gives up there is an edge, not a slope: it moves the fit, but within it the
    # distribution is as wide as without it.
    smooth = found.jacobian.copy()
    smooth[:, displays.edges] = 0.0
    precision = np.swapaxes(smooth, 1, 2) @ smooth
    readings_and_priors = found.residual.shape[1] - unknowns.grid
    misfit = np.sum(found.residual[:, :readings_and_priors] ** 2, axis=1)
    return Normals(low, high, found.z, precision, np.asarray(misfit))
