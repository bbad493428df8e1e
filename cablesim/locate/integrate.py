"""Integrate the exact probability of the displays over the cells by points, none drawn at random.

In each cell the misfit is nearly a sum of squares, so the probability is nearly a normal
distribution: of the places and resistances cut off at the walls of the cell, of the other unknowns
around their fit there, cut off at the walls of their box. Points follow it one coordinate after the
other (the GHK scheme), from one low-discrepancy sequence, a share of them evenly in the cell
instead, and each point is weighted by the exact probability of the displays over the density it
came from. The sum of the weights is the probability of the readings under the hypothesis.

A few points of each cell show first where the mass is. A cell whose weights are very uneven is not
what its fit says: it is halved.

Sources: V. Hajivassiliou and P. Ruud, Handbook of Econometrics IV (1994), chapter 40, for the
scheme; I. Sobol', USSR Computational Mathematics and Mathematical Physics 7 (1967) 86-112, for the
sequence, and R. Cranley and T. Patterson, SIAM Journal on Numerical Analysis 13 (1976) 904-914, for
its shift; J. Neyman, Journal of the Royal Statistical Society 97 (1934) 558-625, for the share of
each cell; E. Ionides, Journal of Computational and Graphical Statistics 17 (2008) 295-311, for the
limit on a weight (all from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, ndtri
from scipy.stats import qmc

from cablesim.cable.numbers import FloatArray
from cablesim.locate.explore import Cells
from cablesim.locate.fitting import Asking
from cablesim.locate.likelihood import Displays
from cablesim.locate.normals import Normals, cut, root_covariance, settled, solved
from cablesim.locate.parameters import Unknowns

__all__ = ["Points", "Sketch", "integrate", "mended", "sketch"]

# Points in all and at least in each cell, by the number of places. Those of two places cost more,
# and more of them count.
POINTS = {0: 2048, 1: 8192, 2: 4096}
LEAST_IN_CELL = {0: 128, 1: 24, 2: 8}
# The proposal is wider than the fit, so that no corner of the even errors is missed.
_WIDER = 1.5
# Share of the points that are even in their cell, whatever its fit says.
_EVEN = 0.15
# The integral is done again, at most so often in all, with cells cut that hold more than so much of
# the sum of squares of the weights, until this share of the points count.
_AGAIN, _SPOILS, _ENOUGH = 4, 0.02, 0.08
# A cell of which no point had any weight gets so many times the least number in the end.
_UNSURE = 3
# The limit on a weight depends on their sum, which it changes: so often is it found anew.
_TRUNCATIONS = 20
# Standard deviations that the middle of a proposal may lie outside its walls.
_OUTSIDE = 3.0
# A coordinate is tied where the misfit changes by more than this over the cell, in standard
# deviations, the other pivots following.
_TIED = 3.0
_FAR = 6.0
_ROOT = (2 * np.pi) ** 0.5
# Cells are halved where their weights are so uneven that fewer than this share of the points count,
# and they hold more than so much of the mass; so often, and up to so many.
_UNEVEN, _HOLDS, _HALVINGS, _MOST_CELLS = 0.1, 0.004, 6, 1500


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


@dataclass(frozen=True, slots=True)
class Sketch:
    """Cells with a first, coarse idea of what each holds.

    Parameters
    ----------
    cells
        The cells.
    mass : ndarray, shape (cells,)
        Probability of the readings in each, from few points.
    square : ndarray, shape (cells,)
        Mean square of the weights there.
    """

    cells: Normals
    mass: FloatArray
    square: FloatArray

    @property
    def evidence(self) -> float:
        """Probability of the readings under the hypothesis, from few points."""
        return float(self.mass.sum())


def sketch(unknowns: Unknowns, displays: Displays, cells: Cells, hopeless: float) -> Asking[Sketch]:
    """See with a few points of each cell what it holds.

    Parameters
    ----------
    unknowns, displays
        As for `explore`.
    cells
        From `explore`.
    hopeless
        Sum of squares above which the hypothesis cannot have shown the readings.

    Yields
    ------
    ndarray, shape (points, size)
        Points of the cube; to be sent exact values there.
    """
    normals = yield from settled(unknowns, displays, cells, hopeless)
    return (yield from _sketched(unknowns, displays, normals))


def mended(unknowns: Unknowns, displays: Displays, seen: Sketch, total: float) -> Asking[Sketch]:
    """Halve cells that are not as fitted, where that counts.

    Parameters
    ----------
    unknowns, displays
        As for `explore`.
    seen
        From `sketch`.
    total
        Probability of the readings under all hypotheses, in shares of this one's prior: beside
        other hypotheses it does not matter what little an unlikely one holds.

    Yields
    ------
    ndarray, shape (points, size)
        Points of the cube; to be sent exact values there.
    """
    for _ in range(_HALVINGS if unknowns.grid else 0):
        total = max(total, seen.evidence)
        counting = seen.mass**2 / np.maximum(seen.square, 1e-300)
        uneven = (counting < _UNEVEN) & (np.sqrt(seen.square) > _HOLDS * total)
        if not uneven.any() or len(uneven) + uneven.sum() > _MOST_CELLS:
            break
        halves = yield from cut(unknowns, displays, seen.cells.take(uneven))
        more = yield from _sketched(unknowns, displays, halves)
        seen = _replaced(seen, uneven, more)
    return seen


def _sketched(unknowns: Unknowns, displays: Displays, cells: Normals) -> Asking[Sketch]:
    count = len(cells.low)
    least = LEAST_IN_CELL[unknowns.places]
    few = np.full(count, max(least, 128 // count))
    points = yield from _drawn(unknowns, displays, cells, few)
    # Weights of one cell are its mass over its number of points.
    weight = points.weight.reshape(count, few[0]) * few[0]
    return Sketch(cells, weight.mean(axis=1), np.mean(weight**2, axis=1))


def integrate(unknowns: Unknowns, displays: Displays, seen: Sketch, points: int) -> Asking[Points]:
    """Weighted points over all cells.

    Parameters
    ----------
    unknowns, displays
        As for `explore`.
    seen
        From `mended`.
    points
        About how many.

    Yields
    ------
    ndarray, shape (points, size)
        Points of the cube; to be sent `Unknowns.exact` there.

    Returns
    -------
    Points
        The posterior of the hypothesis.
    """
    for again in reversed(range(_AGAIN)):
        # Most of the points go where the weights are large and uneven; what few points saw is taken
        # with a grain of salt, and no cell goes empty.
        share = np.sqrt(seen.square)
        share = share / max(share.sum(), 1e-300)
        held = np.sqrt(seen.mass / max(seen.mass.sum(), 1e-300))
        share = 0.7 * share + 0.3 * held / max(held.sum(), 1e-300)
        least = np.where(seen.mass > 0.0, 1, _UNSURE) * LEAST_IN_CELL[unknowns.places]
        most = np.maximum(points * share, least).astype(int)
        found = yield from _drawn(unknowns, displays, seen.cells, most)
        # What is unlikely need not be finer.
        coarse = points < POINTS[unknowns.places]
        enough = coarse or _counting(found.weight) > _ENOUGH * points
        if not again or not unknowns.grid or enough:
            break
        seen = yield from _better(unknowns, displays, seen.cells, found, most)
    return Points(found.z, _levelled(found.weight))


def _levelled(weight: FloatArray) -> FloatArray:
    """No point may hold more than its share of the sum over the root of the number of points.

    One that the proposals hardly reach would else be a spot of its own in the posterior. What it
    held goes to the others: their sum, the probability of the readings, has no bias as it is.
    """
    total = weight.sum()
    for _ in range(_TRUNCATIONS):
        weight = np.minimum(weight, weight.sum() / len(weight) ** 0.5)
    return np.asarray(weight * (total / max(weight.sum(), 1e-300)))


def _counting(weight: FloatArray) -> float:
    """How many points of equal weight would tell as much."""
    return float(weight.sum() ** 2 / max(np.sum(weight**2), 1e-300))


def _better(
    unknowns: Unknowns,
    displays: Displays,
    cells: Normals,
    found: Points,
    points: NDArray[np.int64],
) -> Asking[Sketch]:
    """What many points saw, and cells cut that spoil the sum."""
    cell = np.repeat(np.arange(len(points)), points)
    mass, spoils = (
        np.bincount(cell, w, len(points)).astype(float) for w in (found.weight, found.weight**2)
    )
    uneven = (mass**2 < _UNEVEN * points * spoils) & (spoils > _SPOILS * spoils.sum())
    seen = Sketch(cells, mass, spoils * points)
    if not uneven.any() or len(points) > _MOST_CELLS:
        return seen
    halves = yield from cut(unknowns, displays, cells.take(uneven))
    more = yield from _sketched(unknowns, displays, halves)
    return _replaced(seen, uneven, more)


def _replaced(seen: Sketch, gone: NDArray[np.bool_], more: Sketch) -> Sketch:
    """Some cells replaced by others."""
    keep = ~gone
    return Sketch(
        seen.cells.take(keep).joined(more.cells),
        np.concatenate([seen.mass[keep], more.mass]),
        np.concatenate([seen.square[keep], more.square]),
    )


def _drawn(
    unknowns: Unknowns, displays: Displays, cells: Normals, points: NDArray[np.int64]
) -> Asking[Points]:
    """Weighted points, so many in each cell."""
    cell = np.repeat(np.arange(len(points)), points)
    count, grid, size = len(cell), unknowns.grid, unknowns.size
    # Pivots come last: what the readings then leave of them is solved for at each point.
    pivots = _pivots(unknowns, cells)
    turn = np.argsort(
        np.concatenate([pivots, np.zeros((len(points), size - grid))], axis=1) * 2.0
        + (np.arange(size) >= grid),
        axis=1,
        kind="stable",
    )
    rows = np.arange(len(points))[:, None]
    low, high, best = (part[rows, turn][cell] for part in (cells.low, cells.high, cells.best))
    precision = cells.precision[rows[:, :, None], turn[:, :, None], turn[:, None, :]]
    root = (_WIDER * root_covariance(precision))[cell]
    # One long sequence: neighbouring cells get different points, so their errors average out.
    even = _sequence(count, size)
    freed = (grid - pivots.sum(axis=1))[cell]
    solved_for = np.arange(size) >= (size - grid + freed)[:, None]
    # Some points are even in the cell, the others follow the fit there.
    leading = np.arange(size) < freed[:, None]
    evenly = _evenly(count)[:, None] & leading
    given = np.where(evenly, low + even * (high - low), np.nan)
    given = np.where(solved_for, best, given)
    values, density = _in_turn(best, root, even, low, high, given)
    volume = np.prod(np.where(leading, high - low, 1.0), axis=1)
    of_grid = np.prod(np.where(leading, density, 1.0), axis=1)
    of_others = np.prod(np.where(leading | solved_for, 1.0, density), axis=1)
    total = of_others * np.where(freed > 0, _EVEN / volume + (1 - _EVEN) * of_grid, 1.0)
    z = np.empty_like(values)
    z[np.arange(count)[:, None], turn[cell]] = values
    if pivots.any():
        where = pivots[cell]
        low, high = cells.low[cell], cells.high[cell]
        z, precision = yield from solved(unknowns, displays, z, low, high, where)
        # A share of them is far wider, for where a fit has not come to its end.
        root = _WIDER * root_covariance(precision)
        far = _evenly(count, 1)
        scale = np.where(far, _FAR, 1.0)[:, None, None]
        centre, walls = z[:, :grid].copy(), (low[:, :grid], high[:, :grid])
        even = _sequence(count, size + grid)[:, size:]
        held = np.where(where, np.nan, centre)
        z[:, :grid], density = _in_turn(centre, scale * root, even, *walls, held)
        other = _in_turn(centre, _FAR / scale * root, even, *walls, z[:, :grid])[1]
        mine, theirs = (np.prod(np.where(where, d, 1.0), axis=1) for d in (density, other))
        near, wide = np.where(far, theirs, mine), np.where(far, mine, theirs)
        total = total * ((1 - _EVEN) * near + _EVEN * wide)
    probability = displays.probability(unknowns.indicated(z, (yield z))) * unknowns.density(z)
    return Points(z, probability / (np.maximum(points, 1)[cell] * total))


def _pivots(unknowns: Unknowns, cells: Normals) -> NDArray[np.bool_]:
    """Coordinates of the grid that the readings tie to the others, shape (cells, grid)."""
    grid = unknowns.grid
    chosen = np.zeros((len(cells.low), grid), bool)
    if unknowns.places < 2:
        return chosen
    left = cells.precision[:, :grid, :grid].copy()
    size = (cells.high - cells.low)[:, :grid]
    rows = np.arange(len(left))
    for _ in range(grid):
        change = np.sqrt(np.maximum(np.einsum("nkk->nk", left), 0.0)) * size
        change = np.where(chosen, 0.0, change)
        most = change.argmax(axis=1)
        tied = change[rows, most] > _TIED
        if not tied.any():
            break
        chosen[rows[tied], most[tied]] = True
        column = left[rows, :, most]
        taken = np.where(tied, 1.0 / np.maximum(left[rows, most, most], 1e-300), 0.0)
        left -= taken[:, None, None] * column[:, :, None] * column[:, None, :]
    return chosen


def _evenly(count: int, turn: int = 0) -> NDArray[np.bool_]:
    """Which points are even in their cell, or far about a fit: a share of them, evenly spread."""
    step = (0.7548776662466927, 0.5698402909980532)[turn]
    return np.asarray((np.arange(1, count + 1) * step) % 1.0 < _EVEN)


def _in_turn(
    centre: FloatArray,
    root: FloatArray,
    even: FloatArray,
    low: FloatArray,
    high: FloatArray,
    given: FloatArray,
) -> tuple[FloatArray, FloatArray]:
    """Map even numbers to a normal distribution between walls, one coordinate in turn.

    Values that are given, and not nan, stay. Returns the values, and the density of each given
    those before it.
    """
    values, drawn, density = np.empty_like(even), np.zeros_like(even), np.empty_like(even)
    for k in range(even.shape[1]):
        scale = root[:, k, k]
        middle = centre[:, k] + np.einsum("pj,pj->p", root[:, k, :k], drawn[:, :k])
        # A fit that puts it far outside is wrong: so far, that part of it still lies between.
        middle = np.clip(middle, low[:, k] - _OUTSIDE * scale, high[:, k] + _OUTSIDE * scale)
        first, last = (low[:, k] - middle) / scale, (high[:, k] - middle) / scale
        # Mirrored where need be, so that both walls lie in the tail that is exact.
        mirror = first + last > 0
        below = ndtr(np.where(mirror, -last, first))
        mass = np.maximum(ndtr(np.where(mirror, -first, last)) - below, 1e-300)
        normal = ndtri(np.clip(below + even[:, k] * mass, 1e-300, 1 - 1e-16))
        value = np.clip(middle + np.where(mirror, -normal, normal) * scale, low[:, k], high[:, k])
        value = np.where(np.isnan(given[:, k]), value, given[:, k])
        values[:, k] = value
        drawn[:, k] = (value - middle) / scale
        density[:, k] = np.exp(-(drawn[:, k] ** 2) / 2) / (_ROOT * scale * mass)
    return values, density


def _sequence(points: int, size: int) -> FloatArray:
    """Evenly spread points of the open unit cube, shape (points, size)."""
    spread = qmc.Sobol(size, scramble=False).random_base2(max(points - 1, 0).bit_length())[:points]
    # The sequence begins in a corner of the cube; powers of the generalised golden ratio shift it.
    ratio = 2.0
    for _ in range(64):
        ratio = (1.0 + ratio) ** (1.0 / (size + 1))
    return np.asarray((spread + ratio ** -np.arange(1.0, size + 1)) % 1.0)
