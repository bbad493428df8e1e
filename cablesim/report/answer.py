"""A scenario's answer with all that a report says beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

from cablesim.cable.cable import Cable
from cablesim.cable.plausible import odd_load
from cablesim.instruments.meter import first_of_kind
from cablesim.instruments.readings import Probe
from cablesim.instruments.standard import standard_probes
from cablesim.line.several import one_cable_only
from cablesim.locate import locate
from cablesim.locate.budget import Budget, Declined
from cablesim.locate.budget import budget as split
from cablesim.locate.classical import Worked, methods_named, worked
from cablesim.locate.estimate import Estimate
from cablesim.report.marking import Mark, mark
from cablesim.scenario.scenario import Scenario

__all__ = ["Answer", "Beside", "answered", "bag_of", "beside"]


@dataclass(frozen=True, slots=True)
class Answer:
    """An estimate, the cable that it is about, and the truth where it is known.

    Parameters
    ----------
    cable
        As rated.
    estimate
        What the readings say.
    title
        One line for people.
    marked
        How far the estimate is from the truth; None where the truth is not known.
    """

    cable: Cable
    estimate: Estimate
    title: str = ""
    marked: Mark | None = None

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim locate --json`` prints."""
        told = self.estimate.to_dict()
        return told if self.marked is None else told | {"marked": self.marked.to_dict()}


def answered(scenario: Scenario) -> Answer:
    """Locate what a scenario's readings say, and mark it where the scenario states the faults.

    Parameters
    ----------
    scenario
        With at least one reading that has a value.

    Raises
    ------
    InputError
        If no reading has a value.
    """
    if scenario.others:
        raise one_cable_only("locate")
    estimate = locate(
        scenario.cable,
        scenario.readings,
        established=scenario.established,
        bag=bag_of(scenario),
    )
    odd = odd_load(scenario.cable, scenario.supply_volt)
    if odd and estimate.locatable:
        # A place is a share of the label's length, found by the label's ohms.
        label = f"the label does not look like that of this cable: {odd[0].lower()}{odd[1:-1]}"
        estimate = replace(estimate, locatable=False, reason=label)
    return Answer(scenario.cable, estimate, scenario.title, mark(estimate, scenario.faults))


@dataclass(frozen=True, slots=True)
class Beside:
    """What stands beside an answer where somebody asked for it.

    Parameters
    ----------
    budget
        What the uncertainty of the place is made of; None where nobody asked.
    methods
        Classical methods by name, each with its answer or why there is none.
    """

    budget: Budget | Declined | None = None
    methods: tuple[tuple[str, Worked | Declined], ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The keys that they add to ``cablesim locate --json``."""
        told: dict[str, Any] = {}
        if self.budget is not None:
            told["budget"] = self.budget.to_dict()
        if self.methods:
            told["methods"] = [{"method": name} | each.to_dict() for name, each in self.methods]
        return told


def beside(
    scenario: Scenario, estimate: Estimate, *, budget: bool = False, method: str | None = None
) -> Beside:
    """Error budget and classical methods beside an answer.

    Parameters
    ----------
    scenario
        The readings.
    estimate
        The answer.
    budget
        Whether to split its uncertainty.
    method
        Name of a classical method, or ``"all"``.

    Raises
    ------
    InputError
        If there is no such method.
    """
    cable, readings = scenario.cable, scenario.readings
    names = methods_named(method) if method is not None else ()
    return Beside(
        split(cable, readings, estimate) if budget else None,
        tuple((name, worked(name, cable, readings)) for name in names),
    )


def bag_of(scenario: Scenario) -> tuple[Probe, ...]:
    """Readings that could be taken next: those that the file asks for, then the usual ones.

    The usual ones are taken with the file's own meters, the first of each kind.

    Parameters
    ----------
    scenario
        The scenario.
    """
    own = first_of_kind(scenario.meters.values())
    asked = tuple(entry.probe for entry in scenario.entries if entry.reading is None)
    usual = tuple(
        replace(probe, meter=own.get(probe.meter.kind, probe.meter))
        for probe in standard_probes(scenario.cable)
    )
    known = {(probe.meter.kind, probe.hookup) for probe in asked}
    return asked + tuple(p for p in usual if (p.meter.kind, p.hookup) not in known)
