"""Readings as straight lines around one state of the cable: what each unknown does to each reading.

Limits and error budgets both start here. The slopes come from the exact circuit, by central
differences in the unit cube of `cablesim.locate.parameters`, so that all that the answer holds
unknown is unknown here too.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Flashover
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.parameters import FACTORS, Unknowns
from cablesim.locate.prior import (
    DEGRADED_OHM,
    JOINT_OHM,
    SHORT_OHM,
    Hypothesis,
    PlacePrior,
)

__all__ = ["Given", "Linear", "Unknown", "linearised"]

# Steps of the central differences: of a place as a share of the cable, of the rest in the cube.
_PLACE_STEP, _STEP = 2e-5, 1e-4
# Resistances are told apart on this scale [ohm]; a fault of none counts as the least.
_OHM = (1e-6, 1e15)
# Even a perfect meter has this noise, as a share of what it indicates.
_LEAST_NOISE = 1e-9
OHM_RANGES = {"short": SHORT_OHM, "degraded": DEGRADED_OHM, "joint": JOINT_OHM}


@dataclass(frozen=True, slots=True)
class Unknown:
    """One unknown beside the readings' own noise.

    Parameters
    ----------
    name
        What it is.
    unit
        Unit in which it deviates from what is assumed; ``ln`` for a factor's natural logarithm.
    spread
        Standard deviation of it before any reading; infinite where nothing is known.
    """

    name: str
    unit: str
    spread: float


@dataclass(frozen=True, slots=True)
class Given:
    """What the answer takes as given, with limits to see what it matters.

    Parameters
    ----------
    temperature_k
        The cable's temperature is right within this, up or down [K].
    cold_lead_percent
        The cold lead's resistance is right within this, up or down [%].
    """

    temperature_k: float = 0.0
    cold_lead_percent: float = 0.0


@dataclass(frozen=True, slots=True)
class Linear:
    """Readings linearised around one state, or a batch of states.

    Parameters
    ----------
    unknowns
        Places [m], resistances of the faults [ohm], then what is uncertain of cable and
        meters.
    places, resistances, of_cable
        How many of the leading unknowns are places, how many come next that are resistances, and
        how many after these belong to the cable.
    indicated : ndarray, shape (batch, readings)
        What the meters indicate before counts and rounding, in their units.
    slopes : ndarray, shape (batch, readings, unknowns)
        Change of each indication per unit of each unknown; zero where a reading is over range,
        since nearby states show the same.
    noise : ndarray, shape (batch, readings)
        Standard deviation of counts and rounding together.
    """

    unknowns: tuple[Unknown, ...]
    places: int
    resistances: int
    of_cable: int
    indicated: FloatArray
    slopes: FloatArray
    noise: FloatArray

    @property
    def spread(self) -> FloatArray:
        """Standard deviation of each unknown before any reading, shape (unknowns,)."""
        return np.array([unknown.spread for unknown in self.unknowns])

    @property
    def grid(self) -> int:
        """Number of leading unknowns that are places or resistances."""
        return self.places + self.resistances

    def chosen(self, numbers: Sequence[int]) -> Linear:
        """The same with some of the readings only."""
        picked = list(numbers)
        return replace(
            self,
            indicated=self.indicated[:, picked],
            slopes=self.slopes[:, picked],
            noise=self.noise[:, picked],
        )


def linearised(
    cable: Cable,
    faults: tuple[Fault, ...],
    probes: Sequence[Probe],
    *,
    shown: Sequence[float] | None = None,
    cable_at: FloatArray | None = None,
    given: Given | None = None,
) -> Linear:
    """Linearise readings around a damaged cable.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    faults
        What is broken; places and resistances may be arrays over a batch. A stretch of degraded
        insulation counts as a point in its middle.
    probes
        The readings.
    shown
        What the displays said, where readings were taken: they decide on the ranges. Else the
        ranges are those where the exact values lie.
    cable_at : ndarray, shape (unknowns of the cable,), optional
        Where in its limits each unknown of the cable is, from 0 to 1; in the middle unless given.
    given
        Limits of what is otherwise taken as given.

    Raises
    ------
    InputError
        If there is no fault or no probe, or a fault does not fit the cable.
    """
    if not faults:
        raise InputError("faults", (), "at least one fault", "a healthy cable has no place to find")
    if not probes:
        raise InputError("probes", list(probes), "at least one probe")
    hypothesis, middle = _presumed(cable, faults)
    grid = middle.shape[1]
    place = PlacePrior(np.array([cable.first_m, cable.last_m], float), np.array([1.0]))
    # Which meters there are decides what is uncertain of the cable; what they show does not.
    unknowns = Unknowns(cable, hypothesis, place, tuple(Reading(p, np.inf) for p in probes))
    of_cable = [_of_cable(cable, name) for name, _ in unknowns.cable_changes]
    size = [float(cable.last_m - cable.first_m)] * unknowns.places
    size += [float(np.log(_OHM[1] / _OHM[0]))] * (grid - unknowns.places)
    size += [unknown.spread * 12**0.5 for unknown in of_cable]
    scale = np.array(size)
    centre = np.full(len(of_cable), 0.5) if cable_at is None else cable_at
    z = np.concatenate([middle, np.broadcast_to(centre, (len(middle), len(centre)))], axis=1)
    step = np.full(len(scale), _STEP)
    step[: unknowns.places] = _PLACE_STEP
    step[unknowns.places : grid] /= scale[unknowns.places : grid]
    z = np.clip(z, step, 1 - step)
    ends = [z + sign * step * unit for unit in np.eye(len(scale)) for sign in (1, -1)]
    values = unknowns.exact(np.concatenate([z, *ends]), probes)
    values = values.reshape(len(ends) + 1, len(z), len(probes))
    exact, moved = values[0], values[1:]
    slopes = list((moved[::2] - moved[1::2]) / (2 * step * scale)[:, None, None])
    for k in range(unknowns.places, grid):
        # From the logarithm to ohms.
        slopes[k] = slopes[k] / (_OHM[0] * (_OHM[1] / _OHM[0]) ** z[:, k])[:, None]
    of_given = _of_given(cable, given or Given())
    for _, near in of_given:
        pair = [replace(unknowns, cable=near(sign)).exact(z, probes) for sign in (1.0, -1.0)]
        moved = np.concatenate([moved, pair])
        slopes.append((pair[0] - pair[1]) / 2)
    return _with_meters(
        (hypothesis, grid, len(of_cable)),
        _unseen(unknowns, z, probes),
        [*_of_faults(hypothesis), *of_cable, *(unknown for unknown, _ in of_given)],
        probes,
        exact,
        np.maximum(np.abs(exact), np.abs(moved).max(axis=0)),
        slopes,
        shown,
    )


def _presumed(cable: Cable, faults: tuple[Fault, ...]) -> tuple[Hypothesis, FloatArray]:
    """A hypothesis that holds these faults, and where in its cube they are, shape (batch, grid)."""
    numbers = [np.asarray(n, float) for f in faults for n in (f.position_m, f.resistance_ohm)]
    shape = np.broadcast_shapes(*(n.shape for n in numbers), (1,))
    placed = [np.broadcast_to(np.asarray(f.position_m, float), shape).ravel() for f in faults]
    place_of: list[int] = []
    places: list[FloatArray] = []
    for spot in placed:
        same = [k for k, other in enumerate(places) if np.array_equal(spot, other)]
        place_of.append(same[0] if same else len(places))
        if not same:
            places.append(spot)
    length = float(cable.last_m - cable.first_m)
    cube = [(spot - float(cable.first_m)) / length for spot in places]
    ranges: list[tuple[float, float] | None] = []
    for fault in faults:
        if isinstance(fault, Break | Flashover):
            if np.ndim(fault.resistance_ohm):
                raise InputError("resistance_ohm", fault.resistance_ohm, "one number for a batch")
            ranges.append(None)
            continue
        ohm = np.broadcast_to(np.asarray(fault.resistance_ohm, float), shape).ravel()
        cube.append(np.log(np.clip(ohm, *_OHM) / _OHM[0]) / np.log(_OHM[1] / _OHM[0]))
        ranges.append(_OHM)
    hypothesis = Hypothesis(faults[0].kind, 1.0, faults, tuple(place_of), tuple(ranges))
    return hypothesis, np.stack(cube, axis=1)


def _of_faults(hypothesis: Hypothesis) -> list[Unknown]:
    found = [Unknown("place", "m", np.inf)] * hypothesis.places
    for fault, limits in zip(hypothesis.faults, hypothesis.ohm_ranges, strict=True):
        if limits is not None:
            low, high = OHM_RANGES[fault.kind]
            # Even in the logarithm, as a deviation in ohms: on a scale of logarithms a straight
            # line would hold good for a small part of such a range only.
            decades = np.log(high / low)
            square = (high**2 - low**2) / (2 * decades) - ((high - low) / decades) ** 2
            found.append(Unknown("fault resistance", "ohm", float(square) ** 0.5))
    return found


def _of_cable(cable: Cable, name: str) -> Unknown:
    """What one coordinate of the cable stands for."""
    percent = {
        "core resistance": ("core resistance", cable.tolerance_percent),
        "speed of pulses": ("speed of pulses", cable.velocity_tolerance_percent),
        "capacitance_core_braid_pf_per_m": (
            "capacitance core to braid",
            cable.capacitance_tolerance_percent,
        ),
        "capacitance_core_core_pf_per_m": (
            "capacitance core to core",
            cable.capacitance_tolerance_percent,
        ),
    }
    if name in percent:
        words, limits = percent[name]
        return Unknown(words, "%", float(np.ptp(limits)) / 12**0.5)
    # Even in the logarithm, up and down by the same factor.
    return Unknown(name, "ln", 2 * float(np.log(FACTORS[name])) / 12**0.5)


def _of_given(cable: Cable, given: Given) -> list[tuple[Unknown, Callable[[float], Cable]]]:
    """What is taken as given but may be off, and the cable with it one unit up or down."""

    def warmer(sign: float) -> Cable:
        return replace(cable, temperature_c=cable.temperature_c + sign)

    def leading(sign: float) -> Cable:
        return replace(cable, cold_lead_ohm_per_m=cable.cold_lead_ohm_per_m * (1 + sign / 100))

    found: list[tuple[Unknown, Callable[[float], Cable]]] = []
    if given.temperature_k > 0:
        found.append((Unknown("temperature", "K", given.temperature_k / 3**0.5), warmer))
    if given.cold_lead_percent > 0 and float(cable.cold_lead_m) > 0:
        found.append((Unknown("cold lead", "%", given.cold_lead_percent / 3**0.5), leading))
    return found


def _unseen(unknowns: Unknowns, z: FloatArray, probes: Sequence[Probe]) -> list[FloatArray | float]:
    """How far each reading may be off without anything to be seen, in its meter's unit."""
    faults = unknowns.hypothesis.at(unknowns.places_m(z), unknowns.resistances_ohm(z))
    return [
        probe.meter.unseen(unknowns.cable, faults, probe.hookup, probe.setting) for probe in probes
    ]


