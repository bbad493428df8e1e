"""The meters in the bag: what each one shows, and by how much it may be wrong.

A meter's error has four parts with four lives. The percent part of its accuracy is ONE unknown gain
for all readings on one range; its leads are ONE unknown resistance for all its readings; the counts
part is drawn anew at each reading; and the display rounds. Limits of accuracy are rectangular
distributions (from memory of JCGM 100, 4.3.7).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.line.circuit import TerminalNetwork
from cablesim.line.terminals import Hookup

__all__ = [
    "METER_KINDS",
    "CapacitanceMeter",
    "InsulationTester",
    "LoopBridge",
    "Meter",
    "Ohmmeter",
    "Setting",
]

# More than any meter has.
MOST_RANGES = 16


@dataclass(frozen=True, slots=True)
class Setting:
    """How a meter was set for one reading; what does not apply to it stays None.

    Parameters
    ----------
    test_volt
        Test voltage of an insulation tester [V].
    frequency_hz
        Frequency of a capacitance meter [Hz].
    method
        Method of a loop bridge.
    arms
        Ratio arms of a loop bridge next to its first and its second lead [ohm or divisions].
    """

    test_volt: float | None = None
    frequency_hz: float | None = None
    method: str | None = None
    arms: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """What all meters have in common.

    Parameters
    ----------
    name
        Name in the scenario file; readings that share it share the meter's errors.
    accuracy_percent
        Percent part of the accuracy: one unknown gain for each range.
    accuracy_counts
        Counts part of the accuracy, in steps of the display; drawn anew at each reading.
    counts
        Steps of the display: 2000 shows up to 1999.
    resolution
        Step of the lowest range, in the meter's unit; each further range is ten times as coarse.
    top_range
        Full scale of the highest range, in the meter's unit.
    lead_ohm, lead_ohm_tolerance
        Resistance of both leads together, and by how much it may be off [ohm].
    """

    kind: ClassVar[str]
    unit: ClassVar[str]
    # Size of the unit in ohm, farad or as a pure number.
    unit_size: ClassVar[float]
    leads: ClassVar[int] = 2
    # Whether the resistance of the leads adds to the reading.
    reads_leads: ClassVar[bool] = True

    name: str
    accuracy_percent: float
    accuracy_counts: float
    counts: float
    resolution: float
    top_range: float
    lead_ohm: float = 0.0
    lead_ohm_tolerance: float = 0.0

    def __post_init__(self) -> None:
        require("accuracy_percent", self.accuracy_percent, at_least=0.0, at_most=100.0)
        require("accuracy_counts", self.accuracy_counts, at_least=0.0)
        require("counts", self.counts, at_least=10.0)
        require("resolution", self.resolution, above=0.0)
        lowest = self.counts * self.resolution
        require(
            "range",
            self.top_range,
            at_least=lowest * (1 - 1e-9),
            at_most=lowest * 10.0 ** (MOST_RANGES - 1),
        )
        most = math.inf if self.reads_leads else 0.0
        for name in ("lead_ohm", "lead_ohm_tolerance"):
            require(
                name,
                getattr(self, name),
                at_least=0.0,
                at_most=most,
                try_this=None if self.reads_leads else f"leave it out for a {self.kind}",
            )

    def frequency_hz(self, setting: Setting) -> float:
        """Frequency at which it measures [Hz]; 0 is direct current."""
        return 0.0

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """What an ideal meter would show, in its unit; infinite where nothing joins the leads."""
        raise NotImplementedError

    def range_of(self, value: FloatArray | float) -> NDArray[np.int64]:
        """Number of the range that the meter chooses for an indicated value; 0 is the lowest."""
        decades = np.log10(np.maximum(np.abs(value), 1e-300) / self.range_from(1))
        # What lies on the limit belongs to the higher range, though rounding may put it just under.
        return np.asarray(np.clip(np.floor(decades + 1e-12) + 1, 0, self.ranges - 1), np.int64)

    def range_from(self, number: int) -> float:
        """Indicated value from which a range is used, too large for the one below it [unit]."""
        return float(self.resolution * 10.0 ** (number - 1) * (self.counts - 0.5))

    def step_of(self, value: FloatArray | float, setting: Setting) -> FloatArray:
        """Step of the display on the range chosen for an indicated value, in the meter's unit."""
        return np.asarray(self.resolution * 10.0 ** self.range_of(value))

    def over_range_from(self, setting: Setting) -> float:
        """Indicated value from which the display says over range, in the meter's unit."""
        return self.range_from(self.ranges)

    def least(self, setting: Setting) -> float:
        """Least exact value, in the meter's unit; the display shows no less than zero."""
        return 0.0

    def shown(self, indicated: FloatArray | float, setting: Setting) -> FloatArray:
        """Round to the display; infinite where over range."""
        indicated = np.asarray(indicated, float)
        over = ~(np.abs(indicated) < self.over_range_from(setting))
        finite = np.where(over, 0.0, indicated)
        step = self.step_of(finite, setting)
        return np.where(over, np.inf, np.round(finite / step) * step)

    @property
    def ranges(self) -> int:
        """How many ranges it has."""
        return 1 + max(0, round(math.log10(self.top_range / (self.counts * self.resolution))))


