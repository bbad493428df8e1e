"""The topic readings: could they place the damage, whatever they showed, and how quickly."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.effort import USUAL_EFFORT
from cablesim.report.words import counted
from cablesim.training.bags import first_probes, probes_of
from cablesim.training.beliefs import Beliefs
from cablesim.training.case import Case
from cablesim.training.difficulty import NEARLY, TILE_M, half_widths_m, width_of
from cablesim.training.evidence import loosened_probes
from cablesim.training.levels import DECIDING

__all__ = ["ReadingMark", "mark_readings"]

_FOR_EACH_MISREADING = 0.8
# Twice the minutes that were needed are no fault; beyond them a fifth of the topic goes.
_MINUTES_FREE, _MINUTES_SHARE = 2.0, 0.2


@dataclass(frozen=True, slots=True)
class ReadingMark:
    """What the readings earned.

    Parameters
    ----------
    score
        Of the topic, from 0 to 1.
    reach
        The same for the place alone, from 0 to 1: it asks neither for the kind of damage, nor for
        minutes, nor whether a number was misread.
    why
        Sentences that say what is missing from all of it.
    """

    score: float
    reach: float
    why: tuple[str, ...]


def mark_readings(
    case: Case, beliefs: Beliefs, readings: Sequence[Reading], misread: int
) -> ReadingMark:
    """Mark what was read.

    Parameters
    ----------
    case
        With its truth: it says what readings could have done.
    beliefs
        What these readings leave open.
    readings
        As taken, of the damage.
    misread
        How many of them the meter cannot have shown.
    """
    if not readings:
        return ReadingMark(0.0, 0.0, ("Nothing was read.",))
    # A place is of no use while it is open what is broken.
    likeliest = max(beliefs.verdicts.values())
    decided = min(1.0, likeliest / DECIDING)
    misreadings = _FOR_EACH_MISREADING**misread
    why = []
    if decided < 1.0:
        why.append(
            f"The readings leave open what is broken: the likeliest has {100 * likeliest:.0f} %, "
            f"and {100 * DECIDING:.0f} % count as decided."
        )
    if not case.faults:
        return ReadingMark(decided * misreadings, 1.0, tuple(why))
    probes = probes_of(case.cable, case.scenario.meters)
    width = width_of(case.cable, case.faults, loosened_probes(case.cable, case.faults, probes))
    target_m = max(NEARLY * width.half_width_m, TILE_M)
    taken = [reading.probe for reading in readings]
    (reached_m,) = half_widths_m(case.cable, case.faults, taken, [range(len(taken))])
    reach = min(1.0, target_m / reached_m)
    needed = dict.fromkeys(
        (*first_probes(case.cable, case.scenario.meters), *(probes[k] for k in width.needed))
    )
    if reach < 1.0:
        why.append(
            f"The readings allow {reached_m:.2f} m either way; {target_m:.2f} m could be had with "
            f"{counted(len(needed), 'reading')} of the bag."
        )
    free, spent = _MINUTES_FREE * _minutes(list(needed)), _minutes(taken)
    economy = min(1.0, free / max(spent, 1e-9))
    if economy < 1.0:
        why.append(f"The readings took {spent:.0f} minutes; up to {free:.0f} cost nothing.")
    score = reach * decided * (1.0 - _MINUTES_SHARE * (1.0 - economy)) * misreadings
    return ReadingMark(score, reach, tuple(why))


def _minutes(probes: Sequence[Probe]) -> float:
    usual = (USUAL_EFFORT.get(probe.meter.kind) for probe in probes)
    return math.fsum(effort.minutes for effort in usual if effort is not None)
