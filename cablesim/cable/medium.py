"""What lies between the conductors of one part of a cable: its heated part, or its cold leads."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.cable.insulations import CAPACITANCE_FREQUENCY_HZ, PULSE_FREQUENCY_HZ
from cablesim.cable.numbers import Real
from cablesim.cable.screened import LIGHT_M_PER_S

__all__ = ["Medium"]

# Two conductors that see nothing of each other have no finite inductance.
_LEAST_FARAD_PER_M = 1e-18


@dataclass(frozen=True, slots=True, eq=False)
class Medium:
    """Insulation and fields of one part of a cable, per metre; numbers may be arrays.

    Parameters
    ----------
    cores
        Number of cores, 1 or 2, in one braid.
    capacitance_core_braid_pf_per_m, capacitance_core_core_pf_per_m
        Partial capacitances [pF/m].
    insulation_gigaohm_m
        Insulation resistance times length between every two conductors [Gohm m].
    velocity_factor
        Speed of pulses relative to that of light.
    loss_tangent
        At 1 kHz.
    absorption_exponent, absorption_factor
        As for `cablesim.cable.cable.Cable`.
    """

    cores: int
    capacitance_core_braid_pf_per_m: Real
    capacitance_core_core_pf_per_m: Real
    insulation_gigaohm_m: Real
    velocity_factor: Real
    loss_tangent: Real
    absorption_exponent: Real | None = None
    absorption_factor: Real | None = None

    def picked(self, rows: Callable[[Any], Any]) -> Medium:
        """The same for some rows of a batch only.

        Parameters
        ----------
        rows
            Picks them out of a number or an array.
        """
        exponent, factor = self.absorption_exponent, self.absorption_factor
        return Medium(
            self.cores,
            rows(self.capacitance_core_braid_pf_per_m),
            rows(self.capacitance_core_core_pf_per_m),
            rows(self.insulation_gigaohm_m),
            rows(self.velocity_factor),
            rows(self.loss_tangent),
            None if exponent is None else rows(exponent),
            None if factor is None else rows(factor),
        )

    def capacitance_pf_per_m(self, i: int, j: int) -> Real:
        """Partial capacitance of two conductors by their numbers, the braid last [pF/m]."""
        if max(i, j) == self.cores:
            return self.capacitance_core_braid_pf_per_m
        return self.capacitance_core_core_pf_per_m

    @property
    def pulse_velocity_m_per_s(self) -> Real:
        """Speed of sharp pulses [m/s], one for all pairs of conductors."""
        return self.velocity_factor * LIGHT_M_PER_S

    def at_pulses(self, capacitance: Real) -> Real:
        """What a capacitance read at 1 kHz is worth to pulses, in the same unit.

        A loss tangent that is the same at all frequencies goes with a capacitance that falls slowly
        as the frequency rises (see `cablesim.line.per_metre`).
        """
        return capacitance * (PULSE_FREQUENCY_HZ / CAPACITANCE_FREQUENCY_HZ) ** (
            -2 / np.pi * np.arctan(self.loss_tangent)
        )

    @property
    def inductance_henry_per_m(self) -> tuple[Real, ...]:
        """Partial inductance of each conductor [H/m], the cores, then the braid.

        In one homogeneous insulation all pulses run at one speed ``v``, and the inductances follow
        from the capacitances: ``[L] [C] = 1 / v^2``. With one core the whole inductance of the loop
        stands in the core. With two, three partial inductances without couplings do the same as the
        coupled ones: with ``D = c1 c2 + c12 (c1 + c2)``, c1 and c2 each core to braid and c12 core
        to core, they are ``c2 / (v^2 D)``, ``c1 / (v^2 D)`` and, in the braid, ``c12 / (v^2 D)``.

        Source: the homogeneous multiconductor line, C. R. Paul, Analysis of Multiconductor
        Transmission Lines (Wiley, 1994), from memory.
        """
        squared = self.pulse_velocity_m_per_s**2
        core_braid = self.at_pulses(self.capacitance_core_braid_pf_per_m) * 1e-12
        if self.cores == 1:
            return (1.0 / (squared * np.maximum(core_braid, _LEAST_FARAD_PER_M)), 0.0)
        core_core = self.at_pulses(self.capacitance_core_core_pf_per_m) * 1e-12
        # D over the capacitance of one core to the braid, which is the same for both cores.
        both = np.maximum(core_braid + 2 * core_core, _LEAST_FARAD_PER_M)
        core = 1.0 / (squared * both)
        braid = core * core_core / np.maximum(core_braid, _LEAST_FARAD_PER_M)
        return (core, core, braid)
