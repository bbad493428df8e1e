"""What is usual: settings that a person need not state, and the readings worth taking first."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from cablesim.cable.cable import Cable
from cablesim.errors import InputError, nearest
from cablesim.instruments.heat_survey import SPOT, USUAL_WITHIN_M, HeatSurvey
from cablesim.instruments.insulation_tester import USUAL_TEST_VOLT
from cablesim.instruments.meters import (
    METER_KINDS,
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Meter,
    Ohmmeter,
    Setting,
)
from cablesim.instruments.readings import Probe
from cablesim.line.terminals import Hookup

__all__ = [
    "USUAL_FREQUENCY_HZ",
    "USUAL_TEST_VOLT",
    "standard_probes",
    "usual_meter",
    "usual_setting",
]

# Common practice, no source.
USUAL_FREQUENCY_HZ = 1000.0


def usual_meter(kind: str, name: str | None = None) -> Meter:
    """Make a meter of a kind with the errors that are usual for it.

    Parameters
    ----------
    kind
        Kind as in the scenario file.
    name
        Its name; the kind where left out.

    Raises
    ------
    InputError
        If the kind is unknown; the message gives the nearest known one.
    """
    make: Callable[..., Meter] | None = METER_KINDS.get(kind)
    if make is None:
        near = nearest(kind, METER_KINDS)
        raise InputError(
            what="kind of meter",
            got=kind,
            allowed="one of " + ", ".join(METER_KINDS),
            try_this=f"did you mean {near}?" if near else None,
        )
    return make(name=name or kind)


def usual_setting(meter: Meter, setting: Setting | None = None) -> Setting:
    """Fill in what a setting leaves open, where the meter has something usual.

    Parameters
    ----------
    meter
        The meter that is set.
    setting
        What is known of its setting.
    """
    setting = setting or Setting()
    if isinstance(meter, HeatSurvey):
        return replace(
            setting,
            method=setting.method or SPOT,
            within_m=USUAL_WITHIN_M if setting.within_m is None else setting.within_m,
        )
    if isinstance(meter, InsulationTester) and setting.test_volt is None:
        return replace(setting, test_volt=USUAL_TEST_VOLT)
    by_capacitance = isinstance(meter, LoopBridge) and setting.method == "capacitance"
    if (isinstance(meter, CapacitanceMeter) or by_capacitance) and setting.frequency_hz is None:
        return replace(setting, frequency_hz=USUAL_FREQUENCY_HZ)
    return setting


def standard_probes(cable: Cable) -> tuple[Probe, ...]:
    """The readings that are taken first on a cable, with the usual meters.

    Resistance between every two conductors (end to end on a single-conductor cable), insulation of
    all cores to the braid, and the capacitances that place a break: each core to all the rest and
    both cores to the braid, or the core to the braid from either end.

    Parameters
    ----------
    cable
        The cable; its construction decides.

    Examples
    --------
    >>> cable = Cable.rated("single", heated_length_m=30.0, loop_resistance_ohm=44.1)
    >>> for probe in standard_probes(cable):
    ...     print(probe.meter.kind, " - ".join(probe.hookup.across))
    ohmmeter core1 - core1@far
    ohmmeter core1 - braid
    insulation_tester core1 - braid
    capacitance_meter core1 - braid
    capacitance_meter core1@far - braid
    """
    ohmmeter, insulation, capacitance = (
        usual_meter(kind.kind) for kind in (Ohmmeter, InsulationTester, CapacitanceMeter)
    )
    wanted: tuple[tuple[Meter, str, str], ...]
    if cable.construction.returns:
        wanted = (
            (ohmmeter, "core1", "core1@far"),
            (ohmmeter, "core1", "braid"),
            (insulation, "core1", "braid"),
            (capacitance, "core1", "braid"),
            (capacitance, "core1@far", "braid"),
        )
    else:
        wanted = (
            (ohmmeter, "core1", "core2"),
            (ohmmeter, "core1", "braid"),
            (ohmmeter, "core2", "braid"),
            (insulation, "core1+core2", "braid"),
            (capacitance, "core1", "core2+braid"),
            (capacitance, "core2", "core1+braid"),
            (capacitance, "core1+core2", "braid"),
        )
    return tuple(
        Probe(meter, Hookup.of(cable, (first, second)), usual_setting(meter))
        for meter, first, second in wanted
    )
