"""Marks as tables for people."""

from __future__ import annotations

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.report.headed import headed_table
from cablesim.report.tables import labelled, stacked
from cablesim.report.words import one_line
from cablesim.training.class_table import ClassTable
from cablesim.training.marking import TOPICS, Mark

__all__ = ["class_view"]

NOTE = (
    "Damage, place and interval are held against the best answer that the readings taken allowed, "
    "so luck with a meter neither helps nor harms; readings against what the bag could do. The "
    "error is told, not scored. Lv: level of the case; in percent Dmg: damage, Intv: interval, "
    "Read: readings, Open: opening, Safe: safety."
)
_SHORT = {"damage": "Dmg", "place": "Place", "interval": "Intv", "readings": "Read"}
_SHORT |= {"opening": "Open", "safety": "Safe"}


def class_view(table: ClassTable) -> Group:
    """Every mark, then everybody with what to practise next.

    Parameters
    ----------
    table
        The class.
    """
    rows: list[tuple[str, RenderableType]] = []
    for trainee in table.trainees:
        proposed = table.next_case(trainee)
        kind = f", {proposed.kind}" if proposed.kind else ""
        name = one_line(trainee) or "somebody"
        rows += stacked(name, [f"next: level {proposed.level}{kind}. {proposed.why}."])
    told = [
        f"{one_line(mark.trainee) or 'somebody'}, {mark.case}: {sentence}"
        for mark in table.marks
        for sentence in mark.told
    ]
    rows += stacked("Said", told)
    rows.append(("Note", Text(NOTE)))
    return Group(_marks(table), Padding(labelled(rows, dashed=True), (0, 2)))


def _marks(table: ClassTable) -> Table:
    view = headed_table()
    view.add_column("Trainee", overflow="fold")
    view.add_column("Case", overflow="fold")
    view.add_column("Lv", justify="right")
    for topic in TOPICS:
        view.add_column(_SHORT[topic], justify="right")
    view.add_column("Total", justify="right")
    view.add_column("Error", justify="right")
    for mark in table.marks:
        view.add_row(
            one_line(mark.trainee) or "-",
            mark.case,
            str(mark.level),
            *(_score(mark.topics[topic]) for topic in TOPICS),
            Text(f"{mark.total:.0f}", style="bold"),
            _error(mark),
        )
    return view


def _score(score: float | None) -> str:
    return "-" if score is None else f"{100 * score:.0f}"


def _error(mark: Mark) -> str:
    if mark.facts.error_m is None:
        return "-"
    return f"{mark.facts.error_m:.2f} m"
