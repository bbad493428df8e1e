"""Damped least squares of many points at once, each between walls of its own.

A fit asks for exact values, it does not compute them: it is a generator that yields points and is
sent what ideal meters would show there. So the fits of all hypotheses go side by side, and their
points are computed in one batch (`cablesim.locate.together`).

Source of the damping: D. W. Marquardt, SIAM Journal on Applied Mathematics 11 (1963) 431-441 (from
memory).
"""

from __future__ import annotations

from collections.abc import Generator
from typing import TypeAlias, TypeVar

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns

__all__ = ["Asking", "Walls", "descended"]

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


def descended(
    unknowns: Unknowns,
    displays: Displays,
    z: FloatArray,
    walls: Walls,
    steps: int,
    leading: int | None = None,
) -> Asking[tuple[FloatArray, FloatArray, FloatArray]]:
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

    Yields
    ------
    ndarray, shape (more points, size)
        Points of the cube; to be sent exact values there.

    Returns
    -------
    z : ndarray, shape (points, size)
        The best points.
    residual : ndarray, shape (points, rows)
        Misfit there: of the readings, of the limits at which meters give up, then the pull of the
        prior on each unknown beside the grid, and what holds the grid.
    jacobian : ndarray, shape (points, rows, coordinates)
        Its derivatives.
    """
    moving = slice(leading)
    middle = (walls[0] + walls[1]) / 2
    apart = (walls[1] - walls[0])[:, : unknowns.grid]
    loose = np.divide(2 / _LOOSE, apart, out=np.zeros_like(apart), where=apart > 0)
    residual, jacobian = yield from _linearised(unknowns, displays, z, middle, loose, leading)
    cost = np.sum(residual**2, axis=1)
    damping = np.full(len(z), 1e-3)
    if np.all(walls[0] == walls[1]):
        return z, residual, jacobian
    for left in reversed(range(steps)):
        trial = z.copy()
        near = walls[0][:, moving], walls[1][:, moving]
        trial[:, moving] += _step(residual, jacobian, z[:, moving], damping, near)
        trial = np.clip(trial, *walls)
        if left:
            new_residual, new_jacobian = yield from _linearised(
                unknowns, displays, trial, middle, loose, leading
            )
        else:
            # The last step is short: the derivatives before it serve.
            new_residual = yield from _misfits(unknowns, displays, trial, middle, loose)
            new_jacobian = jacobian
        new_cost = np.sum(new_residual**2, axis=1)
        better = new_cost <= cost
        z = np.where(better[:, None], trial, z)
        residual = np.where(better[:, None], new_residual, residual)
        jacobian = np.where(better[:, None, None], new_jacobian, jacobian)
        gain = cost - np.minimum(cost, new_cost)
        cost = np.minimum(cost, new_cost)
        damping = np.where(better, damping / 10, damping * 10)
        if better.all() and gain.max() < 1e-4:
            break
    return z, residual, jacobian


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
        normal = np.einsum("nrw,nrv->nwv", freed, freed)
        diagonal = np.einsum("nww->nw", normal)
        diagonal += damping[:, None] * (diagonal + 1.0) + held
        right = -np.einsum("nrw,nr->nw", freed, left)
        step = np.linalg.solve(normal, right[..., None])[..., 0]
        # What would leave its box goes to the wall; the others are solved again around it.
        outside = ~held & ((z + step < low) | (z + step > high))
        to_wall = np.where(outside, np.where(step < 0, low, high) - z, to_wall)
        held = held | outside
    return np.asarray(np.where(held, to_wall, step))


def _linearised(
    unknowns: Unknowns,
    displays: Displays,
    z: FloatArray,
    middle: FloatArray,
    loose: FloatArray,
    leading: int | None = None,
) -> Asking[tuple[FloatArray, FloatArray]]:
    """Misfit and its derivatives with respect to all coordinates, or the leading ones."""
    count, size = z.shape
    whole = size
    size = whole if leading is None else leading
    # One-sided differences that stay inside the walls.
    steps = np.where((z > middle) | (z > 1 - _STEP), -_STEP, _STEP)
    moved = np.repeat(z[None], size + 1, axis=0)
    for k in range(size):
        moved[k + 1, :, k] += steps[:, k]
    circuit = min(unknowns.circuit_size, size)
    exact = (yield moved[: circuit + 1].reshape(-1, whole)).reshape(circuit + 1, count, -1)
    exact = np.concatenate([exact, np.repeat(exact[:1], size - circuit, axis=0)])
    found = displays.residuals(unknowns.indicated(moved, exact))
    jacobian = (found[1:] - found[0]) / steps.T[:size, :, None]
    # Beside the readings: the prior of each unknown, and what holds the grid.
    grid = unknowns.grid
    others = whole - grid
    pull = _pulled(unknowns, z, middle, loose)
    held = np.zeros((size, count, whole))
    moving = np.arange(grid, size)
    held[moving, :, moving - grid] = 1.0 / _PULL
    held[np.arange(grid), :, others + np.arange(grid)] = loose.T
    return (
        np.concatenate([found[0], pull], axis=1),
        np.moveaxis(np.concatenate([jacobian, held], axis=-1), 0, -1),
    )


def _misfits(
    unknowns: Unknowns, displays: Displays, z: FloatArray, middle: FloatArray, loose: FloatArray
) -> Asking[FloatArray]:
    found = displays.residuals(unknowns.indicated(z, (yield z)))
    return np.concatenate([found, _pulled(unknowns, z, middle, loose)], axis=1)


def _pulled(unknowns: Unknowns, z: FloatArray, middle: FloatArray, loose: FloatArray) -> FloatArray:
    """Misfit beside the readings: the prior of each unknown, and what holds the grid."""
    grid = unknowns.grid
    return np.concatenate([(z[:, grid:] - 0.5) / _PULL, (z - middle)[:, :grid] * loose], axis=1)
