"""Readings that no hypothesis explains: which one fits least, and which slip would explain them.

And readings that damage explains, where a slip would do so without any damage.

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
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.readings import Reading, predict
from cablesim.locate.estimate import Proposal
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns
from cablesim.locate.prior import Hypothesis, hypotheses, place_prior
from cablesim.locate.slips import Slip, of_length, of_rating, of_readings
from cablesim.locate.summary import weighted_quantile
from cablesim.locate.weighing import Posterior, posterior

__all__ = ["MOST_PROPOSALS", "conflict_of", "label_of_healthy", "proposals_for"]

# What an ohmmeter's few volts do not show.
_ONLY_AT_VOLTAGE = (
    "; insulation that holds at an ohmmeter's few volts may fail at the test voltage, so until "
    "this is explained the cable is unsafe to use"
)
# Readings, and hypotheses, tried when a conflict is traced to one reading. The best fit may bend to
# the one that is wrong, so that it is not among the worst.
_MOST_READINGS, _MOST_SUSPECTS = 8, 3
MOST_PROPOSALS = 3
# A slip this much less likely than the likeliest is not worth a question.
_WORTH_ASKING = 1e-3
# Slips that are weighed exactly, and hypotheses for each.
_MOST_WEIGHED = 8
_MOST_HYPOTHESES = 5
# Points of each hypothesis, and how coarse the meters are taken to be, as a share of the display.
_POINTS = 1500
_COARSE = 0.1
# How far a label may be off: a window of factors above one, and the same below.
_LABEL_FACTOR = 5.0
_NEARBY = (1.0, 0.9, 1.1, 0.8, 1.25)
# What reads more is no loop along a core.
_OPEN_OHM = 1e5


def conflict_of(
    cable: Cable,
    readings: Sequence[Reading],
    answers: Sequence[Posterior],
    numbers: Sequence[int] | None = None,
) -> str:
    """Name the reading without which the others make sense; empty where all of them do.

    Parameters
    ----------
    cable
        As rated.
    readings
        As taken.
    answers
        The posterior of each hypothesis.
    numbers
        Place of each reading among all that a person sees, from 0; its own place unless given.
    """
    if answers[0].probability > 0:
        return ""
    # The reading without which the rest makes sense, tried from the worst misfit down.
    order = np.argsort(-np.abs(answers[0].residual))
    worst = int(order[0])
    likely = [a.hypothesis for a in answers[:_MOST_SUSPECTS]]
    for k in order[:_MOST_READINGS].tolist() if len(readings) > 1 else ():
        rest = [*readings[:k], *readings[k + 1 :]]
        if posterior(cable, rest, table=likely)[0].probability > 0:
            worst = k
            break
    probe = readings[worst].probe
    named = f"{probe.meter.name.replace('_', ' ')} {' to '.join(probe.hookup.across)}"
    number = 1 + (worst if numbers is None else numbers[worst])
    return (
        "no single fault and no usual double damage explains these readings together; "
        f"the one that fits least is reading {number} ({named}): take it again, "
        "and check its leads, its unit and the cable's data"
        + (_ONLY_AT_VOLTAGE if probe.meter.kind == "insulation_tester" else "")
    )


@dataclass(frozen=True, slots=True)
class _Explained:
    """A slip that explains the readings, and how well."""

    slip: Slip
    evidence: float
    verdict: str


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
    found = [*_of_readings(cable, readings, single), *_of_labels(cable, readings, single)]
    found.sort(key=lambda one: -one.evidence)
    return tuple(
        _proposal(one, numbers)
        for one in found[:MOST_PROPOSALS]
        if one.evidence > _WORTH_ASKING * found[0].evidence
    )


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
        other_reading=told[1] if len(told) > 1 else None,
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
        explained, _ = _weighed(slips[k], [table[n] for n in chosen])
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


def _weighed(
    slip: Slip, table: Sequence[Hypothesis]
) -> tuple[_Explained | None, tuple[Posterior, ...]]:
    """A slip that explains the readings, weighed exactly; None where it does not."""
    answers = posterior(slip.cable, slip.readings, table=table)
    likely = answers[0]
    if likely.probability == 0.0 or likely.points is None:
        return None, answers
    evidence = likely.hypothesis.weight * likely.points.evidence / likely.probability
    return _Explained(slip, slip.usual * evidence, likely.hypothesis.verdict), answers


def _of_labels(
    cable: Cable, readings: Sequence[Reading], table: Sequence[Hypothesis]
) -> Iterator[_Explained]:
    """A label with another resistance, or another length, where one explains the readings."""
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
        window = (100 * (1 / _LABEL_FACTOR - 1), 100 * (1 / float(cable.velocity_factor) - 1))
        wide = replace(cable, velocity_tolerance_percent=window)
        found = _factor(wide, readings, table, "speed of pulses", window)
        if found is not None:
            found = _Factor(1 / found.factor, found.table)
        yield from _confirmed(cable, readings, found, 1.0, of_length)


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
        explained, _ = _weighed(slip, found.table)
        if explained is not None:
            yield explained
            return