def _or_infinite(balance: NDArray[np.float64]) -> FloatArray:
    """Infinite for zero over zero: with no path to the return there is nothing to balance."""
    return np.where(np.isnan(balance), np.inf, balance)


def _ohms(network: TerminalNetwork, hookup: Hookup) -> FloatArray:
    siemens = np.asarray(network.between_leads(hookup)[0, 1], float)
    with np.errstate(divide="ignore"):
        return np.asarray(np.reciprocal(siemens))


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
        return _ohms(network, hookup)


@dataclass(frozen=True, slots=True, kw_only=True)
class InsulationTester(Meter):
    """An insulation tester, direct current at a test voltage.

    Its error limit of 30 % is that of the standard (from memory of IEC 61557-2); the display is
    that of a common one (common practice, no source).
    """

    kind: ClassVar[str] = "insulation_tester"
    unit: ClassVar[str] = "Mohm"
    unit_size: ClassVar[float] = 1e6

    accuracy_percent: float = 30.0
    accuracy_counts: float = 3.0
    counts: float = 2000.0
    resolution: float = 0.001
    top_range: float = 2000.0

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """Resistance between the two leads [Mohm]."""
        return _ohms(network, hookup) / self.unit_size


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
        """Parallel capacitance between the two leads [nF]."""
        admittance = np.asarray(network.between_leads(hookup)[0, 1])
        farad = np.imag(admittance) / (2 * np.pi * network.frequency_hz)
        lossy = np.real(admittance) > self.largest_loss * np.imag(admittance)
        return np.where(lossy, np.inf, farad / self.unit_size)


@dataclass(frozen=True, slots=True, kw_only=True)
class LoopBridge(Meter):
    """A loop bridge: two ratio arms, and a box of resistance for the Varley method.

    Its three leads touch the sound core, the faulty core and the return (the braid), in this order;
    the two cores are linked or joined at the far end. What is read is

    - ``murray``: the share ``Q / (P + Q)`` of the arm at the faulty core;
    - ``varley``: the box in series with the faulty core, at fixed arms [ohm];
    - ``capacitance``: the share ``Q / (P + Q)`` where the arms balance two capacitances to the
    return.

    At balance no current flows between the cores' terminals, so leakage between the cores does not
    count in the first and the third. Source of the balance conditions: Hawkins Electrical Guide No.
    3 (1914), p. 516-525. The accuracy defaults are those of a slide of 1000 divisions (common
    practice, no source).
    """

    kind: ClassVar[str] = "loop_bridge"
    unit: ClassVar[str] = ""
    unit_size: ClassVar[float] = 1.0
    leads: ClassVar[int] = 3
    reads_leads: ClassVar[bool] = False
    methods: ClassVar[tuple[str, ...]] = ("murray", "varley", "capacitance")

    accuracy_percent: float = 0.1
    accuracy_counts: float = 0.5
    counts: float = 1e6
    resolution: float = 0.1
    top_range: float = 1e5
    divisions: float = 1000.0
    # Kilohm to megohm, more with a high-voltage source: from memory of the IEEE 1234 family. Beyond
    # it too little current flows through the fault to find a balance.
    largest_ohm: ClassVar[float] = 10e6

    def frequency_hz(self, setting: Setting) -> float:
        """0 for the direct-current methods, else the frequency of the capacitance balance [Hz]."""
        return (setting.frequency_hz or 1000.0) if setting.method == "capacitance" else 0.0

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """Balance of an ideal bridge: a share of 1, or the box [ohm] for the Varley method."""
        siemens = network.between_leads(hookup)
        first, second, cores = (np.asarray(siemens[pair]) for pair in ((0, 2), (1, 2), (0, 1)))
        if setting.method == "capacitance":
            first, second = np.imag(first), np.imag(second)
        else:
            first = np.where(first + second < 1.0 / self.largest_ohm, np.nan, first)
        if setting.method != "varley":
            with np.errstate(invalid="ignore", divide="ignore"):
                return _or_infinite(first / (first + second))
        if setting.arms is None:
            raise InputError(what="arms_ohm", got=None, allowed="the two ratio arms [P, Q]")
        # P I1 = Q I2 and V1 - V2 = S I2, solved for S with V1 = 1.
        ratio = setting.arms[1] / setting.arms[0]
        with np.errstate(invalid="ignore", divide="ignore"):
            share = (first + cores * (1 + ratio)) / (ratio * second + cores * (1 + ratio))
            rest = (ratio * second - first) / (ratio * second + cores * (1 + ratio))
            return _or_infinite(rest / (second * share - cores * rest))

    def step_of(self, value: FloatArray | float, setting: Setting) -> FloatArray:
        """One division of the slide, or one step of the box."""
        step = self.resolution if setting.method == "varley" else 1.0 / self.divisions
        return np.full(np.shape(value), step)

    def over_range_from(self, setting: Setting) -> float:
        """Largest box, or a whole slide: beyond it there is no balance."""
        return self.top_range if setting.method == "varley" else 1.0 + 1.0 / self.divisions

    def least(self, setting: Setting) -> float:
        """A box as large as there is, had it to go beside the sound core; or a slide at its end."""
        return -self.top_range if setting.method == "varley" else 0.0


METER_KINDS: dict[str, type[Meter]] = {
    meter.kind: meter for meter in (Ohmmeter, InsulationTester, CapacitanceMeter, LoopBridge)
}
