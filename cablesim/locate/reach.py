"""Which reading places which fault, and how well: the bound for each reading, set and kind."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Joint
from cablesim.cable.numbers import FloatArray, finite_or_none, require
from cablesim.instruments.meter import first_of_kind
from cablesim.instruments.meters import LoopBridge, Meter, PulseEcho, Setting
from cablesim.instruments.readings import Probe
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup
from cablesim.locate.limits import NORMAL_95, bound_of
from cablesim.locate.linear import linearised
from cablesim.locate.prior import hypotheses

__all__ = ["Reach", "ReadingSet", "every_kind", "full_bag", "reach", "reading_sets"]

# Resistances at which a kind stands for itself; common practice, no source.
TYPICAL_OHM = {"short": 10.0, "degraded": 1e6, "joint": 5.0}
# An interval as wide as this share of the heated part says no more than the cable itself.
_OPEN_SHARE = 0.5
# Words of sets of readings of one kind of meter.
_ALL_OF = {"ohmmeter": "all ohms", "capacitance_meter": "all capacitances"}


@dataclass(frozen=True, slots=True)
class ReadingSet:
    """Readings taken together.

    Parameters
    ----------
    name
        Of a set; empty for a single reading.
    numbers
        Which readings of the bag.
    """

    name: str
    numbers: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Reach:
    """Half-widths of the narrowest 95 % intervals of the place.

    Parameters
    ----------
    probes
        The bag.
    kinds
        Each kind of damage, at its place and with its resistance.
    sets
        Single readings and sets of them.
    half_width_m, bare_m : ndarray, shape (sets, kinds)
        With what is known beforehand of cable and meters, and without [m]; infinite where the
        readings do not place the damage at all. Of two places the worse.
    open_m
        From this half-width on the readings say no more than the cable itself [m].
    """

    probes: tuple[Probe, ...]
    kinds: tuple[tuple[Fault, ...], ...]
    sets: tuple[ReadingSet, ...]
    half_width_m: FloatArray
    bare_m: FloatArray
    open_m: float

    @property
    def places(self) -> np.ndarray:
        """Whether a set places a kind, shape (sets, kinds)."""
        return np.asarray(self.half_width_m < self.open_m)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim limits --json`` prints."""
        return {
            "level": 0.95,
            "open_m": self.open_m,
            "kinds": [[_fault_dict(fault) for fault in kind] for kind in self.kinds],
            "rows": [
                {
                    "set": row.name or None,
                    "readings": [
                        {
                            "meter": self.probes[k].meter.name,
                            "across": list(self.probes[k].hookup.across),
                        }
                        for k in row.numbers
                    ],
                    "half_width_m": [finite_or_none(width) for width in self.half_width_m[number]],
                    "without_prior_m": [finite_or_none(width) for width in self.bare_m[number]],
                    "places": [bool(placed) for placed in self.places[number]],
                }
                for number, row in enumerate(self.sets)
            ],
        }


def _fault_dict(fault: Fault) -> dict[str, Any]:
    ohm = float(fault.resistance_ohm)
    return {
        "kind": fault.kind,
        "between": None if isinstance(fault, Break | Joint) else list(fault.between),
        "conductors": list(fault.conductors) if isinstance(fault, Break | Joint) else None,
        "position_m": float(fault.position_m),
        "resistance_ohm": ohm if np.isfinite(ohm) else None,
    }


def reach(
    cable: Cable,
    kinds: Sequence[tuple[Fault, ...]],
    probes: Sequence[Probe],
    sets: Sequence[ReadingSet] | None = None,
) -> Reach:
    """Bound of the place for each set of readings and each kind of damage.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    kinds
        Damage to be placed, such as `every_kind` gives.
    probes
        The bag, such as `full_bag` gives.
    sets
        Readings taken together; those of `reading_sets` unless given.
    """
    sets = reading_sets(probes) if sets is None else sets
    found = np.full((2, len(sets), len(kinds)), np.inf)
    for column, faults in enumerate(kinds):
        linear = linearised(cable, faults, probes)
        for row, chosen in enumerate(sets):
            some = linear.chosen(chosen.numbers)
            for k, prior in enumerate((True, False)):
                found[k, row, column] = bound_of(some, prior=prior).place_m.max()
    with_prior, bare = NORMAL_95 * found
    open_m = _OPEN_SHARE * float(cable.heated_length_m)
    return Reach(tuple(probes), tuple(kinds), tuple(sets), with_prior, bare, open_m)


