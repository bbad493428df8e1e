"""Marking: an answer held against the best that its own readings allowed.

Six topics, each from 0 to 1. What is scored is what the trainee decided: which readings to take,
and what to say of them. Whether the meter was kind is not: damage, place and interval are scored by
their expected loss under the posterior of exactly the readings taken, beside the least loss that
any answer could have had. The truth is told with the mark and has no part in it but this: it says
which readings could place the damage, and whether a number was what the meter showed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from cablesim.instruments.readings import Reading
from cablesim.locate.unsteady import loosened
from cablesim.site.opening import opening_for
from cablesim.site.repair import mends_for
from cablesim.training.beliefs import Beliefs, Damage, beliefs_of, damage_of
from cablesim.training.case import Case
from cablesim.training.levels import DECIDING
from cablesim.training.log import Played
from cablesim.training.log_tables import Answer
from cablesim.training.losses import (
    Stated,
    best_intervals_m,
    best_statement,
    interval_loss_m,
    place_loss_m,
)
from cablesim.training.misreading import as_shown
from cablesim.training.reading_mark import mark_readings
from cablesim.training.remarks import answer_remarks, interval_remarks
from cablesim.training.stating import (
    declines,
    stated_damage,
    stated_intervals_m,
    stated_places_m,
)

__all__ = ["STOPPED_AT_MOST", "TOPICS", "Facts", "Mark", "evidence_of", "mark_case"]

TOPICS = {
    "damage": 25.0,
    "place": 25.0,
    "interval": 15.0,
    "readings": 15.0,
    "opening": 10.0,
    "safety": 10.0,
}
"""Weight of each topic in the total; those that a log says nothing of are left out of it (common
practice, no source)."""

STOPPED_AT_MOST = 40.0
"""The most that a drill is worth which a danger ended."""

# So far from the best place one still works in the same opening: it frees as much on either side.
_EASE_M = 0.1
# A verdict without the right conductors is half of the damage.
_VERDICT_SHARE = 0.5
# What "undecided" is worth where the readings do not decide.
_UNDECIDED = 0.5
_FOR_EACH_DANGER = 0.25
# An interval of which nothing more need be said.
_NEARLY_ALL = 0.95


@dataclass(frozen=True, slots=True)
class Facts:
    """What came out, which is not scored.

    Parameters
    ----------
    right
        Whether the damage stated is the true one.
    error_m
        Distance of the stated places from the true ones, the larger of two [m]; None without one.
    inside
        Whether every stated interval holds its true place; None without one.
    best_error_m
        The same distance of the best places that the readings allowed: what luck alone would have
        left [m]; None where the best was to state none.
    """

    right: bool
    error_m: float | None
    inside: bool | None
    best_error_m: float | None


@dataclass(frozen=True, slots=True)
class Mark:
    """One case of one trainee, marked.

    Parameters
    ----------
    trainee, case, level
        Who, and what.
    damage
        What was truly broken.
    topics
        Score of each topic from 0 to 1; None where the log says nothing of it.
    total
        From 0 to 100.
    facts
        What came out.
    minutes
        Working time in the log [min].
    misread
        Numbers of the actions whose numbers the meter cannot have shown.
    told
        Sentences that say why.
    """

    trainee: str
    case: str
    level: int
    damage: Damage
    topics: dict[str, float | None]
    total: float
    facts: Facts
    minutes: float
    misread: tuple[int, ...]
    told: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {
            "trainee": self.trainee,
            "case": self.case,
            "level": self.level,
            "damage": [{"kind": kind, "conductors": list(names)} for kind, names in self.damage],
            "total": self.total,
            "topics": dict(self.topics),
            "right": self.facts.right,
            "error_m": self.facts.error_m,
            "inside": self.facts.inside,
            "best_error_m": self.facts.best_error_m,
            "minutes": self.minutes,
            "misread": list(self.misread),
            "told": list(self.told),
        }


def evidence_of(case: Case, done: Played) -> tuple[tuple[Reading, ...], tuple[int, ...]]:
    """The readings by which an answer is judged, and the actions that were misread.

    Parameters
    ----------
    case
        The case.
    done
        What was done.
    """
    readings, misread = as_shown(case, done)
    return loosened(readings), misread


def mark_case(
    case: Case, done: Played, beliefs: Beliefs | None = None, readings: Sequence[Reading] = ()
) -> Mark:
    """Mark one log.

    Parameters
    ----------
    case
        The case.
    done
        What was done, from `cablesim.training.log.played`.
    beliefs, readings
        What the readings leave open, and those readings, where that has been worked out already.

    Examples
    --------
    >>> from cablesim.training.log import parse_log, played
    >>> from cablesim.training.making import make_case
    >>> from cablesim.training.syllabus import Syllabus
    >>> case = make_case(Syllabus(number=1, seed=5, levels=(1,), kinds=("short",)), 1)
    >>> log = parse_log(
    ...     '{"format": 1, "case": "case-01", "trainee_sha256": "%s"}' % case.key.trainee_sha256
    ... )
    >>> mark = mark_case(case, played(log, case.trainee))
    >>> mark.topics["place"], mark.total < 20.0
    (0.0, True)
    """
    misread: tuple[int, ...] = ()
    if beliefs is None:
        readings, misread = evidence_of(case, done)
        beliefs = beliefs_of(case.cable, readings)
    answer = done.log.answer
    read = mark_readings(case, beliefs, readings, len(misread))
    # What cannot be located with this bag need not be decided either, only read.
    cap = read.score if case.key.locatable else read.reach
    best, least_m = best_statement(case.cable, beliefs)
    mended = _mended_share(case, done)
    topics: dict[str, float | None] = {
        **_said(case, beliefs, answer, least_m, cap),
        "readings": read.score,
        "opening": _opening_score(case, beliefs, best, done, mended),
        "safety": _safety_score(done),
    }
    weighed = {name: score for name, score in topics.items() if score is not None}
    total = sum(TOPICS[name] * score for name, score in weighed.items())
    total *= 100.0 / sum(TOPICS[name] for name in weighed)
    if done.stopped:
        total = min(total, STOPPED_AT_MOST)
    told = answer_remarks(answer, best, cap)
    if answer is not None and (topics["interval"] or 0.0) < _NEARLY_ALL:
        told += interval_remarks(beliefs, answer)
    told += read.why
    if misread:
        numbers = ", ".join(str(number) for number in misread)
        told.append(f"The meter cannot have shown what is written down at action {numbers}.")
    if mended < 1.0:
        told.append("The job was handed back with a place marked and damage left unmended.")
    told += [f"Dangerous: {danger.rule}." for danger in done.dangers]
    return Mark(
        trainee=done.log.trainee,
        case=case.name,
        level=case.key.level,
        damage=damage_of(case.faults),
        topics=topics,
        total=total,
        facts=_facts(case, best, answer),
        minutes=done.minutes,
        misread=misread,
        told=tuple(told),
    )


def _said(
    case: Case, beliefs: Beliefs, answer: Answer | None, least_m: float, cap: float
) -> dict[str, float | None]:
    """Damage, place and interval; the two latter up to the cap where no place is stated."""
    if answer is None:
        return {"damage": 0.0, "place": 0.0, "interval": 0.0}
    stated = Stated(stated_places_m(answer), answer.verdict == "healthy")
    loss_m = place_loss_m(case.cable, beliefs, stated)
    # Quantiles of points are never quite the best: nobody gets more than all.
    place = min(1.0, (least_m + _EASE_M) / (loss_m + _EASE_M))
    interval = _interval_score(beliefs, answer)
    if declines(answer) and cap < 1.0:
        # Who could have read more cannot say for certain that there is no place to be had.
        place = min(place, cap)
        interval = place if interval is None else min(interval, place)
    return {"damage": _damage_score(beliefs, answer), "place": place, "interval": interval}


def _damage_score(beliefs: Beliefs, answer: Answer) -> float:
    """What was said to be broken, by its probability; no guess gets all while it is undecided."""
    damages, verdicts = beliefs.damages, beliefs.verdicts
    if answer.verdict == "undecided":
        open_ = (1.0 - max(verdicts.values())) / (1.0 - DECIDING)
        return _UNDECIDED * min(1.0, open_)
    by_damage = damages.get(stated_damage(answer), 0.0) / max(DECIDING, *damages.values())
    by_verdict = verdicts.get(answer.verdict, 0.0) / max(DECIDING, *verdicts.values())
    return _VERDICT_SHARE * by_verdict + (1.0 - _VERDICT_SHARE) * by_damage


def _interval_score(beliefs: Beliefs, answer: Answer) -> float | None:
    intervals = stated_intervals_m(answer)
    if not intervals:
        # Who says that there is none, or that it cannot be located, owes no interval.
        return None if answer.verdict == "healthy" or not answer.locatable else 0.0
    given = beliefs.of(stated_damage(answer))
    if not given.every:
        return 0.0
    best = interval_loss_m(given, best_intervals_m(given, len(intervals)))
    loss = interval_loss_m(given, intervals)
    return min(1.0, (best + 2.0 * _EASE_M) / (loss + 2.0 * _EASE_M))


def _opening_score(
    case: Case, beliefs: Beliefs, best: Stated, done: Played, mended: float
) -> float | None:
    """What was opened, beside what the best interval of these readings would have had opened."""
    plan = case.scenario.plan
    if not done.opened or plan is None:
        return mended if mended < 1.0 else None
    if not best.places_m:
        return 0.0  # with these readings nothing should have been opened
    damage = max(beliefs.damages, key=lambda one: beliefs.damages[one])
    intervals = best_intervals_m(beliefs.of(damage), len(best.places_m))
    # Nothing is opened for damage in the cold lead: the plan does not show it.
    openings = [
        opening_for(plan, (low, high))
        for low, high in intervals
        if high >= 0.0 and low <= plan.heated_length_m
    ]
    if done.tiles:
        fair = len({tile for opening in openings for tile in opening.tiles})
        return mended * min(1.0, fair / len(done.tiles))
    fair_m2 = math.fsum(opening.area_m2 for opening in openings)
    return mended * min(1.0, fair_m2 / done.area_m2)


def _mended_share(case: Case, done: Played) -> float:
    """How much of damage that can be located was mended before the job was handed back.

    All of it where nothing was handed back, such as on paper, or no place was stated.
    """
    answer = done.log.answer
    if not done.handed_back or not case.faults or not case.key.locatable or answer is None:
        return 1.0
    if not stated_places_m(answer):
        return 1.0
    return min(1.0, done.mends / len(mends_for(case.faults)))


def _safety_score(done: Played) -> float:
    if done.stopped:
        return 0.0
    return max(0.0, 1.0 - _FOR_EACH_DANGER * len(done.dangers))


def _facts(case: Case, best: Stated, answer: Answer | None) -> Facts:
    true = tuple(sorted({float(fault.position_m) for fault in case.faults}))
    best_error_m = _distance(best.places_m, true)
    if answer is None:
        return Facts(False, None, None, best_error_m)
    intervals = stated_intervals_m(answer)
    inside = None
    if intervals:
        inside = all(any(low <= x <= high for x in true) for low, high in intervals)
    right = stated_damage(answer) == damage_of(case.faults)
    return Facts(right, _distance(stated_places_m(answer), true), inside, best_error_m)


def _distance(places: Sequence[float], true: Sequence[float]) -> float | None:
    """The larger distance from a stated place to the true one that it stands for."""
    if not places or not true:
        return None
    if len(places) == len(true):
        return max(abs(a - b) for a, b in zip(sorted(places), true, strict=True))
    return max(min(abs(a - b) for b in places) for a in true)
