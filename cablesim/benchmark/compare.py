"""Two estimators on the same cases: every score that both have, as differences."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from cablesim.benchmark.metrics import Difference, paired
from cablesim.benchmark.results import Results
from cablesim.benchmark.summary import Row
from cablesim.errors import looked_up

__all__ = ["SCORES", "SCORE_NOTE", "Comparison", "compared"]

Score = Callable[[Row], float | None]


def _plain(name: str) -> Score:
    def score(row: Row) -> float | None:
        found: float | None = row.get(name)
        return found

    return score


def _distance(row: Row) -> float | None:
    return abs(row["error_m"]) if "error_m" in row else None


def _or_floor(name: str, floor: str) -> Score:
    def score(row: Row) -> float | None:
        found: float | None = row.get(name, row.get(floor))
        return found

    return score


SCORE_NOTE = (
    "CRPS: how far what is said of the place lies from the truth, in metres, with what is left "
    "open counted in; less is better. Filled: where no place is named it costs what the floor's "
    "answer costs. Estimators of one rank are not to be told apart. Brackets: 95 % interval."
)
SCORES: dict[str, tuple[str, Score]] = {
    "crps_filled_m": ("CRPS, filled [m]", _or_floor("crps_m", "crps_floor_m")),
    "crps_m": ("CRPS [m]", _plain("crps_m")),
    "error_m": ("distance [m]", _distance),
    "interval_score_m": ("interval score [m]", _plain("interval_score_m")),
    "width_m": ("width [m]", _plain("width_m")),
    "log_score": ("log score", _plain("log_score")),
    "brier": ("Brier", _plain("brier")),
    "tiles": ("tiles", _or_floor("tiles", "tiles_floor")),
}
"""What is compared, each a loss."""


@dataclass(frozen=True, slots=True)
class Comparison:
    """Scores of one estimator less those of another.

    Parameters
    ----------
    first, second
        Who is compared.
    scores
        For each score the difference on the cases in which both have it.
    """

    first: str
    second: str
    scores: dict[str, Difference]

    def to_dict(self) -> dict[str, Any]:
        """All of it, ready for JSON."""
        return {
            "first": self.first,
            "second": self.second,
            "scores": {
                name: {
                    "difference": found.mean.to_dict(),
                    "first_better": found.better.to_dict(),
                    "significant": found.significant,
                }
                for name, found in self.scores.items()
            },
        }


def compared(results: Results, first: str, second: str) -> Comparison:
    """Compare two estimators case by case.

    Parameters
    ----------
    results
        From `results_in`.
    first, second
        Names of estimators that are done.

    Raises
    ------
    InputError
        If one of them is not there.
    """
    one, other = (looked_up("estimator", name, results.rows) for name in (first, second))
    scores: dict[str, Difference] = {}
    for name, (_, score) in SCORES.items():
        pairs = [(score(a), score(b)) for a, b in zip(one, other, strict=True)]
        both = [(a, b) for a, b in pairs if a is not None and b is not None]
        if both:
            scores[name] = paired([a for a, _ in both], [b for _, b in both])
    return Comparison(first, second, scores)
