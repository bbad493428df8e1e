"""Which method first: a table for people."""

from __future__ import annotations

from itertools import groupby

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.text import Text

from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.first import ENOUGH_M, Candidate, FirstChart
from cablesim.benchmark.study.reach_view import (
    MIND,
    heading,
    lines_of,
    ohm_words,
    plain,
    plain_name,
)
from cablesim.report.words import one_line

__all__ = ["first_view", "stretches"]


def stretches(chart: FirstChart, damage: str) -> list[tuple[Candidate | None, float, float]]:
    """The first method over each stretch of resistances, with the stretch's ends [ohm]."""
    told = []
    pairs = zip(chart.first(damage), chart.resistance_ohm(damage).tolist(), strict=True)
    for _, group in groupby(pairs, key=lambda pair: id(pair[0])):
        rows = list(group)
        told.append((rows[0][0], rows[0][1], rows[-1][1]))
    return told


def first_view(chart: FirstChart, title: str = "") -> Group:
    """For each damage the resistances, the method to take first, its error, minutes and risk.

    Parameters
    ----------
    chart
        From `cablesim.benchmark.study.first.first_chart`.
    title
        One line above.
    """
    parts: list[RenderableType] = []
    if title:
        parts.append(Text(f"{one_line(title)}, {chart.grade} meters", style="bold"))
    for damage in chart.candidates:
        table = plain()
        for name, width in (("Resistance", 20), ("First", 21), ("Error", 14), ("Minutes", 7)):
            table.add_column(name, min_width=width)
        table.add_column("Risk")
        for one, low, high in stretches(chart, damage):
            span = ohm_words(low) if low == high else f"{ohm_words(low)} to {ohm_words(high)}"
            if one is None:
                table.add_row(span, "none locates", "-", "-", "-")
                continue
            chosen = (chart.resistance_ohm(damage) >= low) & (chart.resistance_ohm(damage) <= high)
            best, worst = one.error_m[chosen].min(), one.error_m[chosen].max()
            error = f"{best:.1g} m" if worst < 1.5 * best else f"{best:.1g} to {worst:.1g} m"
            table.add_row(span, plain_name(one.found.method), error, f"{one.minutes:g}", one.risk)
        parts += [heading(DAMAGES[damage].words), table]
    found = next(iter(chart.candidates.values()))[0].found
    note = (
        "First is what halves the open length most often for each minute of work; an error under "
        f"{ENOUGH_M:g} m counts as that, and of methods within a fifth of the best the least "
        "dangerous is first. Error: 95 % are smaller, at the middling place. Risk insulation:"
        " hundreds of volts on the cable. Minutes: common practice, no source. Simulated: "
        f"{found.axes.draws} measurements in each cell, seed {found.seed}, exact circuit."
    )
    parts.append(Padding(lines_of(note, MIND), (1, 1, 0, 1)))
    return Group(*parts)
