"""Classes of meters for suites of cases: what a person, a workshop and a laboratory hold in hand.

The accuracies are those of usual meters of each class (common practice, no source); none is of any
one product. Cases and calibration runs that are published were drawn with them, so they do not
change; method studies have classes of their own, with more kinds, in `cablesim.benchmark.grades`.
"""

from __future__ import annotations

from dataclasses import replace

from cablesim.cable.cable import Cable
from cablesim.errors import looked_up
from cablesim.instruments.meters import (
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Meter,
    Ohmmeter,
    Setting,
)
from cablesim.instruments.readings import Probe
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup

__all__ = ["METER_CLASSES", "probes_of"]

METER_CLASSES: dict[str, dict[str, Meter]] = {
    "cheap": {
        "ohmmeter": Ohmmeter(name="ohmmeter"),
        "insulation_tester": InsulationTester(name="insulation_tester"),
        "capacitance_meter": CapacitanceMeter(name="capacitance_meter"),
    },
    "good": {
        "ohmmeter": Ohmmeter(
            name="ohmmeter",
            accuracy_percent=0.5,
            accuracy_counts=2,
            counts=6000,
            resolution=0.1,
            top_range=60e6,
            lead_ohm=0.2,
            lead_ohm_tolerance=0.1,
        ),
        "insulation_tester": InsulationTester(name="insulation_tester", accuracy_percent=10),
        "capacitance_meter": CapacitanceMeter(
            name="capacitance_meter", accuracy_percent=1, accuracy_counts=3, counts=6000
        ),
    },
    "bench": {
        "ohmmeter": Ohmmeter(
            name="ohmmeter",
            accuracy_percent=0.05,
            accuracy_counts=3,
            counts=50000,
            resolution=0.01,
            top_range=50e6,
            lead_ohm=0.0,
            lead_ohm_tolerance=0.02,
        ),
        "insulation_tester": InsulationTester(name="insulation_tester", accuracy_percent=5),
        "capacitance_meter": CapacitanceMeter(
            name="capacitance_meter", accuracy_percent=0.5, accuracy_counts=5, counts=20000
        ),
    },
}
"""Meters of each class by their kind; ``bridge`` is the good class with a loop bridge besides."""
METER_CLASSES["bridge"] = {**METER_CLASSES["good"], "loop_bridge": LoopBridge(name="loop_bridge")}

_ARMS = (100.0, 100.0)


def probes_of(cable: Cable, meter_class: str) -> tuple[Probe, ...]:
    """The readings that one takes on a cable with the meters of a class.

    The usual ones; with a loop bridge its balances by Murray and by Varley too, where the cable
    closes a loop.

    Parameters
    ----------
    cable
        As rated.
    meter_class
        One of `METER_CLASSES`.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> len(probes_of(cable, "good")), len(probes_of(cable, "bridge"))
    (7, 9)
    """
    meters = looked_up("meter class", meter_class, METER_CLASSES)
    usual = [replace(p, meter=meters[p.meter.kind]) for p in standard_probes(cable)]
    bridge = meters.get("loop_bridge")
    if bridge is None:
        return tuple(usual)
    if cable.construction.returns:
        across = ("core1@far", "core1", "braid")
    elif cable.far_end == "joined":
        across = ("core2", "core1", "braid")
    else:
        return tuple(usual)
    hookup = Hookup.of(cable, across)
    settings = (Setting(method="murray"), Setting(method="varley", arms=_ARMS))
    return (*usual, *(Probe(bridge, hookup, setting) for setting in settings))
