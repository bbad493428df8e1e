"""The error budget as a table for people."""

from __future__ import annotations

import math

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.locate.budget import Budget, Declined
from cablesim.report.headed import headed_table

__all__ = ["budget_view"]

# Smaller shares are told together.
_LISTED = 0.001
# So many degrees of freedom are as good as any number.
_MANY = 1000


def budget_view(found: Budget | Declined) -> RenderableType:
    """Each input with its uncertainty, sensitivity, contribution and share; the sum below.

    Parameters
    ----------
    found
        From `cablesim.locate.budget.budget`.
    """
    if isinstance(found, Declined):
        return Padding(Text(f"No error budget: {found.reason}."), (0, 2))
    table = headed_table(f"Error budget of the place, {found.position_m:.2f} m")
    table.add_column("Input", overflow="fold")
    table.add_column("Standard\nuncertainty", justify="right", no_wrap=True)
    table.add_column("Sensitivity\n[cm/unit]", justify="right", no_wrap=True)
    table.add_column("Contri-\nbution [cm]", justify="right", no_wrap=True)
    table.add_column("Share", justify="right", no_wrap=True)
    rest = [entry for entry in found.entries if entry.share < _LISTED]
    for entry in found.entries:
        if entry.share >= _LISTED:
            table.add_row(
                Text(entry.name),
                f"{_digits(entry.uncertainty)} {entry.unit}".rstrip(),
                _digits(100 * entry.sensitivity_m, sign="+"),
                _digits(100 * entry.contribution_m, 2),
                f"{100 * entry.share:.1f} %",
            )
    if rest:
        left = math.sqrt(sum(entry.contribution_m**2 for entry in rest))
        share = 100 * sum(entry.share for entry in rest)
        table.add_row(
            f"{len(rest)} more, each under 0.1 %", "", "", _digits(100 * left, 2), f"{share:.1f} %"
        )
    few = found.degrees < _MANY
    free = f", {math.floor(found.degrees)} degrees of freedom" if few else ""
    told = (
        f"Combined standard uncertainty {_cm(found.combined_m)}; expanded {_cm(found.expanded_m)} "
        f"(coverage factor {found.factor:.2f} for {100 * found.level:g} %{free})."
    )
    how = (
        "Least squares of the readings with the limits of cable and meters, as in the GUM (JCGM "
        "100); an input shared by several readings counts once. Sensitivity: per unit of the "
        "display, or of what is assumed."
    )
    lines = Table.grid()
    lines.add_column(overflow="fold")
    supposed = (
        "The answer leaves the place open: this is the budget of its best guess as if that were "
        "right, and says nothing of the rest."
    )
    for line in (*([supposed] if found.supposed else []), told, how):
        lines.add_row(Text(line))
    return Group(table, Padding(lines, (0, 2)))


def _digits(value: float, count: int = 3, sign: str = "") -> str:
    """So many digits, large values in full.

    >>> _digits(0.17634), _digits(847321.0), _digits(519.7, 2)
    ('0.176', '847000', '520')
    """
    return f"{float(f'{value:.{count}g}'):{sign}.12g}"


def _cm(width_m: float) -> str:
    return f"{float(f'{100 * width_m:.2g}'):g} cm"
