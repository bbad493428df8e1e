"""A cable as the front of a pulse meets it: wave admittances, losses, what turns a pulse back.

The rules stand in `cablesim.line.reflection`; here are the matrices, over the cores with the braid
as reference, written for the square root of the power.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint
from cablesim.cable.materials import alloy
from cablesim.cable.medium import Medium
from cablesim.cable.numbers import FloatArray, Real
from cablesim.line.terminals import Hookup, Terminal

__all__ = ["Guide", "Line", "Matrix", "inverse_of", "place_of"]

Matrix: TypeAlias = NDArray[np.floating[Any]]

# Stand for what is joined, and for what is cut: far from any wave resistance, yet finite.
_JOINED_SIEMENS = 1e7
_CUT_OHM = 1e9
# Two conductors that see nothing of each other still need a wave impedance.
_LEAST_FARAD_PER_M = 1e-18


def place_of(fault: Fault) -> Real:
    """Where a pulse meets a fault first [m from the cold joint].

    Parameters
    ----------
    fault
        Any fault.
    """
    return fault.from_m if isinstance(fault, Degraded) else fault.position_m


@dataclass(frozen=True, slots=True)
class Guide:
    """One part of a cable as pulses meet it; matrices over its cores, shape (..., n, n)."""

    wave: Matrix
    root: Matrix
    root_inverse: Matrix
    loss: Matrix
    velocity_m_per_s: Real


class Line:
    """Matrices of a cable over its cores, the braid being the reference; shape (..., n, n)."""

    def __init__(self, cable: Cable) -> None:
        self.cable = cable
        self.names = cable.conductors
        self.count = len(cable.construction.cores)
        warm = alloy(cable.core_alloy).factor(cable.temperature_c)
        heating = {(0, 1): 1.0 / cable.heating_ohm_m} if cable.construction.heats_between else {}
        heated = [ohm * warm for ohm in cable.core_ohm_per_m]
        cold = [cable.cold_lead_ohm_per_m] * self.count
        self.heated = self._guide(cable.medium(heated=True), heated, heating)
        self.cold = self._guide(cable.medium(heated=False), cold, {})
        self.alike = cable.cold_lead_is_alike
        # Where there is no lead the terminals are those of the heated part.
        self.first = self.cold if self.alike else self._at(cable.first_m)

    def _guide(
        self, medium: Medium, core_ohm: list[Real], siemens: dict[tuple[int, int], Any]
    ) -> Guide:
        velocity = medium.pulse_velocity_m_per_s
        wave = self._laplacian(
            {
                pair: velocity
                * np.maximum(
                    medium.at_pulses(medium.capacitance_pf_per_m(*pair)) * 1e-12,
                    _LEAST_FARAD_PER_M,
                )
                for pair in combinations(range(self.count + 1), 2)
            }
        )
        root = np.linalg.cholesky(wave)
        inner = inverse_of(root)
        loss = self._loss(root, inner, core_ohm, siemens)
        return Guide(wave, root, inner, loss, velocity)

    def _at(self, place_m: Real) -> Guide:
        """The part in which a place lies; a joint itself counts as heated."""
        if self.alike:
            return self.heated
        heated, cold = self.heated, self.cold
        warm = np.asarray((place_m >= 0.0) & (place_m <= self.cable.heated_length_m))

        def chosen(one: Matrix, other: Matrix) -> Matrix:
            return np.where(warm[..., None, None], one, other)

        return Guide(
            chosen(heated.wave, cold.wave),
            chosen(heated.root, cold.root),
            chosen(heated.root_inverse, cold.root_inverse),
            chosen(heated.loss, cold.loss),
            np.where(warm, heated.velocity_m_per_s, cold.velocity_m_per_s),
        )

    def joint(self) -> Matrix:
        """How the cold joint turns back a pulse that comes from the cold lead."""
        return np.asarray(
            _turned(self.cold.root) @ self._joined() @ self.cold.root - np.eye(self.count)
        )

    def _joined(self) -> Matrix:
        return 2 * inverse_of(self.cold.wave + self.heated.wave)

    def _laplacian(self, siemens: dict[tuple[int, int], Any]) -> Matrix:
        shape = np.broadcast_shapes(*(np.shape(value) for value in siemens.values()))
        found = np.zeros((*shape, self.count, self.count))
        for (i, j), value in siemens.items():
            for k in (i, j):
                if k < self.count:
                    found[..., k, k] += value
            if j < self.count:
                found[..., i, j] -= value
                found[..., j, i] -= value
        return found

    def _series(self, ohm: dict[int, Any]) -> Matrix:
        """Resistances in series; one in the braid is common to all cores."""
        shape = np.broadcast_shapes(*(np.shape(value) for value in ohm.values()))
        found = np.zeros((*shape, self.count, self.count))
        for k, value in ohm.items():
            if k < self.count:
                found[..., k, k] += value
            else:
                found += np.asarray(value)[..., None, None]
        return found

    def _loss(
        self,
        root: Matrix,
        inner: Matrix,
        core_ohm: list[Real],
        siemens: dict[tuple[int, int], Any],
    ) -> Matrix:
        """What takes strength from the front of a pulse, symmetric [1/m]."""
        ohm = self._series(dict(enumerate([*core_ohm, self.cable.braid_ohm_per_m])))
        lost = _turned(root) @ ohm @ root
        if siemens:
            lost = lost + inner @ self._laplacian(siemens) @ _turned(inner)
        return np.asarray(lost / 2)

    def source(self, hookup: Hookup) -> tuple[Matrix, Matrix]:
        """Which cores the two leads touch, with sign, and what is tied together beside them."""
        first, second = (lead[0].conductor for lead in hookup.leads)
        across = np.zeros(self.count)
        for name, sign in ((first, 1.0), (second, -1.0)):
            if name != "braid":
                across[self.names.index(name)] = sign
        end = hookup.leads[0][0].end
        return across, self._tied((*hookup.leads, *hookup.links), end)

    def _tied(self, groups: Iterable[tuple[Terminal, ...]], end: str) -> Matrix:
        joined: dict[tuple[int, int], Any] = {}
        for group in groups:
            here = sorted(self.names.index(t.conductor) for t in group if t.end == end)
            for i, j in pairwise(here):
                joined[i, j] = _JOINED_SIEMENS
        return self._laplacian(joined) if joined else np.zeros((self.count, self.count))

    def reflection(self, fault: Fault, rise_s: float) -> Matrix:
        """How a fault turns a pulse back, for the square root of the power."""
        once, here = np.eye(self.count), self._at(place_of(fault))
        if isinstance(fault, Break | Joint):
            ohm = np.minimum(fault.resistance_ohm, _CUT_OHM)
            series = self._series({self.names.index(name): ohm for name in fault.conductors})
            met = _turned(here.root) @ series @ here.root
            return np.asarray(inverse_of(2 * once + met) @ met)
        i, j = sorted(self.names.index(name) for name in fault.between)
        siemens = np.minimum(1.0 / np.maximum(fault.resistance_ohm, 1e-300), _JOINED_SIEMENS)
        if isinstance(fault, Degraded):
            stretch_m = fault.to_m - fault.from_m
            at_once_m = here.velocity_m_per_s * rise_s / 2
            longer = stretch_m > at_once_m
            siemens = siemens * np.where(longer, at_once_m / np.where(longer, stretch_m, 1.0), 1.0)
        met = here.root_inverse @ self._laplacian({(i, j): siemens}) @ _turned(here.root_inverse)
        return np.asarray(-inverse_of(2 * once + met) @ met)

    def far_end(self, hookup: Hookup, position_m: Real) -> Matrix:
        """How the far end turns a pulse back."""
        once, here = np.eye(self.count), self._at(position_m)
        end = "far" if hookup.leads[0][0].end == "near" else "near"
        groups = [*hookup.links]
        if self.cable.far_end == "joined":
            groups.append(tuple(Terminal(core, end) for core in self.cable.construction.cores))
        load = here.root_inverse @ self._tied(groups, end) @ _turned(here.root_inverse)
        return np.asarray(inverse_of(once + load) @ (once - load))

    def arriving(
        self,
        start: FloatArray,
        place: Any,
        places: list[Any],
        each: list[Matrix],
        faults: tuple[Fault, ...],
        number: int,
    ) -> FloatArray:
        """The wave that arrives at a place: what the way and the faults before it leave of it."""
        through = [self._through(faults[k], each[k]) for k in range(len(faults))]
        wave, here = start, np.asarray(self.cable.first_m, float)
        if not places:
            return self.along(wave, here, place)
        # Faults in the order in which the pulse meets them, one row of the batch each.
        shape = np.broadcast_shapes(np.shape(place), *(np.shape(p) for p in places))
        spots = np.stack([np.broadcast_to(p, shape) for p in places], axis=-1)
        order = np.argsort(spots, axis=-1, kind="stable")
        for rank in range(len(places)):
            which = order[..., rank]
            for k in range(len(places)):
                before = (which == k) & (spots[..., k] <= place) & (number != k)
                # Of several at one place each is met before those listed after it.
                before &= (spots[..., k] < place) | (k < number)
                if not np.any(before):
                    continue
                moved = self.along(wave, here, np.where(before, spots[..., k], here))
                wave = np.where(before[..., None], _times(through[k], moved), moved)
                here = np.where(before, spots[..., k], here)
        return self.along(wave, here, place)

    def _through(self, fault: Fault, reflection: Matrix) -> Matrix:
        sign = -1.0 if isinstance(fault, Break | Joint) else 1.0
        return np.asarray(np.eye(self.count) + sign * reflection)

    def along(self, wave: FloatArray, from_m: Any, to_m: Any, *, across: bool = True) -> FloatArray:
        """What the cable itself leaves of a wave between two positions.

        ``across`` says whether a wave that ends at a cold joint has passed it.
        """
        length = self.cable.heated_length_m
        if self.alike:
            warm = np.clip(to_m, 0.0, length) - np.clip(from_m, 0.0, length)
            wave = _times(_decay(self.cold.loss, (to_m - from_m) - warm), wave)
            return _times(_decay(self.heated.loss, warm), wave)
        parts = [(self.cold, -np.inf, 0.0), (self.heated, 0.0, length), (self.cold, length, np.inf)]
        for k, (guide, begin, end) in enumerate(parts):
            metres = np.clip(to_m, begin, end) - np.clip(from_m, begin, end)
            wave = _times(_decay(guide.loss, metres), wave)
            if k == 2 or not across:
                continue
            next_root = parts[k + 1][0].root
            passed = (from_m < end) & (to_m >= end) if k == 0 else (from_m <= end) & (to_m > end)
            over = _times(_turned(next_root) @ self._joined() @ guide.root, wave)
            wave = np.where(np.asarray(passed)[..., None], over, wave)
        return wave


def _decay(loss: Matrix, metres: Real) -> Matrix:
    """``exp(-loss metres)`` of a symmetric matrix of one or two rows."""
    far = np.asarray(metres)
    if loss.shape[-1] == 1:
        return np.asarray(np.exp(-loss * far[..., None, None]))
    first, second, both = loss[..., 0, 0], loss[..., 1, 1], loss[..., 0, 1]
    mean, half = (first + second) / 2, (first - second) / 2
    apart = np.hypot(half, both)
    # Its two modes; (loss - mean) / apart is what sets them apart.
    slow, fast = np.exp(-(mean - apart) * far), np.exp(-(mean + apart) * far)
    share = (slow - fast) / 2 / np.where(apart > 0, apart, 1.0)
    middle = (slow + fast) / 2
    return _symmetric(middle - share * half, middle + share * half, -share * both)


def _times(matrix: Matrix, vector: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("...ij,...j->...i", matrix, vector))


def _turned(matrix: Matrix) -> Matrix:
    return np.swapaxes(matrix, -1, -2)


def inverse_of(matrix: Matrix) -> Matrix:
    """Inverse of matrices of one or two rows.

    Parameters
    ----------
    matrix : ndarray, shape (..., n, n)
        With n of 1 or 2.
    """
    if matrix.shape[-1] == 1:
        return np.asarray(1.0 / matrix)
    a, b, c, d = (matrix[..., i, j] for i in range(2) for j in range(2))
    found = np.stack([np.stack([d, -b], axis=-1), np.stack([-c, a], axis=-1)], axis=-2)
    return np.asarray(found / (a * d - b * c)[..., None, None])


def _symmetric(first: Any, second: Any, both: Any) -> Matrix:
    rows = [np.stack([first, both], axis=-1), np.stack([both, second], axis=-1)]
    return np.stack(rows, axis=-2)
