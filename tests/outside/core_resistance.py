"""When the resistance of the core may be neglected in a capacitance reading.

A line of resistance R and capacitance C, open at its end, has the admittance
``j w C tanh(u) / u`` with ``u^2 = j w R C``. For small ``w R C`` its parallel capacitance is
``C (1 - 2/15 (w R C)^2)`` and its loss factor ``w R C / 3``. Its inductance L, with
``u^2 = j w R C - w^2 L C``, adds ``w^2 L C / 3 + 2/15 (w^2 L C)^2``.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup

FREQUENCY_HZ = 1000.0
LENGTHS_M = (10.0, 30.0, 100.0, 200.0, 500.0, 1000.0, 2000.0)
CORES_OHM_PER_M = (0.1, 1.5, 10.0)


@dataclass(frozen=True)
class Row:
    """One cable, its capacitance without and with the resistance of core and braid."""

    core_ohm_per_m: float
    length_m: float
    plain_nanofarad: float
    read_nanofarad: float
    loss_factor: float
    omega_rc: float
    omega_squared_lc: float

    @property
    def effect(self) -> float:
        """By what part the reading lies under the plain capacitance."""
        return 1 - self.read_nanofarad / self.plain_nanofarad

    @property
    def rule(self) -> float:
        """The same by the rule for small w R C and w^2 L C."""
        q = self.omega_squared_lc
        return 2 / 15 * (self.omega_rc**2 - q**2) - q / 3


def row(core_ohm_per_m: float, length_m: float) -> Row:
    """A single cable without cold leads or leakage, core to braid, the far end open."""
    cable = Cable.rated(
        "single",
        length_m,
        core_ohm_per_m=(core_ohm_per_m,),
        cold_lead_m=0.0,
        insulation_gigaohm_m=np.inf,
        loss_tangent=0.0,
    )
    hookup = Hookup.of(cable, ("core1", "braid"))
    network = terminal_network(cable, (), hookup.terminals, FREQUENCY_HZ)
    admittance = complex(network.between_leads(hookup)[0, 1])
    omega = 2 * np.pi * FREQUENCY_HZ
    farad = float(cable.capacitance_core_braid_pf_per_m) * 1e-12 * length_m
    ohm = (core_ohm_per_m + float(cable.braid_ohm_per_m)) * length_m
    return Row(
        core_ohm_per_m,
        length_m,
        farad * 1e9,
        admittance.imag / omega * 1e9,
        admittance.real / admittance.imag,
        omega * ohm * farad,
        omega**2 * sum(map(float, cable.inductance_henry_per_m)) * length_m * farad,
    )


def rows() -> list[Row]:
    return [row(ohm, length) for ohm in CORES_OHM_PER_M for length in LENGTHS_M]
