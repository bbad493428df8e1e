"""Exact line of two conductors against cascades of scikit-rf, over a band.

A core in its braid with what is broken in it is a chain of two-ports: distributed lines, resistors
in series and across. Nothing here comes from `cablesim.line` but what is compared.
"""

from __future__ import annotations

from functools import reduce
from itertools import pairwise

import numpy as np
import skrf
from outside.check import Outcome, Worst, check
from skrf.media import DistributedCircuit

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Joint, Short
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup
from cablesim.line.touchstone import scattering, usual_ports

_PORT_OHM = 50.0
# Below it scikit-rf loses digits: the wave impedance of a leaking line grows with the inverse root
# of the frequency, far from the reference of its ports. There mpmath and ngspice are the judges.
BAND_HZ = np.geomspace(1e3, 1e8, 31)


def random_single(rng: np.random.Generator):
    """A single-conductor cable with up to three faults, each behind the one before."""

    def drawn(low: float, high: float) -> float:
        return float(10 ** rng.uniform(low, high))

    length_m = float(rng.uniform(5, 100))
    cable = Cable.rated(
        "single",
        length_m,
        core_ohm_per_m=(drawn(-2, 1),),
        braid_ohm_per_m=drawn(-2, 0),
        cold_lead_m=float(rng.uniform(0.5, 5)),
        insulation_gigaohm_m=drawn(-1, 4),
        capacitance_core_braid_pf_per_m=drawn(1.5, 2.5),
        velocity_factor=float(rng.uniform(0.4, 0.9)),
        loss_tangent=drawn(-4, -1.5),
        cold_lead_capacitance_core_braid_pf_per_m=drawn(1.5, 2.5),
        cold_lead_insulation_gigaohm_m=drawn(-1, 4),
        cold_lead_velocity_factor=float(rng.uniform(0.4, 0.9)),
        cold_lead_loss_tangent=drawn(-4, -1.5),
    )
    places = np.sort(rng.uniform(0, length_m, 4))
    faults = [
        Short(("core1", "braid"), float(places[0]), drawn(0, 6)),
        Joint(("core1", "braid")[rng.integers(2)], float(places[1]), drawn(-1, 4)),
        Degraded(("core1", "braid"), float(places[2]), float(places[3]), drawn(1, 6)),
    ]
    return cable, tuple(fault for fault in faults if rng.random() < 0.7)


def cascade(cable: Cable, faults) -> skrf.Network:
    """The whole cable between its two ends."""
    band = skrf.Frequency.from_f(BAND_HZ, unit="hz")
    omega = 2 * np.pi * BAND_HZ

    def line(begin_m: float, end_m: float) -> skrf.Network:
        heated = 0 <= begin_m < cable.heated_length_m
        part = "" if heated else "cold_lead_"
        angle = np.arctan(getattr(cable, f"{part}loss_tangent"))
        farad = getattr(cable, f"{part}capacitance_core_braid_pf_per_m") * 1e-12
        # A constant-phase element, right at 1 kHz; the inductance is that of pulses at 10 MHz.
        element = farad / np.cos(angle) * (2 * np.pi * 1e3) ** (2 * angle / np.pi)
        siemens = element * (1j * omega) ** (1 - 2 * angle / np.pi)
        pulse_farad = farad * 1e4 ** (-2 * angle / np.pi)
        velocity = getattr(cable, f"{part}velocity_factor") * 299792458.0
        henry = 1 / (velocity**2 * pulse_farad)
        ohm = cable.core_ohm_per_m[0] if heated else cable.cold_lead_ohm_per_m
        leak = 1e-9 / getattr(cable, f"{part}insulation_gigaohm_m")
        for fault in faults:
            if isinstance(fault, Degraded) and fault.from_m <= begin_m < fault.to_m:
                leak += 1 / (fault.resistance_ohm * (fault.to_m - fault.from_m))
        media = DistributedCircuit(
            band,
            z0_port=_PORT_OHM,
            C=siemens.imag / omega,
            L=henry,
            R=ohm + cable.braid_ohm_per_m,
            G=siemens.real + leak,
        )
        return media.line(end_m - begin_m, "m")

    def lumps(at_m: float) -> list[skrf.Network]:
        media = skrf.media.DefinedGammaZ0(band, z0=_PORT_OHM)
        found = []
        for fault in faults:
            if isinstance(fault, Short) and fault.at_m == at_m:
                found.append(media.shunt(media.resistor(fault.resistance_ohm) ** media.short()))
            elif isinstance(fault, Joint) and fault.at_m == at_m:
                found.append(media.resistor(fault.resistance_ohm))
        return found

    places = {cable.first_m, 0.0, cable.heated_length_m, cable.last_m}
    for fault in faults:
        places |= {fault.from_m, fault.to_m} if isinstance(fault, Degraded) else {fault.at_m}
    chain: list[skrf.Network] = []
    ordered = sorted(places)
    for begin_m, end_m in pairwise(ordered):
        chain += [*lumps(begin_m), line(begin_m, end_m)]
    return reduce(lambda one, other: one**other, chain)


@check(
    "scattering parameters of 30 damaged single-conductor cables from end to end, 1 kHz to 100 MHz",
    against="scikit-rf, cascade of DistributedCircuit lines and resistors",
    source="no publication: scikit-rf, the microwave network library",
    allowed=1e-9,
    why="the cascade subtracts where impedances are far from those of the ports",
)
def cascade_end_to_end() -> Outcome:
    rng, worst = np.random.default_rng(31), Worst()
    for number in range(30):
        cable, faults = random_single(rng)
        found = scattering(cable, faults, usual_ports(cable), BAND_HZ, _PORT_OHM)
        apart = np.abs(found - cascade(cable, faults).s).max(axis=(1, 2))
        for frequency_hz, value in zip(BAND_HZ, apart, strict=True):
            worst.add(value, f"case {number}, {frequency_hz} Hz, {faults}, {cable}")
    return worst.outcome()


@check(
    "impedance of the same cables with the far end open, 1 kHz to 100 MHz",
    against="scikit-rf, cascade of DistributedCircuit lines and resistors",
    source="no publication: scikit-rf, the microwave network library",
    allowed=1e-8,
    why="the impedance of the cascade comes from 1 - S, which loses digits where it is far from 50",
)
def cascade_open() -> Outcome:
    rng, worst = np.random.default_rng(31), Worst()
    for number in range(30):
        cable, faults = random_single(rng)
        hookup = Hookup.of(cable, ("core1", "braid"))
        network = terminal_network(cable, faults, hookup.terminals, BAND_HZ)
        found = 1 / np.asarray(network.between_leads(hookup)[0, 1])
        s = cascade(cable, faults).s
        into = s[:, 0, 0] + s[:, 0, 1] * s[:, 1, 0] / (1 - s[:, 1, 1])  # all comes back from there
        wanted = _PORT_OHM * (1 + into) / (1 - into)
        for frequency_hz, value in zip(BAND_HZ, np.abs(found / wanted - 1), strict=True):
            worst.add(value, f"case {number}, {frequency_hz} Hz, {faults}, {cable}")
    return worst.outcome()


CHECKS = [cascade_end_to_end, cascade_open]
