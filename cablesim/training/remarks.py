"""Sentences beside a mark: what was said, against what the readings allowed, and what it cost."""

from __future__ import annotations

from collections.abc import Sequence

from cablesim.training.beliefs import Beliefs
from cablesim.training.log_tables import Answer
from cablesim.training.losses import LEVEL, Stated, best_intervals_m
from cablesim.training.stating import declines, stated_damage, stated_intervals_m, stated_places_m

__all__ = ["answer_remarks", "interval_remarks"]


def answer_remarks(answer: Answer | None, best: Stated, cap: float) -> list[str]:
    """What there is to say of a place that was stated, or not.

    Parameters
    ----------
    answer
        From the log.
    best
        The best statement under the readings.
    cap
        The most that declining to state a place gets here, from 0 to 1.
    """
    if answer is None:
        return ["There is no answer in the log."]
    if not best.places_m and stated_places_m(answer):
        return ["With these readings the right answer was that they do not place the damage."]
    told = []
    if best.places_m and not answer.locatable:
        told.append("These readings do place the damage.")
    if declines(answer) and cap < 1.0:
        told.append(
            f"To state no place gets {100 * cap:.0f} % at most here, what the readings earned: "
            "more could have been read."
        )
    return told


def interval_remarks(beliefs: Beliefs, answer: Answer) -> list[str]:
    """How a stated interval stands beside the best one.

    Nothing where no interval was stated or the readings know no such place.

    Parameters
    ----------
    beliefs
        What the readings leave open.
    answer
        From the log.
    """
    stated = stated_intervals_m(answer)
    given = beliefs.of(stated_damage(answer))
    if not stated or not given.every:
        return []
    best = best_intervals_m(given, len(stated))
    width_m, best_m = (sum(high - low for low, high in some) for some in (stated, best))
    # Where one of them reaches into the other by less than half, width is not what is wrong.
    beside = any(
        min(high, up) - max(low, down) < 0.5 * min(high - low, up - down)
        for (low, high), (down, up) in zip(stated, best, strict=True)
    )
    wrong = (
        "beside what the readings say"
        if beside
        else "too wide"
        if width_m > best_m
        else "too narrow"
    )
    return [
        f"The interval, {_spans(stated)}, is {wrong}: the best that holds {100 * LEVEL:.0f} % of "
        f"what the readings leave open is {_spans(best)}."
    ]


def _spans(intervals: Sequence[tuple[float, float]]) -> str:
    return " and ".join(
        f"{low:.2f} to {high:.2f} m (+-{(high - low) / 2:.2f} m)" for low, high in intervals
    )
