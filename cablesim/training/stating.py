"""What an answer states: the damage, the places, the intervals; or that it states no place."""

from __future__ import annotations

from cablesim.training.beliefs import Damage
from cablesim.training.log_tables import Answer

__all__ = ["declines", "stated_damage", "stated_intervals_m", "stated_places_m"]


def stated_damage(answer: Answer) -> Damage:
    """What it says to be broken.

    Parameters
    ----------
    answer
        From a log.
    """
    return tuple(sorted((f.kind, tuple(sorted(f.conductors))) for f in answer.faults))


def stated_places_m(answer: Answer) -> tuple[float, ...]:
    """Each stated place once, for two faults may lie at one; none where it declines [m].

    Parameters
    ----------
    answer
        From a log.
    """
    if not answer.locatable:
        return ()
    return tuple(sorted({f.position_m for f in answer.faults if f.position_m is not None}))


def stated_intervals_m(answer: Answer) -> tuple[tuple[float, float], ...]:
    """Each stated interval once, in order along the cable [m].

    Parameters
    ----------
    answer
        From a log.
    """
    return tuple(sorted({f.interval_m for f in answer.faults if f.interval_m is not None}))


def declines(answer: Answer) -> bool:
    """Whether it says of a damaged cable that the place cannot be known.

    Parameters
    ----------
    answer
        From a log.

    Examples
    --------
    >>> declines(Answer(verdict="short", locatable=False)), declines(Answer(verdict="healthy"))
    (True, False)
    """
    return answer.verdict != "healthy" and not stated_places_m(answer)
