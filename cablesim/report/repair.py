"""What ``cablesim repair`` says: the readings to expect after a repair, limits, and acceptance."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import finite_or_none
from cablesim.errors import InputError
from cablesim.instruments.meters import Meter
from cablesim.instruments.readings import Probe, predict
from cablesim.instruments.standard import standard_probes
from cablesim.locate.advice import ALWAYS, INSULATION
from cablesim.locate.estimate import Estimate
from cablesim.report.answer import answered
from cablesim.scenario.scenario import AFTER, Entry, Scenario
from cablesim.site.acceptance import (
    Limit,
    Verdict,
    judged,
    judged_exact,
    limit_of,
    may_have_seen,
    overall,
)
from cablesim.site.repair import (
    STEPS,
    STEPS_SOURCE,
    USUAL_JOINT_OHM,
    Mend,
    heated_m_left,
    mends_for,
    predict_mended,
)

__all__ = ["REPAIR_CAUTIONS", "Expected", "Measured", "RepairAnswer", "record_of", "repair_answer"]

# A record's numbers: more than any meter shows, and few enough to be read.
_RECORD_DIGITS = 6

REPAIR_CAUTIONS = (
    *ALWAYS,
    *INSULATION,
    "Splice only with parts that the cable's maker allows, by a licensed person where codes ask "
    "for one; a code or the maker may forbid splices in wet rooms or altogether.",
    "Test the residual-current device before the cable is energised again.",
)


@dataclass(frozen=True, slots=True)
class Expected:
    """One reading, damaged, healthy and after the repair.

    Parameters
    ----------
    probe
        The reading.
    healthy, after
        Exact values in the meter's unit, without leads.
    damaged
        The same with the damage; None where the file does not state it.
    limit
        What it must be; None where nothing limits it.
    """

    probe: Probe
    healthy: float
    damaged: float | None
    after: float
    limit: Limit | None

    @property
    def shown(self) -> float:
        """What the display of a meter without error says after the repair."""
        meter = self.probe.meter
        lead = meter.lead_ohm / meter.unit_size if meter.reads_leads else 0.0
        return float(meter.shown(self.after + lead, self.probe.setting))

    @property
    def verdict(self) -> Verdict | None:
        """Whether the prediction keeps the limit; None where there is none."""
        return None if self.limit is None else judged_exact(self.after, self.limit)

    def to_dict(self) -> dict[str, Any]:
        """As in ``cablesim repair --json``."""
        return {
            "meter": self.probe.meter.name,
            "across": list(self.probe.hookup.across),
            "unit": self.probe.meter.unit,
            "healthy": finite_or_none(self.healthy),
            "damaged": None if self.damaged is None else finite_or_none(self.damaged),
            "after": finite_or_none(self.after),
            "shown": finite_or_none(self.shown),
            "limit": _limit_dict(self.limit),
            "verdict": self.verdict,
        }


@dataclass(frozen=True, slots=True)
class Measured:
    """A reading taken after the repair, judged.

    Parameters
    ----------
    entry
        The reading, and when it was taken.
    limit
        What it must be; None where nothing limits it.
    """

    entry: Entry
    limit: Limit | None

    @property
    def span(self) -> tuple[float, float]:
        """What the meter may have seen, in its unit."""
        assert self.entry.reading is not None  # a scenario holds no other after a repair
        return may_have_seen(self.entry.reading)

    @property
    def judged(self) -> tuple[Verdict, str] | None:
        """The verdict and its reason; None where there is no limit."""
        assert self.entry.reading is not None
        return None if self.limit is None else judged(self.entry.reading, self.limit)

    def to_dict(self) -> dict[str, Any]:
        """As in ``cablesim repair --json``."""
        reading, told = self.entry.reading, self.judged
        assert reading is not None
        return {
            "when": self.entry.when,
            "meter": reading.probe.meter.name,
            "across": list(reading.probe.hookup.across),
            "unit": reading.probe.meter.unit,
            "shown": finite_or_none(reading.shown),
            "at_least": reading.at_least,
            "between": [finite_or_none(end) for end in self.span],
            "limit": _limit_dict(self.limit),
            "verdict": told[0] if told else None,
            "why": told[1] if told else "",
        }


@dataclass(frozen=True, slots=True)
class RepairAnswer:
    """A repair, what to expect of it, and what was measured after it.

    Parameters
    ----------
    cable
        As laid.
    title
        One line for people.
    mends
        What is done.
    located
        Whether the places come from the readings, and not from stated faults.
    reason
        Where they do, why these do not place the damage well; else empty.
    expected
        The readings to expect.
    measured
        Those taken after the repair.
    """

    cable: Cable
    title: str
    mends: tuple[Mend, ...]
    located: bool
    reason: str
    expected: tuple[Expected, ...]
    measured: tuple[Measured, ...]

    @property
    def heated_m(self) -> tuple[float, float]:
        """Heated length as laid and after the repair [m]."""
        return float(self.cable.heated_length_m), heated_m_left(self.cable, self.mends)

    @property
    def power_percent(self) -> float | None:
        """By how much the power on the same supply changes [%]; None where nothing heats."""
        loop = self.expected[0]
        if loop.limit is None or loop.limit.over_range:
            return None
        return 100 * (loop.healthy / loop.after - 1)

    @property
    def power_per_m_percent(self) -> float | None:
        """By how much each metre that heats is loaded otherwise than before [%]."""
        if self.power_percent is None:
            return None
        if self.cable.construction.heats_between:
            return 0.0  # each metre has the supply's voltage for itself
        return 100 * ((1 + self.power_percent / 100) ** 2 - 1)

    def missing(self, when: str) -> tuple[str, ...]:
        """Readings with a limit that were not taken at that time, in words."""
        taken = {
            (m.entry.probe.meter.kind, m.entry.probe.hookup)
            for m in self.measured
            if m.entry.when == when
        }
        wanted = {
            (e.probe.meter.kind, e.probe.hookup): None for e in self.expected if e.limit is not None
        }
        return tuple(
            f"{kind.replace('_', ' ')} {' to '.join(hookup.across)}"
            for kind, hookup in wanted
            if (kind, hookup) not in taken
        )

    def accepted(self, when: str) -> Verdict | None:
        """All readings of that time together; None where none was taken."""
        told = [m.judged for m in self.measured if m.entry.when == when]
        if not told:
            return None
        verdicts: list[Verdict] = [one[0] for one in told if one is not None]
        if self.missing(when):
            verdicts.append("not decided")
        return overall(verdicts)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim repair --json`` prints."""
        before, after = self.heated_m
        return {
            "mends": [
                {
                    "at_m": mend.at_m,
                    "joint_ohm": mend.joint_ohm,
                    "removed_m": mend.removed_m,
                    "inserted_m": mend.inserted_m,
                    "cut_m": list(mend.cut_m(self.cable)),
                }
                for mend in self.mends
            ],
            "located": self.located,
            "reason": self.reason,
            "heated_length_m": {"before": before, "after": after},
            "power_percent": self.power_percent,
            "power_per_m_percent": self.power_per_m_percent,
            "readings": [row.to_dict() for row in self.expected],
            "measured": [row.to_dict() for row in self.measured],
            "accepted": {
                when: {"verdict": self.accepted(when), "missing": list(self.missing(when))}
                for when in AFTER
            },
            "steps": list(STEPS),
            "steps_source": STEPS_SOURCE,
            "cautions": list(REPAIR_CAUTIONS),
        }


