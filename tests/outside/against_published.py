"""Exact line and bridges against published numbers, and against closed forms.

SEEN: inputs and answer were read in the source itself. SEEN-C: they were read in a program that
works the textbook's numbered example anew. What is from memory says so.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import numpy as np
from outside.check import Check, Outcome, Worst, check
from scipy.optimize import brentq

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.instruments.meters import LoopBridge, Setting
from cablesim.instruments.readings import Probe, predict
from cablesim.line.circuit import terminal_network
from cablesim.line.piece import uniform_piece
from cablesim.line.reduction import Graph, conductance, connect, keep_only, merge
from cablesim.line.terminals import Hookup

_MEHTA = "V. K. Mehta, R. Mehta, Principles of Power System, 4th ed., S. Chand 2005"
_ANAND = "M. L. Anand, Electrical Power-I"
_HAWKINS = "Hawkins Electrical Guide No. 3, Theo. Audel 1914"
_GUPTA = "J. B. Gupta, Elements of Power System, S. K. Kataria 2011"
_BIRD = "J. O. Bird, Electrical Circuit Theory and Technology, 2nd ed., Newnes 2003"
_SADIKU = "M. N. O. Sadiku, Elements of Electromagnetics, 3rd ed., OUP 2001"
_BELL = (
    "D. A. Bell, Electronic Instrumentation and Measurements, 2nd ed., Prentice-Hall of India 1997"
)
_RALLPACK = (
    "U. S. Bhalla, D. H. Bilitch, J. M. Bower, Trends in Neurosciences 15 (1992) 453-458 (from "
    "memory)"
)
# A thick return: of no account beside the line, as the closed forms have it.
_RETURN_OHM_PER_M = 1e-9


# --- lines ----------------------------------------------------------------------------------------


def two_port(series: complex, shunt: complex, length_m: float) -> np.ndarray:
    """Admittance matrix of a line over a return of next to no resistance."""
    mesh = uniform_piece([series, _RETURN_OHM_PER_M], {(0, 1): shunt}, length_m)
    # The return's two ends are one place but for nanoohms, so what reaches it counts as a shunt.
    across = mesh.across[0, 1] + mesh.through[0, 1]
    through = mesh.through[0, 0]
    return np.array([[through + across, -through], [-through, through + across]])


def open_and_short(series: complex, shunt: complex, length_m: float) -> tuple[complex, complex]:
    """Input impedance with the far end open and joined."""
    y = two_port(series, shunt, length_m)
    return 1 / (y[0, 0] - y[0, 1] * y[1, 0] / y[1, 1]), 1 / y[0, 0]


@check(
    "coth line, core and return of 1e-3 to 1e2 ohm/m, 1e-13 to 1 S/m",
    against="closed form sqrt((r + s) / g) coth(l sqrt((r + s) g))",
    source="closed form of the handbooks",
    allowed=1e-13,
    why="a few dozen roundings in the series and three in the closed form",
)
def coth_line() -> Outcome:
    rng = np.random.default_rng(10)
    worst = Worst()
    for _ in range(300):
        r, s = 10 ** rng.uniform(-3, 2, 2)
        g, length_m = 10 ** rng.uniform(-13, 0), 10 ** rng.uniform(-1, 4)
        nepers = length_m * np.sqrt((r + s) * g)
        if not 1e-7 < nepers < 300:
            continue
        mesh = uniform_piece([r, s], {(0, 1): g}, length_m)
        graph: Graph = {}
        for (i, j), siemens in mesh.through.items():
            connect(graph, (i, 0), (j, 1), siemens)
            connect(graph, (j, 0), (i, 1), siemens if i != j else 0.0)
        for end in (0, 1):
            connect(graph, (0, end), (1, end), mesh.across[0, 1])
        keep_only(graph, [(0, 0), (1, 0)])
        found = 1 / float(conductance(graph, (0, 0), (1, 0)))
        wanted = np.sqrt((r + s) / g) / np.tanh(nepers)
        worst.add(abs(found / wanted - 1), (r, s, g, length_m))
    return worst.outcome()


# Rallpack 1: R_A = 1 ohm m, R_M = 4 ohm m2, C_M = 0.01 F/m2, d = 1 um, L = 1 mm, I = 0.1 nA.
_R, _G, _C = 4 / (np.pi * 1e-12), np.pi * 1e-6 / 4, np.pi * 1e-6 * 0.01
_LENGTH_M, _REST_V, _CURRENT_A = 1e-3, -0.065, 1e-10


@check(
    "Rallpack 1, steady state: input resistance 1.671808e9 ohm, V(L)/V(0)",
    against="formula sqrt(r/g) coth(L sqrt(rg)), 7 digits; 1/cosh 1",
    source=f"{_RALLPACK}; parameters and formula SEEN in the validation of the arbor simulator",
    allowed=3e-7,
    why="half a unit of the 7th digit",
)
def rallpack_steady() -> Outcome:
    worst = Worst()
    y = two_port(_R, _G, _LENGTH_M).real
    worst.add(abs(open_and_short(_R, _G, _LENGTH_M)[0] / 1.671808e9 - 1), "R_in")
    worst.add(abs(-y[1, 0] / y[1, 1] * np.cosh(1.0) - 1), "V(L)/V(0)")
    for ratio, printed in ((1.0, 0.1021808), (-y[1, 0] / y[1, 1], 0.0433423)):
        found = _REST_V + _CURRENT_A * open_and_short(_R, _G, _LENGTH_M)[0].real * ratio
        worst.add(abs(found - printed) / 0.1671808, f"{printed} V")
    return worst.outcome()


@check(
    "Rallpack 1, voltages at both ends from 1 to 25 ms",
    against="published analytic values, 7 digits after the point",
    source=f"{_RALLPACK}; values SEEN in the STEPS simulator's unit test of leakage",
    allowed=1e-6,
    why="printed values are good to 1e-7 V of 0.1 V",
)
def rallpack_transient() -> Outcome:
    """The exact piece at complex frequencies, brought back to time by Talbot's contour."""
    printed = {
        1: (-0.04247172, -0.06499991),
        5: (-0.01624290, -0.06303987),
        10: (0.00147327, -0.05427070),
        15: (0.01427481, -0.04376848),
        20: (0.02485273, -0.03378142),
        25: (0.03400298, -0.02478309),
    }
    worst = Worst()
    for milliseconds, volts in printed.items():
        for end, wanted in enumerate(volts):
            found = _REST_V + _talbot(lambda s, end=end: _step_volt(s)[end], milliseconds * 1e-3)
            worst.add(abs(found - wanted) / 0.1, f"{milliseconds} ms, end {end}")
    return worst.outcome()


