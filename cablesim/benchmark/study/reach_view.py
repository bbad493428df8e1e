"""How far methods reach: a table for people."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich import box
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.reach_map import ReachMap
from cablesim.benchmark.study.reached import CLOSE_M, TENTH, Reached, reached
from cablesim.report.words import one_line

__all__ = [
    "MIND",
    "heading",
    "lines_of",
    "ohm_words",
    "plain",
    "plain_name",
    "range_words",
    "reach_view",
]

MIND = (
    "A map is no permission to open a floor: confirm the place by a second, independent method. "
    "Work dead; local codes and licensed practice come first."
)
_PREFIXES = ((1e9, "G"), (1e6, "M"), (1e3, "k"))


def plain_name(name: str) -> str:
    """A method's name as people say it."""
    return name.replace("_", " ")


def ohm_words(ohm: float) -> str:
    """A resistance in two digits.

    >>> ohm_words(0.1), ohm_words(464.16), ohm_words(2.15e6)
    ('0.1 ohm', '460 ohm', '2.2 Mohm')
    """
    rounded = float(f"{ohm:.2g}")
    size, prefix = next((row for row in _PREFIXES if rounded >= row[0]), (1.0, ""))
    return f"{float(f'{rounded / size:.2g}'):g} {prefix}ohm"


def range_words(found: ReachMap, given: Reached) -> str:
    """Resistances reached, open where they go to the end of the map.

    A map from 0.1 ohm that is reached up to 460 ohm says ``to 460 ohm``.
    """
    if given.range_ohm is None:
        return "-"
    low, high = given.range_ohm
    least, most = found.axes.resistance_ohm[[0, -1]]
    if low <= least and high >= most:
        told = "all"
    elif low <= least:
        told = f"to {ohm_words(high)}"
    elif high >= most:
        told = f"from {ohm_words(low)}"
    else:
        told = f"{ohm_words(low)} to {ohm_words(high)}"
    return f"mostly {told}" if given.gaps else told


def reach_view(maps: Sequence[ReachMap], title: str = "") -> Group:
    """One row for each method and meter class, under a heading for each damage.

    Parameters
    ----------
    maps
        Of one cable.
    title
        One line above.
    """
    length_m = maps[0].heated_length_m
    parts: list[RenderableType] = [Text(one_line(title), style="bold")] if title else []
    for damage in DAMAGES:
        of_damage = [found for found in maps if found.damage == damage]
        if not of_damage:
            continue
        table = plain()
        table.add_column("Method", width=21)
        table.add_column("Meters", min_width=6)
        for limit_m in (CLOSE_M, TENTH * length_m):
            table.add_column(f"Within {limit_m:g} m", width=15)
        table.add_column("Held", justify="right", width=5)
        table.add_column("Bias", justify="right", width=7)
        for found in of_damage:
            for column, grade in enumerate(found.axes.grades):
                close, far = (reached(found, m, column) for m in (CLOSE_M, TENTH * length_m))
                table.add_row(
                    plain_name(found.method) if not column else "",
                    grade,
                    range_words(found, close),
                    range_words(found, far),
                    "-" if math.isnan(far.coverage) else f"{100 * far.coverage:.0f} %",
                    "-" if math.isnan(far.bias_m) else f"{far.bias_m:+.2f} m",
                )
        parts += [heading(DAMAGES[damage].words), table]
    first = maps[0]
    formulations = sorted({m.formulation for m in maps})
    note = (
        f"Resistances at which 95 % of the errors are within so much, at nine places of ten. Held: "
        f"how many of the {100 * first.level:g} % intervals hold the truth, and Bias: the largest "
        f"mean error, where errors are within {TENTH * length_m:g} m. Simulated: "
        f"{first.axes.draws} measurements in each cell, seed {first.seed}, "
        f"{' and '.join(formulations)} circuit."
    )
    parts.append(Padding(lines_of(note, MIND), (1, 1, 0, 1)))
    return Group(*parts)


def plain() -> Table:
    """A table in the house style, without columns yet."""
    return Table(box=box.SIMPLE_HEAD, pad_edge=False, padding=(0, 1, 0, 0), show_edge=False)


def heading(words: str) -> Padding:
    """A line above a table."""
    return Padding(Text(words[:1].upper() + words[1:], style="italic"), (1, 0, 0, 0))


def lines_of(*lines: str) -> Table:
    """Sentences below tables, each on lines of its own."""
    grid = Table.grid()
    grid.add_column(overflow="fold")
    for line in lines:
        grid.add_row(Text(line))
    return grid
