"""Questions about slips of the hand: what else the readings, or the cable, may really be.

Put where no hypothesis explains the readings, where damage at two places or at the entry does that
is less usual than a slip, where a healthy cable with another label would, and where a display
cannot have said what was written.

Each slip (`cablesim.locate.slips`) is first held against points of every hypothesis of one damage
as if the meters were coarse. The circuits are the same whatever the displays say, so one batch of
them serves all slips of readings. The slips that come nearest are then weighed exactly, like any
readings, and offered only if some hypothesis explains them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import MOST_OVER_PERCENT, FloatArray
from cablesim.errors import InputError
from cablesim.instruments.readings import Reading, predict
from cablesim.locate.estimate import Proposal
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns
from cablesim.locate.prior import JOINT_ZONE_M, Hypothesis, hypotheses, place_prior
from cablesim.locate.slips import (
    MISWRITTEN,
    UNITS,
    Slip,
    digits_beyond,
    of_length,
    of_rating,
    of_readings,
    worded,
)
from cablesim.locate.summary import weighted_quantile
from cablesim.locate.weighing import Posterior, posterior

__all__ = [
    "MOST_PROPOSALS",
    "Questions",
    "label_of_healthy",
    "proposals_for",
    "questions",
]

MOST_PROPOSALS = 3
_BELOW_LEADS = (
    "several readings say less than the leads themselves, as tips do that were held together: "
    "answer the question first"
)
_DOUBTED = (
    "{} explains these readings as they stand, and a slip in what was written explains them far "
    "better: answer the question first"
)
# A slip this much less likely than the likeliest is not worth a question.
_WORTH_ASKING = 1e-3
# Numbers that are too small look like damage at two places, or at the entry: there with at least
# this probability, and at most as much beyond the first quarter of the cable.
_AT_TWO, _AT_ENTRY, _FAR_OFF = 0.5, 0.05, 0.25
# A slip is asked about beside such damage where the readings are so many times likelier with it;
# damage at the entry is common, and its few ohms have few digits. And damage is doubted where they
# are so many times likelier. One reading or label in some hundreds has one given slip (common
# practice, no source), so that it is then as likely as one in a hundred, or one in ten, at least.
_ASKED_TWO, _ASKED_ENTRY, _DOUBTS = 3.0, 10.0, 50.0
# Slips that are weighed exactly, and hypotheses for each.
_MOST_WEIGHED = 8
_MOST_HYPOTHESES = 5
# Points of each hypothesis, and how coarse the meters are taken to be, as a share of the display.
_POINTS = 1500
_COARSE = 0.1
# How far a label may be off: a window of factors above one, and the same below.
_LABEL_FACTOR = 5.0
_NEARBY = (1.0, 0.9, 1.1, 0.8, 1.25)
# A factor that was fitted is one of many that a label may be off by: the usual tolerance is so
# large a share of the window, by the logarithm.
_FITTED = 0.05
# At the mains a label gives so much heat per metre (common practice, no source).
_MAINS_VOLT, _USUAL_W_PER_M = 230.0, (1.0, 110.0)
# A capacitance below this share of that of the cold lead alone is no cable's.
_LEAD_SHARE = 0.1
# What reads more is no loop along a core.
_OPEN_OHM = 1e5


@dataclass(frozen=True, slots=True)
class _Explained:
    """A slip that explains the readings, and how well."""

    slip: Slip
    evidence: float
    verdict: str


@dataclass(frozen=True, slots=True)
class Questions:
    """What to ask before anybody acts on the answer.

    Parameters
    ----------
    proposals
        Slips that would explain the readings, or values that no display says; likeliest first.
    doubt
        Why damage that explains the readings is not believed before they are answered; empty where
        it is, or where nothing explains the readings.
    """

    proposals: tuple[Proposal, ...]
    doubt: str = ""

    @property
    def suspects(self) -> tuple[int, ...]:
        """Readings that the first question is about, numbered from 0."""
        return tuple(number - 1 for number in self.proposals[0].readings) if self.proposals else ()


def questions(
    cable: Cable,
    readings: Sequence[Reading],
    answers: Sequence[Posterior],
    numbers: Sequence[int] | None = None,
) -> Questions:
    """Ask about the readings, and about the label, what a careful person would.

    Parameters
    ----------
    cable
        As rated.
    readings
        As taken.
    answers
        The posterior of each hypothesis.
    numbers
        As for `cablesim.locate.conflict.conflict_of`.
    """
    numbers = range(len(readings)) if numbers is None else numbers
    doubt = ""
    if answers[0].probability == 0.0:
        slips = proposals_for(cable, readings, [a.hypothesis for a in answers], numbers)
    else:
        what, least_odds = _easily_a_slip(answers)
        beside = _beside(cable, readings, answers) if what else []
        if any(odds >= _DOUBTS for odds, _ in beside):
            doubt = _DOUBTED.format(what)
        # One display may fall so far short of damage at the entry by its counts.
        elif sum(_below_leads(reading) for reading in readings) > 1:
            doubt = _BELOW_LEADS
        slips = tuple(_proposal(one, numbers) for odds, one in beside if odds >= least_odds)
        if not slips and answers[0].hypothesis.faults:
            slips = label_of_healthy(cable, readings)
    known = {number for slip in slips for number in slip.readings}
    verdict = answers[0].hypothesis.verdict
    odd = _not_on_display(cable, readings, numbers, verdict)
    unshown = [p for p in odd if p.reading not in known]
    return Questions((*slips, *unshown[:MOST_PROPOSALS]), doubt)


def _not_on_display(
    cable: Cable, readings: Sequence[Reading], numbers: Sequence[int], verdict: str
) -> Iterator[Proposal]:
    """Values that the meter, as it is described, cannot have shown, or only beside the cable."""
    lead_nf = 1e-3 * float(cable.cold_lead_m) * float(cable.capacitance_core_braid_pf_per_m)
    for number, reading in zip(numbers, readings, strict=True):
        meter, setting = reading.probe.meter, reading.probe.setting
        # A ratio may be worked out from arms, and a place from a plan.
        if not np.isfinite(reading.shown) or meter.unit not in UNITS:
            continue
        top = meter.over_range_from(setting)
        step = float(meter.step_of(reading.shown, setting))
        kind = meter.kind.replace("_", " ")
        change, value, asked = "display", top, ""
        if reading.shown >= top and not reading.at_least:
            asked = (
                f"and this {kind} shows over range from {worded(top, meter.unit)} on: is the unit "
                "right, and the range its own?"
            )
        elif digits_beyond(reading) < 1.0:
            value = float(meter.shown(reading.shown, setting))
            asked = (
                f"finer than the steps of {worded(step, meter.unit)} that this {kind} shows "
                "there: what did it say?"
            )
        elif meter.kind == "capacitance_meter" and reading.shown < _LEAD_SHARE * lead_nf:
            change, value = "leads", lead_nf
            asked = "far less than the cold lead alone has: did both leads touch?"
        if asked:
            told = f"reading {number + 1} says {worded(reading.shown, meter.unit)}, {asked}"
            yield Proposal(
                number + 1, change, value, meter.unit, verdict, told, readings=(number + 1,)
            )
    below = [k for k, reading in enumerate(readings) if _below_leads(reading)]
    if below:
        meter = readings[below[0]].probe.meter
        named = [str(numbers[k] + 1) for k in below]
        said = f"readings {', '.join(named[:-1])} and {named[-1]} say"
        if len(below) == 1:
            said = f"reading {named[0]} says {worded(readings[below[0]].shown, meter.unit)},"
        yield Proposal(
            numbers[below[0]] + 1,
            "display",
            meter.lead_ohm - meter.lead_ohm_tolerance,
            meter.unit,
            verdict,
            f"{said} less than the leads themselves: were the tips held together?",
            readings=tuple(numbers[k] + 1 for k in below),
        )


def _below_leads(reading: Reading) -> bool:
    """Whether an ohmmeter shows less than its leads add to whatever they touch."""
    meter = reading.probe.meter
    least_ohm = meter.lead_ohm - meter.lead_ohm_tolerance
    return meter.kind == "ohmmeter" and reading.shown < least_ohm


def proposals_for(
    cable: Cable,
    readings: Sequence[Reading],
    table: Sequence[Hypothesis] | None = None,
    numbers: Sequence[int] | None = None,
) -> tuple[Proposal, ...]:
    """Slips that would explain readings which conflict, likeliest first.

    Parameters
    ----------
    cable
        As rated.
    readings
        As taken; no hypothesis explains them.
    table
        What may be broken; the hypotheses of one damage are tried, those of `hypotheses` unless
        given.
    numbers
        As for `conflict_of`.
    """
    table = hypotheses(cable) if table is None else table
    single = [h for h in table if h.places < 2]
    if not single:
        return ()
    found = _explained(cable, readings, single)
    return tuple(_proposal(one, numbers) for one in found)


def _easily_a_slip(answers: Sequence[Posterior]) -> tuple[str, float]:
    """Damage that many slips look like, in words, and from which odds on one is asked about.

    No words where the likeliest is none of it.
    """
    if sum(answer.probability for answer in answers if answer.hypothesis.places == 2) > _AT_TWO:
        return "only damage at two places", _ASKED_TWO
    likely = answers[0]
    if likely.points is None or not likely.hypothesis.faults:
        return "", _ASKED_ENTRY
    place = likely.unknowns.places_m(likely.points.z)[0]
    far_m = _FAR_OFF * float(likely.unknowns.cable.heated_length_m)
    at_entry, far_off = (
        np.sum(likely.points.weight[there]) / likely.points.evidence
        for there in (place <= JOINT_ZONE_M, place > far_m)
    )
    near = at_entry > _AT_ENTRY > far_off
    return "damage near the cold joint" if near else "", _ASKED_ENTRY


def _beside(
    cable: Cable, readings: Sequence[Reading], answers: Sequence[Posterior]
) -> list[tuple[float, _Explained]]:
    """Slips beside damage, each with how many times likelier the readings are with it."""
    single = [answer.hypothesis for answer in answers if answer.hypothesis.places < 2]
    as_taken = _evidence(answers) * _digits_beyond(readings)
    found = _explained(cable, readings, single) if single else []
    # Coarser steps of the same number change no answer that there is.
    return [
        (one.evidence / as_taken, one)
        for one in found
        if one.slip.change != "range"
        or any(one.slip.readings[k].shown != readings[k].shown for k in one.slip.numbers)
    ]


def _explained(
    cable: Cable, readings: Sequence[Reading], table: Sequence[Hypothesis]
) -> list[_Explained]:
    """The slips that explain the readings best, likeliest first."""
    found = [*_of_readings(cable, readings, table), *_of_labels(cable, readings, table)]
    found.sort(key=lambda one: -one.evidence)
    return [
        one for one in found[:MOST_PROPOSALS] if one.evidence > _WORTH_ASKING * found[0].evidence
    ]


def label_of_healthy(cable: Cable, readings: Sequence[Reading]) -> tuple[Proposal, ...]:
    """The label of another cable, with which nothing would be broken; empty where there is none.

    A label that is not this cable's looks like cores that touch.

    Parameters
    ----------
    cable
        As rated.
    readings
        As taken; some damage explains them.
    """
    along = [r for r in readings if r.probe.meter.unit == "ohm" and np.isfinite(r.shown)]
    if not along:
        return ()
    rated = predict(cable, (), [r.probe for r in along])
    loops = (r.shown / ohm for r, ohm in zip(along, rated, strict=True) if ohm < _OPEN_OHM)
    factor = next(loops, 0.0)
    low, high = (1 + percent / 100 for percent in cable.tolerance_percent)
    if factor <= 0.0 or low <= factor <= high:
        return ()
    found = _Factor(factor, [h for h in hypotheses(cable) if not h.faults])
    slip_of = partial(of_rating, fitting="an undamaged cable")
    explained = _confirmed(cable, readings, found, (low + high) / 2, slip_of)
    return tuple(_proposal(one, None) for one in explained)


def _proposal(explained: _Explained, numbers: Sequence[int] | None) -> Proposal:
    slip = explained.slip
    told = [k + 1 if numbers is None else numbers[k] + 1 for k in slip.numbers]
    return Proposal(
        reading=told[0] if told else None,
        change=slip.change,
        value=slip.value,
        unit=slip.unit,
        explains=explained.verdict,
        told=slip.told.format(*told),
        other_reading=told[1] if slip.change == "leads" and len(told) > 1 else None,
        readings=tuple(told),
    )


def _of_readings(
    cable: Cable, readings: Sequence[Reading], table: Sequence[Hypothesis]
) -> Iterator[_Explained]:
    """Slips of readings, weighed from the one that comes nearest down."""
    slips = list(of_readings(cable, readings))
    if not slips:
        return
    misfit = _coarse_misfits(cable, slips, table)
    # What is usual goes first where several come equally near.
    nearest = misfit.min(axis=1) - 2 * np.log([slip.usual for slip in slips])
    for k in np.argsort(nearest, kind="stable")[:_MOST_WEIGHED].tolist():
        chosen = np.argsort(misfit[k], kind="stable")[:_MOST_HYPOTHESES]
        explained = _weighed(slips[k], [table[n] for n in chosen])
        if explained is not None:
            yield explained


def _coarse_misfits(cable: Cable, slips: Sequence[Slip], table: Sequence[Hypothesis]) -> FloatArray:
    """Least sum of squares of each slip under each hypothesis, shape (slips, hypotheses)."""
    place = place_prior(cable)
    rng = np.random.default_rng(0)  # the points; any evenly spread ones do
    misfit = np.full((len(slips), len(table)), np.inf)
    # One circuit for every hook-up that occurs, as taken or exchanged.
    probes = list(dict.fromkeys(r.probe for slip in slips for r in slip.readings))
    for n, hypothesis in enumerate(table):
        unknowns = Unknowns(cable, hypothesis, place, slips[0].readings)
        z = rng.random((_POINTS, unknowns.size))
        exact = unknowns.exact(z, probes)
        for k, slip in enumerate(slips):
            own = Unknowns(cable, hypothesis, place, slip.readings)
            columns = exact[:, [probes.index(r.probe) for r in slip.readings]]
            displays = Displays.of(slip.readings)
            noise = displays.noise + _COARSE * 3**0.5 * np.abs(displays.centre)
            coarse = replace(displays, noise=noise)
            middle = np.full((_POINTS, own.size), 0.5)
            residual = coarse.residuals(own.indicated(middle, columns))
            misfit[k, n] = np.sum(residual**2, axis=1).min()
    return misfit


def _weighed(slip: Slip, table: Sequence[Hypothesis]) -> _Explained | None:
    """A slip that explains the readings, weighed exactly; None where it does not."""
    answers = posterior(slip.cable, slip.readings, table=table)
    likely = answers[0]
    if likely.probability == 0.0:
        return None
    evidence = slip.usual * _evidence(answers) * _digits_beyond(slip.readings)
    return _Explained(slip, evidence, likely.hypothesis.verdict)


def _evidence(answers: Sequence[Posterior]) -> float:
    """Probability of the readings under all hypotheses that were weighed together."""
    likely = answers[0]
    if likely.points is None:
        return 0.0
    return likely.hypothesis.weight * likely.points.evidence / likely.probability


def _digits_beyond(readings: Sequence[Reading]) -> float:
    """Probability that the digits which no display has were written as they are."""
    return float(np.prod([digits_beyond(reading) for reading in readings]))


def _of_labels(
    cable: Cable, readings: Sequence[Reading], table: Sequence[Hypothesis]
) -> Iterator[_Explained]:
    """A label with another resistance, or another length, where one explains the readings."""
    for factor in MISWRITTEN:
        try:
            slip = of_rating(cable, readings, factor)
        except InputError:
            continue
        if not _likely_label(cable, slip.cable):
            continue
        explained = _weighed(slip, table)
        if explained is not None:
            yield explained
    top = 100 * (_LABEL_FACTOR - 1)
    windows = ((0.0, top), (100 * (1 / _LABEL_FACTOR - 1), 0.0))
    for window in windows:
        wide = replace(cable, tolerance_percent=window)
        found = _factor(wide, readings, table, "core resistance", window)
        low, high = (1 + percent / 100 for percent in cable.tolerance_percent)
        yield from _confirmed(cable, readings, found, (low + high) / 2, of_rating)
    kinds = {reading.probe.meter.kind for reading in readings}
    if "capacitance_meter" in kinds:
        low, high = (1 + percent / 100 for percent in cable.capacitance_tolerance_percent)
        name = "capacitance_core_braid_pf_per_m"
        for window in windows:
            wide = replace(cable, capacitance_tolerance_percent=window)
            found = _factor(wide, readings, table, name, window)
            yield from _confirmed(cable, readings, found, (low + high) / 2, of_length)
    elif "pulse_echo" in kinds:
        top = min(100 * (1 / float(cable.velocity_factor) - 1), MOST_OVER_PERCENT)
        window = (100 * (1 / _LABEL_FACTOR - 1), top)
        wide = replace(cable, velocity_tolerance_percent=window)
        found = _factor(wide, readings, table, "speed of pulses", window)
        if found is not None:
            found = _Factor(1 / found.factor, found.table)
        yield from _confirmed(cable, readings, found, 1.0, of_length)


def _likely_label(stated: Cable, other: Cable) -> bool:
    """Whether a label gives a usual heat at the mains, or is as near to that as the stated one."""
    least, most = _USUAL_W_PER_M

    def off(cable: Cable) -> float:
        loop_ohm, length_m = float(cable.loop_resistance_ohm), float(cable.heated_length_m)
        watt = _MAINS_VOLT**2 / loop_ohm / length_m
        return max(least / watt, watt / most, 1.0)

    return off(other) <= off(stated)


@dataclass(frozen=True, slots=True)
class _Factor:
    """A factor on a value of the cable, and what may be broken if it is right."""

    factor: float
    table: list[Hypothesis]


def _factor(
    wide: Cable,
    readings: Sequence[Reading],
    table: Sequence[Hypothesis],
    name: str,
    window: tuple[float, float],
) -> _Factor | None:
    """The factor on a value of the cable that the readings ask for; None where none helps."""
    answers = posterior(wide, readings, table=table)
    likely = answers[0]
    if likely.points is None:
        return None
    names = [known for known, _ in likely.unknowns.cable_changes]
    column = likely.unknowns.circuit_size - len(names) + names.index(name)
    z = likely.points.z[:, column]
    share = weighted_quantile(z, likely.points.weight, 0.5)
    # What explains nothing within the wide window explains nothing within the usual one.
    able = [answer.hypothesis for answer in answers if answer.probability > 0]
    return _Factor(1 + (window[0] + share * (window[1] - window[0])) / 100, able)


def _confirmed(
    cable: Cable,
    readings: Sequence[Reading],
    found: _Factor | None,
    usual: float,
    slip_of: Callable[[Cable, Sequence[Reading], float], Slip],
) -> Iterator[_Explained]:
    """The label that explains the readings within the usual tolerances."""
    if found is None:
        return
    for nearby in _NEARBY:
        try:
            slip = slip_of(cable, readings, nearby * found.factor / usual)
        except InputError:
            continue
        if not _likely_label(cable, slip.cable):
            continue
        explained = _weighed(slip, found.table)
        if explained is not None:
            yield replace(explained, evidence=_FITTED * explained.evidence)
            return