def _step_volt(s: complex) -> tuple[complex, complex]:
    y = two_port(_R, _G + s * _C, _LENGTH_M)
    near = _CURRENT_A / s / (y[0, 0] - y[0, 1] * y[1, 0] / y[1, 1])
    return near, -near * y[1, 0] / y[1, 1]


def _talbot(transform: Callable[[complex], complex], time_s: float, terms: int = 20) -> float:
    """Inverse Laplace transform (J. Abate, P. P. Valko, IJNME 60 (2004) 979-993; from memory)."""
    rate = 2 * terms / (5 * time_s)
    total = 0.5 * np.exp(rate * time_s) * transform(complex(rate)).real
    for k in range(1, terms):
        angle = k * np.pi / terms
        cotangent = 1 / np.tan(angle)
        s = rate * angle * (cotangent + 1j)
        sigma = angle + (angle * cotangent - 1) * cotangent
        total += (np.exp(s * time_s) * transform(s) * (1 + 1j * sigma)).real
    return float(total * rate / terms)


def _polar(size: float, degrees: float) -> complex:
    return complex(size * np.exp(1j * np.deg2rad(degrees)))


@check(
    "line with inductance at 1 kHz: wave impedance and propagation constant",
    against="printed 390.16 ohm at -10.43 degrees, 0.1029/km at 61.92 degrees",
    source=f"{_BIRD}, ch. 44 ex. 9, p. 880 (SEEN-C)",
    allowed=6e-4,
    why="half a unit of the last digit of 0.1029",
)
def wave_impedance() -> Outcome:
    omega = 2 * np.pi * 1000
    series, shunt = complex(25, omega * 5e-3), complex(80e-6, omega * 0.04e-6)
    is_open, is_short = open_and_short(series, shunt, 1.0)
    worst = Worst()
    worst.add(abs(np.sqrt(is_open * is_short) / _polar(390.16, -10.43) - 1), "Z0")
    worst.add(abs(np.arctanh(np.sqrt(is_short / is_open)) / _polar(0.1029, 61.92) - 1), "gamma")
    return worst.outcome()


