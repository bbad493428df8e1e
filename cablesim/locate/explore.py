"""Find where a hypothesis can explain the readings: cells that shrink towards the mass.

What bends the readings most is where the faults are and how many ohms they have. These coordinates
span the grid, and it is cut into cells. At the middle of each cell all other unknowns (tolerances,
leads, gains) are fitted to the readings by damped least squares inside their box. The fit also
tells how the misfit changes over the grid, so inside each cell the misfit is known to first order:
a normal distribution cut off at the cell's walls. Where that is not true enough the cell is halved,
and what the halves show beside what was foretold tells how much the misfit bends. A cell may be as
wide as it is straight; one that holds no mass is dropped.

Precise meters make the mass a needle in this haystack, so the search begins as if they were coarse
and sharpens them step by step, as the cells shrink. Nothing is drawn at random.

A search asks for exact values as a fit does (`cablesim.locate.fitting`).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np

from cablesim.cable.faults import Break
from cablesim.cable.numbers import FloatArray
from cablesim.locate.cells import CellArrays
from cablesim.locate.fitting import Asking, Exact, descended
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns

__all__ = ["MISFIT_WINDOW", "Cells", "Found", "explore"]

# Cells at the start along a place that stands alone, and along each resistance by the number of
# places.
_FIRST_PLACES = 12
_FIRST_OHMS = {0: 1, 1: 5, 2: 3}
# Where the first cells of two places begin and end: of the nearer one as a share of the cable, of
# the farther one as a share of what is left. Towards the entry readings change by the logarithm of
# the distance, and no cell there may be called straight that is not small; where what is left of a
# cable is read by the inverse of its length, the first cell is cut besides.
_NEARER = (0.0, 0.003, 0.02, 0.1, 0.4, 1.0)
_NEAREST = (0.00001, 0.00007, 0.0005)
_FARTHER = (0.0, 0.3, 0.7, 1.0)
# Where a place that stands alone is as steep, the first cell of its widest zone, and that before it
# where the heated part begins, are cut at these shares.
_STEEP = (0.2,)
_STEEPEST = (0.01, 0.06, 0.25)
# A cell may hold mass where its misfit exceeds the least by less than this: five standard
# deviations.
MISFIT_WINDOW = 25.0
# A cell is fine enough where the misfit bends inside it by less than this, in standard deviations,
# by the number of places. Of two places each point follows the bend by itself
# (`cablesim.locate.normals.solved`), and wide cells serve better than many.
_FINE = {0: 0.25, 1: 0.25, 2: 40.0}
# How much the misfit may bend inside a cell, as a share of its change; and how much where a whole
# hypothesis is at stake.
_BEND = 0.2
_BEND_AT_MOST = 1.0
# Readings that are orders of magnitude off at every first cell, for the coarsest of meters, are not
# worth a fit.
_ABSURD_READING = 600.0
_ROUNDS = 60
# Steps of a fit without a grid.
_FAR_STEPS = 8
# By the number of places.
_MOST_CELLS = {0: 1, 1: 1500, 2: 400}


@dataclass(frozen=True, slots=True)
class Cells(CellArrays):
    """Cells of the grid of places and resistances, each with its fit of the other unknowns.

    Parameters
    ----------
    low, high : ndarray, shape (cells, grid)
        Corners in the grid of places and resistances.
    fit : ndarray, shape (cells, others)
        Best values of the other unknowns at the middle of the cell.
    residual : ndarray, shape (cells, rows)
        Misfit there: of the readings, of what the meters give up at, and the pull of the prior.
    slope : ndarray, shape (cells, rows, grid)
        How the misfit of the best fit changes over the grid.
    drift : ndarray, shape (cells, others, grid)
        How the best fit moves over the grid.
    bend : ndarray, shape (cells, grid)
        By how much the misfit may differ from a straight one at each pair of walls.
    values : ndarray, shape (cells, columns)
        Exact values at the best fit.
    changes : ndarray, shape (cells, coordinates, columns)
        Their derivatives with respect to all that the circuit depends on.
    settling : ndarray, shape (cells,)
        By how much another step of the fit could lower its sum of squares.
    """

    low: FloatArray
    high: FloatArray
    fit: FloatArray
    residual: FloatArray
    slope: FloatArray
    drift: FloatArray
    bend: FloatArray
    values: FloatArray
    changes: FloatArray
    settling: FloatArray

    @property
    def exact(self) -> Exact:
        """What is known of the exact values at the best fits."""
        return Exact(self.values, np.swapaxes(self.changes, 0, 1))

    @property
    def middle(self) -> FloatArray:
        """Middles of the cells, shape (cells, grid)."""
        return (self.low + self.high) / 2

    @property
    def volume(self) -> FloatArray:
        """Share of the prior in each cell, shape (cells,)."""
        return np.asarray(np.prod(self.high - self.low, axis=-1))

    @property
    def span(self) -> FloatArray:
        """Change of the misfit from one side of the cell to the other, shape (cells, grid)."""
        return np.asarray(np.linalg.norm(self.slope, axis=1) * (self.high - self.low))

    @property
    def misfit(self) -> FloatArray:
        """Sum of squares at the middle of each cell, shape (cells,)."""
        return np.asarray(np.sum(self.residual**2, axis=1))

    @property
    def possible_misfit(self) -> FloatArray:
        """A sum of squares that no point of a cell is likely to go below, shape (cells,)."""
        return self._allowed(_BEND)

    @property
    def surely_misfit(self) -> FloatArray:
        """One that none goes below, however much it bends, shape (cells,)."""
        return self._allowed(_BEND_AT_MOST)

    def _allowed(self, share: float) -> FloatArray:
        """The least to first order, less what the fit and the bends inside the cell may lower."""
        bend = np.sum(np.maximum(self.bend, share * self.span), axis=1)
        least = np.maximum(self.least_misfit - self.settling, 0.0)
        return np.asarray(np.maximum(np.sqrt(least) - bend, 0.0) ** 2)

    @property
    def least_misfit(self) -> FloatArray:
        """Least sum of squares inside each cell, to first order, shape (cells,)."""
        half = (self.high - self.low) / 2
        square = np.swapaxes(self.slope, 1, 2) @ self.slope
        pull = (self.residual[:, None, :] @ self.slope)[:, 0]
        steepness = np.einsum("nkk->nk", square) + 1e-300
        offset = np.zeros_like(half)
        for _ in range(3 if half.shape[1] > 1 else 1):
            for k in range(half.shape[1]):
                uphill = pull[:, k] + np.sum(square[:, k] * offset, axis=1)
                moved = offset[:, k] - uphill / steepness[:, k]
                offset[:, k] = np.clip(moved, -half[:, k], half[:, k])
        change = np.sum(offset * (2 * pull + (square @ offset[:, :, None])[:, :, 0]), axis=1)
        return np.asarray(np.maximum(self.misfit + change, 0.0))


@dataclass(frozen=True, slots=True)
class Found:
    """What a search found.

    Parameters
    ----------
    cells
        The cells that hold the mass.
    displays
        The displays they were found for: those given, or coarser ones where the meters are so
        precise that the cells would be too many. The answer is then wider than it could be.
    """

    cells: Cells
    displays: Displays


def explore(unknowns: Unknowns, displays: Displays, *, give_up: float = np.inf) -> Asking[Found]:
    """Cells that hold all of a hypothesis's mass, fine enough to integrate over.

    Parameters
    ----------
    unknowns
        Hypothesis, cable and meters.
    displays
        What the meters said.
    give_up
        Stop early once no cell comes below this sum of squares: another hypothesis explains the
        readings far better.

    Yields
    ------
    ndarray, shape (points, size)
        Points of the cube; to be sent `Unknowns.seen` there.

    Returns
    -------
    Found
        Cells that are disjoint; what lies outside them is more than five standard deviations off.
    """
    low, high = _first_cells(unknowns)
    middle = np.full((len(low), unknowns.size - unknowns.grid), 0.5)
    stages = displays.softened()
    z = np.concatenate([(low + high) / 2, middle], axis=1)
    residual = stages[0].residuals(unknowns.indicated(z, (yield z)))
    misfit = np.sum(residual**2, axis=1)
    absurd = _ABSURD_READING * len(displays.low)
    if misfit.min() > max(give_up, absurd):
        best = misfit.argmin(keepdims=True)
        cells = yield from _fitted(unknowns, displays, low[best], high[best], middle[best], 0)
        return Found(cells, displays)
    if not unknowns.grid:
        cells = yield from _fitted(unknowns, displays, low, high, middle, _FAR_STEPS)
        return Found(cells, displays)
    # Nor is a cell that is so far off.
    near = misfit <= max(give_up, absurd)
    cells = yield from _fitted(unknowns, stages[0], low[near], high[near], middle[near], 1)
    found = Found(cells, stages[0])
    for k, stage in enumerate(stages):
        if k > 0:
            sharper = float(np.max(stages[k - 1].spread / stage.spread))
            bend = np.minimum(sharper * cells.bend, _BEND * sharper * cells.span)
            # Derivatives from the coarser meters are not good enough for the sharper ones.
            cells = yield from _fitted(unknowns, stage, cells.low, cells.high, cells.fit, 1)
            cells = replace(cells, bend=bend)
        cells = yield from _refined(unknowns, stage, cells, give_up)
        if len(cells.low) > _MOST_CELLS[unknowns.places] and k > 0 and unknowns.places < 2:
            return found
        found = Found(cells, stage)
        if cells.surely_misfit.min() > give_up:
            return found
    return Found(cells, displays)


def _refined(unknowns: Unknowns, displays: Displays, cells: Cells, give_up: float) -> Asking[Cells]:
    """Halve what bends and drop what cannot hold mass, until all cells are straight."""
    for _ in range(_ROUNDS):
        possible = cells.possible_misfit
        excess = possible - cells.misfit.min()
        alive = excess < MISFIT_WINDOW
        enough = _FINE[unknowns.places] * (1 + np.sqrt(np.maximum(excess, 0.0)) / 2)
        coarse = alive & (cells.bend.max(axis=1) > enough)
        hopeless = possible.min() > give_up and cells.surely_misfit.min() > give_up
        if not coarse.any() or alive.sum() > _MOST_CELLS[unknowns.places] or hopeless:
            return cells.take(alive)
        halves = yield from _halved(unknowns, displays, cells.take(coarse))
        cells = cells.take(alive & ~coarse).joined(halves)
    return cells


def _first_cells(unknowns: Unknowns) -> tuple[FloatArray, FloatArray]:
    """Corners of the cells that the search begins with."""
    # What is left of a parallel cable before a break is read by the inverse of its length.
    steep = unknowns.cable.construction.heats_between and any(
        isinstance(fault, Break) for fault in unknowns.hypothesis.faults
    )
    if unknowns.by_order:
        edges = _by_order(alike=unknowns.hypothesis.alike, steep=steep)
    else:
        edges = [_along(unknowns.place.weights, steep=steep)] * unknowns.places
    decades = np.linspace(0.0, 1.0, _FIRST_OHMS[unknowns.places] + 1)
    edges = edges + [decades] * (unknowns.grid - unknowns.places)
    low = np.array(list(product(*(edge[:-1] for edge in edges))), float)
    high = np.array(list(product(*(edge[1:] for edge in edges))), float)
    return low, high


def _along(weights: FloatArray, *, steep: bool) -> FloatArray:
    """Even cells, cut besides where the prior of the place bends: between its zones."""
    zones = np.append(0.0, np.cumsum(weights))
    zones[-1] = 1.0
    along = np.unique(np.concatenate([zones, np.linspace(0.0, 1.0, _FIRST_PLACES + 1)]))
    # A sliver left between two cuts is no cell of its own.
    along = along[np.append(True, (np.diff(along) > 1e-9))]
    if not steep:
        return np.asarray(along)
    first = int(np.searchsorted(along, zones[weights.argmax()] - 1e-9))
    cuts = [
        along[k] + np.array(shares) * (along[k + 1] - along[k])
        for k, shares in ((first - 1, _STEEPEST), (first, _STEEP))
        if k >= 0
    ]
    return np.sort(np.concatenate([along, *cuts]))


def _by_order(*, alike: bool, steep: bool) -> list[FloatArray]:
    """Two places, of which the first coordinate tells the nearer one."""
    nearer = np.sort(np.array(_NEARER + _NEAREST * steep))
    if not alike:
        # On either side of the middle the order of the places is another: no cell touches it.
        nearer = np.concatenate([nearer / 2, 0.5 + np.maximum(nearer, 1e-9) / 2])
    return [nearer, np.array(_FARTHER)]


def _halved(unknowns: Unknowns, displays: Displays, cells: Cells) -> Asking[Cells]:
    """Cut each cell in two across the side along which the misfit bends most."""
    rows = np.arange(len(cells.low))
    side = (cells.bend + 1e-3 * cells.span).argmax(axis=1)
    quarter = (cells.high - cells.low)[rows, side] / 4
    shift = np.zeros_like(cells.low)
    shift[rows, side] = quarter
    low = np.concatenate([cells.low, cells.low + 2 * shift])
    high = np.concatenate([cells.high - 2 * shift, cells.high])
    moved = np.einsum("nwk,nk->nw", cells.drift, shift)
    fit = np.clip(np.concatenate([cells.fit - moved, cells.fit + moved]), 0.0, 1.0)
    halves = yield from _fitted(unknowns, displays, low, high, fit, 1)
    # What the halves show beside what was foretold: so much may they bend themselves. Limits at
    # which a meter gives up bend by nature, and the points that lie beyond them have no weight.
    change = np.einsum("nrk,nk->nr", cells.slope, shift)
    foretold = np.concatenate([cells.residual - change, cells.residual + change])
    off = halves.residual - foretold
    off[:, len(displays.low) : len(displays.low) + len(displays.limits)] = 0.0
    bend = np.concatenate([cells.bend, cells.bend])
    seen = np.linalg.norm(off, axis=1)
    twice = np.concatenate([rows, rows + len(rows)])
    bend[twice, np.concatenate([side, side])] = seen
    return replace(halves, bend=bend)


def _fitted(
    unknowns: Unknowns,
    displays: Displays,
    low: FloatArray,
    high: FloatArray,
    fit: FloatArray,
    steps: int,
) -> Asking[Cells]:
    """Fit the other unknowns at the middle of each cell by damped least squares in their box."""
    grid, others = unknowns.grid, fit.shape[1]
    middle = (low + high) / 2
    z = np.concatenate([middle, fit], axis=1)
    walls = (
        np.concatenate([middle, np.zeros_like(fit)], axis=1),
        np.concatenate([middle, np.ones_like(fit)], axis=1),
    )
    found = yield from descended(unknowns, displays, z, walls, steps)
    fit, residual, along = found.z[:, grid:], found.residual, found.jacobian[:, :, grid:]
    downhill = -np.einsum("nrw,nr->nw", along, residual)
    free = np.where(((fit <= 0.0) & (downhill < 0)) | ((fit >= 1.0) & (downhill > 0)), 0.0, 1.0)
    freed = along * free[:, None, :]
    normal = np.swapaxes(freed, 1, 2) @ freed + np.eye(others) * (1 - free)[:, None, :]
    across = found.jacobian[:, :, :grid]
    pull = np.swapaxes(freed, 1, 2) @ np.concatenate([across, residual[:, :, None]], axis=2)
    steps_there = -np.linalg.solve(normal, pull)
    drift = steps_there[:, :, :grid]
    slope = across + freed @ drift
    settling = -np.sum(pull[:, :, grid] * steps_there[:, :, grid], axis=1)
    exact = found.exact
    of_cells = np.swapaxes(exact.slopes, 0, 1)
    unknown = np.zeros_like(low)
    cells = Cells(low, high, fit, residual, slope, drift, unknown, exact.values, of_cells, settling)
    return replace(cells, bend=_BEND * cells.span)
