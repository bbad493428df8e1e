"""What a trainer is handed: the truth, readings, reasoning, arithmetic, mistakes, the place."""

from __future__ import annotations

import math

from cablesim.locate import locate
from cablesim.report.quantities import across_words, display_words, quantity_words
from cablesim.report.words import (
    decimals_for,
    interval_words,
    one_line,
    place_words,
    true_fault_words,
    verdict_words,
)
from cablesim.training.case import Case
from cablesim.training.settings import setting_words
from cablesim.training.sheets.content import Block, Section, Sheet, Sum, Table, Text
from cablesim.training.sheets.expert import Expert, Taken
from cablesim.training.sheets.job import place_drawing
from cablesim.training.sheets.routes import solved
from cablesim.training.sheets.solving import Method, Mistake, Solved, ohm_pairs

__all__ = ["key_sheet"]

# Least insulation of a circuit up to 500 V: from memory of IEC 60364-6, table 6.1 [Mohm].
_LEAST_MEGOHM = 1.0
_MISTAKE_COLUMNS = ("What was done", "Numbers put in", "Gives", "Off by")


def key_sheet(case: Case) -> Sheet:
    """Write the key to a case.

    Parameters
    ----------
    case
        With its key.
    """
    expert = Expert(case)
    for across in ohm_pairs(case.cable):
        expert.read("ohmmeter", *across)
    expert.read("insulation_tester", "+".join(case.cable.construction.cores), "braid")
    found = solved(expert)
    places = [float(fault.position_m) for fault in case.faults]
    sections = [
        Section("Truth", _truth(case)),
        Section("Readings", (_readings(expert),)),
        Section("Reasoning", _reasoning(expert, found)),
        Section("Arithmetic", _arithmetic(case, found)),
        Section("Common mistakes", _mistakes(case, found)),
        Section("All readings together", _together(expert)),
        Section("Place", place_drawing(case.scenario, places)),
    ]
    return Sheet(
        name=case.name,
        title=one_line(case.scenario.title),
        kind="key",
        sections=tuple(section for section in sections if section.blocks),
    )


def _truth(case: Case) -> tuple[Block, ...]:
    key = case.key
    told = [
        Text(_upper(true_fault_words(fault, case.cable)) + ".", bold=True) for fault in case.faults
    ]
    if not case.faults:
        told.append(Text("Nothing is broken.", bold=True))
    for fault in case.faults:
        drift = getattr(fault, "drift_percent", 0.0)
        if drift:
            told.append(
                Text(f"It is unsteady: up to {drift:g} % more at one reading, less at another.")
            )
    allows = (
        f"With this bag the place can be known to {key.half_width_m:.2g} m either way at best."
        if key.half_width_m is not None
        else ""
    )
    if not key.locatable:
        allows = "With this bag it cannot be located: to say so is the right answer."
    told.append(Text(f"Level {key.level} of 5. {allows}".strip()))
    off = 100 * (key.true.core - 1)
    way = "more" if off >= 0 else "less"
    told.append(Text(f"The true cable has {abs(off):.1f} % {way} resistance than its label says."))
    return tuple(told)


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def _readings(expert: Expert) -> Block:
    rows = []
    for number, taken in enumerate(expert.taken, start=1):
        probe = taken.shown.probe
        set_to = setting_words(probe.setting)
        meter = f"{probe.meter.name.replace('_', ' ')} {set_to}".strip()
        zeroed = "yes" if taken.zero_ohm is not None else ""
        across = across_words(probe.hookup.across)
        rows.append((f"{number}", meter, across, zeroed, taken.shown.words))
    heads = ("No", "Meter and setting", "Leads on", "Zeroed?", "Display")
    return Table(heads, (0.06, 0.29, 0.26, 0.13, 0.26), tuple(rows))


def _reasoning(expert: Expert, found: Solved) -> tuple[Block, ...]:
    steps = [
        "Switch off, lock off, prove dead; take the cable out of the thermostat; zero the leads.",
        *_triage(expert),
        found.kind,
    ]
    for method in found.methods:
        half = (
            ""
            if method.half_m is None
            else f" By its readings it is good to {method.half_m:.2g} m."
        )
        steps.append(method.why + half)
    case_m = float(expert.case.cable.heated_length_m)
    for method in found.wide:
        half = f"{method.half_m:.2g} m either way"
        steps.append(f"By {method.name}: {_gives(method)}, but {half} is too wide to open by.")
    for method in found.failing:
        steps.append(_fails(method, case_m))
    steps += found.advice
    if not expert.case.key.locatable:
        steps.append("It cannot be located with this bag: to say so is the right answer.")
    if found.methods:
        steps.append(
            "Mark the place; confirm it by a second method before opening; break the covering "
            "between the runs."
        )
    steps.append("After the repair take the resistances and the insulation again.")
    return tuple(Text(step, bullet=f"{number}") for number, step in enumerate(steps, start=1))


def _fails(method: Method, length_m: float) -> str:
    """Why a closed form is no help here."""
    if method.half_m is not None and 2 * method.half_m > length_m:
        return f"By {method.name} nothing comes out: the interval is wider than the whole cable."
    good = "" if method.half_m is None else f", good to {method.half_m:.2g} m"
    return f"By {method.name} it goes wrong here: {_gives(method)}{good}."


def _gives(method: Method) -> str:
    return method.sum.lines[2].strip(" =")


