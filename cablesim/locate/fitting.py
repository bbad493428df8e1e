"""Damped least squares of many points at once, each between walls of its own.

A fit asks for exact values, it does not compute them: it is a generator that yields points and is
sent what ideal meters would show there. So the fits of all hypotheses go side by side, and their
points are computed in one batch (`cablesim.locate.together`).

Source of the damping: D. W. Marquardt, SIAM Journal on Applied Mathematics 11 (1963) 431-441 (from
memory).
"""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass
from typing import TypeAlias, TypeVar

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import FloatArray
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns

__all__ = ["Asking", "Exact", "Fit", "Walls", "descended"]

_T = TypeVar("_T")
# Yields points of the cube, is sent exact values there, and returns what it was after.
Asking: TypeAlias = Generator[FloatArray, FloatArray, _T]
# Least and largest values of each point's coordinates, two arrays of shape (points, size).
Walls: TypeAlias = tuple[FloatArray, FloatArray]

# The even prior of an unknown in its box pulls to the middle like a normal one of equal variance.
_PULL = 12**-0.5
# What no reading tells of a place or a resistance is held by a normal distribution so much wider
# than its cell.
_LOOSE = 2.0
_STEP = 1e-6
# Costs that differ by less, as a share and in all, are equal.
_EQUAL = 1e-9


@dataclass(frozen=True, slots=True)
class Exact:
    """Exact values at points of the cube, and how they change there.

    Parameters
    ----------
    values : ndarray, shape (points, columns)
        Exact values, as `Unknowns.exact` gives them, or with more columns.
    slopes : ndarray, shape (coordinates, points, columns)
        Their derivatives with respect to the leading coordinates that the circuit depends on.
    """

    values: FloatArray
    slopes: FloatArray

    def where(self, chosen: NDArray[np.bool_], other: Exact) -> Exact:
        """These at the chosen points, the others elsewhere."""
        one = chosen[:, None]
        values = np.where(one, self.values, other.values)
        if self.slopes is other.slopes:
            return Exact(values, self.slopes)
        return Exact(values, np.where(one, self.slopes, other.slopes))


@dataclass(frozen=True, slots=True)
class Fit:
    """What a fit ended with.

    Parameters
    ----------
    z : ndarray, shape (points, size)
        The best points.
    residual : ndarray, shape (points, rows)
        Misfit there: of the readings, of the limits at which meters give up, then the pull of the
        prior on each unknown beside the grid, and what holds the grid.
    jacobian : ndarray, shape (points, rows, coordinates)
        Its derivatives, from before the last step.
    exact
        Exact values there; their derivatives are from before the last step.
    """

    z: FloatArray
    residual: FloatArray
    jacobian: FloatArray
    exact: Exact


def descended(
    unknowns: Unknowns,
    displays: Displays,
    z: FloatArray,
    walls: Walls,
    steps: int,
    leading: int | None = None,
    exact: Exact | None = None,
) -> Asking[Fit]:
    """Damped least squares between walls.

    What no reading tells of places and resistances is held near the middle between their walls.

    Parameters
    ----------
    unknowns, displays
        Hypothesis and readings.
    z : ndarray, shape (points, size)
        Where to begin.
    walls
        Where a wall is the other one too, the coordinate stays.
    steps
        At most so many.
    leading
        Only so many leading coordinates are moved; all unless given.
    exact
        What is known of the exact values at ``z``; nothing unless given.

    Yields
    ------
    ndarray, shape (more points, size)
        Points of the cube; to be sent exact values there.
    """
    holding = _Holding.between(unknowns, walls)
    moving = slice(leading)
    if exact is None:
        exact = yield from _seen(unknowns, z, holding.middle, leading)
    residual, jacobian = _linear(unknowns, displays, z, exact, holding, leading)
    cost = np.sum(residual**2, axis=1)
    damping = np.full(len(z), 1e-3)
    if np.all(walls[0] == walls[1]):
        return Fit(z, residual, jacobian, exact)
    for left in reversed(range(steps)):
        trial = z.copy()
        near = walls[0][:, moving], walls[1][:, moving]
        trial[:, moving] += _step(residual, jacobian, z[:, moving], damping, near)
        trial = np.clip(trial, *walls)
        if left:
            new = yield from _seen(unknowns, trial, holding.middle, leading)
            new_residual, new_jacobian = _linear(unknowns, displays, trial, new, holding, leading)
        else:
            # The last step is short: the derivatives before it serve.
            new = Exact((yield trial), exact.slopes)
            new_residual, new_jacobian = _misfits(unknowns, displays, trial, new, holding), jacobian
        new_cost = np.sum(new_residual**2, axis=1)
        # The last bits of a cost must not decide: what is as good is taken.
        better = new_cost <= cost * (1 + _EQUAL) + _EQUAL
        z = np.where(better[:, None], trial, z)
        residual = np.where(better[:, None], new_residual, residual)
        if new_jacobian is not jacobian:
            jacobian = np.where(better[:, None, None], new_jacobian, jacobian)
        exact = new.where(better, exact)
        gain = cost - np.minimum(cost, new_cost)
        cost = np.minimum(cost, new_cost)
        damping = np.where(better, damping / 10, damping * 10)
        if better.all() and gain.max() < 1e-4:
            break
    return Fit(z, residual, jacobian, exact)