@check(
    "lossy line with a load: input impedance",
    against="printed 60.25 + j38.79 ohm",
    source=f"{_SADIKU}, ex. 11.3, p. 490 (SEEN-C)",
    allowed=1e-4,
    why="half a unit of the last digit of both parts",
)
def loaded_line() -> Outcome:
    impedance, gamma = 60 + 40j, 8 / 8.686 + 1j
    y = two_port(gamma * impedance, gamma / impedance, 2.0)
    found = 1 / (y[0, 0] - y[0, 1] * y[1, 0] / (y[1, 1] + 1 / (20 + 50j)))
    worst = Worst()
    worst.add(abs(found / (60.25 + 38.79j) - 1))
    return worst.outcome()


@check(
    "lossless line of 30 m with a load at 2 MHz: input impedance",
    against="printed 23.97 + j1.35 ohm",
    source=f"{_SADIKU}, ex. 11.4, p. 499 (SEEN-C)",
    allowed=3e-4,
    why="half a unit of the last digit of both parts",
)
def lossless_line() -> Outcome:
    beta = 2 * np.pi * 2e6 / (0.6 * 3e8)
    y = two_port(50j * beta, 1j * beta / 50, 30.0)
    found = 1 / (y[0, 0] - y[0, 1] * y[1, 0] / (y[1, 1] + 1 / (60 + 40j)))
    worst = Worst()
    worst.add(abs(found / (23.97 + 1.35j) - 1))
    return worst.outcome()


@check(
    "matched line of 300 km at 1 kHz, 10 V behind 400 ohm: current at either end",
    against="printed 9.485 mA at 7.07 degrees, 1.445 mA at -155.88 degrees",
    source=f"{_BIRD}, ch. 44 ex. 10, p. 881 (SEEN-C)",
    allowed=5e-4,
    why="half a unit of the last digit of 1.445; the printed 1.445 is 1.44452",
)
def matched_line() -> Outcome:
    omega = 2 * np.pi * 1000
    series, shunt = complex(8, omega * 3e-3), complex(0.25e-6, omega * 7500e-12)
    impedance = np.sqrt(series / shunt)
    y = two_port(series, shunt, 300.0)
    passed = -y[1, 0] / (y[1, 1] + 1 / impedance)
    into = 1 / (y[0, 0] + y[0, 1] * passed)
    sent = 10 / (400 + into)
    worst = Worst()
    worst.add(abs(sent / _polar(9.485e-3, 7.07) - 1), "sent")
    worst.add(abs(sent * into * passed / impedance / _polar(1.445e-3, -155.88) - 1), "received")
    return worst.outcome()


@check(
    "line at 2 kHz: wave impedance",
    against="printed 600 ohm at -8.99 degrees",
    source=f"{_BIRD}, ch. 44 ex. 7, p. 877 (SEEN-C)",
    allowed=9e-4,
    why="half a unit of the last digit of 600",
)
def wave_impedance_2_khz() -> Outcome:
    omega = 2 * np.pi * 2000
    line = complex(15, omega * 3.4e-3), complex(3e-6, omega * 10e-9)
    is_open, is_short = open_and_short(*line, 1.0)
    worst = Worst()
    worst.add(abs(np.sqrt(is_open * is_short) / _polar(600, -8.99) - 1))
    return worst.outcome()


# --- three terminals ------------------------------------------------------------------------------


@check(
    "guard: 10 kV, 5 uA without and 1.5 uA with it; volume and surface resistance",
    against="printed 6.7e9 and 2.9e9 ohm",
    source=f"{_BELL}, ex. 7-8, p. 180 (SEEN-C)",
    allowed=2e-2,
    why="half a unit of the last digit of 2.9",
)
def guarded() -> Outcome:
    """core1 on the voltage, the braid on the meter, core2 as the guard ring on the surface.

    The places of the two leaks and what leaks from the guard to the braid are made up; the readings
    must not depend on them.
    """
    volt, unguarded, with_guard = 10e3, 5e-6, 1.5e-6
    cable = _ideal(1.0, (0.1, 0.1), far_end="open")
    volume, surface = volt / with_guard, volt / (unguarded - with_guard)
    worst = Worst()
    for at_m, guard_ohm in ((0.0, np.inf), (0.4, 1e7), (1.0, 1e9)):
        faults = (
            Short(("core1", "braid"), at_m, volume),
            Short(("core1", "core2"), 1.0 - at_m, surface),
            Short(("core2", "braid"), 0.5, guard_ohm),
        )
        two = Hookup.of(cable, ("core1", "core2+braid"))
        three = Hookup.of(cable, ("core1", "braid", "core2"))
        network = terminal_network(cable, faults, three.terminals)
        total = volt * float(network.between_leads(two)[0, 1])
        guarded_ampere = volt * float(network.between_leads(three)[0, 1])
        worst.add(abs(total / unguarded - 1), "current without a guard")
        worst.add(abs(guarded_ampere / with_guard - 1), "current with a guard")
        worst.add(abs(volt / guarded_ampere / 6.7e9 - 1), "volume")
        worst.add(abs(volt / (total - guarded_ampere) / 2.9e9 - 1), "surface")
    return worst.outcome()


