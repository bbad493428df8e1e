"""Readings as evidence: taken on the bench, and loosened where the display did not settle."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.instruments.drift import predict_range
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.unsteady import loose
from cablesim.training.bench import Bench

__all__ = ["loosened_probes", "taken"]


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
        loose(probe, number) if restless else probe
        for number, (probe, restless) in enumerate(zip(probes, moved, strict=True), start=1)
    )


def _step(probe: Probe, value: float) -> float:
    """What the display resolves at this value; infinite beyond its range."""
    meter, setting = probe.meter, probe.setting
    if not value < meter.over_range_from(setting):
        return 0.0
    return float(meter.step_of(value, setting))
