"""Sections of a page about what to do: next steps, the repair, cautions."""

from __future__ import annotations

from collections.abc import Iterable

from cablesim.report.floor import FLOOR_CAUTIONS
from cablesim.report.page.convert import described, html_of
from cablesim.report.page.markup import Markup, element, listed, paragraphs, section
from cablesim.report.page.source import PageSource
from cablesim.report.quantities import across_words
from cablesim.report.repair import REPAIR_CAUTIONS, RepairAnswer
from cablesim.report.repair_table import (
    done_table,
    expected_table,
    measured_table,
    verdict_rows,
)
from cablesim.report.tables import advice_rows
from cablesim.scenario.scenario import AFTER
from cablesim.site.heat import CAUTIONS as HOT_SPOT_CAUTIONS
from cablesim.site.repair import STEPS, STEPS_SOURCE

__all__ = ["cautions_section", "next_section", "repair_section"]

_MIND = "Mind"


def next_section(source: PageSource) -> Markup:
    """What to do next, in order, and what the readings leave open."""
    estimate = source.answer.estimate
    rows = list(advice_rows(estimate))
    labels = [label for label, _ in rows]
    if _MIND in labels:  # the cautions have a section of their own
        rows = rows[: labels.index(_MIND)]
    return section(
        "next",
        "What to do next",
        listed([*_accepted(source), *_steps(source)], numbered=True),
        described(rows) if rows else Markup(""),
    )


def _accepted(source: PageSource) -> list[str]:
    """What the readings after a repair come to, where some were taken."""
    verdicts = {} if source.repair is None else {w: source.repair.accepted(w) for w in AFTER}
    told = []
    for when, verdict in verdicts.items():
        if verdict == "fail":
            told.append(
                f"The readings taken {when} do not pass: take them as readings of new damage, and "
                "locate that. Do not energise the cable."
            )
        elif verdict == "pass":
            told.append(f"The readings taken {when} pass: keep them.")
        elif verdict is not None:
            told.append(f"The readings taken {when} do not decide: see the section on the repair.")
    return told


def _steps(source: PageSource) -> list[str]:
    estimate = source.answer.estimate
    if estimate.conflict:
        return [
            "Do not open the floor: no damage that is known explains all readings.",
            "Take the readings again, each with its leads checked, and write down every digit and "
            "unit.",
            "Compare cable data and label: construction, length, rated resistance.",
        ]
    if not estimate.faults:
        return [
            "Keep these readings with the papers of the cable, to compare with later ones.",
            "Where the heating still fails, look at thermostat, sensor and supply first.",
        ]
    reading = []
    if estimate.next_reading is not None:
        reading = ["Take the reading named below, and answer anew with it."]
    if estimate.doubted:
        return [
            "Do not open the floor yet: first answer the questions below.",
            "Where one is answered with yes, correct the file, and answer anew.",
            "Otherwise take these readings again.",
        ]
    if not estimate.locatable:
        return [
            "Do not open the floor yet: the readings leave the place open.",
            *reading,
            "Work dead, and note meter, range, leads and every digit.",
        ]
    opened = "Open the floor between the runs."
    if source.floor is not None and source.floor.ranking is not None:
        opened = "Open the floor as planned above, the shaded part only, between the runs."
    return [
        *reading,
        "Confirm the place by a second, independent method.",
        opened,
        "Mend the damage as the section on the repair says.",
        "Take the readings of that section before closing the floor, and again after covering.",
        "Keep both with the papers of the cable.",
    ]


def repair_section(source: PageSource) -> Markup | None:
    """What the meters must show after the splice, what was read then, and the steps."""
    repair = source.repair
    if repair is None:
        return None
    taken = [
        _taken(repair, when)
        for when in AFTER
        if any(row.entry.when == when for row in repair.measured)
    ]
    guess = ""
    if source.answer.estimate.faults and not source.answer.estimate.locatable:
        guess = (
            "The place is not found yet. What follows is for the best guess: the limits hold "
            "wherever the damage is, the readings to expect change little with the place."
        )
    return section(
        "repair",
        "The repair",
        paragraphs(guess),
        html_of(done_table(repair)),
        element("h3", "Readings to expect, and their limits"),
        html_of(expected_table(repair)),
        *taken,
        element("h3", "Acceptance"),
        described(verdict_rows(repair)),
        element("h3", "Steps of the splice"),
        listed(STEPS, numbered=True),
        element("p", f"The steps: {STEPS_SOURCE}. The cable's instructions come first.",
                class_="small"),
    )  # fmt: skip


def _taken(repair: RepairAnswer, when: str) -> Markup:
    """What was read at one time after the repair, judged, with the notes of who read it."""
    rows = [row for row in repair.measured if row.entry.when == when]
    notes = [
        f"{across_words(row.entry.probe.hookup.across)}: {row.entry.note}"
        for row in rows
        if row.entry.note
    ]
    return Markup(
        element("h3", f"Readings taken {when}")
        + html_of(measured_table(repair, when))
        + (element("p", "Notes:") + listed(notes) if notes else "")
    )


def cautions_section(source: PageSource) -> Markup:
    """Every caution once, under what it belongs to."""
    groups: list[tuple[str, Iterable[str]]] = [("Always", source.answer.estimate.cautions)]
    if source.floor is not None:
        groups.append(("Opening the floor", FLOOR_CAUTIONS))
    if source.camera is not None:
        groups.append(("Energising the cable", source.camera.energised.cautions()))
        bursts = source.camera.bursts
        warming = HOT_SPOT_CAUTIONS if bursts is None else bursts.cautions
        groups.append(("Warming the damage", warming))
    if source.repair is not None:
        groups.append(("Repair", REPAIR_CAUTIONS))
    said: set[str] = set()
    told = []
    for title, cautions in groups:
        new = [caution for caution in cautions if caution not in said]
        said.update(new)
        if new:
            told.append(Markup(element("h3", title) + listed(new)))
    return section("cautions", "Cautions", *told)
