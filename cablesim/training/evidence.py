"""Readings as evidence: taken on the bench, and loosened where the display did not settle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.instruments.drift import predict_range
from cablesim.instruments.readings import Probe, Reading
from cablesim.training.bench import Bench

__all__ = ["LOOSE_PERCENT", "loosened", "loosened_probes", "taken"]

LOOSE_PERCENT = 60.0
"""A display that does not settle says no more than the order of size: its reading counts as one of
a meter of its own with this accuracy [%]. A fault that drifts by 50 % or less stays within it."""


def taken(bench: Bench, probes: Sequence[Probe], first: int = 1) -> tuple[Reading, ...]:
    """Take readings one after the other.

    Parameters
    ----------
    bench
        The bench of a case.
    probes
        What to read.
    first
        Number of the first action.
    """
    shown = [bench.display(probe, number) for number, probe in enumerate(probes, start=first)]
    return tuple(
        Reading(probe, display.value, unsteady=display.unsteady)
        for probe, display in zip(probes, shown, strict=True)
    )


def loosened_probes(
    cable: Cable, faults: tuple[Fault, ...], probes: Sequence[Probe]
) -> tuple[Probe, ...]:
    """Probes as what they will be evidence of, where some displays will not settle.

    Parameters
    ----------
    cable, faults
        The damaged cable.
    probes
        What will be read.
    """
    if not any(getattr(fault, "drift_percent", 0.0) for fault in faults):
        return tuple(probes)
    low, high = predict_range(cable, faults, probes)
    with np.errstate(invalid="ignore"):
        moved = [not high[k] - low[k] < _step(probe, high[k]) for k, probe in enumerate(probes)]
    return tuple(
        _loose(probe, number) if restless else probe
        for number, (probe, restless) in enumerate(zip(probes, moved, strict=True), start=1)
    )


def loosened(readings: Sequence[Reading]) -> tuple[Reading, ...]:
    """Readings as an estimator may take them, which holds a fault to be the same at each.

    Parameters
    ----------
    readings
        As taken.
    """
    return tuple(
        replace(reading, probe=_loose(reading.probe, number)) if reading.unsteady else reading
        for number, reading in enumerate(readings, start=1)
    )


def _loose(probe: Probe, number: int) -> Probe:
    meter = probe.meter
    own = replace(
        meter,
        name=f"{meter.name[:24]}-unsteady-{number}",
        accuracy_percent=max(meter.accuracy_percent, LOOSE_PERCENT),
    )
    return replace(probe, meter=own)


def _step(probe: Probe, value: float) -> float:
    """What the display resolves at this value; infinite beyond its range."""
    meter, setting = probe.meter, probe.setting
    if not value < meter.over_range_from(setting):
        return 0.0
    return float(meter.step_of(value, setting))
