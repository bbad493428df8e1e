"""Recipes on resistances."""

from __future__ import annotations

from collections.abc import Sequence

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault, Short
from cablesim.cable.numbers import FloatArray, Real
from cablesim.instruments.readings import Reading
from cablesim.locate import closed_forms as forms
from cablesim.locate.budget import Declined
from cablesim.locate.recipes.needs import (
    Prepared,
    cold_ohm,
    find,
    has_value,
    relative,
    to_braid,
    two_cores,
    wanted,
)

__all__ = ["blavier", "three_readings", "two_ends"]


def three_readings(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Core to core, and each core to the braid: one core on the braid."""
    if (no := two_cores(cable, "joined")) is not None:
        return no
    found = wanted(readings, "ohmmeter", ("core1", "core2"), ("core1", "braid"), ("core2", "braid"))
    if isinstance(found, Declined):
        return found
    loop, first, second = found
    faulty, other = ("core1", first), ("core2", second)
    if second.shown < first.shown:
        faulty, other = ("core2", second), ("core1", first)
    length, lead = float(cable.heated_length_m), cold_ohm(cable)

    def formula(ohm: FloatArray, _: FloatArray) -> tuple[Real, Real]:
        place, resistance = forms.three_readings(ohm[0], ohm[1], ohm[2], length, cold_lead_ohm=lead)
        return place, resistance

    return Prepared((loop, faulty[1], other[1]), formula, to_braid(faulty[0]))


def two_ends(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """From both ends: a single conductor on its braid, or two cores with an open far end."""
    length, lead = float(cable.heated_length_m), cold_ohm(cable)
    if cable.construction.returns:
        near_end = "braid@far" if find(readings, "ohmmeter", "core1@far", "braid@far") else "braid"
        found = wanted(
            readings,
            "ohmmeter",
            ("core1", "core1@far"),
            ("core1", "braid"),
            ("core1@far", near_end),
        )
        if isinstance(found, Declined):
            return found
        braid = float(cable.braid_ohm_per_m) * length if near_end == "braid@far" else 0.0

        def around(ohm: FloatArray, _: FloatArray) -> tuple[Real, Real]:
            path = ohm[0] - 2 * lead + braid
            found = forms.two_ends(ohm[1], ohm[2], path, length, cold_lead_ohm=lead)
            return found.position_m, found.resistance_ohm

        return Prepared(found, around, to_braid("core1"))
    if (no := two_cores(cable, "open")) is not None:
        return no
    found = wanted(readings, "ohmmeter", ("core1", "core2"), ("core1@far", "core2@far"))
    if isinstance(found, Declined):
        return found
    path_ohm = float(sum(cable.core_ohm_per_m)) * length

    def between(ohm: FloatArray, factor: FloatArray) -> tuple[Real, Real]:
        # The far end of such a cable has no cold lead.
        found = forms.two_ends(ohm[0] - 2 * lead, ohm[1], path_ohm * factor[0], length)
        return found.position_m, found.resistance_ohm

    return Prepared(found, between, _between_cores, (relative(cable.tolerance_percent),))


def _between_cores(at_m: float, ohm: float) -> tuple[Fault, ...]:
    return (Short(("core1", "core2"), at_m, max(ohm, 0.0)),)


def blavier(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Far end open, then closed: two cores touching."""
    if (no := two_cores(cable, "open")) is not None:
        return no
    found = wanted(readings, "ohmmeter", ("core1", "core2"))
    closed = find(readings, "ohmmeter", "core1", "core2", linked=True)
    if isinstance(found, Declined):
        return found
    if closed is None or not has_value(closed):
        return Declined("needs a reading: ohmmeter core1 to core2 with the far ends linked")
    length, lead = float(cable.heated_length_m), 2 * cold_ohm(cable)
    path_ohm = float(sum(cable.core_ohm_per_m)) * length

    def formula(ohm: FloatArray, factor: FloatArray) -> tuple[Real, Real]:
        path = path_ohm * factor[0] + lead
        place, resistance = forms.blavier(ohm[0], ohm[1], path, length, cold_lead_ohm=lead)
        return place, resistance

    spread = (relative(cable.tolerance_percent),)
    return Prepared((*found, closed), formula, _between_cores, spread)
