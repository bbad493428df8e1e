"""Sections of a page about the answer: in short, on the cable, how sure, and what was read."""

from __future__ import annotations

from cablesim.report.budget_table import budget_view
from cablesim.report.camera import damage_as_located, struck_volt
from cablesim.report.page.convert import described, html_of
from cablesim.report.page.figures import place_figure
from cablesim.report.page.markup import Markup, element, listed, section
from cablesim.report.page.source import PageSource
from cablesim.report.page.svg import figure_html
from cablesim.report.predicted import predicted
from cablesim.report.tables import answer_rows, cable_words, readings_table, truth_rows
from cablesim.report.words import (
    by_place,
    damage_words,
    decimals_for,
    metres_words,
    within_words,
    worth_naming,
)

__all__ = ["answer_section", "budget_section", "cable_section", "readings_section", "standing"]


def standing(source: PageSource) -> str:
    """How far the answer has come, in a few words."""
    estimate = source.answer.estimate
    if estimate.conflict:
        said = estimate.conflict_in_short
        return said[:1].upper() + said[1:]
    if estimate.verdict == "healthy":
        return "Nothing is found broken"
    return "The place is found" if estimate.locatable else "The place is not found yet"


def answer_section(source: PageSource) -> Markup:
    """The answer in short."""
    answer = source.answer
    rows = [
        *answer_rows(answer.estimate, answer.cable),
        *truth_rows(answer),
    ]
    cautions = answer.estimate.cautions
    first = element("p", element("strong", "Safety. "), cautions[0], class_="mind")
    more = element("a", "All cautions", href="#cautions")
    level = round(100 * answer.estimate.level)
    told = (
        f"Places are metres along the cable from the cold joint, where the unheated lead ends and "
        f"the heated part begins. {level} % within: in {level} of 100 such cases the damage lies "
        "in that stretch, if it is of the kind named here and cable and meters keep to their "
        "stated limits."
    )
    return section(
        "answer",
        "The answer",
        element("p", standing(source), class_="standing"),
        described(rows),
        element("p", told, class_="small") if answer.estimate.faults else Markup(""),
        Markup(f"{first}<p>{more}</p>") if cautions else Markup(""),
    )


def cable_section(source: PageSource) -> Markup:
    """The place on the cable, drawn."""
    answer, estimate = source.answer, source.answer.estimate
    told = f"The cable as a strip: {cable_words(answer.cable)}."
    title, below = "The cable", "Grey: the cable, its heated part shaded."
    if estimate.faults:
        title = "Where the damage lies along the cable"
        fault = estimate.faults[0]
        decimals = decimals_for(fault.open_m)
        within = within_words(estimate.faults)
        told += f" Damage: {damage_words(estimate.faults)}, within {within} (from the cold joint)."
        below = (
            f"Blue band: the stretch that holds the damage with {100 * estimate.level:g} %. Curve "
            "above: how likely each place is, where it is enlarged a grey sheet leads down to the "
            "stretch that it shows."
        )
        if len(by_place(estimate.faults)) > 1:
            below += " Dashed: the stretch of the other damage, of which no curve is drawn."
        if worth_naming(fault, answer.cable):
            told += f" Best place {metres_words(fault.position_m, decimals)}."
            below += (
                " Triangle: the best place. On the strip: joined dots a contact between two "
                "conductors, a cross a cut, a square a bad joint."
            )
    figure = figure_html(
        place_figure(answer),
        "place",
        title,
        told,
        element("span", below),
    )
    return section("cable", "On the cable", figure)


def budget_section(source: PageSource) -> Markup | None:
    """What the uncertainty of the place is made of."""
    if source.budget is None:
        return None
    return section(
        "budget",
        "How sure, and what the uncertainty is made of",
        html_of(budget_view(source.budget)),
    )


def readings_section(source: PageSource) -> Markup:
    """What was read, beside what a healthy cable shows and what the damage as located shows."""
    scenario, estimate = source.scenario, source.answer.estimate
    entries = [entry for entry in scenario.entries if entry.reading is not None]
    rows = predicted(
        scenario.cable,
        damage_as_located(estimate.faults, struck_volt(scenario)),
        [entry.probe for entry in entries],
    )
    table = readings_table(rows, taken=[entry.reading for entry in entries])
    told = ["Healthy: what an ideal meter shows of the sound cable."]
    if estimate.faults:
        best = "Damaged: what it shows of the damage at its best place"
        if any(fault.resistance_interval_ohm == (None, None) for fault in estimate.faults):
            best += ", with a resistance from the middle of what is possible: no reading tells it"
        told.append(f"{best}.")
    else:
        table.columns = [column for column in table.columns if column.header != "Damaged"]
    told += [
        "Display: the same on this meter, with its leads and digits.",
        "Taken: what was read, on a cable and with meters that are each a little off.",
    ]
    notes = [f"{n}: {entry.note}" for n, entry in enumerate(entries, start=1) if entry.note]
    return section(
        "readings",
        "The readings",
        described([("Cable", cable_words(scenario.cable))]),
        html_of(table),
        element("p", " ".join(told), class_="small"),
        Markup(element("p", "Notes:") + listed(notes)) if notes else Markup(""),
    )
