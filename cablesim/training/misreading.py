"""Whether a reading in a log is what the meter showed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cablesim.instruments.meters import Meter
from cablesim.instruments.readings import Probe, Reading
from cablesim.training.bench import Bench
from cablesim.training.case import Case
from cablesim.training.log import Played
from cablesim.training.log_tables import Read

__all__ = ["as_shown"]

# Beside the end of a range one look may be a number and the next over range.
_NEAR_THE_END = 0.98
# A display that does not settle stays within this factor of another look at it.
_UNSETTLED = 3.0


def as_shown(case: Case, done: Played) -> tuple[tuple[Reading, ...], tuple[int, ...]]:
    """Readings as the meters showed them, and the numbers of the actions that say otherwise.

    A number in a log that the meter cannot have shown, for all its errors, was misread or invented.
    In its place stands what the meter shows.

    Parameters
    ----------
    case
        The case.
    done
        What was done.
    """
    bench = Bench(case.true_cable, case.faults, case.key.seed)
    meters = case.scenario.meters
    found, wrong = [], []
    for reading, (number, action) in zip(done.readings, done.reads, strict=True):
        own = _own_meter(reading.probe, action, meters)
        shown = bench.display(own, number, action.zero_ohm)
        if reading.at_least or _can_be(reading, shown.value, shown.unsteady):
            found.append(reading)
            continue
        wrong.append(number)
        found.append(replace(reading, shown=shown.value, unsteady=shown.unsteady))
    return tuple(found), tuple(wrong)


def _own_meter(probe: Probe, action: Read, meters: object) -> Probe:
    """The probe with the meter of the bag, whose leads are as they are."""
    if not action.zeroed:
        return probe
    assert isinstance(meters, dict)
    meter: Meter = meters[action.reading.meter]
    return replace(probe, meter=meter)


def _can_be(reading: Reading, shown: float, unsteady: bool) -> bool:
    """Whether both can be displays of one and the same state."""
    meter, setting = reading.probe.meter, reading.probe.setting
    end = meter.over_range_from(setting)
    one, other = (min(value, end) for value in (reading.shown, shown))
    if np.isinf(reading.shown) or np.isinf(shown):
        return min(one, other) >= _NEAR_THE_END * end or (unsteady and one * _UNSETTLED > other)
    if unsteady and max(one, other) <= _UNSETTLED * min(one, other):
        return True
    step = float(max(meter.step_of(one, setting), meter.step_of(other, setting)))
    # Either is off by the counts at most, and by half a step of rounding.
    return abs(one - other) <= (2.0 * meter.accuracy_counts + 1.01) * step
