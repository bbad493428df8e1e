"""Integrate the exact probability of the displays over the cells by points, none drawn at random.

In each cell the unknowns beside the grid follow the fit as a normal distribution cut off at the
walls of their box. Its points come one coordinate after the other (the GHK scheme), from one
low-discrepancy sequence, and each point is weighted by the exact probability of the displays over
the density it came from. The sum of the weights is the probability of the readings under the
hypothesis.

Sources: V. Hajivassiliou and P. Ruud, Handbook of Econometrics IV (1994), chapter 40, for the
scheme; the additive recurrence with powers of the generalised golden ratio for the sequence (both
from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri

from cablesim.cable.numbers import FloatArray
from cablesim.locate.explore import Asking, Cells
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns

__all__ = ["Points", "integrate"]

# Points in all by the number of places, and at least in each cell that holds any mass.
POINTS = {0: 16384, 1: 16384, 2: 4096}
LEAST_IN_CELL = 24
# The proposal is a little wider than the fit, so that no corner of the even errors is missed.
_WIDER = 1.25
_LEAST_MASS = 1e-12


@dataclass(frozen=True, slots=True)
class Points:
    """Weighted points of the posterior of one hypothesis.

    Parameters
    ----------
    z : ndarray, shape (points, size)
        Points of the unit cube.
    weight : ndarray, shape (points,)
        They sum to the probability of the readings under the hypothesis.
    """

    z: FloatArray
    weight: FloatArray

    @property
    def evidence(self) -> float:
        """Probability of the readings under the hypothesis."""
        return float(self.weight.sum())


def integrate(unknowns: Unknowns, displays: Displays, cells: Cells) -> Asking[Points]:
    """Weighted points over all cells.

    Parameters
    ----------
    unknowns, displays
        As for `explore`.
    cells
        From `explore`.

    Yields
    ------
    ndarray, shape (points, size)
        Points of the cube; to be sent `Unknowns.exact` there.

    Returns
    -------
    Points
        The posterior of the hypothesis.
    """
    count, in_all = len(cells.low), POINTS[unknowns.places]
    few = np.full(count, LEAST_IN_CELL if count > 1 else in_all // 8)
    pilot = yield from _drawn(unknowns, displays, cells, few)
    mass = np.bincount(np.repeat(np.arange(count), few), pilot.weight, count)
    if mass.sum() == 0.0 or count == 1:
        return pilot
    # Most of the points go where the mass is; the square root keeps the outskirts honest.
    share = np.sqrt(mass / mass.sum())
    most = np.maximum(in_all * share / share.sum(), LEAST_IN_CELL * (share > 0)).astype(int)
    return (yield from _drawn(unknowns, displays, cells, most))


def _drawn(
    unknowns: Unknowns, displays: Displays, cells: Cells, points: NDArray[np.int64]
) -> Asking[Points]:
    """Weighted points, so many in each cell."""
    cell = np.repeat(np.arange(len(points)), points)
    others, grid = cells.fit.shape[1], unknowns.grid
    # One long sequence: neighbouring cells get different points, so their errors average out.
    even = _sequence(len(cell), grid + others)
    z = np.empty_like(even)
    z[:, :grid] = cells.low[cell] + even[:, :grid] * (cells.high - cells.low)[cell]
    offset = z[:, :grid] - cells.middle[cell]
    centre = cells.fit[cell] + np.einsum("pwk,pk->pw", cells.drift[cell], offset)
    root = (_WIDER * _root_covariance(cells.precision))[cell]
    density = np.ones(len(cell))
    drawn = np.zeros((len(cell), others))
    for k in range(others):
        middle = np.clip(centre[:, k], 0.0, 1.0)
        middle = middle + np.einsum("pj,pj->p", root[:, k, :k], drawn[:, :k])
        value, proposed = _cut_normal(middle, root[:, k, k], even[:, grid + k])
        drawn[:, k] = (value - middle) / root[:, k, k]
        z[:, grid + k] = value
        density *= proposed
    probability = displays.probability(unknowns.indicated(z, (yield z)))
    share = (cells.volume / np.maximum(points, 1))[cell]
    return Points(z, probability * share / density)


def _cut_normal(
    middle: FloatArray, scale: FloatArray, even: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Map even numbers to a normal distribution cut off at 0 and 1.

    Returns the values and the density they have, infinite where hardly any of the normal lies in
    the box and its points stand for nothing.
    """
    # Work in the tail that is exact: mirror where the box lies above the middle.
    mirror = np.where(middle < 0.5, -1.0, 1.0)
    first, last = (0.0 - middle) / scale, (1.0 - middle) / scale
    lower = ndtr(np.where(mirror > 0, first, -last))
    mass = np.maximum(ndtr(np.where(mirror > 0, last, -first)) - lower, 1e-300)
    normal = mirror * ndtri(np.clip(lower + even * mass, 1e-300, 1 - 1e-16))
    normal = np.clip(normal, first, last)
    density = np.exp(-(normal**2) / 2) / (np.sqrt(2 * np.pi) * scale * mass)
    density[mass < _LEAST_MASS] = np.inf
    return np.clip(middle + normal * scale, 0.0, 1.0), density


def _root_covariance(precision: FloatArray) -> FloatArray:
    """Lower triangular roots of the covariances."""
    return np.linalg.cholesky(np.linalg.inv(precision))


def _sequence(points: int, size: int) -> FloatArray:
    """Evenly spread points of the open unit cube, shape (points, size)."""
    ratio = 2.0
    for _ in range(64):
        ratio = (1.0 + ratio) ** (1.0 / (size + 1))
    steps = ratio ** -np.arange(1.0, size + 1)
    return (0.5 + np.arange(1, points + 1)[:, None] * steps) % 1.0
