"""A loop bridge: what balances, and how small an unbalance it still shows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.instruments.meter import Meter, Setting
from cablesim.line.circuit import TerminalNetwork, terminal_network
from cablesim.line.several import Installation
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

    A balance is found as well as an unbalance is seen: the battery drives a current through the
    fault, and a galvanometer shows the smallest part of it that it can (`unseen`). The defaults are
    those of a sensitive galvanometer and a high-voltage source (common practice, no source).

    Parameters
    ----------
    divisions
        Divisions of the slide.
    battery_volt
        Voltage between the junction of the arms and the return [V].
    galvanometer_microamp
        Smallest current that the galvanometer shows [uA].
    galvanometer_ohm
        Resistance of the galvanometer [ohm].
    slide_ohm
        Resistance of both arms of the slide together [ohm].
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
    battery_volt: float = 500.0
    galvanometer_microamp: float = 0.001
    galvanometer_ohm: float = 100.0
    slide_ohm: float = 100.0
    # Kilohm to megohm, more with a high-voltage source: from memory of the IEEE 1234 family. Beyond
    # it too little current flows through the fault to find a balance.
    reach_ohm: ClassVar[float] = 10e6
    reach_volt: ClassVar[float] = 500.0

    def __post_init__(self) -> None:
        Meter.__post_init__(self)
        for name in ("battery_volt", "galvanometer_microamp", "slide_ohm"):
            require(name, getattr(self, name), above=0.0)
        require("galvanometer_ohm", self.galvanometer_ohm, at_least=0.0)

    @property
    def largest_ohm(self) -> float:
        """Largest resistance of the fault at which a balance is found [ohm]."""
        return self.reach_ohm * max(1.0, self.battery_volt / self.reach_volt)

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
            with np.errstate(invalid="ignore"):
                return _or_infinite(first / (first + second))
        if setting.arms is None:
            raise InputError(what="arms_ohm", got=None, allowed="the two ratio arms [P, Q]")
        # P I1 = Q I2 and V1 - V2 = S I2, solved for S with V1 = 1.
        ratio = setting.arms[1] / setting.arms[0]
        with np.errstate(invalid="ignore", divide="ignore"):
            share = (first + cores * (1 + ratio)) / (ratio * second + cores * (1 + ratio))
            rest = (ratio * second - first) / (ratio * second + cores * (1 + ratio))
            return _or_infinite(rest / (second * share - cores * rest))

    def unseen(
        self,
        cable: Cable | Installation,
        faults: tuple[Fault, ...],
        hookup: Hookup,
        setting: Setting,
    ) -> FloatArray | float:
        """How far from balance the galvanometer stays at rest: a share of 1, or of the box [ohm].

        The network between the leads is a star: ``R1`` on the sound way and ``R2`` on the faulty
        way to the fault, ``Rf`` from there to the return. With the current ``I`` of the battery the
        arms ``P`` and ``Q``, the box ``S`` and ``T = P + Q + S + R1 + R2``, an open galvanometer
        would show ``I (Q R1 - P (R2 + S)) / T``, behind ``(P + Q) (R1 + R2 + S) / T``.
        """
        if setting.method == "capacitance":
            return 0.0
        network = terminal_network(cable, faults, hookup.terminals)
        siemens = network.between_leads(hookup)
        first, second, cores = (
            np.asarray(siemens[pair], float) for pair in ((0, 2), (1, 2), (0, 1))
        )
        balance = self.exact(network, hookup, setting)
        with np.errstate(invalid="ignore", divide="ignore"):
            delta = cores * (first + second) + first * second
            sound, faulty, fault = second / delta, first / delta, cores / delta
            if setting.method == "varley":
                assert setting.arms is not None  # or there is no balance
                p, q = (np.asarray(arm, float) for arm in setting.arms)
                box = np.maximum(balance, 0.0)
            else:
                p, q = (1 - balance) * self.slide_ohm, balance * self.slide_ohm
                box = np.zeros_like(balance)
            loop = sound + faulty + box
            total = p + q + loop
            ampere = self.battery_volt / (fault + (p + sound) * (q + faulty + box) / total)
            behind = self.galvanometer_ohm + (p + q) * loop / total
            volt = self.galvanometer_microamp * 1e-6 * behind
            # Voltage for each unit of the balance: of the slide's share, or of the box.
            slope = p if setting.method == "varley" else self.slide_ohm * loop
            found = volt * total / (ampere * slope)
        return np.where(np.isfinite(found) & np.isfinite(balance), found, 0.0)

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
