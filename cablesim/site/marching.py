"""Steps in time of a linear network of heat: implicit, of fifth order, with its own error.

The power is constant between switchings, so the rate of warming ``f = dT/dt`` obeys ``f' = J f``
with ``J = -mass^-1 stiffness``, and a step of length d from T ends at ``T + d phi(d J) f`` with
``phi(z) = (exp(z) - 1) / z``. One matrix is factorised a step length, ``I - c d J``, and applied
to f five times in a row; five weights then match phi to the fifth order, four of the five the
embedded solution of fourth order whose distance is the error of the step. With c such that the
Laguerre polynomial L5(1/c) is zero the stiffest cells are damped out (L-stable; restricted Pade
approximations, from memory of Noersett 1978 and of Hairer and Wanner, Solving Ordinary Differential
Equations II, IV.6). Other weights on the same five vectors give every moment within the step.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from scipy.sparse import csc_matrix, diags
from scipy.sparse.linalg import splu

from cablesim.cable.numbers import FloatArray
from cablesim.site.conduction import Network

__all__ = ["DAMPING", "STAGES", "Course", "march", "weights"]

STAGES: Final = 5
DAMPING: Final = 0.2780538410720264  # 1 / third zero of L5
_SAFETY, _MOST = 0.85, 8.0
# A step grows or shrinks by powers of two, so that few matrices are factorised.
_BASE = 2.0


def weights(share: FloatArray | float, stages: int = STAGES) -> FloatArray:
    """Weights of the stages that end within a step.

    Parameters
    ----------
    share
        Part of the step that has passed, 0 to 1; any shape.
    stages
        How many stages to use, which is the order.

    Returns
    -------
    ndarray
        Shape of `share` with `stages` as last axis, in units of the step's length.
    """
    power = np.arange(stages)
    wanted = np.asarray(share, dtype=float)[..., np.newaxis] ** (power + 1)
    found: FloatArray = wanted @ _matching(stages)
    return found


@cache
def _matching(stages: int) -> FloatArray:
    """Matrix from powers of the share to weights: `(1 - c z)^-j` expanded to `stages` terms."""
    power = range(stages)
    terms = [[math.comb(j + k, k) * DAMPING**k for j in power] for k in power]
    factorials = np.array([math.factorial(k + 1) for k in power], dtype=float)
    matrix: FloatArray = (np.linalg.inv(np.array(terms)) / factorials).T
    return matrix


@dataclass(frozen=True, slots=True)
class Course:
    """What was watched, over time, with every moment in between.

    Parameters
    ----------
    starts_s, steps_s
        Where each step starts and how long it is [s], shape (n,).
    values
        What was watched at the start of each step, shape (n, m).
    stages
        The step's five vectors seen the same way, shape (n, 5, m).
    given_j, lost_j, stored_j
        Heat put in, given up and kept until the end [J]; each is summed on its own.
    error
        Sum of the estimated errors of all steps, largest over the cells, in units of the values.
    """

    starts_s: FloatArray
    steps_s: FloatArray
    values: FloatArray
    stages: FloatArray
    given_j: float
    lost_j: float
    stored_j: float
    error: float

    def at(self, times_s: FloatArray, columns: slice = slice(None)) -> FloatArray:
        """Values at any moments from the start to the end, shape (len(times_s), m)."""
        step = np.searchsorted(self.starts_s, times_s, side="right") - 1
        step = np.clip(step, 0, self.starts_s.size - 1)
        length = self.steps_s[step]
        share = np.clip((times_s - self.starts_s[step]) / length, 0.0, 1.0)
        moved = np.einsum("tj,tjm->tm", weights(share), self.stages[:, :, columns][step])
        now: FloatArray = self.values[:, columns][step] + length[:, np.newaxis] * moved
        return now


def march(
    network: Network,
    powers: Sequence[tuple[float, float]],
    watch: Callable[[FloatArray], FloatArray],
    *,
    tolerance: float = 1e-6,
) -> Course:
    """March through periods of constant power, from a floor that is at rest.

    Parameters
    ----------
    network
        The cells.
    powers
        Seconds and watts of each period.
    watch
        Takes values of all cells (last axis) to what is to be kept of them; linear.
    tolerance
        Largest error of a step, as a share of the largest rise so far.
    """
    return _March(network, watch, tolerance).through(powers)


class _March:
    """The state of a march: temperatures, the heat lost so far, matrices by step length."""

    def __init__(
        self, network: Network, watch: Callable[[FloatArray], FloatArray], tolerance: float
    ) -> None:
        self.network, self.watch, self.tolerance = network, watch, tolerance
        self.mass = diags(network.mass_j_per_k)
        self.loss = network.surface_loss_w_per_k + network.underside_loss_w_per_k
        self.solvers: dict[float, Callable[[FloatArray], FloatArray]] = {}
        self.whole = weights(1.0)
        self.lower = np.append(weights(1.0, STAGES - 1), 0.0)
        self.rise = np.zeros(network.mass_j_per_k.size)
        self.lost_j = self.error = self.largest = 0.0
        self.rows: list[tuple[float, float, FloatArray, FloatArray]] = []
        # The time in which heat crosses the smallest cell.
        shortest = network.mass_j_per_k / network.stiffness_w_per_k.diagonal()
        self.first_s = float(shortest.min())

    def through(self, powers: Sequence[tuple[float, float]]) -> Course:
        now = given = 0.0
        for seconds, watt in powers:
            self._period(now, seconds, watt)
            now += seconds
            given += seconds * watt
        starts, steps, values, stages = zip(*self.rows, strict=True)
        stored = float(self.network.mass_j_per_k @ self.rise)
        return Course(
            np.array(starts),
            np.array(steps),
            np.array(values),
            np.array(stages),
            given,
            self.lost_j,
            stored,
            self.error,
        )

    def _period(self, start: float, seconds: float, watt: float) -> None:
        step, done = self.first_s, 0.0
        while done < seconds * (1 - 1e-12):
            left = seconds - done
            # Two equal steps at the end rather than one and a sliver.
            length = step if left >= 2 * step else left / 2 if left > step else left
            stages, error = self._try(length, watt)
            after = self.rise + length * (self.whole @ stages)
            largest = max(self.largest, float(np.abs(after).max()))
            ratio = error / (self.tolerance * largest) if largest > 0.0 else 0.0
            factor = _SAFETY * ratio ** (-1 / STAGES) if ratio > 0.0 else _MOST
            if ratio > 1.0 and length > self.first_s * 1e-9:
                step = length * _BASE ** min(-1, math.floor(math.log2(factor)))
                continue
            self._keep(start + done, length, stages)
            self.rise, self.largest = after, largest
            self.error += error
            done += length
            grown = _BASE ** math.floor(math.log2(min(max(factor, 0.5), _MOST)))
            # A step cut short by the end of the period says nothing about longer ones.
            step = length * grown if length == step else step

    def _try(self, length: float, watt: float) -> tuple[FloatArray, float]:
        net = self.network
        vector = (watt * net.source - net.stiffness_w_per_k @ self.rise) / net.mass_j_per_k
        solve = self._solver(length)
        stages = np.empty((STAGES, vector.size))
        for stage in range(STAGES):
            vector = solve(net.mass_j_per_k * vector)
            stages[stage] = vector
        error = length * float(np.abs((self.whole - self.lower) @ stages).max())
        return stages, error

    def _solver(self, length: float) -> Callable[[FloatArray], FloatArray]:
        if length not in self.solvers:
            matrix = csc_matrix(self.mass + DAMPING * length * self.network.stiffness_w_per_k)
            factors = splu(
                matrix,
                permc_spec="MMD_AT_PLUS_A",
                diag_pivot_thresh=0.0,
                options={"SymmetricMode": True},
            )
            self.solvers[length] = factors.solve
        return self.solvers[length]

    def _keep(self, start: float, length: float, stages: FloatArray) -> None:
        # The heat given up is marched like one more cell, so that the balance closes by itself.
        rate = float(self.loss @ self.rise)
        lost = np.empty(STAGES)
        for stage in range(STAGES):
            rate += DAMPING * length * float(self.loss @ stages[stage])
            lost[stage] = rate
        self.lost_j += length * float(self.whole @ lost)
        self.rows.append((start, length, self.watch(self.rise), self.watch(stages)))
