"""Kinds of damage that a study lays along its axes of place and resistance."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Short
from cablesim.cable.numbers import Real
from cablesim.errors import looked_up

__all__ = ["DAMAGES", "Damage", "damage_of"]

_Faults = Callable[[Cable, Real, Real, float], tuple[Fault, ...]]


@dataclass(frozen=True, slots=True)
class Damage:
    """A kind of damage with one place and one resistance.

    Parameters
    ----------
    name
        As the command line takes it.
    words
        What is broken, for headings.
    resistance_is
        What the resistance is that of.
    least_ohm, most_ohm
        Range worth a map [ohm].
    faults
        From cable, place [m], resistance [ohm] and how unsteady it is [%] to the faults.
    drifts
        Whether the resistance may be unsteady.
    """

    name: str
    words: str
    resistance_is: str
    least_ohm: float
    most_ohm: float
    faults: _Faults
    drifts: bool = True

    def fits(self, cable: Cable) -> bool:
        """Whether the cable has the conductors for it."""
        return self.name != "cores" or len(cable.construction.cores) > 1


def _short(_: Cable, at_m: Real, ohm: Real, drift_percent: float) -> tuple[Fault, ...]:
    return (Short(("core1", "braid"), at_m, ohm, drift_percent=drift_percent),)


def _cores(_: Cable, at_m: Real, ohm: Real, drift_percent: float) -> tuple[Fault, ...]:
    return (Short(("core1", "core2"), at_m, ohm, drift_percent=drift_percent),)


def _break(_: Cable, at_m: Real, ohm: Real, _drift: float) -> tuple[Fault, ...]:
    return (Break(("core1",), at_m, ohm),)


def _wet_break(_: Cable, at_m: Real, ohm: Real, drift_percent: float) -> tuple[Fault, ...]:
    leak = Short(("core1", "braid"), at_m, ohm, drift_percent=drift_percent)
    return (Break(("core1",), at_m), leak)


def _cut(cable: Cable, at_m: Real, ohm: Real, _drift: float) -> tuple[Fault, ...]:
    return (Break(cable.conductors, at_m, ohm),)


_ALL = (
    Damage("short", "core1 touches or leaks to the braid", "path to the braid", 0.1, 1e8, _short),
    Damage("cores", "core1 touches core2", "path between the cores", 0.1, 1e8, _cores),
    Damage("break", "core1 broken, nothing touching", "rest across the break", 1e2, 1e9, _break,
           drifts=False),
    Damage("wet-break", "core1 broken, its near end leaks to the braid", "leak at the break",
           1e2, 1e9, _wet_break),
    Damage("cut", "the whole cable cut through", "rest across each cut conductor", 1e2, 1e9, _cut,
           drifts=False),
)  # fmt: skip

DAMAGES: Final[Mapping[str, Damage]] = {damage.name: damage for damage in _ALL}


def damage_of(damage: Damage | str) -> Damage:
    """A kind of damage by its name, or as given.

    Raises
    ------
    InputError
        If there is none of this name; the message gives the nearest.
    """
    return looked_up("damage", damage, DAMAGES) if isinstance(damage, str) else damage
