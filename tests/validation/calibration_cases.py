"""Cases drawn from the prior that `locate` states, read by the lumped ladder."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from cablesim.benchmark.meter_classes import probes_of
from cablesim.benchmark.true_cable import Deviation
from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Joint, Short
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Probe, Reading, measure
from cablesim.line.ladder import ladder
from cablesim.locate.closed_forms import (
    break_from_both_ends,
    break_from_three_capacitances,
    three_readings,
)
from cablesim.locate.limits import bound_of
from cablesim.locate.linear import linearised
from cablesim.locate.parameters import FACTORS, Unknowns
from cablesim.locate.prior import Hypothesis, heated_part, hypotheses, place_prior

RUNGS = 48
# Invented cables; two have capacitances as badly known as a label leaves them.
CABLES: dict[str, Cable] = {
    "twin 24 m": Cable.rated("twin", 24.0, 92.0, capacitance_tolerance_percent=(-20.0, 25.0)),
    "twin 65 m": Cable.rated("twin", 65.0, 61.0, cold_lead_m=3.5),
    "single 40 m": Cable.rated("single", 40.0, 70.0, capacitance_tolerance_percent=(-20.0, 25.0)),
    "single 110 m": Cable.rated("single", 110.0, 38.0, cold_lead_m=2.0),
    "parallel 18 m": Cable.rated(
        "parallel", 18.0, 210.0, capacitance_tolerance_percent=(-20.0, 25.0)
    ),
}
BAGS = ("cheap", "good", "bench", "ohmmeter alone")
# What the overconfident twin of an answer believes of the errors of its meters.
BELIEVED = 0.5


@dataclass(frozen=True)
class Case:
    """One drawn case: what is broken, what was read, what is known about the cable."""

    cable_name: str
    bag_name: str
    number: int  # of the true hypothesis in the table
    faults: tuple[Fault, ...]
    places_m: tuple[float, ...]
    ohms: tuple[float, ...]
    deviation: Deviation
    readings: tuple[Reading, ...]

    @property
    def cable(self) -> Cable:
        return CABLES[self.cable_name]

    @property
    def table(self) -> tuple[Hypothesis, ...]:
        return hypotheses(self.cable)


def draw_case(rng: np.random.Generator, *, all_kinds: bool) -> Case:
    """Draw a cable, a bag, a hypothesis, its truth, and readings.

    Parameters
    ----------
    rng
        Source of all chance.
    all_kinds
        By the weights of the table; else each kind of damage equally often.
    """
    cable_name = list(CABLES)[rng.integers(len(CABLES))]
    bag_name = BAGS[rng.integers(len(BAGS))]
    cable = CABLES[cable_name]
    table = hypotheses(cable)
    weights = np.array([h.weight for h in table])
    if not all_kinds:
        kinds = sorted({h.verdict for h in table if h.faults})
        kind = kinds[rng.integers(len(kinds))]
        weights = np.where([h.verdict == kind for h in table], weights, 0.0)
    number = int(rng.choice(len(table), p=weights / weights.sum()))
    hypothesis = table[number]
    along = place_prior(cable) if hypothesis.places < 2 else heated_part(cable)
    places = tuple(float(p) for p in along.place_m(rng.random(hypothesis.places)))
    ohms = tuple(float(low * (high / low) ** rng.random()) for low, high in hypothesis.resistances)
    faults = hypothesis.at(places, ohms)
    probes = bag(cable, bag_name)
    deviation = Deviation.drawn(cable, rng)
    shown = measure(deviation.of(cable), faults, probes, rng=rng, mesh_of=ladder(RUNGS))
    readings = tuple(Reading(p, float(s)) for p, s in zip(probes, shown, strict=True))
    return Case(cable_name, bag_name, number, faults, places, ohms, deviation, readings)


def bag(cable: Cable, name: str) -> tuple[Probe, ...]:
    """The usual readings that the meters of a bag can take."""
    probes = probes_of(cable, "good" if name == "ohmmeter alone" else name)
    return probes if name != "ohmmeter alone" else tuple(p for p in probes if p.meter.unit == "ohm")


def believed(reading: Reading) -> Reading:
    """The same reading by a meter that is held to be more accurate than it is."""
    meter = reading.probe.meter
    names = ("accuracy_percent", "accuracy_counts", "lead_ohm_tolerance")
    better = replace(meter, **{name: BELIEVED * getattr(meter, name) for name in names})
    return replace(reading, probe=replace(reading.probe, meter=better))


def alike(hypothesis: Hypothesis) -> bool:
    """Whether there are two damages that differ in place and resistance only."""
    touched = [
        (fault.kind, fault.conductors if isinstance(fault, Break | Joint) else fault.between)
        for fault in hypothesis.faults
    ]
    return hypothesis.places == 2 and touched[0] == touched[1]


def least_m(case: Case) -> float | None:
    """Least standard deviation of the one place: the bound on this very cable.

    It is that of the cable as it truly is, in the ranges that the meters were in. The rated cable
    may have all of three capacitances in one range, where the true one has two gains.
    """
    probes = [reading.probe for reading in case.readings]
    shown = [reading.shown for reading in case.readings]
    true = _coordinates(case)
    linear = linearised(case.cable, case.faults, probes, shown=shown, cable_at=true)
    least = float(bound_of(linear).place_m[0, 0])
    return least if np.isfinite(least) else None


def _coordinates(case: Case) -> FloatArray:
    """Where in its limits each unknown of the true cable is, from 0 to 1."""
    cable, off = case.cable, case.deviation

    def within(factor: float, limits: tuple[float, float]) -> float:
        low, high = limits
        return (100 * (factor - 1) - low) / (high - low)

    def about(factor: float, name: str) -> float:
        return 0.5 + float(np.log(factor) / np.log(FACTORS[name])) / 2

    capacitance = cable.capacitance_tolerance_percent
    at = {
        "core resistance": within(off.core, cable.tolerance_percent),
        "capacitance_core_braid_pf_per_m": within(off.capacitance_core_braid, capacitance),
        "capacitance_core_core_pf_per_m": within(off.capacitance_core_core, capacitance),
        "healthy insulation": about(off.insulation, "healthy insulation"),
        "braid resistance": about(off.braid, "braid resistance"),
    }
    unknowns = Unknowns(cable, case.table[case.number], place_prior(cable), case.readings)
    return np.array([at[name] for name, _ in unknowns.cable_changes])


def closed_form(case: Case) -> tuple[str | None, float | None]:
    """The place by the classical formula for this kind of damage, moved onto the cable.

    Leads are taken off as rated; None where no formula fits or its readings are over range.
    """
    cable, fault = case.cable, case.faults[0]
    if len(case.faults) > 1 or cable.construction.name == "parallel":
        return None, None
    seen = {
        (r.probe.meter.unit, r.probe.hookup.across): r.shown
        - (r.probe.meter.lead_ohm if r.probe.meter.unit == "ohm" else 0.0)
        for r in case.readings
        if np.isfinite(r.shown)
    }
    length, lead = float(cable.heated_length_m), float(cable.cold_lead_m)
    at: float | None = None
    name: str | None = None
    if (
        isinstance(fault, Short)
        and fault.between[1] == "braid"
        and cable.construction.name == "twin"
    ):
        other = "core2" if fault.between[0] == "core1" else "core1"
        keys = [("core1", "core2"), (fault.between[0], "braid"), (other, "braid")]
        ohms = [seen.get(("ohm", key), -1.0) for key in keys]
        name = "three_readings"
        lead_ohm = lead * float(cable.cold_lead_ohm_per_m)
        if min(ohms) >= 0 and ohms[0] > 2 * lead_ohm:
            at = float(three_readings(*ohms, length, cold_lead_ohm=lead_ohm).position_m)
    elif isinstance(fault, Break) and len(fault.conductors) == 1:
        if cable.construction.name == "twin":
            core = fault.conductors[0]
            other = "core2" if core == "core1" else "core1"
            keys = [(core, f"{other}+braid"), (other, f"{core}+braid"), ("core1+core2", "braid")]
            form = partial(break_from_three_capacitances, heated_length_m=length)
            name = "break_from_three_capacitances"
        else:
            keys = [("core1", "braid"), ("core1@far", "braid")]
            form = partial(break_from_both_ends, length_m=length)
            name = "break_from_both_ends"
        farads = [seen.get(("nF", key), -1.0) for key in keys]
        if min(farads) >= 0 and sum(farads[-2:]) > 0 and farads[-1] > 0:
            at = float(form(*farads, cold_lead_m=lead))
    if at is None:
        return name, None
    return name, float(np.clip(at, cable.first_m, cable.last_m))
