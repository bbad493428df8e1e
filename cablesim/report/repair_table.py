"""A repair for people: what is done, which readings to expect, limits, verdicts, checklist."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.report.headed import headed_table
from cablesim.report.quantities import (
    across_words,
    display_words,
    exact_words,
    meter_words,
    quantity_words,
)
from cablesim.report.repair import REPAIR_CAUTIONS
from cablesim.report.tables import labelled, stacked
from cablesim.report.words import one_line, place_words
from cablesim.scenario.scenario import AFTER
from cablesim.site.repair import STEPS, STEPS_SOURCE

if TYPE_CHECKING:
    from collections.abc import Iterable

    from rich.console import RenderableType

    from cablesim.instruments.readings import Probe
    from cablesim.report.repair import RepairAnswer
    from cablesim.site.acceptance import Limit

__all__ = [
    "done_table",
    "expected_table",
    "limit_words",
    "measured_table",
    "repair_view",
    "verdict_rows",
]

_METER_WIDTH, _LEAST_WIDTH = 11, 11
_SAME = "unchanged"


def repair_view(answer: RepairAnswer, title: str) -> Group:
    """All that ``cablesim repair`` says.

    Parameters
    ----------
    answer
        The repair.
    title
        One line above it.
    """
    parts: list[RenderableType] = [Text(one_line(title), style="bold"), done_table(answer)]
    parts += ["", Text("Readings to expect", style="bold"), expected_table(answer)]
    for when in AFTER:
        if any(row.entry.when == when for row in answer.measured):
            parts += [Text(f"Readings taken {when}", style="bold"), measured_table(answer, when)]
    parts += [Padding(labelled(verdict_rows(answer)), (0, 0, 1, 0))]
    told = [*stacked("Steps", STEPS), ("", Text(f"({STEPS_SOURCE})"))]
    told += stacked("Mind", REPAIR_CAUTIONS)
    parts += [labelled(told, dashed=True)]
    return Group(*parts)


def limit_words(probe: Probe, limit: Limit | None) -> str:
    """A limit in words.

    >>> from cablesim.cable.cable import Cable
    >>> from cablesim.instruments.standard import standard_probes
    >>> from cablesim.site.acceptance import limit_of
    >>> cable = Cable.rated("twin", 30.0, 88.2, cold_lead_m=0.0)
    >>> for probe in standard_probes(cable)[:4:3]:
    ...     print(limit_words(probe, limit_of(cable, probe)))
    83.79 to 97.02 ohm
    at least 1 Mohm at 500 V
    """
    if limit is None:
        return "none"
    if limit.over_range:
        return "over range"
    unit = probe.meter.unit
    if limit.most == float("inf"):
        return f"at least {limit.least:g} {unit} at {limit.least_volt:g} V"
    low, high = (quantity_words(end, unit) for end in (limit.least, limit.most))
    return f"{low.rsplit(' ', 1)[0] if low.split()[-1] == high.split()[-1] else low} to {high}"


def done_table(answer: RepairAnswer) -> Table:
    """What is mended, and what that does to length and power."""
    rows = []
    for mend in answer.mends:
        lines = [place_words(mend.at_m, answer.cable)]
        if mend.removed_m:
            low, high = mend.cut_m(answer.cable)
            lines.append(f"{mend.removed_m:g} m cut out, from {low:.2f} to {high:.2f} m")
        joints = "one joint"
        if mend.inserted_m:
            lines.append(f"{mend.inserted_m:g} m of cold cable put in")
            joints = "two joints"
        ohm = quantity_words(mend.joint_ohm, "ohm")
        lines.append(f"{joints} in each conductor, {ohm} each")
        rows += stacked("Mended", lines)
    if not answer.mends:
        told = "where is not stated: the readings to expect are those of the healthy cable"
        rows += stacked("Mended", [told])
    if answer.located:
        told = "the place is where the readings point, not a stated fault"
        rows += stacked("From", [told, *([f"not sure: {answer.reason}"] if answer.reason else [])])
    before, after = answer.heated_m
    rows += stacked("Heated", [f"{after:.2f} m of {before:.2f} m"])
    whole, each = answer.power_percent, answer.power_per_m_percent
    if whole is not None and each is not None:
        told = f"{_change(whole)} on the same supply, {_change(each)} on each metre"
        if _change(whole) == _change(each) == _SAME:
            told = "as before, on the same supply"
        rows += stacked("Power", [told])
    return labelled(rows)


def _change(percent: float) -> str:
    """A change with its sign, and none where it rounds to nothing.

    >>> _change(1.26), _change(-0.01)
    ('+1.3 %', 'unchanged')
    """
    told = f"{percent:+.1f} %"
    return _SAME if told in ("-0.0 %", "+0.0 %") else told


def _grid(across: Iterable[str], *columns: str) -> Table:
    table = headed_table()
    # As wide as the longest words of names, so that these stay whole on a narrow screen.
    widest = max((len(word) for told in across for word in told.split()), default=0)
    table.add_column("Meter", overflow="fold", min_width=_LEAST_WIDTH, max_width=_METER_WIDTH)
    table.add_column("Across", overflow="fold", min_width=widest)
    for name in columns:
        table.add_column(name, justify="right", overflow="fold")
    return table


def expected_table(answer: RepairAnswer) -> Table:
    """Readings to expect, with their limits."""
    # Where no damage is stated there is nothing to say of the damaged cable.
    stated = any(row.damaged is not None for row in answer.expected)
    names = [across_words(row.probe.hookup.across) for row in answer.expected]
    columns = ("Repaired", "Display", "Limit", "Within")
    table = _grid(names, *(["Damaged"] if stated else []), *columns)
    for row, name in zip(answer.expected, names, strict=True):
        before = "" if row.damaged is None else exact_words(row.probe, row.damaged)
        verdict = {"pass": "yes", "fail": "no", None: ""}[row.verdict]
        table.add_row(
            Text(meter_words(row.probe)),
            Text(name),
            *([Text(before)] if stated else []),
            Text(exact_words(row.probe, row.after)),
            Text(display_words(row.probe, row.shown)),
            Text(limit_words(row.probe, row.limit)),
            Text(verdict, style="bold" if verdict == "no" else ""),
        )
    return table


def measured_table(answer: RepairAnswer, when: str) -> Table:
    """Readings taken after the repair at one time, judged."""
    names = [
        across_words(row.entry.probe.hookup.across)
        for row in answer.measured
        if row.entry.when == when
    ]
    table = _grid(names, "Taken", "May be", "Limit", "Verdict")
    for row in answer.measured:
        reading, told = row.entry.reading, row.judged
        if reading is None or row.entry.when != when:
            continue
        low, high = (exact_words(reading.probe, end) for end in row.span)
        shown = display_words(reading.probe, reading.shown)
        table.add_row(
            Text(meter_words(reading.probe)),
            Text(across_words(reading.probe.hookup.across)),
            Text(f"over {shown}" if reading.at_least else shown),
            Text(f"over {low}" if row.span[1] == float("inf") else f"{low} to {high}"),
            Text(limit_words(reading.probe, row.limit)),
            Text("not limited" if told is None else told[0], style="bold" if told else ""),
        )
    return table


def verdict_rows(answer: RepairAnswer) -> list[tuple[str, RenderableType]]:
    """Accepted or not at each time, why, and where the limits come from."""
    rows: list[tuple[str, RenderableType]] = []
    for when in AFTER:
        verdict = answer.accepted(when)
        lines: list[str] = [verdict or "not read yet"]
        if verdict is not None:
            lines += [
                f"{across_words(m.entry.probe.hookup.across)}: {m.judged[1]}"
                for m in answer.measured
                if m.entry.when == when and m.judged is not None and m.judged[1]
            ]
            lines += [f"missing: {name}" for name in answer.missing(when)]
        rows += stacked(when.capitalize(), lines)
    limits = [row.limit for row in answer.expected] + [row.limit for row in answer.measured]
    sources = dict.fromkeys(limit.source for limit in limits if limit is not None)
    return [*rows, *stacked("Limits", sources)]
