"""Classical methods beside an answer, and its error budget: tables for people."""

from __future__ import annotations

from collections.abc import Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.locate.budget import Declined
from cablesim.locate.classical import Worked
from cablesim.locate.estimate import Estimate
from cablesim.report.answer import Beside
from cablesim.report.budget_table import budget_view
from cablesim.report.headed import headed_table
from cablesim.report.words import damage_words, decimals_for, interval_words

__all__ = ["beside_view"]

_HOW = (
    "A classical method takes its kind of damage for granted; its interval holds the meters' "
    "stated errors and the cable's tolerance, nothing else."
)


_BEFORE = "A place below zero lies in the cold lead, so far before the cold joint."


def beside_view(beside: Beside, estimate: Estimate) -> Group:
    """All that was asked for.

    Parameters
    ----------
    beside
        Budget and methods.
    estimate
        The answer that they stand beside.
    """
    parts: list[RenderableType] = []
    if beside.methods:
        parts.append(_methods_view(beside.methods, estimate))
    if beside.budget is not None:
        parts.append(budget_view(beside.budget))
    return Group(*parts)


def _methods_view(
    methods: Sequence[tuple[str, Worked | Declined]], estimate: Estimate
) -> RenderableType:
    table = headed_table("Classical methods beside")
    table.add_column("Method", overflow="fold")
    table.add_column("Place [m]", justify="right", no_wrap=True)
    table.add_column("95 % within", overflow="fold")
    table.add_column("What to mind", overflow="fold")
    _add(table, "all together", estimate, "")
    for name, each in methods:
        if isinstance(each, Worked):
            said = [each.note, each.estimate.reason]
            _add(table, name.replace("_", " "), each.estimate, "; ".join(s for s in said if s))
    left = [(name, each.reason) for name, each in methods if isinstance(each, Declined)]
    rest = Table.grid(padding=(0, 1))
    rest.add_column(overflow="fold")
    found = [estimate, *(each.estimate for _, each in methods if isinstance(each, Worked))]
    before = any(fault.position_m < 0 for each in found for fault in each.faults)
    rest.add_row(Text(f"{_HOW} {_BEFORE}" if before else _HOW))
    for name, reason in left:
        rest.add_row(Text(f"{name.replace('_', ' ')}: {reason}"))
    return Group(table, Padding(rest, (0, 2)))


def _add(table: Table, name: str, estimate: Estimate, mind: str) -> None:
    if not estimate.faults:
        table.add_row(name, "", "", Text(mind or "nothing to place"))
        return
    fault = estimate.faults[0]
    decimals = decimals_for(fault.open_m)
    table.add_row(
        name,
        f"{fault.position_m:.{decimals}f}",
        Text(interval_words(fault.intervals_m, decimals)),
        Text("; ".join(part for part in (damage_words(estimate.faults), mind) if part)),
    )
