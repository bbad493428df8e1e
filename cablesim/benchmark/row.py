"""One row of results: what one estimator said of one case, and what that is worth."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from cablesim.benchmark.answer import Answer
from cablesim.benchmark.baselines import floor
from cablesim.benchmark.case import Case
from cablesim.benchmark.scores import (
    brier_score,
    crps_of_density,
    crps_of_normal,
    interval_score,
    log_score,
    normal_of,
    tiles_opened,
)
from cablesim.cable.numbers import finite_or_none

__all__ = ["FAILED", "GIVEN", "SILENT", "Asked", "row_of"]

GIVEN, SILENT, FAILED = "answered", "declined", "failed"


@dataclass(frozen=True, slots=True)
class Asked:
    """What came of asking an estimator about a case.

    Parameters
    ----------
    answer
        What it said; None where it failed.
    failure
        How it failed, in one clause; otherwise empty.
    """

    answer: Answer | None
    failure: str = ""


def row_of(suite: str, case: Case, estimator: str, asked: Asked) -> dict[str, Any]:
    """Score an answer.

    Parameters
    ----------
    suite
        Name and version of the suite.
    case
        The truth.
    estimator
        Who was asked.
    asked
        What came of it.

    Returns
    -------
    dict
        Ready for JSON. Scores of the place stand where the damage has one and the answer names one;
        ``crps_floor_m`` and ``tiles_floor`` wherever the damage has one.
    """
    row: dict[str, Any] = {
        "row": f"{suite}/{case.number}/{estimator}",
        "suite": suite,
        "case": case.number,
        "estimator": estimator,
        **case.groups,
        "place_m": case.place_m,
        "bound_m": case.bound_m,
        "status": FAILED,
        "reason": asked.failure,
    }
    if case.place_m is not None:
        prior = floor(case.cable, case.readings)
        assert prior.density is not None and prior.position_m is not None  # the prior has both
        row["crps_floor_m"] = crps_of_density(prior.density, case.place_m)
        row["tiles_floor"] = tiles_opened(prior.position_m, case.place_m)
    answer = asked.answer
    if answer is None:
        return row
    row["status"], row["reason"] = (SILENT if answer.declined else GIVEN), answer.declined
    if answer.declined:
        return row
    row |= {
        "verdict": answer.verdict,
        "locatable": answer.locatable,
        "level": answer.level,
        "position_m": answer.position_m,
        "intervals_m": [list(interval) for interval in answer.intervals_m],
    }
    if answer.probabilities:
        row["probabilities"] = dict(sorted(answer.probabilities.items()))
        row["brier"] = brier_score(answer.probabilities, case.kind)
    if answer.position_m is not None and case.place_m is not None:
        row |= _place_scores(case, answer, answer.position_m, case.place_m)
    return row


def _place_scores(case: Case, answer: Answer, position_m: float, place_m: float) -> dict[str, Any]:
    along_m = float(case.cable.last_m - case.cable.first_m)
    scores: dict[str, Any] = {
        "error_m": position_m - place_m,
        "tiles": tiles_opened(position_m, place_m),
    }
    if case.bound_m:
        scores["error_over_bound"] = finite_or_none(abs(position_m - place_m) / case.bound_m)
    if answer.intervals_m:
        scores["held"] = answer.holds(place_m)
        scores["width_m"] = answer.open_m
        scores["interval_score_m"] = interval_score(answer.intervals_m, answer.level, place_m)
    if answer.density is not None:
        density = answer.density
        scores["crps_m"] = crps_of_density(density, place_m)
        inside = density.edges_m[0] <= place_m <= density.edges_m[-1]
        cell = int((density.edges_m[1:-1] <= place_m).sum())
        per_m = float(density.per_m[cell] / density.mass.sum()) if inside else 0.0
        scores["log_score"] = log_score(per_m, along_m)
    elif len(answer.intervals_m) == 1:
        middle, deviation = normal_of(*answer.intervals_m[0], answer.level)
        scores["crps_m"] = crps_of_normal(middle, deviation, place_m)
        scores["log_score"] = log_score(_normal_per_m(middle, deviation, place_m), along_m)
    else:
        scores["crps_m"] = abs(position_m - place_m)
    return scores


def _normal_per_m(middle_m: float, deviation_m: float, place_m: float) -> float:
    from statistics import NormalDist

    # A certain place is even over a millimetre.
    return NormalDist(middle_m, max(deviation_m, 1e-3)).pdf(place_m)
