"""A core on the braid: two ways round the loop, by an ohmmeter or by a bridge."""

from __future__ import annotations

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.training.sheets import sums
from cablesim.training.sheets.content import Sum
from cablesim.training.sheets.expert import Expert
from cablesim.training.sheets.solving import (
    Method,
    Mistake,
    Solved,
    half_m,
    ohm_pairs,
    other_core,
    values,
)

__all__ = ["to_braid"]


def to_braid(expert: Expert, fault: Fault) -> Solved:
    """A core on the braid: two ways round the loop, by ohmmeter or by bridge."""
    cable = expert.case.cable
    core = next(name for name in getattr(fault, "between", ("core1",)) if name != "braid")
    returns = cable.construction.returns
    sound, faulty = ("core1@far", "core1") if returns else (other_core(core), core)
    methods = []
    ohms = values(*expert.taken[:3])
    if ohms is not None and (returns or cable.far_end == "joined"):
        methods.append(_three(expert, core, ohms))
    balance = expert.read("loop_bridge", sound, faulty, "braid", method="murray")
    share = values(balance)
    if share is not None:
        methods.append(_bridge(expert, share[0], sound, faulty))
    where = "core1" if returns else core
    kind = (
        f"The way round is whole and {where} has a path to the braid: a short, or, where it is "
        "kilohms and more, a leak. There are two ways round the loop to it, and their difference "
        "places it: its own resistance is in both, and cancels."
    )
    advice = []
    if any(taken.shown.unsteady for taken in expert.taken):
        advice.append(
            "A reading did not settle: the damage changes from reading to reading. A bridge "
            "compares at one moment and stands; ohmmeter readings one after the other do not."
        )
    return Solved(kind, tuple(methods), advice=tuple(advice))


def _three(expert: Expert, core: str, ohms: list[float]) -> Method:
    """Three readings on a twin cable, or both ends of a single core."""
    cable = expert.case.cable
    returns = cable.construction.returns
    loop, first, second = ohms
    faulty, sound = (second, first) if core == "core2" else (first, second)
    form = sums.both_ends if returns else sums.three_resistances
    mistakes = [
        Mistake(
            "The two ways round exchanged",
            form(loop, sound, faulty, cable, "exchanged"),
        ),
        Mistake(
            "The way round taken from the label instead of read",
            form(_label_loop(cable), faulty, sound, cable, "loop from the label"),
        ),
        Mistake(
            "One reading, divided by the label's ohms per metre",
            _one_reading(faulty, cable),
        ),
    ]
    raw = values(
        *(expert.read("ohmmeter", *across, kept=False, zeroed=False) for across in ohm_pairs(cable))
    )
    if raw is not None:
        a, b = (raw[2], raw[1]) if core == "core2" else (raw[1], raw[2])
        mistakes.insert(0, Mistake("Leads not zeroed", form(raw[0], a, b, cable, "leads in it")))
    name = "two_ends" if returns else "three_readings"
    why = (
        "Both ends of the core, each read to the braid: what is nearer reads less."
        if returns
        else "Three readings: the faulty core reads less to the braid than the other, by twice "
        "the way from the damage to the far end."
    )
    told = "both ends" if returns else "three readings"
    return Method(
        told, why, form(loop, faulty, sound, cable), half_m(expert, name), tuple(mistakes)
    )


def _label_loop(cable: Cable) -> float:
    return round(float(cable.loop_resistance_ohm) + 2 * sums.cold_ohm_of(cable), 2)


def _one_reading(ohm: float, cable: Cable) -> Sum:
    """What one gets who takes the damage for a clean short and reads once."""
    per_m = round(float(cable.core_ohm_per_m[0]), 4)
    numbers = f"{sums.told(ohm)} / {sums.told(per_m)}"
    return Sum("one reading", "x = R1 / r", numbers, ohm / per_m, "m")


def _bridge(expert: Expert, share: float, sound: str, faulty: str) -> Method:
    cable = expert.case.cable
    length = float(cable.heated_length_m)
    around = length if cable.construction.returns else 2 * length
    numbers = f"{sums.told(around)} × {sums.told(share)}"
    plain = Sum("no cold lead", "x = way round × s", numbers, around * share, "m")
    mistakes = (
        Mistake(
            "The bridge's two core leads exchanged",
            sums.slide(round(1 - share, 6), cable, "exchanged"),
        ),
        Mistake("The cold lead forgotten", plain),
    )
    why = (
        f"Loop bridge, {sound} to {faulty} to braid: at balance the slide is divided as the loop "
        "is. The damage only feeds the battery's current, so a leak of megohms does as well."
    )
    return Method("loop bridge", why, sums.slide(share, cable), half_m(expert, "murray"), mistakes)