# --- partial capacitances -------------------------------------------------------------------------


def _three_cores(bunched: float, one_to_rest: float, groups: list[list[str]]) -> float:
    """Capacitance between two groups of conductors of a three-core cable, the others floating.

    Partial capacitances follow from the two readings: a third of the bunched one to the sheath, and
    half of what is left of the other between every two cores.
    """
    to_sheath = bunched / 3
    between = (one_to_rest - to_sheath) / 2
    graph: Graph = {}
    cores = ["a", "b", "c"]
    for u, v in combinations(cores, 2):
        connect(graph, u, v, between)
    for u in cores:
        connect(graph, u, "sheath", to_sheath)
    kept = [merge(graph, group) for group in groups]
    keep_only(graph, kept)
    return float(conductance(graph, *kept))


def _capacitances(bunched, one_to_rest, printed) -> Outcome:
    worst = Worst()
    three = ["a", "b", "c"]
    worst.add(abs(_three_cores(bunched, one_to_rest, [three, ["sheath"]]) / bunched - 1))
    worst.add(
        abs(_three_cores(bunched, one_to_rest, [["a"], ["b", "c", "sheath"]]) / one_to_rest - 1)
    )
    for groups, wanted in printed:
        worst.add(abs(_three_cores(bunched, one_to_rest, groups) / wanted - 1), groups)
    return worst.outcome()


@check(
    "three cores by reduction: bunched 12.6, one to rest 7.4, equivalent star 9.0 uF",
    against="printed 9.0 uF",
    source=f"{_MEHTA}, ex. 11.18, p. 290 (SEEN-C)",
    allowed=1e-12,
    why="the printed numbers are exact",
)
def three_cores_mehta() -> Outcome:
    return _capacitances(12.6, 7.4, [([["a"], ["b"]], 9.0 / 2)])


@check(
    "three cores by reduction: bunched 1.8, one to rest 1.5, two cores 0.975 uF",
    against="printed 0.975 uF",
    source=f"{_GUPTA}, ex. 16, p. 286 (SEEN-C)",
    allowed=1e-12,
    why="the printed numbers are exact",
)
def three_cores_gupta_16() -> Outcome:
    return _capacitances(1.8, 1.5, [([["a"], ["b"]], 0.975)])


@check(
    "three cores by reduction: bunched 1, one to rest 0.6, two cores, two to the third",
    against="printed 0.3667 and 0.489 uF/km",
    source=f"{_GUPTA}, ex. 18, p. 287 (SEEN-C)",
    allowed=1.1e-3,
    why="half a unit of the last digit of 0.489",
)
def three_cores_gupta_18() -> Outcome:
    return _capacitances(1.0, 0.6, [([["a"], ["b"]], 0.3667), ([["a", "b"], ["c"]], 0.489)])


@check(
    "twin cable at 10 Hz, each core with the other floating, joined or on the braid",
    against="closed forms of two partial capacitances",
    source="closed forms",
    allowed=1e-8,
    why="cores of 1e-6 ohm/m, good insulation, 10 Hz: resistances and inductances count for less",
)
def twin_capacitances() -> Outcome:
    worst = Worst()
    cable = _ideal(100.0, (1e-6, 1e-6), far_end="open", core_braid=130.0, core_core=55.0)
    to_braid, between = 130.0 * 100, 55.0 * 100
    series = to_braid * between / (to_braid + between)
    for across, wanted in (
        (("core1", "braid"), to_braid + series),
        (("core1+core2", "braid"), 2 * to_braid),
        (("core1", "core2+braid"), to_braid + between),
        (("core1", "core2"), between + to_braid / 2),
    ):
        hookup = Hookup.of(cable, across)
        admittance = terminal_network(cable, (), hookup.terminals, 10.0).between_leads(hookup)[0, 1]
        worst.add(abs(complex(admittance).imag / (20 * np.pi) * 1e12 / wanted - 1), across)
    return worst.outcome()


