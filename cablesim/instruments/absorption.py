"""An insulation test as time goes by: apparent resistance, its two ratios, and the charge left.

Three currents flow. Charging the capacitance is over within milliseconds on a floor-heating cable;
absorption falls slowly, nearly as one over the time; leakage stays. So the apparent resistance
rises, and two ratios of it say how much of the current is absorption: the dielectric absorption
ratio (60 s over 30 s) and the polarization index (10 min over 1 min). Where leakage prevails both
are 1.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.dielectric import absorption_of, corrected_to_temperature
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.charging import charged
from cablesim.instruments.discharge import Discharge, discharge
from cablesim.instruments.insulation_tester import InsulationTester, capacitance_farad
from cablesim.instruments.readings import Probe, predict
from cablesim.instruments.relaxation import Insulation
from cablesim.line.circuit import terminal_network
from cablesim.line.piece import uniform_piece

__all__ = ["READ_AT_S", "InsulationTest", "insulation_of", "insulation_test"]

# When an insulation test is read: the ratios need 30 s, 60 s and 10 min (from memory of IEEE 43);
# 15 s is common practice, no source.
READ_AT_S = (15.0, 30.0, 60.0, 600.0)
# Above this resistance at one minute the polarization index says nothing: IEEE 43-2013, as quoted.
_INDEX_UP_TO_OHM = 5e9
_CURVE_S = (1e-3, 1e4)
_CURVE_POINTS = 141
# A capacitor of no capacitance at all has no motion.
_LEAST_FARAD = 1e-18


@dataclass(frozen=True, slots=True, eq=False)
class InsulationTest:
    """What an insulation tester finds on one cable, from the first millisecond on.

    Parameters
    ----------
    probe
        The tester, its leads and its voltage.
    insulation
        Capacitance, leakage and absorption between the leads.
    read_ohm
        What an ideal tester shows after 15 s, 30 s, 60 s and 10 min [ohm].
    seconds : ndarray, shape (times,)
        Times of the curve [s].
    volt, ampere : ndarray, shape (times,)
        At the terminals [V, A].
    temperature_c
        Temperature of the insulation [C].
    discharge
        What stays on the cable after ten minutes, and for how long.
    """

    probe: Probe
    insulation: Insulation
    read_ohm: tuple[float, float, float, float]
    seconds: FloatArray
    volt: FloatArray
    ampere: FloatArray
    temperature_c: float
    discharge: Discharge

    @property
    def apparent_ohm(self) -> FloatArray:
        """Voltage over current at the times of the curve [ohm]."""
        with np.errstate(divide="ignore"):
            return self.volt / self.ampere

    @property
    def absorption_ratio(self) -> float:
        """Dielectric absorption ratio: 60 s over 30 s."""
        return _ratio(self.read_ohm[2], self.read_ohm[1])

    @property
    def polarization_index(self) -> float:
        """Polarization index: 10 min over 1 min."""
        return _ratio(self.read_ohm[3], self.read_ohm[2])

    @property
    def index_means_something(self) -> bool:
        """Whether the resistance at one minute is low enough for the index to tell anything."""
        return self.read_ohm[2] <= _INDEX_UP_TO_OHM

    @property
    def steady_ohm(self) -> float:
        """Resistance when all is absorbed [ohm]."""
        leak = self.insulation.leak_siemens
        return 1.0 / leak if leak > 0 else np.inf

    @property
    def minute_ohm_at_20_c(self) -> float:
        """Reading at one minute as it would be at 20 C [ohm]."""
        return float(corrected_to_temperature(self.read_ohm[2], self.temperature_c))


def _ratio(later_ohm: float, earlier_ohm: float) -> float:
    if np.isinf(earlier_ohm):
        return 1.0  # nothing flowed at either time
    return later_ohm / earlier_ohm


def insulation_of(cable: Cable, faults: tuple[Fault, ...], probe: Probe) -> Insulation:
    """Capacitance, leakage and absorption between the leads of a tester.

    Parameters
    ----------
    cable, faults
        The damaged cable; plain numbers, no batch.
    probe
        What the leads touch.
    """
    hookup = probe.hookup
    network = terminal_network(cable, faults, hookup.terminals)
    farad = float(capacitance_farad(cable, faults, hookup, uniform_piece))
    leak = float(np.asarray(network.between_leads(hookup)[0, 1], float))
    return Insulation(max(farad, _LEAST_FARAD), leak, absorption_of(cable))


def insulation_test(cable: Cable, faults: tuple[Fault, ...], probe: Probe) -> InsulationTest:
    """Test the insulation of a cable for ten minutes, and let it discharge.

    Parameters
    ----------
    cable, faults
        The damaged cable; plain numbers, no batch.
    probe
        An insulation tester and its leads.

    Raises
    ------
    InputError
        If the meter is no insulation tester.

    Examples
    --------
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", 30.0, 88.2, insulation_gigaohm_m=100.0, loss_tangent=0.07)
    >>> found = insulation_test(cable, (), standard_probes(cable)[3])
    >>> round(found.steady_ohm / 1e9, 3), round(found.polarization_index, 3)
    (1.538, 1.012)
    """
    tester = probe.meter
    if not isinstance(tester, InsulationTester):
        raise InputError("meter", tester.kind, "an insulation_tester")
    insulation = insulation_of(cable, faults, probe)
    probes = [
        replace(probe, setting=replace(probe.setting, seconds=seconds)) for seconds in READ_AT_S
    ]
    megohm = predict(cable, faults, probes)
    seconds = np.geomspace(*_CURVE_S, _CURVE_POINTS)
    source = tester.source(probe.setting)
    volt, ampere, _ = charged(insulation, source, seconds)
    _, _, last = charged(insulation, source, np.array([READ_AT_S[-1]]))
    fifteen, thirty, minute, ten = (float(value) * tester.unit_size for value in megohm)
    return InsulationTest(
        probe=probe,
        insulation=insulation,
        read_ohm=(fifteen, thirty, minute, ten),
        seconds=seconds,
        volt=volt,
        ampere=ampere,
        temperature_c=cable.temperature_c,
        discharge=discharge(insulation, last),
    )