def repair_answer(
    scenario: Scenario,
    *,
    joint_ohm: float = USUAL_JOINT_OHM,
    removed_m: float = 0.0,
    inserted_m: float = 0.0,
    estimate: Estimate | None = None,
) -> RepairAnswer:
    """Say what a repair does to a scenario's cable, and judge what was read after it.

    Parameters
    ----------
    scenario
        With faults, or with readings that tell of one. With neither, readings after a repair are
        judged, and what to expect is what the healthy cable shows.
    joint_ohm, removed_m, inserted_m
        As for `cablesim.site.repair.mends_for`, the same at each place.
    estimate
        What the readings say, where that is known already; used where no fault is stated.

    Raises
    ------
    InputError
        If there is nothing to mend and nothing was read after a repair, or if the repair does not
        fit the cable.
    """
    cable, faults = scenario.cable, scenario.faults
    places: list[Fault | float] = [*faults]
    reason = ""
    if not places and (scenario.readings or not scenario.after_repair):
        if estimate is None:
            estimate = answered(scenario).estimate
        places = [fault.position_m for fault in estimate.faults]
        if places and not estimate.locatable:
            reason = estimate.reason or "the place is not sure"
        if not places and not scenario.after_repair:
            raise InputError(
                "there is nothing to mend: no fault is stated, and the readings show none",
                try_this="add a [[fault]], or the readings of the damage",
            )
    mends = mends_for(places, joint_ohm=joint_ohm, removed_m=removed_m, inserted_m=inserted_m)
    probes = _probes(scenario)
    healthy = predict(cable, (), probes)
    after = predict_mended(cable, mends, probes)
    damaged = predict(cable, faults, probes) if faults else None
    expected = tuple(
        Expected(
            probe,
            float(healthy[k]),
            None if damaged is None else float(damaged[k]),
            float(after[k]),
            limit_of(cable, probe, scenario.supply_volt),
        )
        for k, probe in enumerate(probes)
        # Between conductors that the far end joins there is no capacitance to read.
        if math.isfinite(healthy[k]) or probe.meter.unit != "nF"
    )
    measured = tuple(
        Measured(entry, limit_of(cable, entry.probe, scenario.supply_volt))
        for entry in scenario.after_repair
    )
    located = bool(mends) and not faults
    return RepairAnswer(cable, scenario.title, mends, located, reason, expected, measured)


