"""Recipes on capacitances, and on the time of an echo."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Short
from cablesim.cable.numbers import FloatArray, Real
from cablesim.instruments.readings import Reading
from cablesim.locate import closed_forms as forms
from cablesim.locate.budget import Declined
from cablesim.locate.recipes.bridges import Balance, balance_of
from cablesim.locate.recipes.needs import (
    Prepared,
    cut,
    find,
    has_value,
    relative,
    two_cores,
    wanted,
)

__all__ = [
    "both_ends",
    "capacitance_per_metre",
    "echo_time",
    "good_core",
    "three_capacitances",
    "two_capacitances",
]


def _lead_as_heated_m(cable: Cable) -> float:
    """Length of heated part whose cores have as much capacitance to the braid as the lead's."""
    heated, cold = (
        float(np.asarray(cable.medium(heated=part).capacitance_core_braid_pf_per_m))
        for part in (True, False)
    )
    return float(cable.cold_lead_m) * (1.0 if cold == heated else cold / heated)


def _lower(first: Reading, second: Reading) -> tuple[str, Reading, Reading]:
    """The broken core is the one with less capacitance."""
    if second.shown < first.shown:
        return "core2", second, first
    return "core1", first, second


def three_capacitances(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Each core to all the rest, and both to the braid: one core broken."""
    if (no := two_cores(cable, "joined")) is not None:
        return no
    found = wanted(
        readings,
        "capacitance_meter",
        ("core1", "core2+braid"),
        ("core2", "core1+braid"),
        ("core1+core2", "braid"),
    )
    if isinstance(found, Declined):
        return found
    core, broken, other = _lower(*found[:2])
    length, lead = float(cable.heated_length_m), _lead_as_heated_m(cable)

    def formula(c: FloatArray, _: FloatArray) -> tuple[Real, Real]:
        place = forms.break_from_three_capacitances(c[0], c[1], c[2], length, cold_lead_m=lead)
        return place, float("nan")

    return Prepared((broken, other, found[2]), formula, cut(core))


def two_capacitances(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Each core to the braid, the other floating: one core broken, coupling left out."""
    if (no := two_cores(cable, "joined")) is not None:
        return no
    found = wanted(readings, "capacitance_meter", ("core1", "braid"), ("core2", "braid"))
    if isinstance(found, Declined):
        return found
    core, broken, other = _lower(*found)
    length, lead = float(cable.heated_length_m), _lead_as_heated_m(cable)

    def formula(c: FloatArray, _: FloatArray) -> tuple[Real, Real]:
        place = forms.break_from_two_capacitances(c[0], c[1], length, cold_lead_m=lead)
        return place, float("nan")

    return Prepared((broken, other), formula, cut(core))


def both_ends(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """One core to the braid from both its ends."""
    if not cable.construction.returns:
        return Declined("needs a single-conductor cable")
    far = "braid@far" if find(readings, "capacitance_meter", "core1@far", "braid@far") else "braid"
    found = wanted(readings, "capacitance_meter", ("core1", "braid"), ("core1@far", far))
    if isinstance(found, Declined):
        return found
    length, lead = float(cable.heated_length_m), _lead_as_heated_m(cable)

    def formula(c: FloatArray, _: FloatArray) -> tuple[Real, Real]:
        return forms.break_from_both_ends(c[0], c[1], length, cold_lead_m=lead), float("nan")

    return Prepared(found, formula, cut("core1"))


def good_core(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """A broken core against a good one, far ends open: two readings, or a bridge."""
    if (no := two_cores(cable, "open")) is not None:
        return no
    length, lead = float(cable.heated_length_m), _lead_as_heated_m(cable)
    balance = balance_of(readings, "capacitance")
    if isinstance(balance, Balance):

        def by_bridge(x: FloatArray, _: FloatArray) -> tuple[Real, Real]:
            # The share is that of the arm at the sound core, so of the good core's capacitance.
            place = forms.break_against_good_core(1 - x[0], x[0], length, cold_lead_m=lead)
            return place, float("nan")

        return Prepared((balance.reading,), by_bridge, cut(balance.core))
    found = wanted(readings, "capacitance_meter", ("core1", "braid"), ("core2", "braid"))
    if isinstance(found, Declined):
        return found
    core, broken, good = _lower(*found)

    def formula(c: FloatArray, _: FloatArray) -> tuple[Real, Real]:
        place = forms.break_against_good_core(c[0], c[1], length, cold_lead_m=lead)
        return place, float("nan")

    return Prepared((broken, good), formula, cut(core))


def capacitance_per_metre(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Cut right through: what is left is a capacitor as long as itself."""
    cores = cable.construction.cores
    found = wanted(readings, "capacitance_meter", ("+".join(cores), "braid"))
    if isinstance(found, Declined):
        return found
    per_m = len(cores) * float(cable.capacitance_core_braid_pf_per_m) * 1e-3
    lead = _lead_as_heated_m(cable)

    def formula(c: FloatArray, factor: FloatArray) -> tuple[Real, Real]:
        return c[0] / (per_m * factor[0]) - lead, float("nan")

    spread = (relative(cable.capacitance_tolerance_percent),)
    return Prepared(found, formula, cut(*cable.conductors), spread)


def echo_time(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Half the way that a pulse makes in that time."""
    found = next((r for r in readings if r.probe.meter.kind == "pulse_echo"), None)
    if found is None or not has_value(found):
        return Declined("needs a reading: pulse echo")
    leads = found.probe.hookup.leads
    if any(t.end == "far" for lead in leads for t in lead):
        return Declined("needs an echo from the near end")
    metre_per_ns = float(cable.pulse_velocity_m_per_s) * 1e-9
    # So much of the heated part takes a pulse as long as the lead does.
    cold = float(cable.medium(heated=False).pulse_velocity_m_per_s) * 1e-9
    lead = float(cable.cold_lead_m) * metre_per_ns / cold
    a, b = (next(iter(group)).conductor for group in leads)

    def formula(x: FloatArray, factor: FloatArray) -> tuple[Real, Real]:
        return metre_per_ns * factor[0] * x[0] / 2 - lead, float("nan")

    def damage(at_m: float, ohm: float) -> tuple[Fault, ...]:
        core = a if a != "braid" else b
        across = found.probe.setting.sign == "-"
        return (Short((a, b), at_m, ohm),) if across else (Break((core,), at_m),)

    spread = (relative(cable.velocity_tolerance_percent),)
    return Prepared((found,), formula, damage, spread, 1.0)