# --- bridges --------------------------------------------------------------------------------------


def _ideal(length, ohm_per_length, *, far_end="joined", core_braid=0.0, core_core=0.0) -> Cable:
    """A twin cable without leads, braid resistance or leak; the unit of length is the example's."""
    return Cable.rated(
        "twin",
        length,
        core_ohm_per_m=ohm_per_length,
        cold_lead_m=0.0,
        braid_ohm_per_m=1e-9,
        insulation_gigaohm_m=np.inf if core_braid == 0 else 1e6,
        capacitance_core_braid_pf_per_m=core_braid,
        capacitance_core_core_pf_per_m=core_core,
        far_end=far_end,
        loss_tangent=0.0,
    )


def _place(cable: Cable, setting: Setting, balance: float, *, broken: bool = False) -> float:
    """Where core2 must be faulty for the bridge to read this."""
    probe = Probe(LoopBridge(name="b"), Hookup.of(cable, ("core1", "core2", "braid")), setting)

    def off_balance(at_m: float) -> float:
        fault = Break(("core2",), at_m) if broken else Short(("core2", "braid"), at_m, 1000.0)
        return float(predict(cable, (fault,), [probe])[0]) - balance

    length = float(cable.heated_length_m)
    return float(brentq(off_balance, 1e-6 * length, length * (1 - 1e-9), xtol=1e-13 * length))


def _bridge_check(
    name: str,
    what: str,
    source: str,
    printed: float,
    allowed: float,
    why: str,
    cable: Cable,
    setting: Setting,
    balance: float,
    *,
    broken: bool = False,
) -> Check:
    def run() -> Outcome:
        worst = Worst()
        worst.add(abs(_place(cable, setting, balance, broken=broken) / printed - 1))
        return worst.outcome()

    run.__name__ = name
    return Check(what, f"printed {printed:g}", source, allowed, why, run)


_MURRAY, _CAPACITANCE = Setting(method="murray"), Setting(method="capacitance", frequency_hz=1000.0)
# The printed answer is exact; the root is found, and the braid of 1 nohm/m counts, to less.
_EXACT, _WHY_EXACT = 1e-9, "the printed number is exact"
_WHY_DIGIT = "half a unit of the last digit"

