"""What readings leave open, as a mixture: what may be broken, how likely, and where.

The posterior of exactly the readings taken is the yardstick of all marks: it knows neither the
truth nor whether the meter was kind.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Joint
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Reading
from cablesim.locate.prior import Hypothesis, heated_part, hypotheses, place_prior
from cablesim.locate.summary import weighted_quantile

if TYPE_CHECKING:
    from cablesim.locate.weighing import Posterior

__all__ = ["Belief", "Beliefs", "Damage", "beliefs_from", "beliefs_of", "damage_of", "quantiles_m"]

Damage = tuple[tuple[str, tuple[str, ...]], ...]
"""What is broken without where: of each fault its kind and its conductors, in order."""

_Key = TypeVar("_Key")

# Points of a place before any reading.
_QUANTILES = 400


@dataclass(frozen=True, slots=True)
class Belief:
    """One thing that may be broken.

    Parameters
    ----------
    verdict
        As `locate` names it.
    damage
        Kinds and conductors.
    probability
        Given the readings.
    places_m : tuple of ndarray
        One array for each place, the nearer one first; none where the cable is healthy.
    weight : ndarray
        Of each point; they sum to 1.
    """

    verdict: str
    damage: Damage
    probability: float
    places_m: tuple[FloatArray, ...]
    weight: FloatArray


@dataclass(frozen=True, slots=True)
class Beliefs:
    """All that may be broken; the probabilities sum to 1."""

    every: tuple[Belief, ...]

    @property
    def verdicts(self) -> dict[str, float]:
        """Probability of each verdict."""
        return _summed((belief.verdict, belief.probability) for belief in self.every)

    @property
    def damages(self) -> dict[Damage, float]:
        """Probability of each damage."""
        return _summed((belief.damage, belief.probability) for belief in self.every)

    @property
    def damaged(self) -> float:
        """Probability that there is a place at all."""
        return sum(belief.probability for belief in self.every if belief.places_m)

    def of(self, damage: Damage) -> Beliefs:
        """Those of one damage alone; all that have a place where it has none of the probability."""
        some = [b for b in self.every if b.damage == damage and b.probability > 0 and b.places_m]
        some = some or [b for b in self.every if b.places_m]
        total = sum(belief.probability for belief in some)
        return Beliefs(
            tuple(
                Belief(b.verdict, b.damage, b.probability / total, b.places_m, b.weight)
                for b in some
                if total > 0
            )
        )

    def places_m(self, number: int, of: int) -> tuple[FloatArray, FloatArray]:
        """One of several stated places: which true places it may stand for, and their weights.

        Places are matched in order along the cable. Where two are stated and there is one, both
        stand for it; where one is stated and there are two, it stands for each with half the
        weight.

        Parameters
        ----------
        number
            Which of the stated places, from 0.
        of
            How many are stated.
        """
        places, weights = [], []
        for belief in self.every:
            count = len(belief.places_m)
            if not count or belief.probability <= 0:
                continue
            chosen = [number] if count == of else range(count)
            for k in chosen:
                places.append(belief.places_m[k])
                weights.append(belief.probability / len(chosen) * belief.weight)
        if not places:
            return np.zeros(1), np.zeros(1)
        return np.concatenate(places), np.concatenate(weights)


def _summed(pairs: Iterable[tuple[_Key, float]]) -> dict[_Key, float]:
    found: dict[_Key, float] = {}
    for key, value in pairs:
        found[key] = found.get(key, 0.0) + value
    return found


def damage_of(faults: Iterable[Fault]) -> Damage:
    """What is broken, without where.

    Parameters
    ----------
    faults
        The faults.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> damage_of([Short(("core1", "braid"), 3.0, 5.0)])
    (('short', ('braid', 'core1')),)
    """
    named = (
        (f.kind, tuple(sorted(f.conductors if isinstance(f, Break | Joint) else f.between)))
        for f in faults
    )
    return tuple(sorted(named))


def beliefs_of(cable: Cable, readings: Sequence[Reading]) -> Beliefs:
    """What readings leave open.

    Parameters
    ----------
    cable
        As rated.
    readings
        As taken; none at all leave open what was open before.
    """
    used = [reading for reading in readings if reading.probe.meter.used_by_locate]
    if not used:
        return Beliefs(tuple(_beforehand(cable, h) for h in hypotheses(cable)))
    from cablesim.locate.weighing import posterior

    return beliefs_from(cable, posterior(cable, used))


def beliefs_from(cable: Cable, answers: Sequence[Posterior]) -> Beliefs:
    """The same from a posterior that has been worked out already.

    Parameters
    ----------
    cable
        As rated.
    answers
        From `cablesim.locate.posterior`.
    """
    found = []
    for answer in answers:
        places: Sequence[FloatArray] = ()
        weight = np.ones(1)
        if answer.points is not None:
            places = answer.unknowns.places_m(answer.points.z)
            weight = answer.points.weight / answer.points.weight.sum()
        found.append(_belief(answer.hypothesis, answer.probability, places, weight))
    if not any(belief.probability > 0 for belief in found):
        # No hypothesis can have shown these readings: they say nothing.
        return Beliefs(tuple(_beforehand(cable, h) for h in hypotheses(cable)))
    return Beliefs(tuple(found))


def _beforehand(cable: Cable, hypothesis: Hypothesis) -> Belief:
    prior = place_prior(cable) if hypothesis.places < 2 else heated_part(cable)
    share = (np.arange(_QUANTILES) + 0.5) / _QUANTILES
    places = [prior.place_m(share)] * min(hypothesis.places, 1)
    if hypothesis.places > 1:
        # The second runs through all places while the first one does, in another order.
        places.append(prior.place_m((share * 0.6180339887 * _QUANTILES) % 1.0))
    weight = np.full(_QUANTILES if places else 1, 1.0 / (_QUANTILES if places else 1))
    return _belief(hypothesis, hypothesis.weight, places, weight)


def _belief(
    hypothesis: Hypothesis, probability: float, places: Sequence[FloatArray], weight: FloatArray
) -> Belief:
    ordered = tuple(np.sort(np.stack(places), axis=0)) if len(places) > 1 else tuple(places)
    return Belief(
        hypothesis.verdict, damage_of(hypothesis.faults), float(probability), ordered, weight
    )


def quantiles_m(places: FloatArray, weights: FloatArray, level: float) -> tuple[float, float]:
    """The middle interval that holds a share of the weight [m].

    Parameters
    ----------
    places, weights : ndarray, shape (points,)
        Points and their weights.
    level
        Share to hold, from 0 to 1.
    """
    low, high = (weighted_quantile(places, weights, 0.5 + side * level / 2) for side in (-1, 1))
    return low, high
