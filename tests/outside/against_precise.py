"""Exact line and reduction against many digits: matrix exponential, nodal matrix, fractions."""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import mpmath as mp
import numpy as np
from outside import precise
from outside.cases import extreme_cases, random_case
from outside.check import Outcome, Worst, check, some

from cablesim.line.circuit import terminal_network
from cablesim.line.piece import uniform_piece
from cablesim.line.reduction import Graph, conductance, connect, keep_only

_MPMATH = "mpmath, 50 digits: matrix exponential of the line equations, dense nodal matrix"
_OWN = "no publication: the line equations themselves"
_ROUNDING = "some hundred sums and products of positive numbers, each rounded to 1e-16"
_TURNS = (
    "thousands of radians of phase and a resonance: the impedance changes by as much when the "
    "length changes by a few roundings"
)
# A dead short is 1e-15 ohm in the product and one node in the oracle; see line/electrics.py.
_DEAD_OHM = 2e-14
# A piece of no length is 1e-30 m long in the product: conductances below this stand for none.
_OPEN_SIEMENS = 1e-20


@check(
    "readings of random damaged cables from 1e-15 to 1e3 S, direct current",
    against=_MPMATH,
    source=_OWN,
    allowed=1e-12,
    why=_ROUNDING,
)
def readings_direct() -> Outcome:
    outcome, lowest, highest = _readings(seed=1, count=some(90), frequency_hz=0.0)
    assert lowest < 2e-15 and highest > 1e3, (lowest, highest)
    return outcome


@check(
    "admittances of random damaged cables, 1 kHz",
    against=_MPMATH,
    source=_OWN,
    allowed=1e-12,
    why=_ROUNDING + "; beside the whole admittance",
)
def readings_1_khz() -> Outcome:
    return _readings(seed=2, count=some(40), frequency_hz=1000.0)[0]


@check(
    "admittances of random damaged cables, 1 Hz to 1 GHz",
    against=_MPMATH,
    source=_OWN,
    allowed=1e-10,
    why=_TURNS,
)
def readings_over_a_band() -> Outcome:
    return _readings(seed=6, count=some(18), frequency_hz=(0.0, 9.0))[0]


def _readings(
    seed: int, count: int, frequency_hz: float | tuple[float, float]
) -> tuple[Outcome, float, float]:
    """Over a band, given by its decades, each cable has a frequency of its own."""
    rng = np.random.default_rng(seed)
    band = frequency_hz if isinstance(frequency_hz, tuple) else None
    worst = Worst()
    sizes = []
    for number, case in enumerate([*extreme_cases(), *(random_case(rng) for _ in range(count))]):
        if band is not None:
            frequency_hz = float(10 ** rng.uniform(*band))
        for hookup in case.hookups[: 3 if frequency_hz == 0 else 2]:
            wanted = precise.between_leads(case.cable, case.faults, hookup, frequency_hz)
            network = terminal_network(case.cable, case.faults, hookup.terminals, frequency_hz)
            found = mp.mpmathify(network.between_leads(hookup)[0, 1].item())
            at = f"case {number}, {frequency_hz} Hz, {hookup.across}, {case}"
            worst.add(_apart(found, wanted), at)
            if _OPEN_SIEMENS < abs(wanted) < mp.inf:
                sizes.append(float(abs(wanted)))
    return worst.outcome(), min(sizes), max(sizes)


def _apart(found, wanted) -> float:
    """Relative difference of two conductances, less what a dead short may account for."""
    if abs(wanted) < _OPEN_SIEMENS and abs(found) < _OPEN_SIEMENS:
        return 0.0
    if mp.isinf(wanted):
        return float(max(0, abs(1 / found) - _DEAD_OHM))
    return float(max(0, abs(found - wanted) / abs(wanted) - _DEAD_OHM * abs(wanted)))


@check(
    "uniform piece of 2 to 4 conductors, direct current, up to 60 Np",
    against=_MPMATH,
    source=_OWN,
    allowed=1e-12,
    why="of each conductance, also of those that 60 Np attenuate to 1e-26 of the largest",
)
def pieces_direct() -> Outcome:
    return _pieces(seed=3, count=some(80), frequency_hz=0.0)


@check(
    "uniform piece of 2 to 4 conductors, 1 kHz, up to 60 Np",
    against=_MPMATH,
    source=_OWN,
    allowed=1e-12,
    why="of each admittance; at a frequency sums may cancel in part",
)
def pieces_1_khz() -> Outcome:
    return _pieces(seed=4, count=some(40), frequency_hz=1000.0)


@check(
    "uniform piece of 2 or 3 conductors with inductance, 1 Hz to 1 GHz, up to 1 km",
    against=_MPMATH,
    source=_OWN,
    allowed=1e-10,
    why=_TURNS,
)
def pieces_over_a_band() -> Outcome:
    rng = np.random.default_rng(15)
    worst = Worst()
    for number in range(some(25)):
        line = random_line(rng)
        worst_of_piece(worst, f"piece {number}", *line)
    return worst.outcome()


