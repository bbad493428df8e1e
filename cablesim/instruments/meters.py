"""The meters in the bag: what each one shows, and by how much it may be wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.instruments.heat_survey import HeatSurvey
from cablesim.instruments.insulation_tester import InsulationTester
from cablesim.instruments.loop_bridge import LoopBridge
from cablesim.instruments.meter import MOST_RANGES, Meter, Setting, ohms
from cablesim.instruments.pulse_echo import PulseEcho
from cablesim.instruments.withstand_tester import WithstandTester
from cablesim.line.circuit import TerminalNetwork
from cablesim.line.terminals import Hookup

__all__ = [
    "METER_KINDS",
    "MOST_RANGES",
    "CapacitanceMeter",
    "HeatSurvey",
    "InsulationTester",
    "LoopBridge",
    "Meter",
    "Ohmmeter",
    "PulseEcho",
    "Setting",
    "WithstandTester",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ohmmeter(Meter):
    """A hand-held ohmmeter.

    The defaults are those of a cheap one: 2000 counts, 0.1 ohm steps, +-(0.8 % + 3 counts), leads
    of 0.1 to 0.5 ohm (common practice, no source).
    """

    kind: ClassVar[str] = "ohmmeter"
    unit: ClassVar[str] = "ohm"
    unit_size: ClassVar[float] = 1.0

    accuracy_percent: float = 0.8
    accuracy_counts: float = 3.0
    counts: float = 2000.0
    resolution: float = 0.1
    top_range: float = 20e6
    lead_ohm: float = 0.3
    lead_ohm_tolerance: float = 0.2

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """Resistance between the two leads [ohm], without that of the leads."""
        return ohms(network, hookup)


@dataclass(frozen=True, slots=True, kw_only=True)
class CapacitanceMeter(Meter):
    """A hand-held capacitance range, +-(2.5 % + 5 counts) (common practice, no source).

    It shows the parallel capacitance at its frequency, from the full admittance of cable and
    faults: the resistance of cores and braid and every leak count. 1 kHz is the usual frequency of
    such a range (common practice, no source).
    """

    kind: ClassVar[str] = "capacitance_meter"
    unit: ClassVar[str] = "nF"
    unit_size: ClassVar[float] = 1e-9
    reads_leads: ClassVar[bool] = False
    gives_up: ClassVar[bool] = True
    # Loss factor up to which such a range still measures; common practice, no source.
    largest_loss: ClassVar[float] = 1.0

    accuracy_percent: float = 2.5
    accuracy_counts: float = 5.0
    counts: float = 2000.0
    resolution: float = 0.001
    top_range: float = 20e3

    def frequency_hz(self, setting: Setting) -> float:
        """Frequency of the reading [Hz]."""
        return setting.frequency_hz or 1000.0

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """Parallel capacitance between the two leads [nF]; infinite where the loss is too large."""
        value, past = self.past_limit(network, hookup, setting)
        return np.where(past > 0.0, np.inf, value)

    def past_limit(
        self, network: TerminalNetwork, hookup: Hookup, setting: Setting
    ) -> tuple[FloatArray, FloatArray]:
        """Parallel capacitance [nF], and the logarithm of the loss factor over the largest."""
        admittance = np.asarray(network.between_leads(hookup)[0, 1])
        passing, storing = np.real(admittance), np.imag(admittance)
        farad = storing / (2 * np.pi * np.real(np.asarray(network.frequency_hz)))
        least = 1e-300  # where nothing joins the leads
        loss = np.maximum(passing, least) / np.maximum(self.largest_loss * storing, least)
        return np.asarray(farad / self.unit_size), np.asarray(np.log(loss), float)


METER_KINDS: dict[str, type[Meter]] = {
    meter.kind: meter
    for meter in (
        Ohmmeter,
        InsulationTester,
        CapacitanceMeter,
        LoopBridge,
        PulseEcho,
        HeatSurvey,
        WithstandTester,
    )
}
