"""Which reading places which fault: a table for people."""

from __future__ import annotations

import math
from collections.abc import Sequence

from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Joint
from cablesim.locate.reach import Reach, ReadingSet
from cablesim.report.headed import headed_table
from cablesim.report.quantities import across_words, quantity_words
from cablesim.report.words import one_line, place_words

__all__ = ["NOTE", "kind_heading", "reach_view", "set_words", "width_words"]

NOTE = (
    "Half of the narrowest 95 % interval of the place that any estimator linear in the readings "
    "can have (Cramer-Rao bound; tolerances, leads and gains by their limits, nothing known of "
    "the place); a dash: these readings do not place it."
)
MIND = (
    "A bound is no permission to open a floor: confirm the place by a second, independent method. "
    "Work dead; local codes and licensed practice come first."
)
_KINDS = {"degraded": "leak"}
_NAMES = "core1, core2, braid"
_SHORT = {"core1": "c1", "core2": "c2", "braid": "b"}
_READING_WIDTH = 16


def reach_view(found: Reach, cable: Cable, title: str = "") -> Group:
    """One row for each reading and set, one column for each kind of damage.

    Parameters
    ----------
    found
        From `cablesim.locate.reach.reach`.
    cable
        The cable.
    title
        One line above the table.
    """
    table = headed_table(one_line(title))
    table.add_column("Reading, +- cm", overflow="fold", min_width=_READING_WIDTH)
    for kind in found.kinds:
        table.add_column(Text(kind_heading(kind)), justify="right", overflow="fold")
    for number, row in enumerate(found.sets):
        widths = [width_words(w, found.open_m) for w in found.half_width_m[number]]
        named = Text(set_words(found, row), style="bold" if row.name else "")
        table.add_row(named, *(Text(width) for width in widths))
    first = found.kinds[0][0]
    told = f"+- cm for damage {place_words(float(first.position_m), cable)}; c1, c2, b: {_NAMES}."
    lines = Table.grid(padding=(0, 2))
    lines.add_column(overflow="fold")
    for line in (told, NOTE, MIND):
        lines.add_row(Text(line))
    return Group(table, Padding(lines, (0, 1)))


def kind_heading(kind: Sequence[Fault]) -> str:
    """A kind of damage on a few short lines, with its resistance where it has one."""
    lines = []
    for fault in kind:
        series = isinstance(fault, Break | Joint)
        named = fault.conductors if isinstance(fault, Break | Joint) else fault.between
        lines.append(_KINDS.get(fault.kind, fault.kind))
        lines.append(("+" if series else "-").join(_SHORT[name] for name in named))
        if math.isfinite(float(fault.resistance_ohm)):
            lines.append(quantity_words(float(fault.resistance_ohm), "ohm"))
    return "\n".join(lines)


def set_words(found: Reach, row: ReadingSet) -> str:
    """A reading by its meter and its leads, or a set by its name."""
    if row.name:
        return row.name
    probe = found.probes[row.numbers[0]]
    return f"{probe.meter.name.replace('_', ' ')}, {across_words(probe.hookup.across)}"


def width_words(half_width_m: float, open_m: float) -> str:
    """Half-width in centimetres, a dash where the damage is not placed.

    >>> width_words(0.1802, 15.0), width_words(0.00123, 15.0), width_words(20.0, 15.0)
    ('18', '0.12', '-')
    """
    if not half_width_m < open_m:
        return "-"
    return f"{float(f'{100 * half_width_m:.2g}'):g}"
