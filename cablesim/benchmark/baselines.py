"""Estimators that bound the others: floor, ceiling, and one that is wrong on purpose.

The floor knows nothing but the prior; nobody should do worse. The ceiling is the posterior of one
who knows the cores, the capacitances, and every meter's gain and leads exactly; nobody can do
better on the place. The overconfident one states the posterior's answer with half its intervals: if
a benchmark does not expose it by its coverage, the benchmark is wrong.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cablesim.benchmark.answer import Answer, answer_of
from cablesim.cable.cable import Cable
from cablesim.instruments.readings import Reading
from cablesim.locate.answer import locate
from cablesim.locate.estimate import Density
from cablesim.locate.prior import hypotheses, place_prior

__all__ = ["ceiling", "floor", "overconfident", "shrunk"]

SHRUNK = 0.5
"""What the overconfident one leaves of an interval."""


def floor(cable: Cable, readings: Sequence[Reading]) -> Answer:
    """Answer from the prior alone, whatever was read.

    Parameters
    ----------
    cable
        As rated.
    readings
        Left aside.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> answer = floor(cable, ())
    >>> round(answer.position_m, 2), answer.holds(0.0), answer.holds(29.0)
    (14.25, True, True)
    """
    level = 0.95
    shares: dict[str, float] = {}
    for hypothesis in hypotheses(cable):
        shares[hypothesis.verdict] = shares.get(hypothesis.verdict, 0.0) + hypothesis.weight
    total = sum(shares.values())
    place = place_prior(cable)
    low, middle, high = place.place_m(np.array([(1 - level) / 2, 0.5, (1 + level) / 2]))
    return Answer(
        verdict="undecided",
        probabilities={kind: weight / total for kind, weight in shares.items()},
        position_m=float(middle),
        intervals_m=((float(low), float(high)),),
        level=level,
        density=Density(place.edges_m, place.weights / np.diff(place.edges_m)),
        locatable=False,
    )


def ceiling(cable: Cable, readings: Sequence[Reading]) -> Answer:
    """The posterior, to be asked about what `Case.informed` gives.

    Parameters
    ----------
    cable, readings
        With the true cores, capacitances, gains and leads.
    """
    return answer_of(locate(cable, readings), cable)


def overconfident(cable: Cable, readings: Sequence[Reading]) -> Answer:
    """The posterior's answer, every interval and the density shrunk to half around the place.

    Parameters
    ----------
    cable, readings
        As for any estimator.
    """
    answer = answer_of(locate(cable, readings), cable)
    middle = answer.position_m
    if middle is None:
        return answer
    density = answer.density
    if density is not None:
        edges = middle + SHRUNK * (density.edges_m - middle)
        density = Density(edges, density.per_m / SHRUNK)
    return Answer(
        verdict=answer.verdict,
        probabilities=answer.probabilities,
        position_m=middle,
        intervals_m=shrunk(answer.intervals_m, middle),
        level=answer.level,
        density=density,
        locatable=answer.locatable,
    )


def shrunk(
    intervals_m: Sequence[Sequence[float]], middle_m: float
) -> tuple[tuple[float, float], ...]:
    """Intervals as the overconfident one states them.

    Parameters
    ----------
    intervals_m
        Those of the posterior [m].
    middle_m
        Its place [m].

    Examples
    --------
    >>> shrunk([(12.0, 12.6), (20.0, 20.4)], 12.4)
    ((12.2, 12.5), (20.1, 20.3))
    """
    return tuple(
        (_towards(low, low, high, middle_m), _towards(high, low, high, middle_m))
        for low, high in intervals_m
    )


def _towards(end: float, low: float, high: float, middle: float) -> float:
    """An end of an interval moved half the way to the place, or to its own middle elsewhere."""
    centre = middle if low <= middle <= high else (low + high) / 2
    return centre + SHRUNK * (end - centre)
