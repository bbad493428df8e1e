"""Find where a hypothesis can explain the readings: cells that shrink towards the mass.

What bends the readings most is where the faults are and how many ohms they have. These coordinates
span the grid, and it is cut into cells. At the middle of each cell all other unknowns (tolerances,
leads, gains) are fitted to the readings by damped least squares inside their box. The fit also
tells how the misfit changes over the grid, so the least misfit inside each cell is known to first
order: a cell that may hold some of the mass, yet over which the misfit changes by more than about a
standard deviation, is halved. Precise meters make the mass a needle in this haystack, so the search
begins as if they were coarse and sharpens them step by step, as the cells shrink. Nothing is drawn
at random.

A search asks for exact values, it does not compute them: it is a generator that yields points and
is sent what ideal meters would show there. So the searches of all hypotheses go side by side, and
their points are computed in one batch (`cablesim.locate.together`).

Source of the damping: D. W. Marquardt, SIAM Journal on Applied Mathematics 11 (1963) 431-441 (from
memory).
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from itertools import product
from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import FloatArray
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns

__all__ = ["Asking", "Cells", "Found", "explore"]

_T = TypeVar("_T")
# Yields points of the cube, is sent exact values there, and returns what it was after.
Asking: TypeAlias = Generator[FloatArray, FloatArray, _T]

# Cells at the start along each place and along each resistance, by the number of places.
_FIRST_CELLS = {0: (1, 1), 1: (12, 5), 2: (4, 3)}
# A cell may hold mass where its misfit exceeds the least by less than this: five standard
# deviations.
_MISFIT_WINDOW = 25.0
# A cell is fine enough where the misfit changes over it by less than this, in standard deviations.
_FINE = 1.2
# How far the misfit may be from linear over a cell, as a share of its change.
_BEND = 0.2
# Readings that are orders of magnitude off at every first cell, for the coarsest of meters, are not
# worth a fit.
_ABSURD = 1000.0
_ROUNDS = 60
# Steps of a fit that begins far off: decades of resistance, or without a grid.
_FAR_STEPS = 8
# By the number of places. Two of them mostly lie on a long curve: there the cells stay coarse.
_MOST_CELLS = {0: 1, 1: 2500, 2: 120}
_LEAST_CELLS = 48
# The even prior of an unknown in its box pulls to the middle like a normal one of equal variance.
_PULL = 12**-0.5
_STEP = 1e-6


@dataclass(frozen=True, slots=True)
class Cells:
    """Cells of the grid of places and resistances, each with its fit of the other unknowns.

    Parameters
    ----------
    low, high : ndarray, shape (cells, grid)
        Corners in the grid of places and resistances.
    fit : ndarray, shape (cells, others)
        Best values of the other unknowns at the middle of the cell.
    residual : ndarray, shape (cells, readings + others)
        Misfit there, the pull of the prior included.
    slope : ndarray, shape (cells, readings + others, grid)
        How the misfit of the best fit changes over the grid.
    drift : ndarray, shape (cells, others, grid)
        How the best fit moves over the grid.
    precision : ndarray, shape (cells, others, others)
        Inverse covariance of the other unknowns around the best fit.
    """

    low: FloatArray
    high: FloatArray
    fit: FloatArray
    residual: FloatArray
    slope: FloatArray
    drift: FloatArray
    precision: FloatArray

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
        """A sum of squares that no point of a cell is likely to go below, shape (cells,).

        The least to first order, less an allowance for what bends inside the cell.
        """
        bend = _BEND * np.sum(self.span, axis=1)
        return np.asarray(np.maximum(np.sqrt(self.least_misfit) - bend, 0.0) ** 2)

    @property
    def least_misfit(self) -> FloatArray:
        """Least sum of squares inside each cell, to first order, shape (cells,)."""
        residual = self.residual.copy()
        half = (self.high - self.low) / 2
        offset = np.zeros_like(half)
        for _ in range(3 if half.shape[1] > 1 else 1):
            for k in range(half.shape[1]):
                along = self.slope[:, :, k]
                steepness = np.sum(along**2, axis=1) + 1e-300
                wanted = offset[:, k] - np.sum(along * residual, axis=1) / steepness
                moved = np.clip(wanted, -half[:, k], half[:, k])
                residual += along * (moved - offset[:, k])[:, None]
                offset[:, k] = moved
        return np.asarray(np.sum(residual**2, axis=1))

    def take(self, chosen: NDArray[np.bool_]) -> Cells:
        """Keep some cells."""
        return Cells(*(getattr(self, name)[chosen] for name in self.__dataclass_fields__))

    def joined(self, other: Cells) -> Cells:
        """Put two sets of cells together."""
        names = self.__dataclass_fields__
        return Cells(*(np.concatenate([getattr(self, n), getattr(other, n)]) for n in names))


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
        Points of the cube; to be sent `Unknowns.exact` there.

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
    fits_ohms = unknowns.grid < unknowns.fault_size
    if misfit.min() > max(give_up, _ABSURD) and not fits_ohms:
        best = misfit.argmin(keepdims=True)
        cells = yield from _fitted(unknowns, displays, low[best], high[best], middle[best], 0)
        return Found(cells, displays)
    first_steps = _FAR_STEPS if fits_ohms or not unknowns.grid else 3
    cells = yield from _fitted(unknowns, stages[0], low, high, middle, first_steps)
    found = Found(cells, stages[0])
    for k, stage in enumerate(stages if unknowns.grid else ()):
        if k > 0:
            # What is fitted over decades follows a sharper meter in more than one step.
            steps = 3 if fits_ohms else 1
            cells = yield from _fitted(unknowns, stage, cells.low, cells.high, cells.fit, steps)
        cells = yield from _refined(unknowns, stage, cells, give_up, 2 if stage is displays else 1)
        if unknowns.places < 2 and len(cells.low) > _MOST_CELLS[unknowns.places] and k > 0:
            return found
        found = Found(cells, stage)
        if cells.possible_misfit.min() > give_up:
            return found
    if not unknowns.grid:
        cells = yield from _fitted(unknowns, displays, low, high, cells.fit, 6)
        return Found(cells, displays)
    while len(cells.low) < _LEAST_CELLS and cells.misfit.min() <= give_up:
        cells = yield from _halved(unknowns, displays, cells, 1)
    return Found(cells, displays)


def _refined(
    unknowns: Unknowns, displays: Displays, cells: Cells, give_up: float, steps: int
) -> Asking[Cells]:
    """Halve what is coarse and drop what cannot hold mass, until all cells are fine."""
    for _ in range(_ROUNDS):
        excess = cells.possible_misfit - cells.misfit.min()
        alive = excess < _MISFIT_WINDOW
        enough = _FINE * (1 + np.sqrt(np.maximum(excess, 0.0)) / 2)
        coarse = alive & (cells.span.max(axis=1) > enough)
        hopeless = cells.possible_misfit.min() > give_up
        if not coarse.any() or alive.sum() > _MOST_CELLS[unknowns.places] or hopeless:
            return cells.take(alive)
        halves = yield from _halved(unknowns, displays, cells.take(coarse), steps)
        cells = cells.take(alive & ~coarse).joined(halves)
    return cells


def _first_cells(unknowns: Unknowns) -> tuple[FloatArray, FloatArray]:
    """Even cells, cut besides where the prior of the place bends: between its zones."""
    for_place, for_ohm = _FIRST_CELLS[unknowns.places]
    zones = np.append(0.0, np.cumsum(unknowns.place.weights))
    zones[-1] = 1.0
    along = np.unique(np.concatenate([zones, np.linspace(0.0, 1.0, for_place + 1)]))
    # A sliver left between two cuts is no cell of its own.
    along = along[np.append(True, (np.diff(along) > 1e-9))]
    decades = np.linspace(0.0, 1.0, for_ohm + 1)
    edges = [along] * unknowns.places + [decades] * (unknowns.grid - unknowns.places)
    low = np.array(list(product(*(edge[:-1] for edge in edges))), float)
    high = np.array(list(product(*(edge[1:] for edge in edges))), float)
    return low, high


def _halved(unknowns: Unknowns, displays: Displays, cells: Cells, steps: int) -> Asking[Cells]:
    """Cut each cell in two across the side over which the misfit changes most."""
    rows = np.arange(len(cells.low))
    side = cells.span.argmax(axis=1)
    quarter = (cells.high - cells.low)[rows, side] / 4
    shift = np.zeros_like(cells.low)
    shift[rows, side] = quarter
    low = np.concatenate([cells.low, cells.low + 2 * shift])
    high = np.concatenate([cells.high - 2 * shift, cells.high])
    moved = np.einsum("nwk,nk->nw", cells.drift, shift)
    fit = np.clip(np.concatenate([cells.fit - moved, cells.fit + moved]), 0.0, 1.0)
    return (yield from _fitted(unknowns, displays, low, high, fit, steps))


def _fitted(
    unknowns: Unknowns,
    displays: Displays,
    low: FloatArray,
    high: FloatArray,
    fit: FloatArray,
    steps: int,
) -> Asking[Cells]:
    """Fit the other unknowns at the middle of each cell by damped least squares in their box."""
    middle = (low + high) / 2
    others = fit.shape[1]
    residual, jacobian = yield from _linearised(unknowns, displays, middle, fit)
    cost = np.sum(residual**2, axis=1)
    damping = np.full(len(low), 1e-3)
    for _ in range(steps if others else 0):
        trial = np.clip(fit + _step(residual, jacobian, fit, damping, unknowns.grid), 0.0, 1.0)
        new_residual, new_jacobian = yield from _linearised(unknowns, displays, middle, trial)
        new_cost = np.sum(new_residual**2, axis=1)
        better = new_cost <= cost
        fit = np.where(better[:, None], trial, fit)
        residual = np.where(better[:, None], new_residual, residual)
        jacobian = np.where(better[:, None, None], new_jacobian, jacobian)
        gain = cost - np.minimum(cost, new_cost)
        cost = np.minimum(cost, new_cost)
        damping = np.where(better, damping / 10, damping * 10)
        if better.all() and gain.max() < 1e-4:
            break
    along = jacobian[:, :, unknowns.grid :]
    free = np.where(_held(residual, along, fit), 0.0, 1.0)
    freed = along * free[:, None, :]
    normal = np.einsum("nrw,nrv->nwv", freed, freed) + np.eye(others) * (1 - free)[:, None, :]
    across = jacobian[:, :, : unknowns.grid]
    drift = -np.linalg.solve(normal, np.einsum("nrw,nrk->nwk", freed, across))
    slope = across + np.einsum("nrw,nwk->nrk", freed, drift)
    precision = np.einsum("nrw,nrv->nwv", along, along)
    return Cells(low, high, fit, residual, slope, drift, precision)


def _held(residual: FloatArray, along: FloatArray, fit: FloatArray) -> NDArray[np.bool_]:
    """Unknowns that sit on a wall of their box and are pushed against it."""
    downhill = -np.einsum("nrw,nr->nw", along, residual)
    return np.asarray(((fit <= 0.0) & (downhill < 0)) | ((fit >= 1.0) & (downhill > 0)))


def _step(
    residual: FloatArray, jacobian: FloatArray, fit: FloatArray, damping: FloatArray, grid: int
) -> FloatArray:
    along = jacobian[:, :, grid:]
    held = _held(residual, along, fit)
    to_wall = np.zeros_like(fit)
    for _ in range(3):
        left = residual + np.einsum("nrw,nw->nr", along, to_wall)
        freed = np.where(held[:, None, :], 0.0, along)
        normal = np.einsum("nrw,nrv->nwv", freed, freed)
        diagonal = np.einsum("nww->nw", normal)
        diagonal += damping[:, None] * (diagonal + 1.0) + held
        right = -np.einsum("nrw,nr->nw", freed, left)
        step = np.linalg.solve(normal, right[..., None])[..., 0]
        # What would leave its box goes to the wall; the others are solved again around it.
        outside = ~held & ((fit + step < 0.0) | (fit + step > 1.0))
        to_wall = np.where(outside, np.where(step < 0, 0.0, 1.0) - fit, to_wall)
        held = held | outside
    return np.asarray(np.where(held, to_wall, step))


def _linearised(
    unknowns: Unknowns, displays: Displays, middle: FloatArray, fit: FloatArray
) -> Asking[tuple[FloatArray, FloatArray]]:
    """Misfit and its derivatives with respect to all coordinates, the grid first."""
    z = np.concatenate([middle, fit], axis=1)
    count, size = z.shape
    # One-sided differences that stay inside the cube.
    steps = np.where(z > 0.5, -_STEP, _STEP)
    moved = np.repeat(z[None], size + 1, axis=0)
    for k in range(size):
        moved[k + 1, :, k] += steps[:, k]
    circuit = unknowns.circuit_size
    exact = (yield moved[: circuit + 1].reshape(-1, size)).reshape(circuit + 1, count, -1)
    exact = np.concatenate([exact, np.repeat(exact[:1], size - circuit, axis=0)])
    found = displays.residuals(unknowns.indicated(moved, exact))
    jacobian = (found[1:] - found[0]) / steps.T[:, :, None]
    pull = (fit - 0.5) / _PULL
    others = fit.shape[1]
    prior = np.zeros((size, count, others))
    prior[np.arange(size - others, size), :, np.arange(others)] = 1.0 / _PULL
    return (
        np.concatenate([found[0], pull], axis=1),
        np.moveaxis(np.concatenate([jacobian, prior], axis=-1), 0, -1),
    )
