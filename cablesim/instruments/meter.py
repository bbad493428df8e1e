"""What all meters have in common: a display, ranges, and four kinds of error.

A meter's error has four parts with four lives. The percent part of its accuracy is ONE unknown gain
for all readings on one range; its leads are ONE unknown resistance for all its readings; the counts
part is drawn anew at each reading; and the display rounds. Limits of accuracy are rectangular
distributions (from memory of JCGM 100, 4.3.7).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.line.circuit import TerminalNetwork
from cablesim.line.layout import MeshMaker
from cablesim.line.several import Installation
from cablesim.line.terminals import Hookup

__all__ = ["MOST_RANGES", "Meter", "Setting", "first_of_kind", "ohms"]

# More than any meter has.
MOST_RANGES = 16


@dataclass(frozen=True, slots=True)
class Setting:
    """How a meter was set for one reading; what does not apply to it stays None.

    Parameters
    ----------
    test_volt
        Test voltage of an insulation tester [V].
    seconds
        How long an insulation tester's voltage was on [s]; None where the reading was steady.
    frequency_hz
        Frequency of a capacitance meter [Hz].
    method
        Method of a loop bridge; what a heat survey looks for, ``edge`` or ``spot``.
    limit_milliamp
        Current at which a withstand tester trips [mA], where it is set for one reading.
    arms
        Ratio arms of a loop bridge next to its first and its second lead [ohm or divisions].
    sign
        Which echoes of a pulse echo meter count: ``"+"`` or ``"-"``.
    within_m
        How far a place found by its warmth may be off, either way [m].
    """

    test_volt: float | None = None
    seconds: float | None = None
    frequency_hz: float | None = None
    method: str | None = None
    limit_milliamp: float | None = None
    arms: tuple[float, float] | None = None
    sign: str | None = None
    within_m: float | None = None


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
    # Whether it sees where the faults are (`exact_of`) and not what the network between its leads
    # is (`exact`).
    sees_places: ClassVar[bool] = False
    # Whether its readings count as evidence of where the damage is.
    used_by_locate: ClassVar[bool] = True
    # Whether it gives up, and says over range, beyond a limit of its own (`past_limit`).
    gives_up: ClassVar[bool] = False

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

    def seconds(self, setting: Setting) -> float | None:
        """Time since the voltage was put on [s]; None where that makes no difference."""
        return None

    def exact_in(
        self,
        network: TerminalNetwork,
        faults: tuple[Fault, ...],
        hookup: Hookup,
        setting: Setting,
        mesh_of: MeshMaker,
    ) -> FloatArray:
        """What an ideal meter would show, where the network between its leads does not tell all.

        Parameters
        ----------
        network
            Between the terminals, at the meter's frequency and time.
        faults
            What is broken.
        hookup, setting
            As for `exact`.
        mesh_of
            As for `terminal_network`.
        """
        return self.exact(network, hookup, setting)

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """What an ideal meter would show, in its unit; infinite where nothing joins the leads."""
        raise NotImplementedError

    def past_limit(
        self, network: TerminalNetwork, hookup: Hookup, setting: Setting
    ) -> tuple[FloatArray, FloatArray]:
        """What it would show if it never gave up, and how far past its limit it is.

        Of a meter that gives up: `exact` is infinite where the second is above 0. A search follows
        these two where `exact` jumps.
        """
        raise NotImplementedError

    def exact_of(
        self, cable: Cable, faults: tuple[Fault, ...], hookup: Hookup, setting: Setting
    ) -> FloatArray:
        """The same of a meter that sees places, straight from the cable and its faults."""
        raise NotImplementedError

    def unseen(
        self,
        cable: Cable | Installation,
        faults: tuple[Fault, ...],
        hookup: Hookup,
        setting: Setting,
    ) -> FloatArray | float:
        """How far a reading may be off without anything to be seen, in the meter's unit."""
        return 0.0

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

    @property
    def lowest_shown(self) -> float:
        """Least number on the display, in the meter's unit; whatever is less shows as it."""
        return 0.0

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


def first_of_kind(meters: Iterable[Meter]) -> dict[str, Meter]:
    """The meter that stands for each kind where a reading is not asked for by name: its first.

    Parameters
    ----------
    meters
        In their order.

    Returns
    -------
    dict
        By kind.
    """
    found: dict[str, Meter] = {}
    for meter in meters:
        found.setdefault(meter.kind, meter)
    return found


def ohms(network: TerminalNetwork, hookup: Hookup) -> FloatArray:
    """Resistance between the first two leads [ohm]; infinite where nothing joins them."""
    siemens = np.asarray(network.between_leads(hookup)[0, 1], float)
    with np.errstate(divide="ignore"):
        return np.asarray(np.reciprocal(siemens))
