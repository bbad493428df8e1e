"""One case of a suite: the truth, the nuisances, the readings, as one line of JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import msgspec

from cablesim.benchmark.true_cable import Deviation
from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.errors import InputError
from cablesim.instruments.loop_bridge import LoopBridge
from cablesim.instruments.readings import Reading
from cablesim.scenario.reading import scenario_of
from cablesim.scenario.scenario import Scenario
from cablesim.scenario.writing import document_of

__all__ = ["GROUPS", "Case", "json_line", "without_truth"]

GROUPS = ("kind", "construction", "meters", "difficulty")
"""What cases are told apart by in reports."""


@dataclass(frozen=True, slots=True)
class Case:
    """A damaged cable and what meters showed of it.

    Parameters
    ----------
    number
        Number in its suite, from 0.
    seed
        What its random generator began with.
    kind, construction, meters, difficulty
        What is broken, how the cable is built, the class of the meters, and how well the readings
        can place it at best: ``easy``, ``fair``, ``hard`` or ``open``; ``none`` where nothing is
        broken.
    scenario
        The cable as rated, the damage, and the readings.
    deviation
        How the cable really is.
    gain_percent, lead_ohm
        For each reading by how much its meter read high, and the resistance of its leads.
    bound_m
        Least standard deviation of the place [m], by the Cramer-Rao bound; None where there is no
        place, or where the readings do not tell it.
    """

    number: int
    seed: tuple[int, ...]
    kind: str
    construction: str
    meters: str
    difficulty: str
    scenario: Scenario
    deviation: Deviation
    gain_percent: tuple[float, ...]
    lead_ohm: tuple[float, ...]
    bound_m: float | None

    @property
    def cable(self) -> Cable:
        """As rated."""
        return self.scenario.cable

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is broken."""
        return self.scenario.faults

    @property
    def readings(self) -> tuple[Reading, ...]:
        """What the meters showed."""
        return self.scenario.readings

    @property
    def place_m(self) -> float | None:
        """Where it is broken, nearest the cold joint [m]; None where it is not."""
        return min((float(fault.position_m) for fault in self.faults), default=None)

    @property
    def groups(self) -> dict[str, str]:
        """What it is told apart by in reports."""
        return {name: getattr(self, name) for name in GROUPS}

    def informed(self) -> tuple[Cable, tuple[Reading, ...]]:
        """Cable and readings for one who knows the cores, capacitances, gains and leads exactly.

        A gain that is known turns a display of ``y`` in steps of ``s`` into one of ``y / (1 + g)``
        in steps of ``s / (1 + g)`` by a meter without gain.
        """
        readings = [
            _informed(reading, k, percent, ohm)
            for k, (reading, percent, ohm) in enumerate(
                zip(self.readings, self.gain_percent, self.lead_ohm, strict=True)
            )
        ]
        return self.deviation.known(self.cable), tuple(readings)

    def to_dict(self) -> dict[str, Any]:
        """One line of a suite; every value stands in it, also what is usual."""
        return {
            "number": self.number,
            "seed": list(self.seed),
            **self.groups,
            "bound_m": self.bound_m,
            "deviation": self.deviation.to_dict(),
            "gain_percent": list(self.gain_percent),
            "lead_ohm": list(self.lead_ohm),
            "scenario": document_of(self.scenario, explicit=True),
        }

    @classmethod
    def read(cls, line: str | bytes, where: str) -> Case:
        """Read one line of a suite.

        Parameters
        ----------
        line
            JSON.
        where
            File and line, for messages.

        Raises
        ------
        InputError
            If it is no such line.
        """
        try:
            raw = msgspec.json.decode(line, type=_Line)
        except msgspec.MsgspecError as error:
            raise InputError(
                f"{where} is no case ({_lower(str(error))})",
                try_this="take the suite as it was published",
            ) from None
        scenario = scenario_of(raw.scenario, where)
        count = len(scenario.readings)
        if not count == len(raw.gain_percent) == len(raw.lead_ohm):
            raise InputError(f"{where}: gain_percent and lead_ohm", allowed="one for each reading")
        return cls(
            number=raw.number,
            seed=raw.seed,
            **{name: getattr(raw, name) for name in GROUPS},
            scenario=scenario,
            deviation=raw.deviation,
            gain_percent=raw.gain_percent,
            lead_ohm=raw.lead_ohm,
            bound_m=raw.bound_m,
        )


class _Line(msgspec.Struct, forbid_unknown_fields=True):
    number: int
    seed: tuple[int, ...]
    kind: str
    construction: str
    meters: str
    difficulty: str
    bound_m: float | None
    deviation: Deviation
    gain_percent: tuple[float, ...]
    lead_ohm: tuple[float, ...]
    scenario: dict[str, Any]


def _lower(text: str) -> str:
    return text[:1].lower() + text[1:]


def _informed(reading: Reading, number: int, percent: float, lead_ohm: float) -> Reading:
    meter, scale = reading.probe.meter, 1 + percent / 100
    changed: dict[str, Any] = {
        # Nothing is shared with another reading any more.
        "name": f"{meter.name} {number}",
        "accuracy_percent": 0.0,
        "lead_ohm": max(lead_ohm, 0.0),
        "lead_ohm_tolerance": 0.0,
        "resolution": meter.resolution / scale,
        "top_range": meter.top_range / scale,
    }
    if isinstance(meter, LoopBridge):
        changed["divisions"] = meter.divisions * scale
    probe = replace(reading.probe, meter=replace(meter, **changed))
    # Leads that were nulled out may read a little below nothing, which no meter can be said to do.
    below = max(-lead_ohm, 0.0) / meter.unit_size
    return replace(reading, probe=probe, shown=reading.shown / scale + below)


def json_line(value: Mapping[str, Any]) -> str:
    """One line of JSON, the same for the same values."""
    return json.dumps(value, sort_keys=True, separators=(",", ":"), allow_nan=False) + "\n"


def without_truth(document: Mapping[str, Any]) -> dict[str, Any]:
    """The tables of a scenario as an estimator may see them: without what is broken."""
    return {key: value for key, value in document.items() if key != "fault"}
