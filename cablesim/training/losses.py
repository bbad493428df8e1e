r"""What an answer is expected to cost, given the readings: of its place, and of its interval.

**Place.** A stated place ``s`` costs ``|s - x|`` metres where the damage lies at ``x``: so far one
goes on opening from the wrong place. Who says that it cannot be located is charged a fixed price,
a quarter of the stretch within which `locate` calls damage placed: the mean error of the middle of
such a stretch if all of it is equally likely. So "it cannot be located" is the better answer
exactly where the readings leave more open than that (the reject option; from memory of C. K. Chow,
IEEE Trans. Inf. Theory 16 (1970), p. 41). A place on a healthy cable, and "healthy" on a damaged
one, cost a quarter of the cable.

**Interval.** An interval ``[l, u]`` at level ``1 - a`` costs

    (u - l) + (2 / a) max(l - x, 0) + (2 / a) max(x - u, 0)

the interval score, which nobody can lower but by stating the quantiles ``a/2`` and ``1 - a/2`` of
what one believes (from memory of T. Gneiting and A. E. Raftery, J. Am. Stat. Assoc. 102 (2007),
section 6.2). Both are averaged over the posterior of the readings taken; the truth does not enter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.locate.advice import placed_m
from cablesim.locate.summary import weighted_quantile
from cablesim.training.beliefs import Beliefs, quantiles_m

__all__ = [
    "LEVEL",
    "SECOND_M",
    "Stated",
    "best_intervals_m",
    "best_statement",
    "interval_loss_m",
    "place_loss_m",
    "price_m",
]

LEVEL = 0.95
"""Probability that a stated interval should hold the place."""

SECOND_M = 0.1
"""A second opening must save at least this [m]; it is as much as one opening frees either way."""

_MISS = 2.0 / (1.0 - LEVEL)
_PRICE_SHARE = 0.25


@dataclass(frozen=True, slots=True)
class Stated:
    """What an answer says of where.

    Parameters
    ----------
    places_m
        Stated places in order along the cable [m].
    healthy
        Whether it says that nothing is broken. With neither, it says that it cannot be located.
    """

    places_m: tuple[float, ...] = ()
    healthy: bool = False


def price_m(cable: Cable) -> float:
    """What "it cannot be located" costs [m].

    Parameters
    ----------
    cable
        As rated.
    """
    return _PRICE_SHARE * placed_m(cable)


def place_loss_m(cable: Cable, beliefs: Beliefs, stated: Stated) -> float:
    """What a statement of where is expected to cost [m].

    Parameters
    ----------
    cable
        As rated.
    beliefs
        What the readings leave open.
    stated
        The statement.
    """
    wrong_m = _PRICE_SHARE * float(cable.heated_length_m)
    damaged = beliefs.damaged
    if stated.healthy:
        return damaged * wrong_m
    if not stated.places_m:
        return price_m(cable)
    count = len(stated.places_m)
    away = 0.0
    for number, place in enumerate(sorted(stated.places_m)):
        places, weights = beliefs.places_m(number, count)
        away += float(np.sum(weights * np.abs(places - place))) / count
    return away + (1.0 - damaged) * wrong_m


def best_statement(cable: Cable, beliefs: Beliefs) -> tuple[Stated, float]:
    """The statement that is expected to cost least, and what it costs [m].

    A second place is named only where it saves more than `SECOND_M`.

    Parameters
    ----------
    cable
        As rated.
    beliefs
        What the readings leave open.
    """
    offered = [Stated(healthy=True), Stated()]
    for count in (1, 2):
        spots = [beliefs.places_m(number, count) for number in range(count)]
        if all(np.any(weights > 0) for _, weights in spots):
            offered.append(Stated(tuple(weighted_quantile(*spot, 0.5) for spot in spots)))
    losses = [place_loss_m(cable, beliefs, one) for one in offered]
    charged = [
        loss + SECOND_M * (len(one.places_m) > 1) for one, loss in zip(offered, losses, strict=True)
    ]
    best = int(np.argmin(charged))
    return offered[best], losses[best]


def interval_loss_m(beliefs: Beliefs, intervals_m: Sequence[tuple[float, float]]) -> float:
    """What stated intervals are expected to cost, on average over them [m].

    Parameters
    ----------
    beliefs
        What the readings leave open, such as `Beliefs.of` the damage stated.
    intervals_m
        One for each stated place, in order along the cable.
    """
    count = len(intervals_m)
    total = 0.0
    for number, (low, high) in enumerate(sorted(intervals_m)):
        places, weights = beliefs.places_m(number, count)
        total += float(np.sum(weights * _interval_score(low, high, places)))
    return total / max(count, 1)


def best_intervals_m(beliefs: Beliefs, count: int) -> tuple[tuple[float, float], ...]:
    """The intervals that are expected to cost least [m].

    Parameters
    ----------
    beliefs
        What the readings leave open.
    count
        How many.
    """
    return tuple(quantiles_m(*beliefs.places_m(number, count), LEVEL) for number in range(count))


def _interval_score(low: float, high: float, places: FloatArray) -> FloatArray:
    short = np.maximum(low - places, 0.0) + np.maximum(places - high, 0.0)
    return np.asarray((high - low) + _MISS * short)
