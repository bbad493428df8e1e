"""From readings to an answer: weigh every hypothesis, place the likeliest, say what is missing."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Joint
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.withstand_tester import WithstandTester
from cablesim.locate.advice import cautions, methods_of, placed_m
from cablesim.locate.arguments import established_of, several, usable
from cablesim.locate.budget import faults_of
from cablesim.locate.conflict import conflict_of
from cablesim.locate.estimate import (
    DECIDED,
    Alternative,
    Density,
    Estimate,
    FaultEstimate,
    decimals_for,
)
from cablesim.locate.integrate import Points
from cablesim.locate.limits import readings_place
from cablesim.locate.plan import best_next
from cablesim.locate.prior import Hypothesis, after_breakdown, hypotheses
from cablesim.locate.questions import Questions, questions
from cablesim.locate.summary import density_of, intervals_of, told_between, weighted_quantile
from cablesim.locate.unsteady import loosened
from cablesim.locate.weighing import Posterior, posterior

__all__ = ["Weighed", "considered", "locate", "weighed"]

# Alternatives less likely than this are not listed.
LISTED = 0.02
# A hypothesis with at least this share of the likeliest one's probability is its rival.
_RIVAL = 0.05
# Verdicts that a person would not say like this.
_SPOKEN = {
    "degraded": "degraded insulation",
    "joint": "a bad joint",
    "several": "double damage",
}


def locate(
    cable: Cable,
    readings: Iterable[Reading],
    *,
    level: float = 0.95,
    established: Iterable[str] = (),
    table: Iterable[Hypothesis] | None = None,
    bag: Iterable[Probe] = (),
) -> Estimate:
    """Say what is broken, where, and how sure one can be.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    readings
        In any number and order, at least one.
    level
        Probability that the interval shall hold the place.
    established
        Kinds of damage held possible, where other tests have settled that; all unless given.
    table
        Other hypotheses and weights than those of `cablesim.locate.prior`.
    bag
        Readings that could be taken next; the usual ones unless given.

    Returns
    -------
    Estimate
        The answer, with the reason and the next reading where it stays open.

    Raises
    ------
    InputError
        If there is no reading, the level is not between 0 and 1, or anything else cannot be used.
    """
    readings, bag = usable(cable, readings, level, bag)
    established = several("established", established, str)
    table = considered(cable, readings, established, table)
    if readings and not any(reading.probe.meter.used_by_locate for reading in readings):
        raise InputError(
            "every reading is of a kind that does not tell where the damage is",
            try_this="give at least one reading with another meter",
        )
    found = weighed(cable, readings, table, established)
    used, answers, conflict, put = found.used, found.answers, found.conflict, found.questions
    top = _likeliest_verdict(answers)
    verdicts = _by_verdict(answers)
    probability = verdicts[top.hypothesis.verdict]
    faults, density = _placed(top, level)
    reason = found.unbelieved
    decided = probability >= DECIDED and not reason
    verdict = top.hypothesis.verdict if decided else "undecided"
    coming = None if reason else best_next(cable, used, answers, bag)
    reason = reason or _reason(cable, used, top, faults, verdict, probability, answers)
    return Estimate(
        verdict=verdict,
        probability=probability,
        locatable=not reason and bool(faults),
        reason=reason,
        faults=faults,
        level=level,
        alternatives=tuple(
            Alternative(a.hypothesis.verdict, a.probability, _placed(a, level)[0])
            for a in answers
            if a is not top and a.probability >= LISTED
        ),
        next_reading=coming.reading if coming else None,
        cautions=cautions(
            [
                *methods_of(reading.probe.meter for reading in readings),
                coming.candidate.cautioned if coming else "",
            ],
            opening=bool(faults),
        ),
        conflict=conflict,
        proposals=put.proposals,
        unused=tuple(_unused(r) for r in readings if not r.probe.meter.used_by_locate),
        density=density,
        faults_probability=top.probability,
        used=len(used),
    )


@dataclass(frozen=True, slots=True)
class Weighed:
    """Readings weighed, and what to ask before anybody believes what comes of it.

    Parameters
    ----------
    used
        The readings that tell a place, those that did not settle loosened.
    answers
        The posterior of each hypothesis.
    questions
        What to ask.
    conflict
        Which reading fits least where nothing explains them; otherwise empty.
    """

    used: tuple[Reading, ...]
    answers: tuple[Posterior, ...]
    questions: Questions
    conflict: str

    @property
    def unbelieved(self) -> str:
        """Why the likeliest is not believed as it stands; empty where it is."""
        return self.conflict or self.questions.doubt


def weighed(
    cable: Cable,
    readings: Sequence[Reading],
    table: Sequence[Hypothesis],
    established: Sequence[str] = (),
) -> Weighed:
    """Weigh hypotheses by readings, and ask about slips.

    Parameters
    ----------
    cable, readings, established
        As for `locate`.
    table
        From `considered`.
    """
    numbers = [k for k, reading in enumerate(readings) if reading.probe.meter.used_by_locate]
    loose = loosened(readings)
    used = tuple(loose[k] for k in numbers)
    answers = posterior(cable, used, table=table)
    put = questions(cable, used, answers, numbers)
    conflict = conflict_of(
        cable, used, answers, numbers, suspects=put.suspects, established=established
    )
    return Weighed(used, answers, put, conflict)


def considered(
    cable: Cable,
    readings: Sequence[Reading],
    established: Iterable[str] = (),
    table: Iterable[Hypothesis] | None = None,
) -> list[Hypothesis]:
    """The hypotheses that readings are weighed by.

    Parameters
    ----------
    cable, readings, established, table
        As for `locate`. Readings of a withstand test tell that insulation failed, if not where.
    """
    table = hypotheses(cable) if table is None else several("table", table, Hypothesis)
    pairs = _broken_down(cable, readings)
    table = after_breakdown(table, pairs) if pairs else table
    return established_of(table, established)


def _broken_down(cable: Cable, readings: Sequence[Reading]) -> list[tuple[str, str]]:
    """Pairs of conductors between which a withstand test tripped."""
    found: dict[tuple[str, str], None] = {}
    for reading in readings:
        meter, leads = reading.probe.meter, reading.probe.hookup.leads
        if isinstance(meter, WithstandTester) and np.isfinite(reading.shown):
            one, other = (sorted({t.conductor for t in lead}) for lead in leads)
            for a, b in product(one, other):
                first, second = sorted((a, b), key=cable.conductors.index)
                found[first, second] = None
    return list(found)


def _unused(reading: Reading) -> str:
    """A reading that was seen and does not bear on the place, in words."""
    probe, shown = reading.probe, reading.shown
    said = "no trip" if np.isinf(shown) else f"{shown:g} {probe.meter.unit}"
    return f"{probe.meter.name} {' to '.join(probe.hookup.across)}: {said}"


def _by_verdict(answers: Sequence[Posterior]) -> dict[str, float]:
    verdicts: dict[str, float] = {}
    for answer in answers:
        name = answer.hypothesis.verdict
        verdicts[name] = verdicts.get(name, 0.0) + answer.probability
    return verdicts


def _likeliest_verdict(answers: Sequence[Posterior]) -> Posterior:
    """The likeliest hypothesis of the likeliest verdict."""
    verdicts = _by_verdict(answers)
    best = max(verdicts, key=lambda name: verdicts[name]) if answers[0].probability > 0 else None
    return next(a for a in answers if best is None or a.hypothesis.verdict == best)


def _placed(answer: Posterior, level: float) -> tuple[tuple[FaultEstimate, ...], Density | None]:
    """Faults of one hypothesis with their intervals, and the density of the first place."""
    hypothesis, points = answer.hypothesis, answer.points
    if not hypothesis.faults or points is None:
        return (), None
    places, resistances = _told_apart(answer, points)
    found = [intervals_of(place, points.weight, level) for place in places]
    ohms = iter(resistances)
    faults = []
    for fault, place, limits in zip(
        hypothesis.faults, hypothesis.place_of, hypothesis.ohm_ranges, strict=True
    ):
        median, ends = None, None
        if limits is not None:
            log, known = np.log(next(ohms)), (float(np.log(limits[0])), float(np.log(limits[1])))
            median = float(np.exp(weighted_quantile(log, points.weight, 0.5)))
            low, high = told_between(log, points.weight, known, level)
            ends = (
                None if low is None else float(np.exp(low)),
                None if high is None else float(np.exp(high)),
            )
        faults.append(
            FaultEstimate(
                kind=fault.kind,
                between=None if isinstance(fault, Break | Joint) else fault.between,
                conductors=fault.conductors if isinstance(fault, Break | Joint) else None,
                position_m=found[place].position_m,
                interval_m=found[place].interval_m,
                intervals_m=found[place].intervals_m,
                resistance_ohm=median,
                resistance_interval_ohm=ends,
            )
        )
    return tuple(faults), density_of(places[0], points.weight)


def _told_apart(answer: Posterior, points: Points) -> tuple[list[FloatArray], list[FloatArray]]:
    """Places and resistances; of two faults that are alike the nearer one comes first."""
    places = answer.unknowns.places_m(points.z)
    ohms = answer.unknowns.resistances_ohm(points.z)
    if len(places) == 2 and answer.hypothesis.alike:
        swapped = places[0] > places[1]
        places = [np.where(swapped, b, a) for a, b in (places, places[::-1])]
        if ohms:
            ohms = [np.where(swapped, b, a) for a, b in (ohms, ohms[::-1])]
    return places, ohms


def _reason(
    cable: Cable,
    readings: Sequence[Reading],
    top: Posterior,
    faults: tuple[FaultEstimate, ...],
    verdict: str,
    probability: float,
    answers: Sequence[Posterior],
) -> str:
    """Why the readings do not place the damage; empty where they do, or where there is none."""
    if verdict == "undecided":
        shares = sorted(_by_verdict(answers).items(), key=lambda item: -item[1])
        named = ", ".join(
            f"{_SPOKEN.get(name, name)} ({100 * share:.0f} %)"
            for name, share in shares
            if share >= _RIVAL
        )
        return f"the readings do not decide between {named}"
    if verdict == "healthy":
        return ""
    longest = max(fault.open_m for fault in faults)
    limit = placed_m(cable)
    if longest > limit:
        low = min(interval[0] for fault in faults for interval in fault.intervals_m)
        high = max(interval[1] for fault in faults for interval in fault.intervals_m)
        return (
            f"the readings say what is broken but leave {longest:.2g} m open, "
            f"between {_from_joint(low, longest)} and {_from_joint(high, longest)}"
        )
    if not readings_place(top, faults_of(faults), readings, limit):
        return (
            "the place follows from where damage usually is and not from the readings, which by "
            "themselves leave it open"
        )
    rivals = [a for a in answers if a is not top and a.hypothesis.verdict == verdict]
    if any(_elsewhere(rival, faults, limit) for rival in rivals if _rivals(rival, top)):
        return "the readings do not decide which conductors are damaged, and so not where"
    return ""


def _from_joint(place_m: float, open_m: float) -> str:
    """A place in metres, so exactly as it is known; what lies in the cold lead says so."""
    told = f"{place_m:z.{decimals_for(open_m)}f} m"
    return f"{told.removeprefix('-')} before the cold joint" if told.startswith("-") else told


def _rivals(answer: Posterior, top: Posterior) -> bool:
    return answer.probability >= _RIVAL * top.probability


def _elsewhere(rival: Posterior, faults: tuple[FaultEstimate, ...], limit_m: float) -> bool:
    """Whether a rival of the same verdict puts the damage at another place."""
    placed, _ = _placed(rival, 0.95)
    return any(
        abs(mine.position_m - other.position_m) > limit_m
        for mine, other in zip(faults, placed, strict=False)
    )
