"""Charging, absorbing and discharging of insulation, exactly, step by step of what drives it.

The power law of the absorption current is replaced by branches of a resistor and a capacitor each,
side by side, their time constants evenly spaced in the logarithm (the trapezoidal rule for
``t^-n = 1 / Gamma(n) integral of u^(n-1) e^(-u t) du``). Together with the plain capacitance and
the leakage they make a linear circuit whose motion is a sum of exponentials, found from the
eigenvectors of a symmetric matrix. What drives it is constant in each step: a voltage behind a
resistance, a current, a resistor, or nothing at all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

import numpy as np

from cablesim.cable.cable import CAPACITANCE_FREQUENCY_HZ
from cablesim.cable.dielectric import Absorption
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError

__all__ = ["Drive", "Insulation", "Motion"]

# Spacing of the branches in the logarithm of their rates: the trapezoidal rule is then off by less
# than 1e-7 for exponents from 0.3 to 1.
_SPACING = 0.5
# Rates of the slowest branch, and of the fastest: what is faster belongs to the plain capacitance.
_SLOWEST_PER_S = 1e-12
_FASTEST_PER_S = 2 * math.pi * CAPACITANCE_FREQUENCY_HZ
# A search looks at so many times in so many rounds, each between two of the last.
_TIMES, _ROUNDS = 129, 7


class Drive(NamedTuple):
    """What feeds or loads the terminals during one step.

    Parameters
    ----------
    ampere
        Current pressed into the terminals [A].
    siemens
        Conductance across them [S].
    """

    ampere: float = 0.0
    siemens: float = 0.0

    @classmethod
    def voltage(cls, volt: float, behind_ohm: float) -> Drive:
        """A source of this voltage behind a resistance [V, ohm]; 0 V is a discharging resistor."""
        require("behind_ohm", behind_ohm, above=0.0)
        return cls(volt / behind_ohm, 1.0 / behind_ohm)


@dataclass(frozen=True)
class Insulation:
    """Insulation between two leads, as a tester feels it.

    Parameters
    ----------
    capacitance_farad
        Capacitance at the frequency of loss tangents, 1 kHz [F].
    leak_siemens
        Steady leakage [S].
    absorption
        Law of the absorption current; plain numbers.
    """

    capacitance_farad: float
    leak_siemens: float
    absorption: Absorption

    def __post_init__(self) -> None:
        require("capacitance_farad", self.capacitance_farad, above=0.0)
        require("leak_siemens", self.leak_siemens, at_least=0.0)
        if np.ndim(self.absorption.exponent) or np.ndim(self.absorption.factor):
            raise InputError("absorption", self.absorption, "one pair of plain numbers")

    @cached_property
    def branches(self) -> tuple[FloatArray, FloatArray]:
        """Conductance [S] and rate [1/s] of every absorbing branch, slowest first."""
        n, beta = float(self.absorption.exponent), float(self.absorption.factor)
        if beta == 0.0:
            return np.empty(0), np.empty(0)
        steps = math.ceil(math.log(_FASTEST_PER_S / _SLOWEST_PER_S) / _SPACING)
        rate = _FASTEST_PER_S * np.exp(-_SPACING * np.arange(steps + 1)[::-1])
        share = _SPACING * rate**n / math.gamma(n)
        # All the slower branches hold their current for longer than anyone waits: one for them all.
        share[0] /= -math.expm1(-_SPACING * n)
        return beta * self.capacitance_farad * share, rate

    @cached_property
    def _farad(self) -> FloatArray:
        siemens, rate = self.branches
        return np.append(self.capacitance_farad, siemens / rate)

    def energy_joule(self, volts: FloatArray) -> float:
        """Energy stored in the plain capacitance and in all branches [J].

        Parameters
        ----------
        volts : ndarray, shape (1 + branches,)
            Voltage of the terminals and of every branch's capacitor [V].
        """
        return float(self._farad @ volts**2) / 2

    def at_rest(self) -> FloatArray:
        """Voltages of insulation that has lain discharged for ever."""
        return np.zeros(len(self._farad))

    def motion(self, drive: Drive) -> Motion:
        """How the voltages move under a constant drive."""
        siemens, _ = self.branches
        root = np.sqrt(self._farad)
        matrix = np.diag(
            np.append(self.leak_siemens + drive.siemens + siemens.sum(), siemens) / self._farad
        )
        matrix[0, 1:] = matrix[1:, 0] = -siemens / (root[0] * root[1:])
        rates, modes = np.linalg.eigh(matrix)
        return Motion(np.maximum(rates, 0.0), modes, root, drive)


@dataclass(frozen=True)
class Motion:
    """Exact motion of insulation under one constant drive.

    Parameters
    ----------
    rates
        Rates of the exponentials [1/s].
    modes
        Their shapes, in columns.
    root_farad
        Square roots of the capacitances, which make the matrix symmetric.
    drive
        What feeds or loads the terminals.
    """

    rates: FloatArray
    modes: FloatArray
    root_farad: FloatArray
    drive: Drive

    def volts(self, start: FloatArray, seconds: Sequence[float] | FloatArray) -> FloatArray:
        """All voltages at some times after the start.

        Parameters
        ----------
        start : ndarray, shape (1 + branches,)
            Voltages at the start [V]: terminals first, then the branches' capacitors.
        seconds : shape (times,)
            Times after the start [s].

        Returns
        -------
        ndarray, shape (times, 1 + branches)
            Voltages [V].
        """
        found: FloatArray = self._moved(start, seconds) @ self.modes.T / self.root_farad
        return found

    def terminal_volt(self, start: FloatArray, seconds: Sequence[float] | FloatArray) -> FloatArray:
        """Voltage of the terminals alone [V], shape (times,); parameters as for `volts`."""
        found: FloatArray = self._moved(start, seconds) @ self.modes[0] / self.root_farad[0]
        return found

    def reached_after(
        self, start: FloatArray, volt: float, most_s: float, least_s: float = 0.0
    ) -> float:
        """Time at which the terminals reach a voltage, where they rise or fall all the way [s].

        Parameters
        ----------
        start : ndarray, shape (1 + branches,)
            Voltages at the start [V].
        volt
            The voltage wanted [V].
        most_s, least_s
            Bounds of the time [s]; the upper one is returned where it is too early still.
        """
        low, high = least_s, most_s
        rising = self.terminal_volt(start, [most_s])[0] >= start[0]
        for _ in range(_ROUNDS):
            times = np.linspace(low, high, _TIMES)
            found = self.terminal_volt(start, times)
            beyond = found >= volt if rising else found <= volt
            if not beyond[-1]:
                return most_s
            k = max(int(np.argmax(beyond)), 1)
            low, high = float(times[k - 1]), float(times[k])
        return high

    def _moved(self, start: FloatArray, seconds: Sequence[float] | FloatArray) -> FloatArray:
        times = np.asarray(seconds, float)[:, None]
        begun = self.modes.T @ (self.root_farad * start)
        push = self.modes[0] * (self.drive.ampere / self.root_farad[0])
        decay = self.rates * times
        held = np.where(decay > 0, -np.expm1(-decay) / np.maximum(self.rates, 1e-300), times)
        moved: FloatArray = begun * np.exp(-decay) + push * held
        return moved

    def ampere(self, volts: FloatArray) -> FloatArray:
        """Current that the drive presses into the terminals [A].

        Parameters
        ----------
        volts : ndarray, shape (..., 1 + branches)
            Voltages, as from `volts`.
        """
        found: FloatArray = self.drive.ampere - self.drive.siemens * volts[..., 0]
        return found
