"""Random cables, faults and hook-ups for hypothesis.

Places lie on a grid of 1/64 m, so that every length, sum and mirror image of them is exact in
binary: what the properties find is then the electrics, never the rounding of a place. Faults are
drawn to fall on each other, on joints and on ends far more often than chance would have it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.line.terminals import Hookup, Terminal, node_of

GRID_M = 1 / 64
MOST_FAULTS = 4


def decades(low: float, high: float) -> st.SearchStrategy[float]:
    """Numbers spread evenly over powers of ten, without digits that only clutter an example."""
    return st.floats(low, high).map(lambda exponent: float(f"{10.0**exponent:.3g}"))


def lengths_m(least: float, most: float) -> st.SearchStrategy[float]:
    return st.integers(round(least / GRID_M), round(most / GRID_M)).map(lambda n: n * GRID_M)


@st.composite
def cables(draw, construction: str | None = None, far_end: str | None = None) -> Cable:
    name = construction or draw(st.sampled_from(["twin", "single", "parallel"]))
    cores = 1 if name == "single" else 2
    ends = ["open"] if name == "single" else ["joined", "open"]
    lead = {
        "cold_lead_capacitance_core_braid_pf_per_m": decades(1, 2.7),
        "cold_lead_capacitance_core_core_pf_per_m": decades(0, 2.7),
        "cold_lead_insulation_gigaohm_m": decades(-1, 6),
        "cold_lead_velocity_factor": st.floats(0.3, 1.0),
        "cold_lead_loss_tangent": st.one_of(st.just(0.0), decades(-4, -1)),
    }
    own = draw(st.one_of(st.just({}), st.fixed_dictionaries({}, optional=lead)))
    heating = {"heating_ohm_m": draw(decades(1, 5))} if name == "parallel" else {}
    return Cable.rated(
        name,
        heated_length_m=draw(lengths_m(1, 200)),
        core_ohm_per_m=tuple(draw(decades(-2, 1.5)) for _ in range(cores)),
        cold_lead_m=draw(st.one_of(st.just(0.0), lengths_m(GRID_M, 10))),
        cold_lead_ohm_per_m=draw(decades(-3, -1)),
        braid_ohm_per_m=draw(decades(-3, 1)),
        capacitance_core_braid_pf_per_m=draw(decades(1, 2.7)),
        capacitance_core_core_pf_per_m=draw(decades(0, 2.7)),
        insulation_gigaohm_m=draw(decades(-1, 6)),
        far_end=far_end or draw(st.sampled_from(ends)),
        velocity_factor=draw(st.floats(0.3, 1.0)),
        loss_tangent=draw(st.one_of(st.just(0.0), decades(-4, -1))),
        **heating,
        **own,
    )


def places_m(cable: Cable) -> st.SearchStrategy[float]:
    """Anywhere on the grid, or just where something else of the cable begins or ends."""
    special = [cable.first_m, 0.0, cable.heated_length_m, cable.last_m]
    return st.one_of(st.sampled_from(special), lengths_m(cable.first_m, cable.last_m))


def resistances_ohm(*, zero: bool = True, infinite: bool = True) -> st.SearchStrategy[float]:
    special = [0.0] * zero + [np.inf] * infinite
    ordinary = decades(-3, 9)
    return st.one_of(ordinary, ordinary, st.sampled_from(special)) if special else ordinary


def pairs(cable: Cable) -> st.SearchStrategy[tuple[str, str]]:
    return st.permutations(cable.conductors).map(lambda names: (names[0], names[1]))


@st.composite
def fault_at(draw, cable: Cable, place_m: st.SearchStrategy[float]) -> Fault:
    kind = draw(st.sampled_from(["short", "break", "joint", "point", "stretch", "flashover"]))
    at_m = draw(place_m)
    if kind == "short":
        side = draw(st.sampled_from(["near", "far"]))
        return Short(draw(pairs(cable)), at_m, draw(resistances_ohm()), side)
    if kind == "break":
        count = draw(st.integers(1, len(cable.conductors)))
        cut = tuple(draw(st.permutations(cable.conductors))[:count])
        return Break(cut, at_m, draw(resistances_ohm()))
    if kind == "joint":
        return Joint(draw(st.sampled_from(cable.conductors)), at_m, draw(resistances_ohm()))
    ohm = draw(resistances_ohm(zero=False))
    if kind == "flashover":
        return Flashover(draw(pairs(cable)), at_m, draw(decades(1, 4)), 10.0, ohm)
    if kind == "point":
        return Degraded.at(draw(pairs(cable)), at_m, ohm)
    from_m, to_m = sorted((at_m, draw(place_m)))
    return Degraded(draw(pairs(cable)), from_m, to_m, ohm)


@st.composite
def fault_lists(draw, cable: Cable, least: int = 0, most: int = MOST_FAULTS) -> tuple[Fault, ...]:
    """Faults on one another as often as apart: they share two favourite places."""
    favourite = [draw(places_m(cable)) for _ in range(2)]
    place_m = st.one_of(st.sampled_from(favourite), places_m(cable))
    return tuple(draw(st.lists(fault_at(cable, place_m), min_size=least, max_size=most)))


def nodes(cable: Cable) -> list[Terminal]:
    """All terminals, cores joined at the far end counted once."""
    every = [Terminal(name, end) for end in ("near", "far") for name in cable.conductors]
    return list(dict.fromkeys(node_of(terminal, cable) for terminal in every))


@st.composite
def hookups(draw, cable: Cable) -> Hookup:
    """Two leads on one or two terminals each, some of the others linked."""
    free = list(draw(st.permutations(nodes(cable))))
    leads = []
    for other in (1, 0):
        count = draw(st.integers(1, min(2, len(free) - other)))
        leads.append(tuple(free.pop() for _ in range(count)))
    links = ()
    if free and draw(st.booleans()):
        links = ((free.pop(), free.pop() if free else leads[0][0]),)
    return Hookup.of(
        cable,
        tuple("+".join(map(str, lead)) for lead in leads),
        tuple(tuple(map(str, group)) for group in links),
    )


@st.composite
def cases(draw, construction: str | None = None, far_end: str | None = None, least: int = 0):
    """A cable, its faults and a hook-up."""
    cable = draw(cables(construction, far_end))
    return cable, draw(fault_lists(cable, least=least)), draw(hookups(cable))


def with_ohm(fault: Fault, ohm: float) -> Fault:
    """The same fault with another resistance."""
    key = "leakage_ohm" if isinstance(fault, Flashover) else "resistance_ohm"
    return replace(fault, **{key: ohm})


@st.composite
def variants(draw, cable: Cable, fault: Fault) -> Fault:
    """The same fault elsewhere and with another resistance."""
    zero = not isinstance(fault, Degraded | Flashover)
    ohm = draw(resistances_ohm(zero=zero))
    if isinstance(fault, Degraded):
        from_m, to_m = sorted((draw(places_m(cable)), draw(places_m(cable))))
        return replace(fault, from_m=from_m, to_m=to_m, resistance_ohm=ohm)
    return with_ohm(replace(fault, at_m=draw(places_m(cable))), ohm)