def reading_sets(probes: Sequence[Probe]) -> tuple[ReadingSet, ...]:
    """Every reading by itself, all of each kind of meter, ohms with capacitances, and all."""
    of_kind: dict[str, tuple[int, ...]] = {}
    for number, probe in enumerate(probes):
        of_kind[probe.meter.kind] = (*of_kind.get(probe.meter.kind, ()), number)
    sets = [ReadingSet("", (number,)) for number in range(len(probes))]
    together = [(name, of_kind.get(kind, ())) for kind, name in _ALL_OF.items()]
    sets += [ReadingSet(name, numbers) for name, numbers in together if len(numbers) > 1]
    if all(numbers for _, numbers in together):
        both = tuple(sorted(number for _, numbers in together for number in numbers))
        sets.append(ReadingSet("ohms and capacitances", both))
    sets.append(ReadingSet("everything", tuple(range(len(probes)))))
    return tuple(sets)


def full_bag(cable: Cable, meters: Mapping[str, Meter] | None = None) -> tuple[Probe, ...]:
    """The usual readings, a loop bridge where the cable closes a loop, and an echo.

    Parameters
    ----------
    cable
        The cable; its construction decides.
    meters
        Meters by name; the first of each kind takes the place of the usual one.
    """
    own = first_of_kind((meters or {}).values())
    probes = list(standard_probes(cable))
    loop = ("core1@far",) if cable.construction.returns else ("core2",)
    if cable.construction.returns or cable.far_end == "joined":
        across = Hookup.of(cable, (*loop, "core1", "braid"))
        probes.append(Probe(LoopBridge(name="loop_bridge"), across, Setting(method="murray")))
    echo = PulseEcho(name="pulse_echo")
    probes.append(Probe(echo, Hookup.of(cable, ("core1", "braid"))))
    return tuple(replace(p, meter=own.get(p.meter.kind, p.meter)) for p in probes)


def every_kind(
    cable: Cable, at_m: float | None = None, stated: Sequence[Fault] = ()
) -> tuple[tuple[Fault, ...], ...]:
    """Every kind of damage that a cable can have, once for cores that are alike.

    Parameters
    ----------
    cable
        The cable.
    at_m
        Where [m from the cold joint]; the place of the first stated fault, or the middle of the
        heated part, unless given.
    stated
        Faults whose resistances stand for their kinds.

    Raises
    ------
    InputError
        If the place lies off the cable.
    """
    if at_m is None:
        at_m = float(stated[0].position_m if stated else cable.heated_length_m / 2)
    require("at_m", at_m, at_least=float(cable.first_m), at_most=float(cable.last_m))
    ohms = dict(TYPICAL_OHM)
    for fault in reversed(stated):
        if np.isfinite(fault.resistance_ohm) and fault.resistance_ohm > 0:
            ohms[fault.kind] = float(fault.resistance_ohm)
    kinds: list[tuple[Fault, ...]] = []
    for hypothesis in hypotheses(cable):
        if hypothesis.places > 1:
            continue  # a table of every two damages would be as wide as a floor
        named = {
            name
            for fault in hypothesis.faults
            for name in (fault.conductors if isinstance(fault, Break | Joint) else fault.between)
        }
        if "core1" not in named:
            continue
        left = [
            ohms[fault.kind]
            for fault, limits in zip(hypothesis.faults, hypothesis.ohm_ranges, strict=True)
            if limits is not None
        ]
        kinds.append(hypothesis.at([at_m] * hypothesis.places, left))
    return tuple(kinds)
