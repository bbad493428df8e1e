"""An insulation tester: a high direct voltage, and the resistance that it meets as time goes by."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from cablesim.cable.cable import CAPACITANCE_FREQUENCY_HZ, Cable
from cablesim.cable.dielectric import absorption_of
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.instruments.charging import Source, apparent_ohm
from cablesim.instruments.meter import Meter, Setting, ohms
from cablesim.line.circuit import TerminalNetwork, terminal_network
from cablesim.line.layout import MeshMaker
from cablesim.line.terminals import Hookup

__all__ = ["RATED_AMPERE", "USUAL_TEST_VOLT", "InsulationTester", "capacitance_farad"]

# Test voltage for circuits up to 500 V: from memory of IEC 60364-6, table 6.1.
USUAL_TEST_VOLT = 500.0
# Current at which a tester still gives its rated voltage: from memory of IEC 61557-2.
RATED_AMPERE = 1e-3
# After so many times the charging time, charging has changed the reading by less than 0.1 % of its
# absorption.
_CHARGED = 1000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class InsulationTester(Meter):
    """An insulation tester, direct current at a test voltage.

    From memory of IEC 61557-2 are its error limit of 30 %, and the limits of its source: at most
    1.25 times the test voltage without a load, at least 1 mA at the test voltage, at most 15 mA
    into a short. The values within these limits and the display are those of a common one (common
    practice, no source).

    Parameters
    ----------
    open_volt_percent
        Voltage without a load, in percent of the test voltage. At 1 mA it has come down to the
        test voltage, which gives the source its resistance.
    limit_milliamp
        Largest current [mA].
    """

    kind: ClassVar[str] = "insulation_tester"
    unit: ClassVar[str] = "Mohm"
    unit_size: ClassVar[float] = 1e6

    accuracy_percent: float = 30.0
    accuracy_counts: float = 3.0
    counts: float = 2000.0
    resolution: float = 0.001
    top_range: float = 2000.0
    open_volt_percent: float = 110.0
    limit_milliamp: float = 2.0

    def __post_init__(self) -> None:
        Meter.__post_init__(self)
        require("open_volt_percent", self.open_volt_percent, above=100.0, at_most=125.0)
        require("limit_milliamp", self.limit_milliamp, at_least=1.0, at_most=15.0)

    def seconds(self, setting: Setting) -> float | None:
        """Time since the voltage was put on [s]; None for a steady reading."""
        return setting.seconds

    def source(self, setting: Setting) -> Source:
        """The source at the test voltage that is set."""
        test_volt = setting.test_volt or USUAL_TEST_VOLT
        above = self.open_volt_percent / 100 - 1
        return Source(
            open_volt=test_volt * (1 + above),
            source_ohm=test_volt * above / RATED_AMPERE,
            limit_ampere=self.limit_milliamp * 1e-3,
        )

    def exact(self, network: TerminalNetwork, hookup: Hookup, setting: Setting) -> FloatArray:
        """Resistance between the two leads [Mohm], the cable charged."""
        return ohms(network, hookup) / self.unit_size

    def exact_in(
        self,
        network: TerminalNetwork,
        faults: tuple[Fault, ...],
        hookup: Hookup,
        setting: Setting,
        mesh_of: MeshMaker,
    ) -> FloatArray:
        """Resistance between the two leads [Mohm], the cable still charging where it is early."""
        after_s, source = setting.seconds, self.source(setting)
        if after_s is None:
            return self.exact(network, hookup, setting)
        cable = network.cable
        if after_s >= _CHARGED * source.charge_seconds(_most_farad(cable)):
            return self.exact(network, hookup, setting)
        steady = terminal_network(cable, faults, hookup.terminals, mesh_of=mesh_of)
        leak = np.asarray(steady.between_leads(hookup)[0, 1], float)
        drawn = np.asarray(network.between_leads(hookup)[0, 1], float)
        farad = capacitance_farad(cable, faults, hookup, mesh_of)
        absorbing = np.maximum(drawn - leak, 0.0)
        exponent = absorption_of(cable).exponent
        found = apparent_ohm(after_s, leak, farad, absorbing, exponent, source)
        return found / self.unit_size


def capacitance_farad(
    cable: Cable, faults: tuple[Fault, ...], hookup: Hookup, mesh_of: MeshMaker
) -> FloatArray:
    """Capacitance between the first two leads at the frequency of loss tangents [F].

    Parameters
    ----------
    cable, faults
        The damaged cable; numbers may be arrays over a batch.
    hookup
        What each lead touches.
    mesh_of
        As for `terminal_network`.
    """
    network = terminal_network(
        cable, faults, hookup.terminals, CAPACITANCE_FREQUENCY_HZ, mesh_of=mesh_of
    )
    admittance = np.asarray(network.between_leads(hookup)[0, 1])
    omega = 2 * np.pi * CAPACITANCE_FREQUENCY_HZ
    return np.asarray(np.maximum(np.imag(admittance), 0.0) / omega)


def _most_farad(cable: Cable) -> float:
    """More than any two leads can charge: all partial capacitances side by side [F]."""
    cores = len(cable.construction.cores)
    media = [cable.medium(heated=heated) for heated in (True, False)]
    per_m = [
        cores * medium.capacitance_core_braid_pf_per_m
        + (cores - 1) * medium.capacitance_core_core_pf_per_m
        for medium in media
    ]
    length_m = cable.last_m - cable.first_m
    return max(float(np.max(each * length_m)) for each in per_m) * 1e-12
