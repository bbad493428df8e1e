"""What is held possible before any reading: where a fault may lie, and what may be broken.

All of it is one table. The weights are judgements of the trade (common practice, no source): faults
gather at the cold joint and at the far end, and dead cables are more often broken or shorted than
merely leaking. The answer prints probabilities under this table; give another one to `locate` to
see how much it matters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import combinations_with_replacement
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.numbers import FloatArray, Real

__all__ = [
    "KINDS",
    "Hypothesis",
    "PlacePrior",
    "after_breakdown",
    "heated_part",
    "hypotheses",
    "place_prior",
]

KINDS = ("healthy", "short", "break", "degraded", "joint", "several")

# Half-width of the zone that counts as "at the joint".
JOINT_ZONE_M = 0.1
JOINT_WEIGHT = 0.1
COLD_LEAD_WEIGHT = 0.04

# A short is a path that an ohmmeter sees well, a degraded insulation one that it hardly sees.
SHORT_OHM = (1e-2, 1e4)
DEGRADED_OHM = (1e4, 1e9)
JOINT_OHM = (0.5, 1e4)


@dataclass(frozen=True)
class PlacePrior:
    """Piecewise even density of the place of one fault.

    Parameters
    ----------
    edges_m : ndarray, shape (zones + 1,)
        Edges of the zones [m from the cold joint].
    weights : ndarray, shape (zones,)
        Probability of each zone; they sum to 1.
    """

    edges_m: FloatArray
    weights: FloatArray

    def place_m(self, share: FloatArray) -> FloatArray:
        """Place below which this share of the probability lies."""
        return np.interp(share, self._below, self.edges_m)

    @cached_property
    def _below(self) -> FloatArray:
        """Probability below each edge."""
        return np.append(0.0, np.cumsum(self.weights))


def after_breakdown(
    table: Sequence[Hypothesis], pairs: Sequence[tuple[str, str]]
) -> list[Hypothesis]:
    """The hypotheses once a withstand test has tripped: insulation failed, whatever else is well.

    What would have been a healthy cable is one that holds at low voltage and breaks down at high
    voltage, between one of these pairs of conductors.

    Parameters
    ----------
    table
        Before the test.
    pairs
        Pairs of conductors that had the voltage across them.
    """
    left = [h for h in table if h.verdict != "healthy"]
    weight = sum(h.weight for h in table if h.verdict == "healthy") / max(len(pairs), 1)
    for pair in pairs if weight > 0 else ():
        # Its voltages are placeholders: what reads at low voltage does not see them.
        gap = Flashover(pair, 0.0, breakdown_volt=1000.0, arc_volt=0.0)
        left.append(Hypothesis("flashover", weight, (gap,), (0,), (None,)))
    return left


def heated_part(cable: Cable) -> PlacePrior:
    """Even along the heated part: where each of two damages is held possible."""
    return PlacePrior(np.array([0.0, float(cable.heated_length_m)]), np.array([1.0]))


def place_prior(cable: Cable) -> PlacePrior:
    """Even along the heated part, with extra weight at the joints and a little in the cold leads.

    Parameters
    ----------
    cable
        With plain numbers, no batch.
    """
    length, lead = float(cable.heated_length_m), float(cable.cold_lead_m)
    zone = min(JOINT_ZONE_M, length / 10)
    zones: list[tuple[float, float, float]] = [(0.0, length, 1.0 - 2 * JOINT_WEIGHT)]
    zones.append((-min(zone, lead), zone, JOINT_WEIGHT))
    returns = cable.construction.returns
    zones.append((length - zone, length + (min(zone, lead) if returns else 0.0), JOINT_WEIGHT))
    if lead > zone:
        zones.append((-lead, -zone, COLD_LEAD_WEIGHT))
        if returns:
            zones.append((length + zone, length + lead, COLD_LEAD_WEIGHT))
    edges = np.unique([edge for low, high, _ in zones for edge in (low, high)])
    middle = (edges[:-1] + edges[1:]) / 2
    weights = np.zeros(len(middle))
    for low, high, weight in zones:
        weights += np.where((middle > low) & (middle < high), weight / (high - low), 0.0)
    weights *= np.diff(edges)
    return PlacePrior(edges, weights / weights.sum())


@dataclass(frozen=True)
class Hypothesis:
    """One thing that may be broken: which faults, with places and resistances left open.

    Parameters
    ----------
    verdict
        How the answer names it.
    weight
        Probability before any reading.
    faults
        The faults at placeholder places and resistances.
    place_of
        For each fault the number of its place: faults that share one lie at one point.
    ohm_ranges
        For each fault the range of its resistance, even in the logarithm; None where it has none.
    """

    verdict: str
    weight: float
    faults: tuple[Fault, ...] = ()
    place_of: tuple[int, ...] = ()
    ohm_ranges: tuple[tuple[float, float] | None, ...] = ()

    @cached_property
    def places(self) -> int:
        """How many places are unknown."""
        return len(set(self.place_of))

    @cached_property
    def resistances(self) -> tuple[tuple[float, float], ...]:
        """Ranges of the unknown resistances [ohm]."""
        return tuple(r for r in self.ohm_ranges if r is not None)

    @cached_property
    def alike(self) -> bool:
        """Whether there are two faults that differ in place and resistance only."""
        if len(self.faults) != 2:
            return False
        one, other = self.faults
        return one.kind == other.kind and _conductors(one) == _conductors(other)

    def at(self, places_m: Sequence[Real], ohms: Sequence[Real]) -> tuple[Fault, ...]:
        """Build the faults at these places with these resistances, arrays over a batch."""
        left = iter(ohms)
        placed: list[Fault] = []
        for fault, place, limits in zip(self.faults, self.place_of, self.ohm_ranges, strict=True):
            spots = ("from_m", "to_m") if isinstance(fault, Degraded) else ("at_m",)
            changes: dict[str, Any] = dict.fromkeys(spots, places_m[place])
            if limits is not None:
                changes["resistance_ohm"] = next(left)
            placed.append(replace(fault, **changes))
        return tuple(placed)


def _conductors(fault: Fault) -> tuple[str, ...]:
    return fault.conductors if isinstance(fault, Break | Joint) else fault.between


def hypotheses(cable: Cable) -> tuple[Hypothesis, ...]:
    """Every single fault that the cable can have and a meter can find, and double damage.

    Double damage is a core that is cut and lies on the braid, or any two of shorts and cut cores at
    two places.

    Left out, because nothing at its terminals shows them: a leak between two cores that are joined
    at the far end, and a broken braid.
    """
    cores = cable.construction.cores
    to_braid = [(core, "braid") for core in cores]
    pairs = [*to_braid, *([cores] if len(cores) == 2 else [])]
    leaks = pairs if cable.far_end == "open" else to_braid
    cuts: list[tuple[str, ...]] = [(core,) for core in cores]
    if len(cores) == 2:
        cuts.append(cores)
    cuts.append((*cores, "braid"))
    table = [Hypothesis("healthy", 0.30)]
    for a, b in pairs:
        short = Short((a, b), 0.0, 1.0)
        table.append(Hypothesis("short", 0.22 / len(pairs), (short,), (0,), (SHORT_OHM,)))
    for cut in cuts:
        table.append(Hypothesis("break", 0.22 / len(cuts), (Break(cut, 0.0),), (0,), (None,)))
    for a, b in leaks:
        leak = Degraded.at((a, b), 0.0, 1e6)
        table.append(Hypothesis("degraded", 0.12 / len(leaks), (leak,), (0,), (DEGRADED_OHM,)))
    for core in cores:
        joint = Joint(core, 0.0, 1.0)
        table.append(Hypothesis("joint", 0.06 / len(cores), (joint,), (0,), (JOINT_OHM,)))
    for core in cores:
        # The chisel cuts a core and presses the end that stays on the thermostat's side against the
        # braid.
        near_end = (Break((core,), 0.0), Short((core, "braid"), 0.0, 1.0))
        table.append(Hypothesis("several", 0.05 / len(cores), near_end, (0, 0), (None, SHORT_OHM)))
    # Two damages at two places, each a short or a cut core.
    ones: list[tuple[Fault, tuple[float, float] | None]] = [
        *((Short(pair, 0.0, 1.0), SHORT_OHM) for pair in pairs),
        *((Break((core,), 0.0), None) for core in cores),
    ]
    twos = list(combinations_with_replacement(ones, 2))
    for (one, one_ohm), (other, other_ohm) in twos:
        table.append(
            Hypothesis("several", 0.03 / len(twos), (one, other), (0, 1), (one_ohm, other_ohm))
        )
    return tuple(table)
