"""The values per metre as tables for people."""

from __future__ import annotations

import math

from rich.console import Group
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.report.headed import headed_table
from cablesim.report.per_metre import CableDescription
from cablesim.report.quantities import quantity_words
from cablesim.report.words import one_line

__all__ = ["per_metre_view"]

_WARNING = (
    "Computed values stand in for measured ones: compare with the label and with readings of the "
    "healthy cable. Local codes and licensed practice come first."
)


def per_metre_view(told: CableDescription, title: str) -> Group:
    """Values with their origin, what the cable is rated at, and limits.

    Parameters
    ----------
    told
        What is to be shown.
    title
        One line above it.
    """
    table = headed_table(one_line(title))
    table.add_column("Per metre", overflow="fold", max_width=27)
    table.add_column("Value", justify="right", no_wrap=True)
    table.add_column("From", overflow="fold")
    for row in told.values:
        value = "none" if math.isinf(row.value) else f"{row.value:.4g} {row.unit}".rstrip()
        table.add_row(Text(row.words), Text(value), Text(row.why))
    return Group(table, Padding(_below(told), (0, 1)))


def _below(told: CableDescription) -> Table:
    grid = Table.grid(padding=(0, 2))
    grid.add_column(style="dim", no_wrap=True)
    grid.add_column(overflow="fold")
    rated = (
        f"{told.heated_length_m:g} m heated, {quantity_words(told.loop_resistance_ohm, 'ohm')} "
        "at 20 C"
    )
    if told.rated_watt is not None:
        per_m = told.rated_watt / told.heated_length_m
        rated += f"; {told.rated_watt:.0f} W at {told.supply_volt:g} V, {per_m:.3g} W/m"
    grid.add_row("Rated", Text(rated))
    for number, limit in enumerate(told.limits):
        kept = "kept" if limit.kept else "NOT KEPT"
        text = f"{limit.words}: {limit.value:.3g} {limit.unit}; {limit.limit} ({limit.source})"
        grid.add_row("" if number else "Limits", Text(f"{kept}: {text}"))
    for number, remark in enumerate((*told.remarks, _WARNING)):
        grid.add_row("" if number else "Mind", Text(remark))
    return grid
