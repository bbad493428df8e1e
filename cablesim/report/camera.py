"""Will a thermal camera see the damage? The two ways to warm it, for an answer from readings.

The cable may be energised at a low voltage, which warms it as far as the current gets and the
damage itself; or bursts of a withstand tester may warm the damage alone.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.withstand_tester import WithstandTester
from cablesim.locate.estimate import Estimate, FaultEstimate
from cablesim.report.energised import energised_answer
from cablesim.report.heat import HeatAnswer
from cablesim.report.warm import BURNS_KELVIN, WarmAnswer, warm_answer
from cablesim.scenario.scenario import Scenario
from cablesim.site.heat import CAMERA_KELVIN, SPOT_MM
from cablesim.site.layers import USUAL_DEPTH_MM, Floor, Layer, usual_floor
from cablesim.site.response import spot_response
from cablesim.site.schedule import best_schedule, burst_watt

__all__ = ["ARC_VOLT", "CameraAnswer", "camera_answer", "damage_as_located", "struck_volt"]

# Low voltages that are at hand, the highest first [V], and how long they are left on [s]; common
# practice, no source.
_VOLTS, _ENERGISED_S = (48.0, 24.0, 12.0), 20 * 60.0
_BURSTS_S = 600.0
# At which voltage a gap strikes where that was not read, and at which its arc burns [V]; common
# practice, no source.
_USUAL_STRIKE_VOLT, ARC_VOLT = 1000.0, 60.0
# Less than this is not worth a search: the surface rises by some hundredths of a kelvin [W].
_LEAST_WATT = 0.02


@dataclass(frozen=True, slots=True)
class CameraAnswer:
    """What a thermal camera would see of damage where the readings put it.

    Parameters
    ----------
    floor
        Layers and depth that were taken.
    layers_known
        Whether the scenario states the layers; else they are the usual ones.
    energised
        The cable on a low voltage.
    tester
        The withstand tester that was taken.
    burst_watt
        What it leaves in the damage [W]; None where nothing of it can take power.
    bursts
        Its best bursts; None where none will do.
    no_bursts
        Why none will do, in a clause; empty where some do, or where nothing takes power.
    """

    floor: Floor
    layers_known: bool
    energised: WarmAnswer
    tester: WithstandTester
    burst_watt: float | None
    bursts: HeatAnswer | None
    no_bursts: str = ""


def camera_answer(scenario: Scenario, estimate: Estimate) -> CameraAnswer | None:
    """Warm the damage where the readings put it.

    Parameters
    ----------
    scenario
        Cable, floor and meters; its stated faults are not used.
    estimate
        What its readings say.

    Returns
    -------
    CameraAnswer or None
        None where nothing is broken.
    """
    faults = damage_as_located(estimate.faults, struck_volt(scenario))
    if not faults:
        return None
    floor, known = _floor_of(scenario)
    damaged = replace(scenario, faults=faults)
    volt = _bearable_volt(damaged, floor)
    warm = warm_answer(
        energised_answer(damaged, volt=volt),
        floor,
        scenario.plan,
        after_s=_ENERGISED_S,
        camera_kelvin=CAMERA_KELVIN,
    )
    own = [m for m in scenario.meters.values() if isinstance(m, WithstandTester)]
    tester = own[0] if own else WithstandTester(name="withstand tester")
    leaks = [fault for fault in faults if _takes_power(fault)]
    watt = None
    bursts, why = None, ""
    if leaks:
        struck = not isinstance(leaks[0], Flashover) or tester.top_range >= leaks[0].breakdown_volt
        watt = burst_watt(tester.top_range, tester.limit_milliamp, leaks[0]) if struck else 0.0
        why = "too little for a camera to see through this floor within ten minutes"
        if watt >= _LEAST_WATT:
            found = best_schedule(floor, watt, within_s=_BURSTS_S, spot_limit_kelvin=BURNS_KELVIN)
            if found.seen is not None:
                bursts = HeatAnswer(found.seen, found)
            why = found.reason or ""
    return CameraAnswer(floor, known, warm, tester, watt, bursts, why)


def struck_volt(scenario: Scenario) -> float | None:
    """Lowest voltage at which a withstand tester tripped [V]; None where none did."""
    tripped = [
        float(reading.shown)
        for reading in scenario.readings
        if isinstance(reading.probe.meter, WithstandTester) and math.isfinite(reading.shown)
    ]
    return min(tripped, default=None)


def _takes_power(fault: Fault) -> bool:
    if isinstance(fault, Short | Degraded):
        return float(fault.resistance_ohm) > 0.0
    return isinstance(fault, Flashover)


def damage_as_located(
    found: Sequence[FaultEstimate], struck_volt: float | None = None
) -> tuple[Fault, ...]:
    """Faults at their best places, with their likeliest resistance.

    Parameters
    ----------
    found
        As located.
    struck_volt
        Voltage at which a gap struck [V], where that was read.

    Examples
    --------
    >>> damage_as_located([FaultEstimate("break", None, ("core1",), 3.0, (2, 4), ((2, 4),), None)])
    (Break(conductors=('core1',), at_m=3.0, resistance_ohm=inf),)
    """
    faults: list[Fault] = []
    for one in found:
        at_m, ohm = one.position_m, one.resistance_ohm or 0.0
        if one.between is not None and one.kind == "flashover":
            strikes = max(struck_volt or _USUAL_STRIKE_VOLT, ARC_VOLT)
            faults.append(Flashover(one.between, at_m, strikes, ARC_VOLT))
        elif one.between is not None and one.kind == "degraded":
            faults.append(Degraded(one.between, at_m, at_m, max(ohm, 1e-3)))
        elif one.between is not None:
            faults.append(Short(one.between, at_m, ohm))
        elif one.kind == "joint":
            faults += [Joint(name, at_m, ohm) for name in one.conductors or ()]
        elif one.conductors:
            faults.append(Break(one.conductors, at_m))
    return tuple(faults)


def _floor_of(scenario: Scenario) -> tuple[Floor, bool]:
    """The layers of the file with the cable at its usual depth in them, or the usual floor."""
    if scenario.floor is None or not scenario.floor.layers:
        return usual_floor(), False
    try:
        layers = tuple(Layer.of(row.material, row.thickness_mm) for row in scenario.floor.layers)
    except InputError:  # a covering of which nothing is known
        return usual_floor(), False
    thickness = sum(layer.thickness_mm for layer in layers)
    if thickness < USUAL_DEPTH_MM + SPOT_MM:
        return usual_floor(), False
    return Floor(layers, USUAL_DEPTH_MM), True


def _bearable_volt(damaged: Scenario, floor: Floor) -> float:
    """The highest of the low voltages that does not burn the damage, or the lowest of them."""
    lowest = energised_answer(damaged, volt=_VOLTS[-1]).damaged.lump_watt
    one_watt = spot_response(floor, SPOT_MM, _ENERGISED_S)
    kelvin = float(one_watt.rise(np.array([_ENERGISED_S]), slice(-1, None))[0][0, 0])
    hottest = float(np.max(lowest, initial=0.0)) * kelvin
    most = _VOLTS[-1] * math.sqrt(BURNS_KELVIN / hottest) if hottest > 0.0 else math.inf
    return next((volt for volt in _VOLTS if volt <= most), _VOLTS[-1])