def _probes(scenario: Scenario) -> list[Probe]:
    """The usual readings with every meter of the bag, or the usual one where it has none."""
    bag: dict[str, list[Meter]] = {}
    for meter in scenario.meters.values():
        bag.setdefault(meter.kind, []).append(meter)
    return [
        replace(probe, meter=meter)
        for probe in standard_probes(scenario.cable)
        for meter in bag.get(probe.meter.kind, [probe.meter])
    ]


def _limit_dict(limit: Limit | None) -> dict[str, Any] | None:
    if limit is None:
        return None
    return {
        "least": limit.least,
        "most": finite_or_none(limit.most),
        "over_range": limit.over_range,
        "least_volt": limit.least_volt or None,
        "source": limit.source,
    }


def record_of(answer: RepairAnswer) -> dict[str, Any]:
    """The record to keep, as a document for a TOML file: blanks where people fill in.

    Parameters
    ----------
    answer
        The repair.
    """
    before, after = answer.heated_m
    told = answer.to_dict()
    taken = {when: [m for m in told["measured"] if m["when"] == when] for when in AFTER}
    return {
        "title": answer.title,
        "date": "",
        "done_by": "",
        "licence": "",
        "heated_length_before_m": _written(before),
        "heated_length_after_m": _written(after),
        "cautions": told["cautions"],
        "mend": [_written(mend) for mend in told["mends"]],
        "step": [{"what": step, "done": False} for step in STEPS],
        "expected": [_written(row) for row in told["readings"]],
        "measured": [_written(row) for when in AFTER for row in taken[when]],
        "accepted": [
            _written({"when": when} | told["accepted"][when]) | {"signed": ""} for when in AFTER
        ],
    }


def _written(value: Any) -> Any:
    """A value for people to keep: no more digits than a meter has any use for, no null.

    TOML has no null: what is not known, or infinite, is left out.

    >>> _written({"at_m": 7.726950186931711, "shown": None, "cut_m": [7.5, 1 / 3]})
    {'at_m': 7.72695, 'cut_m': [7.5, 0.333333]}
    """
    if isinstance(value, dict):
        return {key: _written(inner) for key, inner in value.items() if inner is not None}
    if isinstance(value, list):
        return [_written(inner) for inner in value if inner is not None]
    return float(f"{value:.{_RECORD_DIGITS}g}") if isinstance(value, float) else value
