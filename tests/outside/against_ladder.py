"""Exact line against the lumped ladder, taken to infinitely many rungs."""

from __future__ import annotations

import numpy as np
from outside.check import Outcome, Worst, check

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short
from cablesim.line.circuit import terminal_network
from cablesim.line.ladder import extrapolated, ladder
from cablesim.line.piece import uniform_piece
from cablesim.line.terminals import Hookup

SCENARIOS = 40


def readings_siemens(cable, faults, across, frequency_hz, mesh_of):
    """All readings of a batch, from one network: shape (readings, scenarios)."""
    hookups = [Hookup.of(cable, leads) for leads in across]
    terminals = frozenset().union(*(hookup.terminals for hookup in hookups))
    network = terminal_network(cable, faults, terminals, frequency_hz, mesh_of=mesh_of)
    return np.array([network.between_leads(hookup)[0, 1] for hookup in hookups])


def limit(cable, faults, across, frequency_hz, rungs):
    """Ladder results of three sizes extrapolated twice: the error falls with the sixth power."""
    one, two, four = (
        readings_siemens(cable, faults, across, frequency_hz, ladder(rungs * k)) for k in (1, 2, 4)
    )
    coarse, fine = extrapolated(one, two), extrapolated(two, four)
    return fine + (fine - coarse) / 15  # what is left is of the fourth order


def batch(rng: np.random.Generator, name: str, kinds: tuple[str, ...]) -> tuple[Cable, tuple]:
    """Scenarios with faults of given kinds, one behind the other along the cable."""

    def drawn(low, high):
        return 10 ** rng.uniform(low, high, SCENARIOS)

    length_m = rng.uniform(5, 100, SCENARIOS)
    cable = Cable.rated(
        name,
        length_m,
        # From copper of 0.1 ohm/m, and braids that resist as much as a core.
        core_ohm_per_m=tuple(drawn(-1, 1) for _ in range(2 if name == "twin" else 1)),
        braid_ohm_per_m=drawn(-2, 1),
        insulation_gigaohm_m=drawn(0, 6),
        cold_lead_m=rng.uniform(0.5, 5, SCENARIOS),
        far_end="joined" if name == "twin" else "open",
    )
    slots = np.sort(rng.uniform(0, 1, (2 * len(kinds), SCENARIOS)), axis=0) * length_m
    faults: list[Fault] = []
    for number, kind in enumerate(kinds):
        a, b = slots[2 * number], slots[2 * number + 1]
        core = cable.construction.cores[number % len(cable.construction.cores)]
        if kind == "short":
            faults.append(Short((core, "braid"), a, drawn(-3, 9)))
        elif kind == "short at the terminals":
            faults.append(Short((core, "braid"), cable.first_m, drawn(-3, 0)))
        elif kind == "leak":
            faults.append(Short((core, "braid"), a, np.full(SCENARIOS, 1e9)))
        elif kind == "stretch":
            faults.append(Degraded((core, "braid"), a, b, drawn(0, 9)))
        elif kind == "joint":
            faults.append(Joint(core, a, drawn(-3, 6)))
        elif kind == "bad braid":
            faults.append(Joint("braid", a, drawn(-1, 6)))
        else:
            faults.append(Break((core,), a, np.inf))
    return cable, tuple(faults)


STRUCTURES = [
    (),
    ("short",),
    ("short at the terminals",),
    ("leak",),
    ("break",),
    ("stretch",),
    ("joint", "short"),
    ("leak", "break", "bad braid"),
    ("short", "stretch", "break"),
]
ACROSS = {
    "twin": [("core1", "core2"), ("core1", "braid"), ("core2", "braid"), ("core1+core2", "braid")],
    "single": [("core1", "braid"), ("core1", "core1@far"), ("core1", "braid@far")],
}
_LADDER = "lumped ladder, three sizes, extrapolated twice"
_SOURCE = "no publication: second formulation (Richardson extrapolation)"


def _compared(seed: int, frequency_hz: float, structures) -> tuple[Outcome, float, float]:
    rng = np.random.default_rng(seed)
    worst = Worst()
    lowest, highest = np.inf, 0.0
    for name, across in ACROSS.items():
        for kinds in structures:
            cable, faults = batch(rng, name, kinds)
            exact = readings_siemens(cable, faults, across, frequency_hz, uniform_piece)
            # Where a stretch leaks strongly, a rung must stay short beside 1/gamma.
            rungs = 128 if "stretch" in kinds else 16
            wanted = limit(cable, faults, across, frequency_hz, rungs)
            for apart in np.abs(exact - wanted) / np.abs(wanted):
                for scenario, value in enumerate(apart):
                    worst.add(value, f"{name} {kinds} scenario {scenario}")
            ohm = 1 / np.abs(wanted)
            lowest, highest = min(lowest, ohm.min()), max(highest, ohm.max())
    return worst.outcome(), lowest, highest


@check(
    "readings of random damaged cables from 1e-3 to 1e13 ohm, direct current",
    against=_LADDER,
    source=_SOURCE,
    allowed=1e-10,
    why="what is left of the sixth order with up to 512 rungs, and rounding along them",
)
def ladder_direct() -> Outcome:
    outcome, lowest, highest = _compared(6, 0.0, STRUCTURES)
    assert lowest < 2e-3 and highest > 1e13, (lowest, highest)
    return outcome


@check(
    "admittances of random damaged cables, 1 kHz",
    against=_LADDER,
    source=_SOURCE,
    allowed=1e-10,
    why="what is left of the sixth order with up to 512 rungs, and rounding along them",
)
def ladder_1_khz() -> Outcome:
    return _compared(7, 1000.0, STRUCTURES[:6])[0]


def errors(rungs: list[int]) -> np.ndarray:
    """Relative error of a plain ladder for each size, shape (sizes, readings)."""
    cable = Cable.rated("twin", 40.0, 88.2, braid_ohm_per_m=0.5)
    faults = (Degraded(("core1", "braid"), 11.0, 29.0, 100.0), Joint("braid", 20.0, 3.0))
    across = ACROSS["twin"]
    exact = readings_siemens(cable, faults, across, 0.0, uniform_piece)
    return np.array(
        [readings_siemens(cable, faults, across, 0.0, ladder(n)) / exact - 1 for n in rungs]
    )


CHECKS = [ladder_direct, ladder_1_khz]
