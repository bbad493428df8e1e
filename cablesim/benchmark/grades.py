"""Meter classes of method studies: a cheap bag, a good one, and a bench, with every kind of meter.

The accuracies are what such meters state (common practice, no source), but for the insulation
testers' limit of 30 % (from memory of IEC 61557-2). The classes that suites of cases are drawn with
stand in `cablesim.benchmark.meter_classes`: they are part of what was published, and stay.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from cablesim.instruments.meters import (
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Meter,
    Ohmmeter,
    PulseEcho,
)
from cablesim.instruments.readings import Probe

__all__ = ["GRADES", "graded"]

_BAGS: Final[dict[str, tuple[Meter, ...]]] = {
    # Hand-held, 2000 counts; a bridge with a slide of 1000 divisions on a 9 V battery.
    "cheap": (
        Ohmmeter(name="ohmmeter"),
        CapacitanceMeter(name="capacitance_meter"),
        InsulationTester(name="insulation_tester"),
        LoopBridge(name="loop_bridge", battery_volt=9.0, galvanometer_microamp=0.1),
        PulseEcho(name="pulse_echo", rise_ns=10.0, noise_percent=1.0),
    ),
    # Hand-held, 6000 counts, leads touched together before use; a bridge of 100 V.
    "good": (
        Ohmmeter(
            name="ohmmeter",
            accuracy_percent=0.5,
            accuracy_counts=2,
            counts=6000,
            top_range=60e6,
            lead_ohm=0.2,
            lead_ohm_tolerance=0.05,
        ),
        CapacitanceMeter(
            name="capacitance_meter", accuracy_percent=1.0, accuracy_counts=3, counts=6000
        ),
        InsulationTester(name="insulation_tester", accuracy_percent=10.0),
        LoopBridge(name="loop_bridge", battery_volt=100.0, galvanometer_microamp=0.01),
        PulseEcho(name="pulse_echo"),
    ),
    # On a bench: four leads, 50 000 counts; a slide of 10 000 divisions on 500 V.
    "bench": (
        Ohmmeter(
            name="ohmmeter",
            accuracy_percent=0.05,
            accuracy_counts=3,
            counts=50000,
            resolution=0.001,
            top_range=50e6,
            lead_ohm=0.0,
            lead_ohm_tolerance=0.005,
        ),
        CapacitanceMeter(
            name="capacitance_meter", accuracy_percent=0.1, accuracy_counts=3, counts=20000
        ),
        InsulationTester(name="insulation_tester", accuracy_percent=5.0, accuracy_counts=2),
        LoopBridge(name="loop_bridge", accuracy_percent=0.02, divisions=10e3, resolution=0.01),
        PulseEcho(
            name="pulse_echo",
            accuracy_percent=0.02,
            counts=100e3,
            resolution=0.1,
            rise_ns=0.5,
            noise_percent=0.1,
        ),
    ),
}

# For each class its meters by kind.
GRADES: Final[Mapping[str, Mapping[str, Meter]]] = {
    grade: {meter.kind: meter for meter in bag} for grade, bag in _BAGS.items()
}


def graded(probes: Sequence[Probe], bag: Mapping[str, Meter]) -> tuple[Probe, ...]:
    """The same readings taken with the meters of a bag.

    Parameters
    ----------
    probes
        The readings; of a kind that the bag lacks the meter stays as it is.
    bag
        Meters by kind, such as ``GRADES["good"]``.
    """
    return tuple(replace(probe, meter=bag.get(probe.meter.kind, probe.meter)) for probe in probes)
