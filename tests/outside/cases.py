"""Random damaged cables for the comparisons with outside solvers, the same for test and report."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short
from cablesim.line.terminals import Hookup

ACROSS = {
    "twin": [("core1", "core2"), ("core1", "braid"), ("core2", "braid"), ("core1+core2", "braid")],
    "single": [("core1", "braid"), ("core1", "core1@far"), ("core1@far", "braid")],
}


@dataclass(frozen=True)
class Decades:
    """Powers of ten between which the numbers of a case are drawn evenly."""

    core_ohm_per_m: tuple[float, float] = (-2, 1.5)
    braid_ohm_per_m: tuple[float, float] = (-3, 1)
    cold_lead_ohm_per_m: tuple[float, float] = (-3, -1)
    insulation_gigaohm_m: tuple[float, float] = (-1, 6)
    shunt_ohm: tuple[float, float] = (-3, 13)
    series_ohm: tuple[float, float] = (-3, 9)
    stretch_ohm: tuple[float, float] = (0, 9)
    length_m: tuple[float, float] = (1, 100)  # not decades: drawn evenly
    special: bool = True  # also resistances of none at all and without end, places on each other


@dataclass(frozen=True)
class Case:
    cable: Cable
    faults: tuple[Fault, ...]

    @property
    def hookups(self) -> list[Hookup]:
        return [Hookup.of(self.cable, across) for across in ACROSS[self.cable.construction.name]]


def extreme_cases() -> list[Case]:
    """The driest short cable, and a dead short right at the terminals."""
    dry = Cable.rated("twin", 0.5, 1.0, cold_lead_m=0.25, insulation_gigaohm_m=1e6)
    shorted = (Short(("core1", "braid"), dry.first_m, 5e-4), Break(("core2",), 0.25))
    return [Case(dry, (Break(("core1",), 0.0),)), Case(dry, shorted)]


def random_case(rng: np.random.Generator, decades: Decades | None = None) -> Case:
    decades = decades or Decades()
    name = "single" if rng.random() < 0.4 else "twin"
    cores = 2 if name == "twin" else 1
    length_m = rng.uniform(*decades.length_m)
    cable = Cable.rated(
        name,
        length_m,
        core_ohm_per_m=tuple(_within(rng, decades.core_ohm_per_m) for _ in range(cores)),
        cold_lead_m=rng.uniform(0.5, 10) if not decades.special or rng.random() < 0.7 else 0.0,
        cold_lead_ohm_per_m=_within(rng, decades.cold_lead_ohm_per_m),
        braid_ohm_per_m=_within(rng, decades.braid_ohm_per_m),
        insulation_gigaohm_m=_within(rng, decades.insulation_gigaohm_m),
        far_end="joined" if name == "twin" and rng.random() < 0.7 else "open",
        temperature_c=rng.uniform(-20, 80) if decades.special else 20.0,
        core_alloy=str(rng.choice(["CuNi44", "copper", "NiCr8020"])),
    )
    if rng.random() < 0.5:  # a cold lead of another make
        cable = replace(
            cable,
            cold_lead_capacitance_core_braid_pf_per_m=rng.uniform(50.0, 300.0),
            cold_lead_capacitance_core_core_pf_per_m=rng.uniform(20.0, 100.0),
            cold_lead_insulation_gigaohm_m=_within(rng, decades.insulation_gigaohm_m),
            cold_lead_velocity_factor=rng.uniform(0.4, 0.9),
            cold_lead_loss_tangent=_within(rng, (-4.0, -1.5)),
        )
    places = [cable.first_m, 0.0, length_m, cable.last_m]
    places += list(rng.uniform(cable.first_m, cable.last_m, 2))
    faults = tuple(_fault(rng, cable, places, decades) for _ in range(rng.integers(0, 5)))
    return Case(cable, faults)


def _within(rng: np.random.Generator, limits: tuple[float, float]) -> float:
    return float(10 ** rng.uniform(*limits))


def _fault(rng, cable, places, decades) -> Fault:
    def place():
        if decades.special and rng.random() < 0.6:
            return float(rng.choice(places))
        return float(rng.uniform(cable.first_m, cable.last_m))

    def ohm(limits, none=0.0):
        extreme = [none, np.inf][rng.integers(2)]
        return extreme if decades.special and rng.random() < 0.2 else _within(rng, limits)

    names = [str(name) for name in rng.permutation(cable.conductors)]
    between, at_m = (names[0], names[1]), place()
    match rng.integers(5):
        case 0:
            return Short(between, at_m, ohm(decades.shunt_ohm), ["near", "far"][rng.integers(2)])
        case 1:
            return Break(tuple(names[: rng.integers(1, 3)]), at_m, ohm(decades.series_ohm))
        case 2:
            return Joint(names[0], at_m, ohm(decades.series_ohm))
        case 3:
            return Degraded.at(between, at_m, ohm(decades.shunt_ohm, none=1.0))
        case _:
            from_m, to_m = sorted((at_m, place()))
            return Degraded(between, from_m, to_m, ohm(decades.stretch_ohm, none=1.0))
