"""Exact line against the circuit simulator ngspice, on random damaged cables."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from outside.cases import Case, Decades, random_case
from outside.check import Outcome, Worst, check, some
from outside.netlist import Netlist, marked_points_m

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup

# A nodal solver subtracts: it keeps 1e-16 of the conductance of one rung, so readings of 1e9 ohm
# beside rungs of 10 mohm would be lost. Wet insulation and a braid of some resistance keep it where
# it is good to the allowance: readings from 10 ohm to 10 Mohm.
WITHIN_REACH = Decades(
    core_ohm_per_m=(0, 1),
    braid_ohm_per_m=(-0.5, 0.5),
    cold_lead_ohm_per_m=(-1, -0.5),
    insulation_gigaohm_m=(-3, -1),
    shunt_ohm=(0, 5),
    series_ohm=(0, 5),
    stretch_ohm=(2.5, 5),
    special=False,
)
# What a capacitance meter can still read: leaks well above the reactance of the cable.
_DRY = replace(WITHIN_REACH, insulation_gigaohm_m=(0, 3), shunt_ohm=(6, 9), stretch_ohm=(6, 9))
_RUNG_ERROR = 1e-7
PAIRS = {
    "twin": [("core1", "core2"), ("core1", "braid"), ("core2", "braid")],
    "single": [("core1", "braid"), ("core1", "core1@far"), ("core1", "braid@far")],
}
NGSPICE = "ngspice, lumped rungs, one netlist of all cables"


def _cut_clean(cable: Cable, fault: Fault) -> Fault:
    """Make every second break a clean one, unless it would leave a part with no potential."""
    every = len(fault.conductors) == len(cable.conductors) if isinstance(fault, Break) else True
    if every or fault.resistance_ohm < 300:
        return fault
    return replace(fault, resistance_ohm=np.inf)


def cases_within(seed: int, count: int, decades: Decades) -> list[Case]:
    rng = np.random.default_rng(seed)
    found: list[Case] = []
    while len(found) < count:
        case = random_case(rng, decades)
        # A rung between marks that nearly meet would be less than the 1 mohm ngspice can do.
        if not case.faults or min(np.diff(marked_points_m(case.cable, case.faults))) < 0.1:
            continue
        found.append(Case(case.cable, tuple(_cut_clean(case.cable, f) for f in case.faults)))
    return found


def _spice(cases, frequency_hz: float) -> list[list[complex]]:
    netlist = Netlist(_RUNG_ERROR, frequency_hz)
    for case in cases:
        netlist.add(case.cable, case.faults, PAIRS[case.cable.construction.name])
    return netlist.solve()


def _spice_limit(cases, frequency_hz: float) -> list[list[complex]]:
    """Two sizes of rungs, extrapolated: the error falls with the fourth power."""
    found = []
    for refined in (1, 2):
        netlist = Netlist(1e-4, frequency_hz, refined)
        for case in cases:
            netlist.add(case.cable, case.faults, PAIRS[case.cable.construction.name])
        found.append(netlist.solve())
    return [
        [fine + (fine - coarse) / 3 for coarse, fine in zip(*pair, strict=True)]
        for pair in zip(*found, strict=True)
    ]


def _ours(case, across, frequency_hz: float) -> complex:
    hookup = Hookup.of(case.cable, across)
    network = terminal_network(case.cable, case.faults, hookup.terminals, frequency_hz)
    return complex(1 / network.between_leads(hookup)[0, 1])


@check(
    "readings of 60 random damaged cables, some 10 ohm to 10 Mohm, direct current",
    against=NGSPICE,
    source="no publication: ngspice, the circuit simulator",
    allowed=1e-6,
    why="1e-7 a piece from the rungs, the rest is what a nodal solver loses beside 100 S of copper",
)
def ngspice_direct() -> Outcome:
    cases, worst = cases_within(8, some(60), WITHIN_REACH), Worst()
    for case, readings in zip(cases, _spice(cases, 0.0), strict=True):
        for across, wanted in zip(PAIRS[case.cable.construction.name], readings, strict=True):
            found = _ours(case, across, 0.0)
            worst.add(abs(found - wanted) / abs(wanted), f"{across}, {case}")
    return worst.outcome()


@check(
    "parallel capacitance of 40 random damaged cables with few leaks, 1 kHz",
    against=NGSPICE,
    source="no publication: ngspice, the circuit simulator",
    allowed=1e-6,
    why="as above; of the capacitance itself, not of the whole admittance",
)
def ngspice_1_khz() -> Outcome:
    cases, worst = cases_within(9, some(40), _DRY), Worst()
    for case, readings in zip(cases, _spice(cases, 1000.0), strict=True):
        for across, wanted in zip(PAIRS[case.cable.construction.name], readings, strict=True):
            admittance = 1 / wanted
            if admittance.real > admittance.imag:
                continue  # too lossy for the meter
            found = (1 / _ours(case, across, 1000.0)).imag
            worst.add(abs(found / admittance.imag - 1), f"{across}, {case}")
    return worst.outcome()


@check(
    "impedances of random damaged cables of up to 30 m, 1 Hz to 10 MHz, .ac",
    against="ngspice, lumped rungs of two sizes, extrapolated",
    source="no publication: ngspice, the circuit simulator",
    allowed=1e-5,
    why="rungs are off by 1e-4 a piece, squared, times some radians of phase and a resonance",
)
def ngspice_band() -> Outcome:
    worst = Worst()
    for seed, frequency_hz in enumerate((1.0, 50.0, 1e3, 3e4, 1e6, 3e6, 1e7), start=20):
        cases = cases_within(seed, 3, replace(_DRY, length_m=(1, 30)))
        for case, readings in zip(cases, _spice_limit(cases, frequency_hz), strict=True):
            for across, wanted in zip(PAIRS[case.cable.construction.name], readings, strict=True):
                found = _ours(case, across, frequency_hz)
                worst.add(abs(found / wanted - 1), f"{frequency_hz} Hz, {across}, {case}")
    return worst.outcome()


CHECKS = [ngspice_direct, ngspice_1_khz, ngspice_band]
