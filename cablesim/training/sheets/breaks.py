"""Broken cores: each piece is a capacitor as long as itself."""

from __future__ import annotations

from cablesim.cable.faults import Break, Fault
from cablesim.training.sheets import sums
from cablesim.training.sheets.content import Sum
from cablesim.training.sheets.expert import Expert
from cablesim.training.sheets.solving import (
    Method,
    Mistake,
    Solved,
    echo_methods,
    half_m,
    other_core,
    values,
)

__all__ = ["broken"]


def broken(expert: Expert, fault: Fault) -> Solved:
    """One core of a twin cable broken, or the core of a single-conductor cable."""
    assert isinstance(fault, Break)
    cable = expert.case.cable
    cores = cable.construction.cores
    cut = [name for name in fault.conductors if name in cores]
    if not cut:
        return Solved(
            "The braid is broken and nothing else: no reading at the ends of the cores shows it.",
            (),
        )
    methods: list[Method] = []
    if cable.construction.returns:
        near, far = (
            expert.read("capacitance_meter", end, "braid") for end in ("core1", "core1@far")
        )
        found = values(near, far)
        if found is not None and "braid" not in fault.conductors:
            methods.append(_two_ends_of_a_break(expert, found[0], found[1]))
        elif found is not None:
            methods.append(_through(expert, found[0]))
    elif len(cut) == 1:
        methods += _three_of_a_break(expert, cut[0])
    else:
        both = values(expert.read("capacitance_meter", "core1+core2", "braid"))
        methods += [_through(expert, both[0])] if both else []
    methods += echo_methods(expert, cut[0], "braid", "+")
    kind = (
        f"The way round is over range and nothing goes to the braid: {' and '.join(cut)} broken. "
        "Ohms say no more; each piece of core is a capacitor as long as itself."
    )
    return Solved(kind, tuple(methods))


def _two_ends_of_a_break(expert: Expert, near: float, far: float) -> Method:
    cable = expert.case.cable
    length = float(cable.heated_length_m)
    share = near / (near + far)
    numbers = f"{sums.told(length)} × {sums.told(near)} / ({sums.told(near)} + {sums.told(far)})"
    mistakes = (
        Mistake(
            "The two ends exchanged",
            sums.both_capacitances_ends(far, near, cable, "exchanged"),
        ),
        Mistake(
            "The cold leads forgotten",
            Sum("no cold leads", "x = L Cnear / (Cnear + Cfar)", numbers, share * length, "m"),
        ),
        Mistake(
            "The label's capacitance per metre instead of the ratio",
            sums.cut_through(near, cable, "label's capacitance"),
        ),
    )
    why = (
        "The core's capacitance to the braid from either end: the two pieces, as long as they are."
    )
    place = sums.both_capacitances_ends(near, far, cable)
    return Method("both ends", why, place, half_m(expert, "both_ends"), mistakes)


def _three_of_a_break(expert: Expert, core: str) -> list[Method]:
    cable = expert.case.cable
    other = other_core(core)
    found = values(
        expert.read("capacitance_meter", core, f"{other}+braid"),
        expert.read("capacitance_meter", other, f"{core}+braid"),
        expert.read("capacitance_meter", "core1+core2", "braid"),
    )
    if found is None:
        return []
    broken, whole, both = found
    mistakes = [
        Mistake(
            "The two cores exchanged",
            sums.three_capacitances(whole, broken, both, cable, "exchanged"),
        ),
        Mistake(
            "The label's capacitance per metre, one core",
            sums.cut_through(2 * broken, cable, "label's capacitance"),
        ),
    ]
    plain = values(
        expert.read("capacitance_meter", core, "braid", kept=False),
        expert.read("capacitance_meter", other, "braid", kept=False),
    )
    if plain is not None:
        told = Mistake(
            f"Two plain readings, {sums.told(plain[0])} and {sums.told(plain[1])} nF, the other "
            "core floating: it lends its own path",
            sums.ratio_of_two(plain[0], plain[1], cable, "two plain readings"),
        )
        mistakes.insert(0, told)
    why = (
        "Three capacitances: each core to all the rest, and both to the braid. The coupling "
        "between the cores is in the first two alike, and cancels."
    )
    place = sums.three_capacitances(broken, whole, both, cable)
    return [
        Method(
            "three capacitances", why, place, half_m(expert, "three_capacitances"), tuple(mistakes)
        )
    ]


def _through(expert: Expert, both: float) -> Method:
    cable = expert.case.cable
    cores = len(cable.construction.cores)
    per_m = round(cores * float(cable.capacitance_core_braid_pf_per_m) / 1000, 4)
    numbers = f"{sums.told(both)} / {sums.told(per_m)}"
    plain = Sum("no cold lead", "x = C / c'", numbers, both / per_m, "m")
    why = (
        "What is left is a capacitor as long as itself. Its capacitance per metre is the label's, "
        "which is rarely sure: the interval is wide, and a piece of the same cable would mend that."
    )
    mistakes = (Mistake("The cold lead forgotten", plain),)
    place = sums.cut_through(both, cable)
    return Method(
        "capacitance per metre", why, place, half_m(expert, "capacitance_per_metre"), mistakes
    )
