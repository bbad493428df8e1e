"""Readings as evidence where a display did not settle: they say no more than the order of size.

What is broken is held to be the same at each reading. Damage that drifts is not: so a reading of it
counts as one of a meter of its own, with an error as large as the drift.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from cablesim.instruments.readings import Probe, Reading

__all__ = ["LOOSE_PERCENT", "loose", "loosened"]

LOOSE_PERCENT = 60.0
"""Accuracy of a display that does not settle [%]. Damage that drifts by 50 % or less stays within
it."""


def loosened(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Readings as evidence of damage that is the same at each.

    Parameters
    ----------
    readings
        As taken.
    """
    return tuple(
        replace(reading, probe=loose(reading.probe, number)) if reading.unsteady else reading
        for number, reading in enumerate(readings, start=1)
    )


def loose(probe: Probe, number: int) -> Probe:
    """The probe whose display did not settle at this reading, with a meter of its own.

    Parameters
    ----------
    probe
        As it is.
    number
        Of the reading, from 1.
    """
    meter = probe.meter
    own = replace(
        meter,
        name=f"{meter.name[:24]}, unsteady at reading {number}",
        accuracy_percent=max(meter.accuracy_percent, LOOSE_PERCENT),
    )
    return replace(probe, meter=own)