def _with_meters(
    what: tuple[Hypothesis, int, int],
    unseen: list[FloatArray | float],
    unknowns: list[Unknown],
    probes: Sequence[Probe],
    exact: FloatArray,
    reached: FloatArray,
    slopes: list[FloatArray],
    shown: Sequence[float] | None,
) -> Linear:
    """Put leads, gains, counts and rounding of the meters on the exact values."""
    hypothesis, grid, of_cable = what
    indicated, noise = exact.copy(), np.empty_like(exact)
    numbers = np.empty(exact.shape, int)
    silent = np.empty(exact.shape, bool)
    for k, probe in enumerate(probes):
        meter, setting = probe.meter, probe.setting
        indicated[:, k] += meter.lead_ohm / meter.unit_size
        over = meter.over_range_from(setting)
        told = indicated[:, k] if shown is None else np.full(len(exact), shown[k])
        # On either side of over range a reading tells nothing of small changes.
        silent[:, k] = (reached[:, k] >= over) | (told >= over)
        told = np.where(silent[:, k], 0.0, told)
        numbers[:, k] = meter.range_of(told)
        step = meter.step_of(told, setting)
        counts = meter.accuracy_counts * step + unseen[k]
        noise[:, k] = np.sqrt(counts**2 / 3 + step**2 / 12)
    indicated = np.where(silent, 0.0, indicated)
    noise = np.maximum(noise, _LEAST_NOISE * np.maximum(np.abs(indicated), 1e-30))
    unknowns, slopes = list(unknowns), list(slopes)
    meters = {probe.meter.name: probe.meter for probe in probes}
    for name, meter in meters.items():
        mine = np.array([probe.meter.name == name for probe in probes])
        if meter.lead_ohm_tolerance > 0:
            unknowns.append(Unknown(f"leads, {name}", "ohm", meter.lead_ohm_tolerance / 3**0.5))
            slopes.append(np.where(mine, 1.0 / meter.unit_size, 0.0) * np.ones_like(exact))
        if meter.accuracy_percent == 0:
            continue
        methods = [probe.setting.method or "" for probe in probes]
        for method in dict.fromkeys(m for m, own in zip(methods, mine, strict=True) if own):
            by = mine & np.array([m == method for m in methods])
            for number in np.unique(numbers[:, by][~silent[:, by]]):
                words = f"gain, {name} {method}".rstrip().replace("_", " ")
                # What has no unit, such as the share that a bridge reads, is on one range.
                if meter.unit:
                    top = meter.range_from(int(number) + 1)
                    words = f"{words}, up to {float(f'{top:.3g}'):g} {meter.unit}"
                unknowns.append(Unknown(words, "%", meter.accuracy_percent / 3**0.5))
                slopes.append(np.where(by & (numbers == number), indicated / 100, 0.0))
    joined = np.where(silent[..., None], 0.0, np.stack(slopes, axis=-1))
    places = hypothesis.places
    return Linear(tuple(unknowns), places, grid - places, of_cable, indicated, joined, noise)