def random_line(rng: np.random.Generator):
    """Series, leak and length of a line of some loss; some tangents better than any cable's."""
    count = int(rng.integers(2, 4))
    omega = 2 * np.pi * 10 ** rng.uniform(0, 9)
    series = [
        complex(10 ** rng.uniform(-2, 1), omega * 10 ** rng.uniform(-7, -6)) for _ in range(count)
    ]
    loss = 10 ** rng.uniform(-5, -1)
    leak = {
        pair: 1e-12 + omega * 10 ** rng.uniform(-11, -10) * complex(loss, 1)
        for pair in combinations(range(count), 2)
    }
    return series, leak, float(10 ** rng.uniform(0, 3))


def random_piece(rng: np.random.Generator, frequency_hz: float):
    """Series, leak and length whose attenuation lies between 1e-8 and 60 Np."""
    count = int(rng.integers(2, 5))
    series = [float(10 ** rng.uniform(-3, 2)) for _ in range(count)]
    leak = {p: float(10 ** rng.uniform(-9, 0)) for p in combinations(range(count), 2)}
    if rng.random() < 0.3:  # two conductors that see each other only through a third
        leak[0, 1] = 0.0
        if count == 2:
            leak[0, 1] = 1e-12
    nepers = 10 ** rng.uniform(-8, np.log10(60))
    strongest = max(
        series[k] * sum(y for pair, y in leak.items() if k in pair) for k in range(count)
    )
    length_m = float(nepers / np.sqrt(strongest))
    if frequency_hz:
        angles = {pair: rng.uniform(0, np.pi / 2) for pair in leak}
        leak = {pair: y * complex(np.exp(1j * angles[pair])) for pair, y in leak.items()}
    return series, leak, length_m


def _pieces(seed: int, count: int, frequency_hz: float) -> Outcome:
    rng = np.random.default_rng(seed)
    worst = Worst()
    for number in range(count):
        worst_of_piece(worst, f"piece {number}", *random_piece(rng, frequency_hz))
    return worst.outcome()


def worst_of_piece(worst: Worst, name: str, series, leak, length_m: float) -> None:
    """Compare every conductance of a piece."""
    mesh = uniform_piece(series, leak, length_m)
    with mp.workdps(precise.DIGITS + 30):
        rows = precise.piece(
            [mp.mpmathify(z) for z in series],
            {pair: mp.mpmathify(y) for pair, y in leak.items()},
            mp.mpf(length_m),
        )
        size = len(series)
        for kind, part, shift in (("through", mesh.through, size), ("across", mesh.across, 0)):
            for (i, j), siemens in part.items():
                wanted = -rows[i, shift + j]
                found = mp.mpmathify(np.asarray(siemens).item())
                worst.add(
                    float(abs(found - wanted) / abs(wanted)),
                    f"{name}, {kind} {i, j}, {series}, {leak}, {length_m}",
                )


@check(
    "star-mesh reduction of random graphs, conductances 1e-15 to 1e3 S",
    against="exact fractions: Gauss elimination of the nodal matrix",
    source="no publication: arithmetic",
    allowed=1e-13,
    why="at most 12 nodes and 66 edges: a few hundred roundings of 1e-16 at worst",
)
def graphs() -> Outcome:
    rng = np.random.default_rng(5)
    worst = Worst()
    for number in range(some(60)):
        size, keep = int(rng.integers(4, 13)), int(rng.integers(2, 4))
        edges = {
            pair: float(10 ** rng.uniform(-15, 3))
            for pair in combinations(range(size), 2)
            if pair[1] == pair[0] + 1 or rng.random() < 0.4
        }
        graph: Graph = {}
        for (u, v), siemens in edges.items():
            connect(graph, u, v, siemens)
        keep_only(graph, range(keep))
        wanted = _eliminated(edges, size, keep)
        for u, v in combinations(range(keep), 2):
            found, true = Fraction(float(conductance(graph, u, v))), wanted[u, v]
            # Kept nodes that meet only in kept nodes have none between them, exactly.
            apart = abs(found - true) / true if true else found
            worst.add(float(apart), f"graph {number}, {u}-{v}")
    return worst.outcome()


def _eliminated(edges, size, keep) -> dict[tuple[int, int], Fraction]:
    rows = [[Fraction(0)] * size for _ in range(size)]
    for (u, v), siemens in edges.items():
        value = Fraction(siemens)
        for i, j, sign in ((u, u, 1), (v, v, 1), (u, v, -1), (v, u, -1)):
            rows[i][j] += sign * value
    for k in range(size - 1, keep - 1, -1):
        for i in range(k):
            share = rows[i][k] / rows[k][k]
            for j in range(k):
                rows[i][j] -= share * rows[k][j]
    return {(u, v): -rows[u][v] for u, v in combinations(range(keep), 2)}


CHECKS = [
    readings_direct,
    readings_1_khz,
    readings_over_a_band,
    pieces_direct,
    pieces_1_khz,
    pieces_over_a_band,
    graphs,
]
