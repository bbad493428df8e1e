"""What recipes share: how they find their readings, and what they hand over."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Short
from cablesim.cable.numbers import FloatArray, Real
from cablesim.instruments.readings import Reading
from cablesim.locate.budget import Declined

__all__ = [
    "SOME_OHM",
    "Prepared",
    "Recipe",
    "cold_ohm",
    "cut",
    "find",
    "has_value",
    "leads_of",
    "relative",
    "to_braid",
    "two_cores",
    "wanted",
]

# Above this a path to the braid is a leak and not a short [ohm].
_LEAK_FROM_OHM = 1e4
# A short of which no reading tells the resistance; it matters to the check of the formula alone.
SOME_OHM = 100.0

Formula = Callable[[FloatArray, FloatArray], tuple[Real, Real]]
Damage = Callable[[float, float], tuple[Fault, ...]]


@dataclass(frozen=True, slots=True)
class Prepared:
    """A formula with its inputs.

    Parameters
    ----------
    readings
        What it takes, in the order of the formula's first argument.
    formula
        From displays less leads, shape (readings, ...), and factors, shape (factors, ...), to place
        [m] and resistance [ohm], each shape (...) or a number; the resistance is NaN where the
        method does not tell it. It may depend on which readings have a value and which of them is
        the larger, on nothing else of them: one formula then serves a batch of displays that are
        alike in this.
    damage
        What is broken, at a place with a resistance.
    spread
        Standard uncertainty of each factor of the cable; the factors are 1.
    resistance_ohm
        Resistance of the damage where the formula does not tell it.
    """

    readings: tuple[Reading, ...]
    formula: Formula
    damage: Damage
    spread: tuple[float, ...] = ()
    resistance_ohm: float = SOME_OHM


Recipe = Callable[[Cable, Sequence[Reading]], Prepared | Declined]


def leads_of(reading: Reading) -> list[frozenset[str]]:
    """What each lead touches, as written in a scenario file."""
    return [frozenset(str(t) for t in lead) for lead in reading.probe.hookup.leads]


def find(
    readings: Sequence[Reading], kind: str, *across: str, linked: bool = False
) -> Reading | None:
    """The first reading of a kind of meter across these leads, in either order."""
    wanted = [frozenset(lead.split("+")) for lead in across]
    for reading in readings:
        same = leads_of(reading) in (wanted, wanted[::-1])
        if reading.probe.meter.kind == kind and same and bool(reading.probe.hookup.links) == linked:
            return reading
    return None


def wanted(
    readings: Sequence[Reading], kind: str, *hookups: tuple[str, ...]
) -> tuple[Reading, ...] | Declined:
    """All of these readings, each with a value."""
    found = []
    for across in hookups:
        reading = find(readings, kind, *across)
        named = f"{kind.replace('_', ' ')} {' to '.join(across)}"
        if reading is None:
            return Declined(f"needs a reading: {named}")
        if not has_value(reading):
            return Declined(f"needs a value where the display has none: {named}")
        found.append(reading)
    return tuple(found)


def has_value(reading: Reading) -> bool:
    """Whether a display showed a number."""
    return bool(np.isfinite(reading.shown)) and not reading.at_least


def relative(limits: tuple[float, float]) -> float:
    """Standard uncertainty of a rated value about itself, from unequal limits in percent."""
    low, high = limits
    return float(np.sqrt((low * low + low * high + high * high) / 3)) / 100


def cold_ohm(cable: Cable) -> float:
    """Resistance of one core of the cold lead [ohm]."""
    return float(cable.cold_lead_ohm_per_m * cable.cold_lead_m)


def two_cores(cable: Cable, far_end: str) -> Declined | None:
    """Why a cable is not one with two heated cores and this far end; None where it is."""
    if len(cable.construction.cores) != 2 or cable.construction.heats_between:
        return Declined("needs two heated cores")
    if cable.far_end != far_end:
        return Declined(f"needs a far end that is {far_end}")
    return None


def to_braid(core: str) -> Damage:
    """A core on the braid: a short, or from 10 kohm on a leak."""
    return lambda at_m, ohm: (
        (Short((core, "braid"), at_m, ohm),)
        if ohm < _LEAK_FROM_OHM
        else (Degraded.at((core, "braid"), at_m, ohm),)
    )


def cut(*cores: str) -> Damage:
    """These conductors broken, nothing touching."""
    return lambda at_m, _ohm: (Break(cores, at_m),)
