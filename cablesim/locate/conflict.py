"""Readings that no hypothesis explains: which one fits least."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.instruments.readings import Reading
from cablesim.locate.weighing import Posterior, posterior

__all__ = ["conflict_of"]

# What an ohmmeter's few volts do not show, and what an open lead shows.
_ONLY_AT_VOLTAGE = (
    "; insulation that holds at an ohmmeter's few volts may fail at the test voltage, so until "
    "this is explained the cable is unsafe to use"
)
_TOO_GOOD = (
    "; insulation this good may be that of a lead which did not touch, so until this is explained "
    "it does not count as tested"
)
# Readings, and hypotheses, tried when a conflict is traced to one reading. The best fit may bend to
# the one that is wrong, so that it is not among the worst.
_MOST_READINGS, _MOST_SUSPECTS = 8, 3


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
    beside = ""
    if probe.meter.kind == "insulation_tester":
        too_good = answers[0].residual[worst] < 0.0
        beside = _TOO_GOOD if too_good else _ONLY_AT_VOLTAGE
    named = f"{probe.meter.name.replace('_', ' ')} {' to '.join(probe.hookup.across)}"
    number = 1 + (worst if numbers is None else numbers[worst])
    told = "no single fault and no usual double damage explains "
    if len(readings) == 1:
        told += f"reading {number} ({named})"
    else:
        told += f"these readings together; the one that fits least is reading {number} ({named})"
    return f"{told}: take it again, and check its leads, its unit and the cable's data{beside}"
