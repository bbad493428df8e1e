"""Tables and panels for people, as rich renderables; how wide they become is the console's choice.

Every text is a ``Text`` or plain, never rich markup: a title from a file may hold brackets.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

import numpy as np
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.cable.cable import Cable
from cablesim.instruments.readings import Reading
from cablesim.locate.estimate import Alternative, Estimate, Proposal
from cablesim.report.headed import headed_table
from cablesim.report.quantities import (
    BALANCE,
    across_words,
    display_words,
    exact_words,
    meter_words,
    quantity_words,
    reading_words,
    unit_of,
)
from cablesim.report.ruled import Ruled
from cablesim.report.words import (
    by_place,
    damage_words,
    decimals_for,
    fault_words,
    interval_words,
    metres_words,
    one_line,
    percent_words,
    place_words,
    resistance_words,
    true_fault_words,
    verdict_words,
    within_words,
    worth_naming,
)

if TYPE_CHECKING:
    from cablesim.report.answer import Answer
    from cablesim.report.predicted import Predicted
    from cablesim.scenario.lengths import WrittenLength
    from cablesim.scenario.scenario import Scenario
    from cablesim.site.survey import Survey

__all__ = [
    "answer_view",
    "asked_rows",
    "labelled",
    "lengths_table",
    "minded",
    "other_words",
    "readings_table",
    "scenario_table",
    "stacked",
]

# A reading that moves by more than this is set in bold.
_CHANGED = 0.02
# Meters' names break at their blanks, so that what the leads touch stays on one line.
_METER_WIDTH = 12

Row = tuple[str, RenderableType]
"""A label, empty where it is that of the row above, and a text."""


def readings_table(
    rows: Sequence[Predicted], title: str = "", taken: Sequence[Reading | None] = ()
) -> Table:
    """Readings, healthy beside damaged.

    Parameters
    ----------
    rows
        The readings as predicted.
    title
        One line above the table.
    taken
        What the meters really said, one for each row or None; nothing where none was taken.
    """
    table = headed_table(one_line(title))
    # Folding, never cutting: on a narrow screen a name breaks, but all of it is there.
    table.add_column("#", justify="right", overflow="fold")
    table.add_column("Meter", overflow="fold", max_width=_METER_WIDTH)
    table.add_column("Across", overflow="fold")
    shown = any(reading is not None for reading in taken)
    for name in ("Healthy", "Damaged", "Display", *(["Taken"] if shown else [])):
        table.add_column(name, justify="right", overflow="fold")
    for number, row in enumerate(rows, start=1):
        table.add_row(
            str(number),
            Text(meter_words(row.probe)),
            Text(across_words(row.probe.hookup.across)),
            Text(exact_words(row.probe, row.healthy)),
            Text(_damaged_words(row), style="bold" if _changed(row) else ""),
            Text(display_words(row.probe, row.displayed)),
            *([Text(_taken_words(taken[number - 1]))] if shown else []),
        )
    if any(unit_of(row.probe) == BALANCE for row in rows):
        table.caption = Text(f"A bridge's balance is {BALANCE}, its Q arm at the second lead.")
        table.caption_justify = "left"
    return table


def _damaged_words(row: Predicted) -> str:
    """One value, or the lowest and the highest where a fault is unsteady."""
    low, high = row.between or (row.damaged, row.damaged)
    ends = [exact_words(row.probe, value) for value in (low, high)]
    return ends[0] if ends[0] == ends[1] else " to ".join(ends)


def answer_view(answer: Answer) -> Group:
    """The answer: verdict and place in a panel; below it what else, what next, what to mind.

    Parameters
    ----------
    answer
        The estimate, its cable, and how far it is from the truth where that is known.
    """
    estimate, cable = answer.estimate, answer.cable
    rows = [*answer_rows(estimate, cable), *truth_rows(answer)]
    panel = Ruled(labelled(rows), one_line(answer.title))
    return Group(panel, Padding(labelled(advice_rows(estimate), dashed=True), (0, 2)))


def scenario_table(scenario: Scenario) -> Table:
    """What a scenario says: cable, faults, meters, readings.

    Parameters
    ----------
    scenario
        The scenario.
    """
    cable = scenario.cable
    rows: list[Row] = []
    if scenario.title:
        rows.append(("Title", Text(one_line(scenario.title))))
    rows.append(("Cable", Text(cable_words(cable))))
    if scenario.supply_volt is not None and not scenario.others:
        watt = scenario.supply_volt**2 / float(cable.loop_resistance_ohm)
        rows.append(("Rated", Text(f"{watt:.0f} W at {scenario.supply_volt:g} V")))
    for part in scenario.others:
        rows.append((f"Cable {part.name}", Text(cable_words(part.cable))))
    if scenario.others:
        joins = [" with ".join(group) for group in scenario.joins]
        rows += stacked("Joined", joins or ["all parallel at the thermostat"])
    broken = [
        (f"on {part.name}: " if part.name else "") + true_fault_words(fault, part.cable)
        for part in scenario.parts
        for fault in part.faults
    ]
    rows += stacked("Faults", broken or ["none"])
    meters = [f"{m.name} ({m.kind.replace('_', ' ')})" for m in scenario.meters.values()]
    rows += stacked("Meters", meters or ["the usual ones"])
    if scenario.floor is not None:
        rows.append(("Floor", Text(_floor_words(scenario.floor))))
    taken = len(scenario.readings)
    told = f"{taken} taken, {len(scenario.entries) - taken} to predict"
    if scenario.after_repair:
        told += f", {len(scenario.after_repair)} after a repair"
    rows.append(("Readings", Text(told)))
    return labelled(rows)


def lengths_table(written: Iterable[WrittenLength]) -> Table:
    """Lengths that a file gives with a unit of their own, and what they were read as.

    Parameters
    ----------
    written
        In the order of the file.
    """
    return labelled(
        (length.key, Text(f"{one_line(length.text)} = {length.value:.6g} {length.unit}"))
        for length in written
    )


def labelled(rows: Iterable[Row], *, dashed: bool = False) -> Table:
    """Two columns, labels and texts; with a dash before each text where several share a label."""
    table = Table.grid(padding=(0, 2) if not dashed else (0, 1))
    table.add_column(style="dim", no_wrap=True)
    if dashed:
        table.add_column(no_wrap=True)
    table.add_column(overflow="fold")
    for label, text in rows:
        table.add_row(label, *(["-"] if dashed else []), text)
    return table


def minded(cautions: Iterable[str]) -> Padding:
    """The cautions under an answer, indented like its table."""
    return Padding(labelled(stacked("Mind", cautions), dashed=True), (0, 2))


def stacked(label: str, lines: Iterable[str]) -> list[Row]:
    """Rows of which only the first has the label."""
    return [(label if k == 0 else "", Text(line)) for k, line in enumerate(lines)]


def _changed(row: Predicted) -> bool:
    if not np.isfinite([row.healthy, row.damaged]).all():
        return bool(np.isfinite([row.healthy, row.damaged]).any())
    return abs(row.damaged - row.healthy) > _CHANGED * abs(row.healthy)


def _taken_words(reading: Reading | None) -> str:
    if reading is None:
        return ""
    told = display_words(reading.probe, reading.shown)
    return f"over {told}" if reading.at_least else told


def answer_rows(estimate: Estimate, cable: Cable) -> list[Row]:
    """Verdict, place, interval, resistance, and what is left open."""
    rows: list[Row] = [("Verdict", Text(verdict_words(estimate), style="bold"))]
    groups = by_place(estimate.faults)
    for group in groups:
        fault = group[-1]
        decimals = decimals_for(fault.open_m)
        place = place_words(fault.position_m, cable, decimals)
        if not worth_naming(fault, cable):
            place = "left open by these readings"
        elif not estimate.locatable:
            place = f"best guess {place}"
        if len(groups) > 1:
            place = f"{damage_words(group)}: {place}"
        rows.append(("Place", Text(place)))
        within = f"{100 * estimate.level:g} % within"
        rows.append((within, Text(interval_words(fault.intervals_m, decimals))))
    lines = []
    for fault in estimate.faults:
        # Where the place is open so is the resistance: the two make up for each other.
        if fault.resistance_ohm is not None and worth_naming(fault, cable):
            told = resistance_words(fault, estimate.level)
            lines.append(told if len(estimate.faults) == 1 else f"{fault_words(fault)}: {told}")
    rows += stacked("Resistance", lines)
    if estimate.reason:
        rows.append(("Left open", Text(_sentence(estimate.reason))))
    return rows


def truth_rows(answer: Answer) -> list[Row]:
    """The truth, where it is known, and how far the answer is from it."""
    marked, cable = answer.marked, answer.cable
    if marked is None:
        return []
    told = place_words(marked.true_position_m, cable)
    if not marked.right or len(marked.places_m) > 1:
        told = "; ".join(true_fault_words(fault, cable) for fault in marked.faults)
    lines = [told if marked.right else f"really {told}"]
    if marked.error_m is not None:
        # Of two places the first is marked, against the nearest true one of its kind.
        first = "first " if len(by_place(answer.estimate.faults)) > 1 else ""
        several = len(marked.places_m) > 1
        it = f"the true place at {metres_words(marked.true_position_m)}" if several else "it"
        held = "holds" if marked.inside_interval else "misses"
        if worth_naming(answer.estimate.faults[0], cable):
            way = f"{abs(marked.error_m):.2f} m {'beyond' if marked.error_m > 0 else 'short of'}"
            lines.append(f"the best {first}place is {way} {it}, the interval {held} it")
        else:
            lines.append(f"no best {first}place is named, the {first}interval {held} {it}")
    return stacked("Truth", lines)


def advice_rows(estimate: Estimate) -> list[Row]:
    """What else it may be, what to read next, what to ask, and what to mind."""
    rows = stacked("Otherwise", [other_words(o) for o in estimate.alternatives])
    coming = estimate.next_reading
    if coming is not None:
        rows.append(("Read next", Text(f"{reading_words(coming)}: {coming.why}")))
    rows += asked_rows(estimate.proposals)
    rows += stacked("Place unused", [told.replace("_", " ") for told in estimate.unused])
    return rows + stacked("Mind", estimate.cautions)


def asked_rows(proposals: Iterable[Proposal]) -> list[Row]:
    """Questions about slips and labels, one a row."""
    return stacked("Ask", [_sentence(proposal.told) for proposal in proposals])


def other_words(other: Alternative) -> str:
    """What else may be broken, how likely that is, and where it would be."""
    told = f"{damage_words(other.faults)} ({percent_words(other.probability)})"
    if not other.faults:
        return told
    return f"{told}, {within_words(other.faults)}"


def _floor_words(survey: Survey) -> str:
    told = []
    if survey.room is not None:
        told.append(f"{survey.room.area_m2:.1f} m2")
    if survey.has_route:
        told.append("cable laid by rule" if survey.rule is not None else "cable surveyed")
    else:
        told.append("the way of the cable not stated")
    if survey.tile_m is not None:
        told.append("tiles of {:g} m by {:g} m".format(*survey.tile_m))
    if survey.layers:
        told.append("on top " + survey.layers[0].material)
    return ", ".join(told)


def cable_words(cable: Cable) -> str:
    """A cable in one line: construction, length, resistance, ends."""
    low, high = cable.tolerance_percent
    tolerance = f"{low:+g} % to {high:+g} %" if low < high else "exactly"
    returns = cable.construction.returns
    ends = "a cold lead of {} at each end" if returns else "a cold lead of {}"
    far = "" if returns else f", far end {cable.far_end}"
    return (
        f"{cable.construction.name}, {float(cable.heated_length_m):g} m heated, "
        f"{quantity_words(float(cable.loop_resistance_ohm), 'ohm')} ({tolerance}), "
        f"{ends.format(f'{float(cable.cold_lead_m):g} m')}{far}"
    )


def _sentence(clause: str) -> str:
    """A clause with a capital and a full stop."""
    text = clause[:1].upper() + clause[1:]
    return text if text.endswith((".", "?", "!")) else text + "."
