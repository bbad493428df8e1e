"""Cases as a table for the trainer: how hard they are, and nothing of what is broken."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Group
from rich.padding import Padding
from rich.text import Text

from cablesim.report.headed import headed_table
from cablesim.training.case import Case

__all__ = ["case_row", "cases_view"]

NOTE = (
    "Half-width: of the narrowest 95 % interval that the bag allows. Readings: the fewest that "
    "come near it, three ohm readings among them. Open: hypotheses that stay plausible after "
    "those three."
)


def case_row(case: Case) -> dict[str, Any]:
    """How hard a case is, ready for JSON.

    Parameters
    ----------
    case
        Any case.
    """
    key = case.key
    return {
        "name": case.name,
        "title": case.scenario.title,
        "level": key.level,
        "locatable": key.locatable,
        "half_width_m": key.half_width_m,
        "readings_needed": key.readings_needed,
        "plausible": key.plausible,
    }


def cases_view(cases: Sequence[Case]) -> Group:
    """The cases as a table.

    Parameters
    ----------
    cases
        In their order.
    """
    view = headed_table()
    view.add_column("Case", overflow="fold")
    view.add_column("Whose floor", overflow="fold")
    for name in ("Level", "Half-width", "Readings", "Open"):
        view.add_column(name, justify="right")
    for case in cases:
        key = case.key
        width = f"{key.half_width_m:.2f} m" if key.half_width_m is not None else "-"
        view.add_row(
            case.name,
            Text(case.scenario.title),
            str(key.level),
            width if key.locatable else "not located",
            str(key.readings_needed or "-"),
            str(key.plausible),
        )
    return Group(view, Padding(Text(NOTE), (0, 2)))
