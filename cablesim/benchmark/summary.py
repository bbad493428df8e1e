"""From rows to tables: every metric of every estimator in every group, comparisons, ranks.

A place that an estimator does not name costs what the floor's costs: whoever declines is judged as
if he had answered from the prior, so that declining what is hard does not pay. Scores with that in
them are called `filled`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.benchmark.case import GROUPS
from cablesim.benchmark.metrics import (
    Difference,
    Value,
    mean,
    median,
    paired,
    percentile_95,
    root_mean_square,
    share,
)
from cablesim.benchmark.row import FAILED, GIVEN, SILENT
from cablesim.cable.numbers import FloatArray

__all__ = ["METRICS", "Metric", "Rank", "Row", "filled_crps_m", "groups_of", "ranked", "summarised"]

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Metric:
    """What one column of a table says.

    Parameters
    ----------
    name
        Name in files.
    told
        Head of the column, with the unit.
    means
        One sentence.
    best
        Where it should be; None where less is better.
    digits
        Decimals in a table.
    """

    name: str
    told: str
    means: str
    best: float | None = None
    digits: int = 2


METRICS: dict[str, Metric] = {
    metric.name: metric
    for metric in (
        Metric(
            "named", "place named", "Share of the cases with a place in which it names one.", 1.0
        ),
        Metric("declined", "declined", "Share of all cases in which it declines to answer."),
        Metric(
            "failed", "failed", "Share of all cases in which it crashes or breaks its contract."
        ),
        Metric("error_median_m", "median error [m]", "Distance from the place to the truth."),
        Metric("error_p95_m", "95 % error [m]", "Distance that 95 % of the places keep."),
        Metric(
            "error_over_bound",
            "error / bound",
            "Root mean square of the distance over the Cramer-Rao bound, where that is below a "
            "quarter of the cable: 1 where the bound is reached.",
        ),
        Metric("coverage", "coverage", "Share of the intervals that hold the truth.", 0.95, 3),
        Metric("width_median_m", "median width [m]", "Length of the intervals together."),
        Metric("interval_score_m", "interval score [m]", "Width, and 40 times the miss at 95 %."),
        Metric("crps_m", "CRPS [m]", "Continuous ranked probability score where a place is named."),
        Metric(
            "crps_filled_m",
            "CRPS, filled [m]",
            "The same of all cases with a place; what is not named costs as much as the floor.",
        ),
        Metric("log_score", "log score", "Minus the logarithm of the density at the truth."),
        Metric("brier", "Brier", "Brier score of the probabilities of kinds of damage.", None, 3),
        Metric(
            "tiles_mean",
            "tiles",
            "Tiles of 0.3 m lifted until the damage lies bare, from the place outwards; from the "
            "floor's where none is named.",
            None,
            1,
        ),
    )
}
"""Every metric by its name, in the order of tables."""


def summarised(rows: Sequence[Row]) -> dict[str, Value]:
    """Every metric of some rows of one estimator.

    Parameters
    ----------
    rows
        As they stand in a file of results.
    """
    placed = [row for row in rows if row["place_m"] is not None]
    of_bound = [row for row in placed if row["difficulty"] != "open"]
    errors = np.abs(_column(placed, "error_m"))
    return {
        "named": share(["error_m" in row for row in placed]),
        "declined": share([row["status"] == SILENT for row in rows]),
        "failed": share([row["status"] == FAILED for row in rows]),
        "error_median_m": median(errors),
        "error_p95_m": percentile_95(errors),
        "error_over_bound": root_mean_square(_column(of_bound, "error_over_bound")),
        "coverage": share(_column(placed, "held")),
        "width_median_m": median(_column(placed, "width_m")),
        "interval_score_m": mean(_column(placed, "interval_score_m")),
        "crps_m": mean(_column(placed, "crps_m")),
        "crps_filled_m": mean(filled_crps_m(placed)),
        "log_score": mean(_column(placed, "log_score")),
        "brier": mean(_column([row for row in rows if row["status"] == GIVEN], "brier")),
        "tiles_mean": mean([row.get("tiles", row["tiles_floor"]) for row in placed]),
    }


def _column(rows: Sequence[Row], name: str) -> FloatArray:
    return np.array([row[name] for row in rows if row.get(name) is not None], float)


def filled_crps_m(placed: Sequence[Row]) -> FloatArray:
    """CRPS of rows whose damage has a place [m], the floor's where none is named."""
    return np.array([row.get("crps_m", row["crps_floor_m"]) for row in placed], float)


def groups_of(rows: Sequence[Row]) -> dict[str, list[Row]]:
    """Rows by each thing that cases are told apart by; ``all`` first."""
    found: dict[str, list[Row]] = {"all": list(rows)}
    for name in GROUPS:
        for value in sorted({row[name] for row in rows}):
            found[f"{name} {value}"] = [row for row in rows if row[name] == value]
    return found


@dataclass(frozen=True, slots=True)
class Rank:
    """An estimator's rank.

    Parameters
    ----------
    rank
        1 is best; those that cannot be told from the best of a rank share it.
    name
        Whose it is.
    score
        Mean filled CRPS [m].
    behind
        Against the best of the rank that was open when it came: of its own, or of the rank above
        where it begins one. None for the very first.
    """

    rank: int
    name: str
    score: Value
    behind: Difference | None


def ranked(results: Mapping[str, Sequence[Row]]) -> list[Rank]:
    """Rank estimators by their filled CRPS, apart only where the difference is significant.

    Each is compared, case by case, with the best of the rank that is open; the level of each
    comparison is such that all together are right in 95 % (Bonferroni).

    Parameters
    ----------
    results
        Rows of each estimator on the same cases.
    """
    scores = {
        name: filled_crps_m([row for row in rows if row["place_m"] is not None])
        for name, rows in results.items()
    }
    order = sorted(scores, key=lambda name: (float(np.mean(scores[name])), name))
    level = 1 - 0.05 / max(len(order) - 1, 1)
    found: list[Rank] = []
    for name in order:
        if not found:
            best, number, behind = name, 1, None
        else:
            behind = paired(scores[name], scores[best], level=level)
            number = found[-1].rank
            if behind.significant:
                best, number = name, len(found) + 1
        found.append(Rank(number, name, mean(scores[name]), behind))
    return found