def _triage(expert: Expert) -> list[str]:
    """What each of the first readings says by itself."""
    cable = expert.case.cable
    ohms = [t for t in expert.taken if t.shown.probe.meter.kind == "ohmmeter"]
    steps = []
    if ohms:
        loop, *others = ohms[: len(ohm_pairs(cable))]
        steps.append(_of_loop(expert, loop))
        paths = [taken for taken in others if taken.has_value]
        if paths:
            told = " and ".join(_said(taken) for taken in paths)
            steps.append(f"To the braid: {told}. Something conducts to it.")
        elif others:
            steps.append("To the braid: over range. Nothing that an ohmmeter sees conducts to it.")
    for taken in expert.taken:
        if taken.shown.probe.meter.kind == "insulation_tester":
            good = taken.value >= _LEAST_MEGOHM
            least = f"{_LEAST_MEGOHM:g} Mohm"
            verdict = f"which passes the limit of {least}" if good else f"below {least}: it fails"
            if good and any(one.has_value for one in ohms[1 : len(ohm_pairs(cable))]):
                verdict += "; but a sound cable shows no path to an ohmmeter"
            told = display_words(taken.shown.probe, taken.shown.value)
            steps.append(f"Insulation: {told}, {verdict}.")
    return steps


def _said(taken: Taken) -> str:
    shown = taken.shown
    unsteady = " (it does not settle)" if shown.unsteady else ""
    told = display_words(shown.probe, shown.value)
    return f"{told} from {across_words(shown.probe.hookup.across[:1])}{unsteady}"


def _of_loop(expert: Expert, loop: Taken) -> str:
    cable = expert.case.cable
    rated = float(cable.loop_resistance_ohm)
    low, high = (rated * (1 + percent / 100) for percent in cable.tolerance_percent)
    limits = f"{quantity_words(low, 'ohm')} to {quantity_words(high, 'ohm')}"
    if not loop.has_value:
        return "The way round: over range. It is broken somewhere."
    told = f"The way round: {loop.shown.words}; the label allows {limits}."
    if loop.value < low:
        return told + " Too little: part of it is bridged."
    if loop.value > high:
        return told + " Too much: something lies in series with it."
    return told + " It is whole."


def _arithmetic(case: Case, found: Solved) -> tuple[Block, ...]:
    blocks: list[Block] = [method.sum for method in (*found.methods, *found.wide)]
    blocks += found.bounds
    if found.methods and len(case.faults) == 1:
        off = found.methods[0].sum.value - float(case.faults[0].position_m)
        way = "too far out" if off > 0 else "too near"
        told = f"is {abs(off):.2f} m {way}" if abs(off) >= 0.005 else "hits it to the centimetre"
        first = "The first of these" if len(blocks) > 1 else "This"
        blocks.append(Text(f"{first} {told}."))
    if any("c" in sum_.symbols for sum_ in _all(found)):
        blocks.append(Text(_of_leads(case, found)))
    return tuple(blocks)


def _all(found: Solved) -> list[Sum]:
    return [m.sum for m in (*found.methods, *found.wide)] + list(found.bounds)


def _of_leads(case: Case, found: Solved) -> str:
    """What c stands for, in ohms and in metres."""
    cable = case.cable
    ohm = float(cable.cold_lead_ohm_per_m * cable.cold_lead_m)
    metres = ohm / float(cable.core_ohm_per_m[0])
    told = [f"L is the heated length, {float(cable.heated_length_m):g} m. c is the cold lead:"]
    by = {
        "R": f"{ohm:.3f} ohm of one of its cores in sums of resistances",
        "s": f"{metres:.3f} m of heated core with as many ohms, in those of a bridge",
        "C": f"its {float(cable.cold_lead_m):g} m in sums of capacitances",
        "t": f"its {float(cable.cold_lead_m):g} m in those of echoes",
    }
    sums = " ".join(sum_.symbols.partition("=")[2] for sum_ in _all(found))
    return " ".join([*told, "; ".join(text for sign, text in by.items() if sign in sums)]) + "."


def _mistakes(case: Case, found: Solved) -> tuple[Block, ...]:
    if len(case.faults) != 1:
        return ()
    true_m = float(case.faults[0].position_m)
    rows = []
    wrong = [mistake for method in found.methods[:2] for mistake in method.mistakes]
    wrong += [Mistake(f"Trust in {method.name}", method.sum) for method in found.failing]
    if not found.methods:
        other = (*found.wide, *found.failing)[:1]
        wrong += [mistake for method in other for mistake in method.mistakes]
    for mistake in wrong:
        _, numbers, gives = mistake.sum.lines
        off = f"{mistake.sum.value - true_m:+z.2f} m".replace("-", "−")
        rows.append((mistake.what, numbers.strip(" ="), gives.strip(" ="), off))
    return (Table(_MISTAKE_COLUMNS, (0.33, 0.39, 0.14, 0.14), tuple(rows)),) if rows else ()


def _together(expert: Expert) -> tuple[Block, ...]:
    """What weighing every hypothesis on all these readings says."""
    estimate = locate(expert.case.cable, expert.readings())
    told = [f"Weighed by the program: {verdict_words(estimate)}."]
    for fault in estimate.faults:
        low, high = fault.intervals_m[0][0], fault.intervals_m[-1][1]
        decimals = decimals_for(high - low)
        place = place_words(fault.position_m, expert.case.cable, decimals)
        within = interval_words(fault.intervals_m, decimals)
        if estimate.locatable and math.isfinite(fault.position_m):
            told.append(f"{_upper(place)}; 95 % within {within}.")
        else:
            told.append(f"95 % within {within}.")
    if not estimate.locatable and estimate.reason:
        told.append(f"Not located: {one_line(estimate.reason)}.")
    return tuple(Text(line) for line in told)
