"""Where a pulse is reflected: the time, sign and size of the first echo from each place.

The front of a pulse runs at one velocity along all conductors. It meets the wave admittance ``Yc =
v C`` (a matrix over the cores, the braid being the reference), loses strength by ``exp(-S x)`` with
``S = (R Yc + Zc G) / 2``, and is reflected where something is across or in series:

- across, with conductances ``Yf``: ``-(2 Yc + Yf)^-1 Yf``, on one pair ``-Z0 / (2 R + Z0)``;
- in series, with resistances ``Zf``: ``(2 Zc + Zf)^-1 Zf``, on one pair ``R / (R + 2 Z0)``;
- at the far end, with conductances ``Yl`` there: ``(Yc + Yl)^-1 (Yc - Yl)``.

Written for the square root of the power, ``w = K^T V`` with ``Yc = K K^T``, all of these are
symmetric; so by reciprocity the echo at the terminals is ``2 Rs w^T r w`` with the wave w that
arrives at the place: never positive from what lies across, never negative from what is in series,
whatever the leads touch. This is the front alone, for a sharp pulse. The tail that losses add comes
later; `cablesim.line.pulse` has it all.

Source: reflection at a lumped element, em.emedu.org.tw/elec_sim/5-5.html (TDR simulator); matrices
after C. R. Paul, Analysis of Multiconductor Transmission Lines (Wiley, 1994), from memory.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable, mirrored_fault
from cablesim.cable.faults import Break, Degraded, Fault, Joint
from cablesim.cable.materials import alloy
from cablesim.cable.numbers import FloatArray, Real
from cablesim.errors import InputError
from cablesim.line.terminals import Hookup, Terminal

__all__ = ["Echo", "echo_delay_ns", "echoes", "end_of_leads", "wave_impedance_ohm"]

_Matrix: TypeAlias = NDArray[np.floating[Any]]

# Stand for what is joined, and for what is cut: far from any wave resistance, yet finite.
_JOINED_SIEMENS = 1e7
_CUT_OHM = 1e9
_LEAST_SOURCE_OHM = 1e-6
# Two conductors that see nothing of each other still need a wave impedance.
_LEAST_FARAD_PER_M = 1e-18


@dataclass(frozen=True, slots=True)
class Echo:
    """The first echo from one place.

    Parameters
    ----------
    source
        Number of the fault, or -1 for the far end.
    position_m
        Where it comes from [m from the cold joint].
    delay_ns
        From the step at the terminals to its echo there [ns].
    size
        Height at the terminals, as a share of the step that enters the cable; negative where the
        echo turns the other way.
    """

    source: int
    position_m: Real
    delay_ns: Real
    size: FloatArray


def echo_delay_ns(cable: Cable, position_m: Real, *, end: str = "near") -> Real:
    """Time of a pulse from the terminals to a place and back, cold lead included [ns].

    Parameters
    ----------
    cable
        Gives velocity and cold lead; may be a batch.
    position_m
        The place [m from the cold joint].
    end
        ``"near"``, or ``"far"`` for leads at the far terminals of a cable that returns.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> round(echo_delay_ns(cable, 12.4), 2)
    154.11
    """
    way_m = position_m - cable.first_m if end == "near" else cable.last_m - position_m
    delay_ns: Real = 2e9 * way_m / cable.pulse_velocity_m_per_s
    return delay_ns


def wave_impedance_ohm(cable: Cable, hookup: Hookup) -> FloatArray:
    """Wave impedance that a sharp pulse meets between the two leads [ohm].

    Parameters
    ----------
    cable
        May be a batch.
    hookup
        What the leads touch; other conductors float.
    """
    line = _Line(cable)
    end_of_leads(cable, hookup)
    across, tied = line.source(hookup)
    return np.asarray(np.einsum("...i,...ij,...j->...", across, _inverse(line.wave + tied), across))


def echoes(
    cable: Cable,
    faults: tuple[Fault, ...],
    hookup: Hookup,
    source_ohm: float,
    *,
    rise_s: float = 0.0,
) -> tuple[Echo, ...]:
    """First echoes of all faults and of the far end.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape.
    hookup
        What the two leads touch, all at one end of the cable.
    source_ohm
        Resistance of the source [ohm].
    rise_s
        Rise time [s]: of a leaking stretch longer than that only as much counts at once.

    Returns
    -------
    tuple of Echo
        One for each fault, in their order, then that of the far end.

    Raises
    ------
    InputError
        If the leads are not two at one and the same end.
    """
    end = end_of_leads(cable, hookup)
    if end == "far":
        faults = tuple(mirrored_fault(cable, fault) for fault in faults)
    line = _Line(cable)
    across, tied = line.source(hookup)
    source = max(source_ohm, _LEAST_SOURCE_OHM)
    loaded = line.wave + tied + across[:, None] * across[None, :] / source
    sent = np.einsum("...ij,j->...i", _inverse(loaded), across) / source
    entered = sent @ across
    start = np.einsum("...ji,...j->...i", line.root, sent)
    places: list[Any] = [_place(fault) for fault in faults]
    each = [line.reflection(fault, rise_s) for fault in faults]
    far = line.far_end(hookup, cable.last_m)
    found = []
    for k, place in enumerate([*places, cable.last_m]):
        wave = line.arriving(start, place, places, each, faults, k)
        what = each[k] if k < len(faults) else far
        height = 2 * source * np.einsum("...i,...ij,...j->...", wave, what, wave) / entered
        number = k if k < len(faults) else -1
        seen_from = place if end == "near" else cable.heated_length_m - place
        found.append(Echo(number, seen_from, echo_delay_ns(cable, place), np.asarray(height)))
    return tuple(found)


def _place(fault: Fault) -> Real:
    """Where a pulse meets it first."""
    return fault.from_m if isinstance(fault, Degraded) else fault.position_m


def end_of_leads(cable: Cable, hookup: Hookup) -> str:
    """The end at which both leads are, ``"near"`` or ``"far"``.

    Raises
    ------
    InputError
        If they are not at one end that can be reached.
    """
    ends = {found.end for lead in hookup.leads for found in lead}
    if len(hookup.leads) != 2 or len(ends) != 1 or (ends == {"far"} and not _returns(cable)):
        raise InputError(
            what="across",
            got=list(hookup.across),
            allowed="two leads at one and the same end of the cable"
            + ("" if _returns(cable) else ", the near one"),
        )
    return ends.pop()


def _returns(cable: Cable) -> bool:
    return cable.construction.returns


class _Line:
    """Matrices of a cable over its cores, the braid being the reference; shape (..., n, n)."""

    def __init__(self, cable: Cable) -> None:
        self.cable = cable
        self.names = cable.conductors
        self.count = len(cable.construction.cores)
        pairs = list(combinations(range(self.count + 1), 2))
        kinds = {pair: "core_braid" if pair[1] == self.count else "core_core" for pair in pairs}
        farad_per_m = {
            pair: np.maximum(
                cable.at_pulses(getattr(cable, f"capacitance_{kind}_pf_per_m")) * 1e-12,
                _LEAST_FARAD_PER_M,
            )
            for pair, kind in kinds.items()
        }
        velocity = cable.pulse_velocity_m_per_s
        self.wave = self._laplacian({pair: c * velocity for pair, c in farad_per_m.items()})
        self.root = np.linalg.cholesky(self.wave)
        self.root_inverse = _inverse(self.root)
        warm = alloy(cable.core_alloy).factor(cable.temperature_c)
        self.cold = self._loss([cable.cold_lead_ohm_per_m] * self.count, {})
        heating = {(0, 1): 1.0 / cable.heating_ohm_m} if cable.construction.heats_between else {}
        self.heated = self._loss([ohm * warm for ohm in cable.core_ohm_per_m], heating)

    def _laplacian(self, siemens: dict[tuple[int, int], Any]) -> _Matrix:
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

    def _series(self, ohm: dict[int, Any]) -> _Matrix:
        """Resistances in series; one in the braid is common to all cores."""
        shape = np.broadcast_shapes(*(np.shape(value) for value in ohm.values()))
        found = np.zeros((*shape, self.count, self.count))
        for k, value in ohm.items():
            if k < self.count:
                found[..., k, k] += value
            else:
                found += np.asarray(value)[..., None, None]
        return found

    def _loss(self, core_ohm: list[Real], siemens: dict[tuple[int, int], Any]) -> _Matrix:
        """What takes strength from the front of a pulse, symmetric [1/m]."""
        ohm = self._series(dict(enumerate([*core_ohm, self.cable.braid_ohm_per_m])))
        lost = _turned(self.root) @ ohm @ self.root
        if siemens:
            inner = self.root_inverse
            lost = lost + inner @ self._laplacian(siemens) @ _turned(inner)
        return np.asarray(lost / 2)

    def source(self, hookup: Hookup) -> tuple[_Matrix, _Matrix]:
        """Which cores the two leads touch, with sign, and what is tied together beside them."""
        first, second = (lead[0].conductor for lead in hookup.leads)
        across = np.zeros(self.count)
        for name, sign in ((first, 1.0), (second, -1.0)):
            if name != "braid":
                across[self.names.index(name)] = sign
        end = hookup.leads[0][0].end
        return across, self._tied((*hookup.leads, *hookup.links), end)

    def _tied(self, groups: Iterable[tuple[Terminal, ...]], end: str) -> _Matrix:
        joined: dict[tuple[int, int], Any] = {}
        for group in groups:
            here = sorted(self.names.index(t.conductor) for t in group if t.end == end)
            for i, j in pairwise(here):
                joined[i, j] = _JOINED_SIEMENS
        return self._laplacian(joined) if joined else np.zeros((self.count, self.count))

    def reflection(self, fault: Fault, rise_s: float) -> _Matrix:
        """How a fault turns a pulse back, for the square root of the power."""
        once = np.eye(self.count)
        if isinstance(fault, Break | Joint):
            ohm = np.minimum(fault.resistance_ohm, _CUT_OHM)
            series = self._series({self.names.index(name): ohm for name in fault.conductors})
            met = _turned(self.root) @ series @ self.root
            return np.asarray(_inverse(2 * once + met) @ met)
        i, j = sorted(self.names.index(name) for name in fault.between)
        siemens = np.minimum(1.0 / np.maximum(fault.resistance_ohm, 1e-300), _JOINED_SIEMENS)
        if isinstance(fault, Degraded):
            stretch_m = fault.to_m - fault.from_m
            at_once_m = self.cable.pulse_velocity_m_per_s * rise_s / 2
            longer = stretch_m > at_once_m
            siemens = siemens * np.where(longer, at_once_m / np.where(longer, stretch_m, 1.0), 1.0)
        met = self.root_inverse @ self._laplacian({(i, j): siemens}) @ _turned(self.root_inverse)
        return np.asarray(-_inverse(2 * once + met) @ met)

    def far_end(self, hookup: Hookup, position_m: Real) -> _Matrix:
        """How the far end turns a pulse back."""
        once = np.eye(self.count)
        end = "far" if hookup.leads[0][0].end == "near" else "near"
        groups = [*hookup.links]
        if self.cable.far_end == "joined":
            groups.append(tuple(Terminal(core, end) for core in self.cable.construction.cores))
        load = self.root_inverse @ self._tied(groups, end) @ _turned(self.root_inverse)
        return np.asarray(_inverse(once + load) @ (once - load))

    def arriving(
        self,
        start: FloatArray,
        place: Any,
        places: list[Any],
        each: list[_Matrix],
        faults: tuple[Fault, ...],
        number: int,
    ) -> FloatArray:
        """The wave that arrives at a place: what the way and the faults before it leave of it."""
        through = [self._through(faults[k], each[k]) for k in range(len(faults))]
        wave, here = start, np.asarray(self.cable.first_m, float)
        if not places:
            return self._along(wave, here, place)
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
                moved = self._along(wave, here, np.where(before, spots[..., k], here))
                wave = np.where(before[..., None], _times(through[k], moved), moved)
                here = np.where(before, spots[..., k], here)
        return self._along(wave, here, place)

    def _through(self, fault: Fault, reflection: _Matrix) -> _Matrix:
        sign = -1.0 if isinstance(fault, Break | Joint) else 1.0
        return np.asarray(np.eye(self.count) + sign * reflection)

    def _along(self, wave: FloatArray, from_m: Real, to_m: Real) -> FloatArray:
        """What the cable itself leaves of a wave between two positions."""
        length = self.cable.heated_length_m
        warm = np.clip(to_m, 0.0, length) - np.clip(from_m, 0.0, length)
        cold = (to_m - from_m) - warm
        for loss, metres in ((self.cold, cold), (self.heated, warm)):
            wave = _times(_decay(loss, metres), wave)
        return wave


def _decay(loss: _Matrix, metres: Real) -> _Matrix:
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


def _times(matrix: _Matrix, vector: FloatArray) -> FloatArray:
    return np.asarray(np.einsum("...ij,...j->...i", matrix, vector))


def _turned(matrix: _Matrix) -> _Matrix:
    return np.swapaxes(matrix, -1, -2)


def _inverse(matrix: _Matrix) -> _Matrix:
    if matrix.shape[-1] == 1:
        return np.asarray(1.0 / matrix)
    a, b, c, d = (matrix[..., i, j] for i in range(2) for j in range(2))
    found = np.stack([np.stack([d, -b], axis=-1), np.stack([-c, a], axis=-1)], axis=-2)
    return np.asarray(found / (a * d - b * c)[..., None, None])


def _symmetric(first: Any, second: Any, both: Any) -> _Matrix:
    rows = [np.stack([first, both], axis=-1), np.stack([both, second], axis=-1)]
    return np.stack(rows, axis=-2)
