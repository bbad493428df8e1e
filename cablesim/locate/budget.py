"""What an answer's uncertainty is made of: an error budget in the form of the GUM.

The place is the least-squares answer of the readings with the limits of cable and meters as further
observations (`cablesim.locate.linear`, `cablesim.locate.limits`). That answer is linear in each
reading's error and in each assumed value, with the sensitivity coefficients of the table; the
inputs do not depend on one another, since what readings share (a gain, a pair of leads, the cable)
is an input of its own. So the shares of the variance add up to one, and the combined
uncertainty is the bound.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Reading
from cablesim.locate.estimate import Estimate, FaultEstimate
from cablesim.locate.limits import standing_out, whitened
from cablesim.locate.linear import Given, Linear, linearised
from cablesim.locate.propagation import coverage_factor, effective_degrees, judged_degrees
from cablesim.locate.unsteady import loosened

__all__ = ["DOUBTS", "Budget", "Declined", "Entry", "budget", "faults_of"]

DOUBTS = Given(temperature_k=5.0, cold_lead_percent=10.0)
"""How far a stated temperature and cold lead may be off; common practice, no source."""

# Limits that somebody judged, right within a quarter; the rest is taken as stated.
_JUDGED = ("braid", "healthy", "capacitance", "speed", "fault resistance", "temperature", "cold")
_RELIABILITY = 0.25
# From this share of the heated length on the readings do not place the damage.
_OPEN_SHARE = 0.5
_ROUNDS = 4


@dataclass(frozen=True, slots=True)
class Declined:
    """Why there is no result.

    Parameters
    ----------
    reason
        One clause.
    """

    reason: str

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {"declined": self.reason}


@dataclass(frozen=True, slots=True)
class Entry:
    """One input of a budget.

    Parameters
    ----------
    name
        What it is.
    unit
        Its unit; ``ln`` for the natural logarithm of a factor.
    uncertainty
        Its standard uncertainty, in that unit.
    sensitivity_m
        How far the place moves per unit of a reading's display, or of what is assumed of cable and
        meter [m/unit].
    share
        Its part of the variance of the place.
    degrees
        Degrees of freedom; infinite where a limit is taken as stated.
    """

    name: str
    unit: str
    uncertainty: float
    sensitivity_m: float
    share: float
    degrees: float

    @property
    def contribution_m(self) -> float:
        """Its part of the combined standard uncertainty [m]; parts add in squares."""
        return abs(self.sensitivity_m) * self.uncertainty

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {
            "input": self.name,
            "unit": self.unit,
            "standard_uncertainty": self.uncertainty,
            "sensitivity_m_per_unit": self.sensitivity_m,
            "contribution_m": self.contribution_m,
            "share": self.share,
            "degrees_of_freedom": self.degrees if np.isfinite(self.degrees) else None,
        }


@dataclass(frozen=True, slots=True)
class Budget:
    """Where the uncertainty of a place comes from.

    Parameters
    ----------
    position_m
        The place [m from the cold joint].
    entries
        The inputs, largest share first.
    level
        Probability that the expanded uncertainty is meant to hold.
    supposed
        Whether the answer leaves the place open: it is then that of the best guess, as if right.
    """

    position_m: float
    entries: tuple[Entry, ...]
    level: float = 0.95
    supposed: bool = False

    @property
    def combined_m(self) -> float:
        """Combined standard uncertainty of the place [m]."""
        return float(np.sqrt(sum(entry.contribution_m**2 for entry in self.entries)))

    @property
    def degrees(self) -> float:
        """Effective degrees of freedom."""
        parts = np.array([entry.contribution_m for entry in self.entries])
        return effective_degrees(parts, np.array([entry.degrees for entry in self.entries]))

    @property
    def factor(self) -> float:
        """Coverage factor at the level and these degrees of freedom."""
        return coverage_factor(self.level, self.degrees)

    @property
    def expanded_m(self) -> float:
        """Expanded uncertainty of the place [m]."""
        return self.factor * self.combined_m

    def to_dict(self) -> dict[str, Any]:
        """The object under ``budget`` of ``cablesim locate --budget --json``."""
        return {
            "position_m": self.position_m,
            "combined_m": self.combined_m,
            "expanded_m": self.expanded_m,
            "level": self.level,
            "coverage_factor": self.factor,
            "degrees_of_freedom": self.degrees if np.isfinite(self.degrees) else None,
            "supposed": self.supposed,
            "inputs": [entry.to_dict() for entry in self.entries],
        }


def budget(
    cable: Cable,
    readings: Sequence[Reading],
    estimate: Estimate,
    *,
    given: Given = DOUBTS,
) -> Budget | Declined:
    """Split the uncertainty of an answer's place among its inputs.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    readings
        Those that the answer rests on.
    estimate
        The answer.
    given
        Limits of what the answer takes as given.

    Returns
    -------
    Budget or Declined
        Declined where nothing is broken, or where the readings do not place it.
    """
    if estimate.conflict:
        return Declined(estimate.conflict_in_short)
    if not estimate.faults:
        return Declined("nothing is broken, so there is no place")
    faults = faults_of(estimate.faults)
    readings = [r for r in loosened(readings) if r.probe.meter.used_by_locate]
    linear = _fitted(cable, faults, readings, given)
    rows = whitened(linear)
    norm = float(np.linalg.norm(rows[0, :, 0]))
    left = standing_out(rows / np.maximum(np.linalg.norm(rows, axis=1, keepdims=True), 1e-300), 0)
    size = float(np.linalg.norm(left[0]))
    open_m = _OPEN_SHARE * float(cable.heated_length_m)
    if norm * size * open_m < coverage_factor(estimate.level):
        return Declined("the readings by themselves do not place the damage")
    # Weights of the least-squares answer: metres per standard deviation of each row.
    weights = left[0] / (size**2 * norm)
    entries = _of_readings(linear, readings, weights) + _of_limits(linear, weights)
    total = sum(entry.contribution_m**2 for entry in entries)
    shared = [
        Entry(
            e.name, e.unit, e.uncertainty, e.sensitivity_m, e.contribution_m**2 / total, e.degrees
        )
        for e in entries
    ]
    return Budget(
        estimate.faults[0].position_m,
        tuple(sorted(shared, key=lambda entry: -entry.share)),
        estimate.level,
        supposed=not estimate.locatable,
    )


def faults_of(located: Sequence[FaultEstimate]) -> tuple[Fault, ...]:
    """Faults as they would be if the best place and resistance were right.

    Parameters
    ----------
    located
        Faults of an estimate.
    """
    found: list[Fault] = []
    for fault in located:
        at_m, ohm = fault.position_m, fault.resistance_ohm
        if fault.between is not None:
            make = Degraded.at if fault.kind == "degraded" else Short
            found.append(make(fault.between, at_m, 0.0 if ohm is None else ohm))
        elif fault.conductors is not None:
            cut = fault.kind == "break"
            found.append(
                Break(fault.conductors, at_m) if cut else Joint(fault.conductors[0], at_m, ohm or 0)
            )
    return tuple(found)


def _fitted(
    cable: Cable, faults: tuple[Fault, ...], readings: Sequence[Reading], given: Given
) -> Linear:
    """Straight lines at the place that was found, the cable fitted to the readings."""
    probes = [reading.probe for reading in readings]
    shown = [np.inf if reading.at_least else reading.shown for reading in readings]
    told = np.array([0.0 if np.isinf(value) else value for value in shown])
    linear = linearised(cable, faults, probes, shown=shown, given=given)
    ours = slice(linear.grid, linear.grid + linear.of_cable)
    span = linear.spread[ours] * 12**0.5
    off = np.zeros(linear.of_cable)
    for _ in range(_ROUNDS):
        rows = whitened(linear)[0][:, linear.grid :]
        misfit = (told - linear.indicated[0]) / linear.noise[0]
        misfit = np.where(linear.slopes[0].any(axis=1), misfit, 0.0)
        misfit += rows[: len(readings), : linear.of_cable] @ off
        goal = np.append(misfit, np.zeros(len(rows) - len(readings)))
        off = np.linalg.lstsq(rows, goal, rcond=None)[0][: linear.of_cable]
        off = np.clip(off, -0.49 * span, 0.49 * span)
        at = 0.5 + off / np.where(span > 0, span, 1.0)
        linear = linearised(cable, faults, probes, shown=shown, cable_at=at, given=given)
    return linear


def _of_readings(linear: Linear, readings: Sequence[Reading], weights: FloatArray) -> list[Entry]:
    """Counts and rounding of each reading that tells something."""
    entries = []
    for k, reading in enumerate(readings):
        if not linear.slopes[0, k].any():
            continue
        noise = float(linear.noise[0, k])
        meter, across = reading.probe.meter, " to ".join(reading.probe.hookup.across)
        name = f"display, {meter.name.replace('_', ' ')}, {across}"
        entries.append(Entry(name, meter.unit, noise, weights[k] / noise, 0.0, float("inf")))
    return entries


def _of_limits(linear: Linear, weights: FloatArray) -> list[Entry]:
    """What is known beforehand of cable, meters and the fault's resistance."""
    known = [unknown for unknown in linear.unknowns if np.isfinite(unknown.spread)]
    entries = []
    for unknown, weight in zip(known, weights[-len(known) :] if known else (), strict=True):
        judged = unknown.name.startswith(_JUDGED)
        degrees = judged_degrees(_RELIABILITY) if judged else float("inf")
        sensitivity = float(weight) / unknown.spread
        entries.append(Entry(unknown.name, unknown.unit, unknown.spread, sensitivity, 0.0, degrees))
    return entries
