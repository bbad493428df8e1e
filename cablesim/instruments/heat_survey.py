"""What a person finds with an energised cable: up to where it is warm, or where a spot is hot.

The hand, a thermometer or a camera is no meter with a display, but what it finds is evidence on the
fault's place all the same, with an even error of so many metres either way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Flashover, Joint
from cablesim.cable.materials import alloy
from cablesim.cable.numbers import FloatArray, Real, require
from cablesim.instruments.meter import Meter, Setting
from cablesim.line.terminals import Hookup

__all__ = ["EDGE", "SOUGHT", "SPOT", "USUAL_WITHIN_M", "HeatSurvey"]

# How near a person places an edge of warmth or a hot spot; common practice, no source.
USUAL_WITHIN_M = 0.3
# What is looked for: where the warm part ends, or a hot spot.
SOUGHT = EDGE, SPOT = ("edge", "spot")
# Beyond a short the cable counts as cold where it gets less than this share of the voltage: a
# quarter of the heat (common practice, no source).
_COLD_SHARE = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatSurvey(Meter):
    """Warmth along an energised cable, as a person finds it.

    What it shows is a place [m from the cold joint]. The edge of warmth lies at a core-to-core
    short of little resistance, or at a break of a cable that heats between its cores; with a break
    anywhere else nothing is warm, 0; where all is warm there is no edge, over range. A hot spot
    lies at the fault; a clean break and a cable without damage have none.
    """

    kind: ClassVar[str] = "heat"
    unit: ClassVar[str] = "m"
    unit_size: ClassVar[float] = 1.0
    reads_leads: ClassVar[bool] = False
    sees_places: ClassVar[bool] = True

    accuracy_percent: float = 0.0
    # Steps of the place in half the width of the error; the step follows from it.
    accuracy_counts: float = 30.0
    counts: float = 1e6
    resolution: float = 0.01
    top_range: float = 1e4

    def __post_init__(self) -> None:
        Meter.__post_init__(self)
        require("accuracy_counts", self.accuracy_counts, above=0.0)

    def step_of(self, value: FloatArray | float, setting: Setting) -> FloatArray:
        """Step in which a place is told [m]: so that the counts part is the error of the survey."""
        step = (setting.within_m or USUAL_WITHIN_M) / self.accuracy_counts
        return np.full(np.shape(value), step)

    def exact_of(
        self, cable: Cable, faults: tuple[Fault, ...], hookup: Hookup, setting: Setting
    ) -> FloatArray:
        """The place that is looked for [m]; infinite where there is none.

        Parameters
        ----------
        cable, faults
            May be a batch. Of several places the one nearest to the thermostat counts.
        hookup
            What is energised.
        setting
            Its method is ``edge`` or ``spot``.
        """
        find = _edge_m if setting.method == EDGE else _spot_m
        places = [find(cable, fault) for fault in faults]
        nearest: FloatArray = np.asarray(np.inf)
        for place in places:
            nearest = np.minimum(nearest, place)
        return np.maximum(nearest, 0.0)


def _spot_m(cable: Cable, fault: Fault) -> Real:
    """Where a fault heats; infinite for one that carries no current."""
    if isinstance(fault, Flashover):
        return np.inf
    heats = np.isfinite(fault.resistance_ohm)
    return np.where(heats, fault.position_m, np.inf)


def _edge_m(cable: Cable, fault: Fault) -> Real:
    """Where the warmth ends that a fault leaves; infinite where it leaves all warm."""
    between = cable.construction.heats_between
    if isinstance(fault, Joint | Flashover):
        return np.inf
    if isinstance(fault, Break):
        if fault.conductors == ("braid",):
            return np.inf
        cut = np.isposinf(fault.resistance_ohm)
        return np.where(cut, fault.position_m if between else 0.0, np.inf)
    if "braid" in fault.between:
        return np.inf
    # The share of the voltage that is left beyond: of a loop through what lies beyond it, or, where
    # the heating lies between the cores, behind what the cores lose on the way.
    warm = alloy(cable.core_alloy).factor(cable.temperature_c)
    loop = sum(cable.core_ohm_per_m) * warm
    along = (
        loop * np.maximum(fault.position_m, 0.0) + 2 * cable.cold_lead_ohm_per_m * cable.cold_lead_m
        if between
        else loop * np.maximum(cable.heated_length_m - fault.position_m, 0.0)
    )
    share = fault.resistance_ohm / np.maximum(fault.resistance_ohm + along, 1e-300)
    return np.where(share < _COLD_SHARE, fault.position_m, np.inf)
