"""Readings that no hypothesis explains: which one fits least."""

from __future__ import annotations

from collections.abc import Collection, Sequence

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
# From here on insulation is called good: IEC 60364-6:2016, table 6.1, at 500 V (from memory).
_GOOD_MEGOHM = 1.0
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
    *,
    suspects: Collection[int] = (),
    established: Collection[str] = (),
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
    suspects
        Readings that are asked about, of these numbers: they are tried first.
    established
        Kinds of damage that alone were held possible; all unless given.
    """
    if answers[0].probability > 0:
        return ""
    numbers = range(len(readings)) if numbers is None else numbers
    # The reading without which the rest makes sense, tried from the worst misfit down.
    off = np.abs(answers[0].residual)
    order = sorted(range(len(readings)), key=lambda k: (numbers[k] not in suspects, -off[k]))
    worst = int(np.argmax(off))
    likely = [a.hypothesis for a in answers[:_MOST_SUSPECTS]]
    for k in order[:_MOST_READINGS] if len(readings) > 1 else ():
        rest = [*readings[:k], *readings[k + 1 :]]
        if posterior(cable, rest, table=likely)[0].probability > 0:
            worst = k
            break
    probe = readings[worst].probe
    beside = ""
    if probe.meter.kind == "insulation_tester":
        if answers[0].residual[worst] >= 0.0:
            beside = _ONLY_AT_VOLTAGE
        elif readings[worst].shown >= _GOOD_MEGOHM:
            beside = _TOO_GOOD
    named = f"{probe.meter.name.replace('_', ' ')} {' to '.join(probe.hookup.across)}"
    number = 1 + numbers[worst]
    told = "no single fault and no usual double damage explains "
    if established:
        told = f"of what is established ({', '.join(sorted(established))}) nothing explains "
        beside = f", and whether that is established{beside}"
    if len(readings) == 1:
        told += f"reading {number} ({named})"
    else:
        told += f"these readings together; the one that fits least is reading {number} ({named})"
    return f"{told}: take it again, and check its leads, its unit and the cable's data{beside}"
