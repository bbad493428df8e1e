"""The unknowns of one hypothesis as a unit cube.

Each is even from 0 to 1 before any reading, but for gains and for places told by their order.

First the places, then the resistances of the faults, then what is uncertain about the cable, then
about the meters:

- where insulation is tested, one factor on the healthy insulation (even in the logarithm, 1/30
  to 30),
- one factor on the cores' resistance (even within the rated tolerance),
- where a capacitance is read, one factor on each capacitance per metre (even within its tolerance),
- where an echo is timed, one factor on the speed of pulses (even within its tolerance),
- one factor on the braid's resistance (even in the logarithm, half to double),
- for each meter its lead resistance (even within its limits), for each meter and range its gain
  (even within its limits, but by its logarithm: `cablesim.locate.swings`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Fault
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.pulse_echo import PulseEcho
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.locate.prior import Hypothesis, PlacePrior
from cablesim.locate.swings import Gains, Swings

__all__ = ["FACTORS", "CableChange", "Unknowns", "uncertain_in"]

# Factors up and down by which these may be off; common practice, no source.
FACTORS = {"braid resistance": 2.0, "healthy insulation": 30.0}
# Echoes that a person may make out, and such as may be overlooked, as multiples of the one that
# stands out clearly; common practice, no source.
_MADE_OUT, _OVERLOOKED = 0.4, 2.0
# Stands for an open circuit where numbers must stay finite.
_OPEN = 1e30

# Name of what is uncertain, and the fields of the cable that its coordinate changes.
CableChange = tuple[str, Callable[[Cable, FloatArray], dict[str, Any]]]


def _scaled(cable: Cable, name: str, factor: FloatArray) -> dict[str, Any]:
    """A value of the insulation, and with it that of the cold lead where it has its own."""
    found = {name: getattr(cable, name) * factor}
    own = getattr(cable, f"cold_lead_{name}")
    if own is not None:
        found[f"cold_lead_{name}"] = own * factor
    return found


def _capacitance(
    name: str, limits: tuple[float, float]
) -> Callable[[Cable, FloatArray], dict[str, Any]]:
    def change(cable: Cable, z: FloatArray) -> dict[str, Any]:
        factor = 1 + (limits[0] + z * (limits[1] - limits[0])) / 100
        return _scaled(cable, name, factor)

    return change


def _core_factor(cable: Cable, z: FloatArray) -> dict[str, Any]:
    low, high = cable.tolerance_percent
    return cable.core_fields(1 + (low + z * (high - low)) / 100)


def _velocity_factor(cable: Cable, z: FloatArray) -> dict[str, Any]:
    low, high = cable.velocity_tolerance_percent
    factor = 1 + (low + z * (high - low)) / 100
    changed = _scaled(cable, "velocity_factor", factor)
    return {name: np.minimum(value, 1.0) for name, value in changed.items()}


def _braid_factor(cable: Cable, z: FloatArray) -> dict[str, Any]:
    return {"braid_ohm_per_m": cable.braid_ohm_per_m * FACTORS["braid resistance"] ** (2 * z - 1)}


def _insulation_factor(cable: Cable, z: FloatArray) -> dict[str, Any]:
    factor = FACTORS["healthy insulation"] ** (2 * z - 1)
    return _scaled(cable, "insulation_gigaohm_m", factor)


def uncertain_in(
    cable: Cable, kinds: Collection[str], *, at_frequency: bool
) -> tuple[CableChange, ...]:
    """What is uncertain about a cable, as far as these meters read of it.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    kinds
        Kinds of the meters.
    at_frequency
        Whether one of them reads at a frequency, so that capacitances count.

    Returns
    -------
    tuple
        For each unknown its name, and what gives the changed fields of the cable for coordinates
        of the unit cube, an array of any shape. Healthy insulation comes first: it may be part of
        the grid.
    """
    changes: list[CableChange] = []
    if "insulation_tester" in kinds and np.isfinite(cable.insulation_gigaohm_m):
        changes.append(("healthy insulation", _insulation_factor))
    if np.ptp(cable.tolerance_percent) > 0:
        changes.append(("core resistance", _core_factor))
    limits = cable.capacitance_tolerance_percent
    if at_frequency and np.ptp(limits) > 0:
        names = ["capacitance_core_braid_pf_per_m"]
        if len(cable.construction.cores) > 1:
            names.append("capacitance_core_core_pf_per_m")
        changes += [(name, _capacitance(name, limits)) for name in names]
    if "pulse_echo" in kinds and np.ptp(cable.velocity_tolerance_percent) > 0:
        changes.append(("speed of pulses", _velocity_factor))
    changes.append(("braid resistance", _braid_factor))
    return tuple(changes)


def _as_evidence(reading: Reading) -> Probe:
    """What a reading is evidence of: an echo that was seen may have been a weak one.

    Where none was seen it may have been overlooked unless it was a strong one.
    """
    meter = reading.probe.meter
    if not isinstance(meter, PulseEcho):
        return reading.probe
    share = _OVERLOOKED if np.isinf(reading.shown) else _MADE_OUT
    return replace(reading.probe, meter=meter.with_noise_of(share))


@dataclass(frozen=True)
class Unknowns:
    """The unit cube of one hypothesis and what the meters would indicate in it.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    hypothesis
        What may be broken.
    place
        Density of each place.
    readings
        The readings to be explained.
    by_order
        Whether two places are told by which comes first: readings bend abruptly where two damages
        pass each other. The first coordinate then is below one half where the first place is the
        nearer one, else above; where the damages are alike the first place is the nearer one.
    """

    cable: Cable
    hypothesis: Hypothesis
    place: PlacePrior
    readings: tuple[Reading, ...]
    by_order: bool = False

    @cached_property
    def cable_changes(self) -> tuple[CableChange, ...]:
        """What is uncertain about the cable, given which meters were used."""
        probes = [reading.probe for reading in self.readings]
        at_frequency = any(p.meter.frequency_hz(p.setting) > 0 for p in probes)
        return uncertain_in(self.cable, {p.meter.kind for p in probes}, at_frequency=at_frequency)

    @cached_property
    def lead_meters(self) -> tuple[str, ...]:
        """Meters whose lead resistance is uncertain."""
        meters = {r.probe.meter.name: r.probe.meter for r in self.readings}
        return tuple(name for name, meter in meters.items() if meter.lead_ohm_tolerance > 0)

    @cached_property
    def gain_groups(self) -> tuple[tuple[str, str, int], ...]:
        """Meters and ranges whose gain is uncertain."""
        groups = {r.gain_group: r.probe.meter.accuracy_percent for r in self.readings}
        return tuple(group for group, percent in groups.items() if percent > 0)

    @cached_property
    def places(self) -> int:
        """Number of leading coordinates that are places."""
        return self.hypothesis.places

    @cached_property
    def fault_size(self) -> int:
        """Number of leading coordinates that are places or resistances of faults."""
        return self.places + len(self.hypothesis.resistances)

    @cached_property
    def grid(self) -> int:
        """Number of leading coordinates that a search cuts into cells; the others are fitted.

        Over places and resistances the readings may have several best fits, over the others hardly.
        A leak beside the healthy insulation shows as the two side by side: they are tied around a
        corner, the one or the other being the less, and both are cut.
        """
        leaks = any(isinstance(fault, Degraded) for fault in self.hypothesis.faults)
        return self.fault_size + (leaks and self.cable_changes[0][0] == "healthy insulation")

    @cached_property
    def circuit_size(self) -> int:
        """Number of leading coordinates that the circuit depends on."""
        return self.fault_size + len(self.cable_changes)

    @cached_property
    def size(self) -> int:
        """Number of coordinates."""
        return self._first_gain + len(self.gain_groups)

    @cached_property
    def _first_gain(self) -> int:
        """Number of the first coordinate that is a gain; these come last."""
        return self.circuit_size + len(self.lead_meters)

    def places_m(self, z: FloatArray) -> list[FloatArray]:
        """Places [m], one array over the batch for each.

        Parameters
        ----------
        z : ndarray, shape (batch, size)
            Points of the cube.
        """
        shares = [z[:, k] for k in range(self.places)]
        if self.by_order and self.places == 2:
            shares = self._ordered(*shares)
        return [self.place.place_m(share) for share in shares]

    def _ordered(self, which: FloatArray, between: FloatArray) -> list[FloatArray]:
        """Shares of the two places, the farther one between the nearer one and the end."""
        swapped = (which > 0.5) & (not self.hypothesis.alike)
        nearer = self._nearer(which)
        farther = nearer + (1.0 - nearer) * between
        return [np.where(swapped, farther, nearer), np.where(swapped, nearer, farther)]

    def _nearer(self, which: FloatArray) -> FloatArray:
        if self.hypothesis.alike:
            return which
        return np.where(which > 0.5, 2 * which - 1, 2 * which)

    def density(self, z: FloatArray) -> FloatArray:
        """Density at points of the cube before any reading: that of the gains, and of two places.

        Of two even places the nearer one has the density 2 (1 - x); the other is even beyond it.
        """
        density = self._gains.density(z[:, self._first_gain :])
        if self.by_order and self.places == 2:
            density = density * 2.0 * (1.0 - self._nearer(z[:, 0]))
        return np.asarray(density)

    def resistances_ohm(self, z: FloatArray) -> list[FloatArray]:
        """Resistances of the faults that have one [ohm], one array over the batch for each."""
        found = []
        for k, (low, high) in enumerate(self.hypothesis.resistances, start=self.places):
            found.append(low * (high / low) ** z[:, k])
        return found

    def fault_ohms(self, z: FloatArray) -> list[FloatArray | float]:
        """Resistance of each fault [ohm]: an array over the batch, or the one that it always has.

        Parameters
        ----------
        z : ndarray, shape (batch, size)
            Points of the cube.
        """
        left = iter(self.resistances_ohm(z))
        faults, ranges = self.hypothesis.faults, self.hypothesis.ohm_ranges
        return [
            fault.resistance_ohm if limits is None else next(left)
            for fault, limits in zip(faults, ranges, strict=True)
        ]

    def exact(self, z: FloatArray, probes: Sequence[Probe] | None = None) -> FloatArray:
        """What ideal meters would show; depends on the leading ``circuit_size`` coordinates only.

        Parameters
        ----------
        z : ndarray, shape (batch, at least circuit_size)
            Points of the cube.
        probes
            The probes to predict; those of the readings unless given.

        Returns
        -------
        ndarray, shape (batch, readings)
            In each meter's unit, never infinite.
        """
        values = predict(self.cable_at(z), self.faults_at(z), probes or self.probes)
        return self.finite(np.broadcast_to(values, (len(z), values.shape[-1])))

    @cached_property
    def probes(self) -> tuple[Probe, ...]:
        """What the readings are evidence of."""
        return tuple(_as_evidence(reading) for reading in self.readings)

    def cable_at(self, z: FloatArray) -> Cable:
        """The cable at points of the cube, arrays over the batch."""
        changed: dict[str, Any] = {}
        for k, (_, change) in enumerate(self.cable_changes, start=self.fault_size):
            changed |= change(self.cable, z[:, k])
        return replace(self.cable, **changed)

    def faults_at(self, z: FloatArray) -> tuple[Fault, ...]:
        """The faults at points of the cube, arrays over the batch."""
        return self.hypothesis.at(self.places_m(z), self.resistances_ohm(z))

    @staticmethod
    def finite(values: FloatArray) -> FloatArray:
        """Exact values with an open circuit as a number that a search can compute with."""
        return np.nan_to_num(values, nan=_OPEN, posinf=_OPEN, neginf=-_OPEN)

    def indicated(self, z: FloatArray, exact: FloatArray) -> FloatArray:
        """What the meters indicate before counts and rounding: leads and gain put on exact values.

        Parameters
        ----------
        z : ndarray, shape (..., size)
            Points of the cube.
        exact : ndarray, shape (..., readings or more)
            From `exact` at the same points; further columns stay as they are.
        """
        count = len(self.readings)
        indicated = np.empty(np.broadcast_shapes(z.shape[:-1], exact.shape[:-1]) + exact.shape[-1:])
        indicated[..., count:] = exact[..., count:]
        value = indicated[..., :count]
        np.add(exact[..., :count], self._shift.at(z), out=value)
        value *= np.exp(self._gain.at(z))
        return indicated

    def lead_share(self, z: FloatArray, lead: int) -> FloatArray:
        """Where in its limits the lead resistance of one of the lead meters is, from 0 to 1."""
        return z[..., self.circuit_size + lead]

    def gain_share(self, z: FloatArray, group: int) -> FloatArray:
        """Where in its limits the gain of one of the gain groups is, from 0 to 1."""
        return self._gains.share(z[..., self._first_gain + group], group)

    @cached_property
    def _shift(self) -> Swings:
        """What the leads add to each reading, in its meter's unit."""
        swings = Swings.of(
            [r.probe.meter.lead_ohm / r.probe.meter.unit_size for r in self.readings]
        )
        for i, reading in enumerate(self.readings):
            meter = reading.probe.meter
            if meter.name in self.lead_meters:
                swings.column[i] = self.circuit_size + self.lead_meters.index(meter.name)
                swings.swing[i] = meter.lead_ohm_tolerance / meter.unit_size
        return swings

    @cached_property
    def _gain(self) -> Swings:
        """The logarithm of that by which each reading is multiplied."""
        swings = Swings.of([0.0] * len(self.readings))
        gains = self._gains
        for i, reading in enumerate(self.readings):
            if reading.gain_group in self.gain_groups:
                group = self.gain_groups.index(reading.gain_group)
                swings.column[i] = self._first_gain + group
                swings.middle[i] = gains.log_middle[group]
                swings.swing[i] = gains.log_swing[group]
        return swings

    @cached_property
    def _gains(self) -> Gains:
        """The limits of the gain groups."""
        percent = {r.gain_group: r.probe.meter.accuracy_percent for r in self.readings}
        return Gains(np.array([percent[group] / 100 for group in self.gain_groups]))
