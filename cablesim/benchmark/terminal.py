"""Ranks and comparisons as tables for people."""

from __future__ import annotations

from rich.table import Table
from rich.text import Text

from cablesim.benchmark.compare import SCORE_NOTE, SCORES, Comparison
from cablesim.benchmark.metrics import Value
from cablesim.benchmark.results import Report
from cablesim.report.headed import headed_table

__all__ = ["comparison_table", "rank_table"]


def _told(value: Value) -> str:
    if value.low != value.low:
        return f"{value.value:.3g}"
    return f"{value.value:.3g} ({value.low:.3g} to {value.high:.3g})"


def rank_table(report: Report) -> Table:
    """Estimators by rank, with what bears on trust in them.

    Parameters
    ----------
    report
        From `reported`.
    """
    table = headed_table(f"{report.results.suite.name}: {len(report.results.run.cases)} cases")
    table.add_column("Rank", justify="right")
    table.add_column("Estimator")
    for head in ("CRPS, filled [m]", "Coverage", "Named"):
        table.add_column(head, justify="right")
    table.caption = Text(SCORE_NOTE)
    table.caption_justify = "left"
    for rank in report.ranks:
        found = report.values[rank.name]["all"]
        table.add_row(
            f"{rank.rank}",
            rank.name,
            _told(rank.score),
            _told(found["coverage"]),
            f"{100 * found['named'].value:.0f} %",
        )
    return table


def comparison_table(found: Comparison) -> Table:
    """Two estimators, score by score.

    Parameters
    ----------
    found
        From `compared`.
    """
    table = headed_table(f"{found.first} less {found.second}: below 0 the first is better")
    table.add_column("Score")
    for head in ("Difference", "First better in", "Cases"):
        table.add_column(head, justify="right")
    table.add_column("")
    for name, difference in found.scores.items():
        table.add_row(
            SCORES[name][0],
            _told(difference.mean),
            f"{100 * difference.better.value:.0f} %",
            f"{difference.mean.cases}",
            "significant" if difference.significant else "",
        )
    return table
