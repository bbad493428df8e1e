"""A loop bridge: what balances, and how small an unbalance it still shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.meter import Meter, Setting
from cablesim.line.circuit import TerminalNetwork
from cablesim.line.terminals import Hookup

__all__ = ["LoopBridge"]


def _or_infinite(balance: NDArray[np.float64]) -> FloatArray:
    """Infinite for zero over zero: with no path to the return there is nothing to balance."""
    return np.where(np.isnan(balance), np.inf, balance)


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