def _step(
    residual: FloatArray,
    jacobian: FloatArray,
    z: FloatArray,
    damping: FloatArray,
    walls: Walls,
) -> FloatArray:
    low, high = walls
    downhill = -np.einsum("nrw,nr->nw", jacobian, residual)
    # Unknowns that sit on a wall of their box and are pushed against it.
    held = ((z <= low) & (downhill < 0)) | ((z >= high) & (downhill > 0)) | (low == high)
    to_wall = np.zeros_like(z)
    for _ in range(3):
        left = residual + np.einsum("nrw,nw->nr", jacobian, to_wall)
        freed = np.where(held[:, None, :], 0.0, jacobian)
        normal = np.swapaxes(freed, 1, 2) @ freed
        diagonal = np.einsum("nww->nw", normal)
        diagonal += damping[:, None] * (diagonal + 1.0) + held
        right = -np.einsum("nrw,nr->nw", freed, left)
        step = np.linalg.solve(normal, right[..., None])[..., 0]
        # What would leave its box goes to the wall; the others are solved again around it.
        outside = ~held & ((z + step < low) | (z + step > high))
        if not outside.any():
            break
        to_wall = np.where(outside, np.where(step < 0, low, high) - z, to_wall)
        held = held | outside
    return np.asarray(np.where(held, to_wall, step))


@dataclass(frozen=True, slots=True)
class _Holding:
    """Middle between the walls, and how stiffly each coordinate of the grid is held to it."""

    middle: FloatArray
    loose: FloatArray

    @classmethod
    def between(cls, unknowns: Unknowns, walls: Walls) -> _Holding:
        apart = (walls[1] - walls[0])[:, : unknowns.grid]
        loose = np.divide(2 / _LOOSE, apart, out=np.zeros_like(apart), where=apart > 0)
        return cls((walls[0] + walls[1]) / 2, loose)

    def pull(self, grid: int, z: FloatArray) -> FloatArray:
        """Misfit beside the readings: the prior of each unknown, and what holds the grid."""
        held = (z - self.middle)[:, :grid] * self.loose
        return np.concatenate([(z[:, grid:] - 0.5) / _PULL, held], axis=1)


def _steps(z: FloatArray, middle: FloatArray) -> FloatArray:
    """One-sided differences that stay inside the walls, shape (size, points)."""
    return np.where((z > middle) | (z > 1 - _STEP), -_STEP, _STEP).T


def _moved(z: FloatArray, steps: FloatArray) -> FloatArray:
    """The points as they are, then each of their leading coordinates moved by its step."""
    moved = np.repeat(z[None], len(steps) + 1, axis=0)
    for k, step in enumerate(steps):
        moved[k + 1, :, k] += step
    return moved


def _seen(
    unknowns: Unknowns, z: FloatArray, middle: FloatArray, leading: int | None
) -> Asking[Exact]:
    """Exact values and their derivatives with respect to all that the circuit depends on."""
    circuit = min(unknowns.circuit_size, unknowns.size if leading is None else leading)
    steps = _steps(z, middle)
    moved = _moved(z, steps[:circuit])
    found = (yield moved.reshape(-1, z.shape[1])).reshape(circuit + 1, len(z), -1)
    return Exact(found[0], (found[1:] - found[0]) / steps[:circuit, :, None])


def _linear(
    unknowns: Unknowns,
    displays: Displays,
    z: FloatArray,
    exact: Exact,
    holding: _Holding,
    leading: int | None,
) -> tuple[FloatArray, FloatArray]:
    """Misfit and its derivatives with respect to all coordinates, or the leading ones."""
    count, whole = z.shape
    size = whole if leading is None else leading
    steps = _steps(z, holding.middle)
    moved = _moved(z, steps[:size])
    values = np.repeat(exact.values[None], size + 1, axis=0)
    circuit = min(len(exact.slopes), size)
    values[1 : circuit + 1] += exact.slopes[:circuit] * steps[:circuit, :, None]
    found = displays.residuals(unknowns.indicated(moved, values))
    jacobian = (found[1:] - found[0]) / steps[:size, :, None]
    # Beside the readings: the prior of each unknown, and what holds the grid.
    grid = unknowns.grid
    others = whole - grid
    held = np.zeros((size, count, whole))
    moving = np.arange(grid, size)
    held[moving, :, moving - grid] = 1.0 / _PULL
    held[np.arange(grid), :, others + np.arange(grid)] = holding.loose.T
    return (
        np.concatenate([found[0], holding.pull(grid, z)], axis=1),
        np.moveaxis(np.concatenate([jacobian, held], axis=-1), 0, -1),
    )


def _misfits(
    unknowns: Unknowns, displays: Displays, z: FloatArray, exact: Exact, holding: _Holding
) -> FloatArray:
    found = displays.residuals(unknowns.indicated(z, exact.values))
    return np.concatenate([found, holding.pull(unknowns.grid, z)], axis=1)