BRIDGES = [
    _bridge_check(
        "murray_mehta_21",
        "Murray loop, arms 45 and 15 ohm on 300 m",
        f"{_MEHTA}, ex. 11.21, p. 296 (SEEN-C)",
        150.0,
        _EXACT,
        _WHY_EXACT,
        _ideal(300.0, (0.01, 0.01)),
        _MURRAY,
        15 / 60,
    ),
    _bridge_check(
        "murray_mehta_22",
        "Murray loop, arms 3 to 1 on 500 m",
        f"{_MEHTA}, ex. 11.22, p. 297 (SEEN-C)",
        250.0,
        _EXACT,
        _WHY_EXACT,
        _ideal(500.0, (0.01, 0.01)),
        _MURRAY,
        1 / 4,
    ),
    _bridge_check(
        "murray_mehta_23",
        "Murray loop, unlike cores of 2.25 and 1 mohm/m, arms 2.75 to 1 on 500 m",
        f"{_MEHTA}, ex. 11.23, p. 297 (SEEN-C)",
        433.0,
        1.2e-3,
        _WHY_DIGIT,
        _ideal(500.0, (0.00225, 0.001)),
        _MURRAY,
        1 / 3.75,
    ),
    _bridge_check(
        "murray_anand_9",
        "Murray loop, 1.6 ohm/km, arms 3 to 1 on 1000 m",
        f"{_ANAND}, ex. 8.9, p. 226 (SEEN-C)",
        500.0,
        _EXACT,
        _WHY_EXACT,
        _ideal(1000.0, (1.6e-3, 1.6e-3)),
        _MURRAY,
        1 / 4,
    ),
    _bridge_check(
        "murray_utility_paper",
        "Murray loop, 1.5 ohm/km, arms 3 to 1 on 600 m",
        "exam paper of the utility MGVCL, 30 July 2021, shift 2 (SEEN)",
        300.0,
        _EXACT,
        _WHY_EXACT,
        _ideal(600.0, (1.5e-3, 1.5e-3)),
        _MURRAY,
        1 / 4,
    ),
    _bridge_check(
        "murray_hawkins_slide",
        "Murray loop, slide 124 of 1000 and an equal coil on 5.8 miles",
        f"{_HAWKINS}, p. 516, fig. 596 (SEEN)",
        0.7192,
        7e-5,
        _WHY_DIGIT,
        _ideal(5.8, (10.0, 10.0)),
        _MURRAY,
        124 / 2000,
    ),
    _bridge_check(
        "murray_hawkins_unequal",
        "Murray loop, slide 332 of 1000, loop 54.07 ohm, faulty wire 16.46 ohm a mile",
        f"{_HAWKINS}, p. 516, fig. 597 (SEEN)",
        1.09,
        4.6e-3,
        _WHY_DIGIT,
        # The length is not given and does not matter; 1.5 miles hold the fault.
        _ideal(1.5, (54.07 / 1.5 - 16.46, 16.46)),
        _MURRAY,
        332 / 1000,
    ),
    _bridge_check(
        "varley_mehta_24",
        "Varley loop, equal arms, box 200 ohm, 20 ohm/km on 20 km",
        f"{_MEHTA}, ex. 11.24, p. 297 (SEEN-C)",
        15.0,
        _EXACT,
        _WHY_EXACT,
        _ideal(20.0, (20.0, 20.0)),
        Setting(method="varley", arms=(1.0, 1.0)),
        200.0,
    ),
    _bridge_check(
        "varley_anand_8",
        "Varley loop, arms 10 and 80 ohm, box 2400 ohm, loop 425 ohm (share of the loop)",
        f"{_ANAND}, ex. 8.8, p. 225 (SEEN-C)",
        0.2614,
        2e-4,
        "half a unit of the last digit of 2.614 km on a loop of 10 km",
        _ideal(0.5, (425.0, 425.0)),
        Setting(method="varley", arms=(10.0, 80.0)),
        2400.0,
    ),
    _bridge_check(
        "varley_hawkins",
        "loop with a fixed coil of 100 ohm, slide 234 of 1000, loop 54.07 ohm",
        f"{_HAWKINS}, p. 518, figs. 599-600 (SEEN)",
        1.094,
        9.2e-4,
        'one unit of the last digit: printed "1.094 +"',
        _ideal(1.5, (54.07 / 1.5 - 16.46, 16.46)),
        Setting(method="varley", arms=(234.0, 766.0)),
        100.0,
    ),
    _bridge_check(
        "capacitance_hawkins",
        "break by capacitances, slide 476 of 1000, good wire of 1.45 miles",
        f"{_HAWKINS}, pp. 524-525, fig. 607 (SEEN)",
        1.317,
        7.6e-4,
        'one unit of the last digit: printed "1.317 +"',
        _ideal(1.45, (1e-6, 1e-6), far_end="open", core_braid=1e5),
        _CAPACITANCE,
        # Good to broken wire as 524 to 476.
        524 / 1000,
        broken=True,
    ),
]


@check(
    "two-end test: 110 and 160 ohm from the ends of two wires of 11 ohm/km, 10 km",
    against="printed 3.864 km and 25 ohm",
    source="worked homework answer, justaaa.com, physics 1035169 (SEEN)",
    allowed=1.1e-4,
    why="half a unit of the last digit of 3.864 km is 0.011 ohm of 110",
)
def two_ends() -> Outcome:
    cable = _ideal(10.0, (11.0, 11.0), far_end="open")
    worst = Worst()
    for across, wanted in (
        (("core1", "core2"), 110.0),
        (("core1@far", "core2@far"), 160.0),
    ):
        hookup = Hookup.of(cable, across)
        network = terminal_network(
            cable, (Short(("core1", "core2"), 3.864, 25.0),), hookup.terminals
        )
        worst.add(abs(1 / float(network.between_leads(hookup)[0, 1]) / wanted - 1), across)
    return worst.outcome()


CHECKS = [
    coth_line,
    rallpack_steady,
    rallpack_transient,
    wave_impedance,
    loaded_line,
    lossless_line,
    matched_line,
    wave_impedance_2_khz,
    guarded,
    three_cores_mehta,
    three_cores_gupta_16,
    three_cores_gupta_18,
    twin_capacitances,
    two_ends,
    *BRIDGES,
]
