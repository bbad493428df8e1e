"""What can be wrong with a cable: frozen values, positions in metres from the cold joint.

Every number may be an array: then the fault stands for a batch of scenarios, one element each.
At one and the same position the near-side shunts come first, then series elements, then far-side
shunts, so the order in which faults are listed never matters. Insulation that leaks at one point
leaks half on either side.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from cablesim.cable.numbers import Real, require
from cablesim.errors import InputError

__all__ = ["Break", "Degraded", "Fault", "Flashover", "Joint", "Short"]

# A resistance that changes by more than tenfold is not one.
MOST_DRIFT_PERCENT = 1000.0


def _pair(between: tuple[str, ...]) -> tuple[str, str]:
    if len(between) != 2 or between[0] == between[1]:
        raise InputError(
            what="between",
            got=list(between),
            allowed="two different conductors",
            try_this='write it like ["core1", "braid"]',
        )
    return (between[0], between[1])


def _side(side: str) -> None:
    if side not in ("near", "far"):
        raise InputError(what="side", got=side, allowed='"near" or "far"')


@dataclass(frozen=True, slots=True, eq=False)
class Short:
    """A conducting path between two conductors at one point.

    Parameters
    ----------
    between
        The two conductors.
    at_m
        Position from the cold joint [m]; negative in the cold lead.
    resistance_ohm
        Resistance of the path [ohm]; infinite is no fault.
    side
        On which side of a break at the very same position it lies, seen from the cold joint.
    drift_percent
        How unsteady it is: at each reading the resistance is up to this much more, or as many
        times less [%].
    """

    between: tuple[str, str]
    at_m: Real
    resistance_ohm: Real
    side: str = "near"
    drift_percent: float = 0.0
    kind = "short"

    def __post_init__(self) -> None:
        _pair(self.between)
        _side(self.side)
        require("at_m", self.at_m)
        require("resistance_ohm", self.resistance_ohm, at_least=0.0, infinite=True)
        require("drift_percent", self.drift_percent, at_least=0.0, at_most=MOST_DRIFT_PERCENT)

    @property
    def position_m(self) -> Real:
        """Where it is [m from the cold joint]."""
        return self.at_m


@dataclass(frozen=True, slots=True, eq=False)
class Break:
    """One or more conductors cut through at one point.

    Parameters
    ----------
    conductors
        The conductors that are cut.
    at_m
        Position from the cold joint [m].
    resistance_ohm
        What remains of each cut conductor [ohm]; infinite where cut clean, zero is no fault.
    """

    conductors: tuple[str, ...]
    at_m: Real
    resistance_ohm: Real = np.inf
    kind = "break"

    def __post_init__(self) -> None:
        if not self.conductors or len(set(self.conductors)) != len(self.conductors):
            raise InputError(
                what="conductors",
                got=list(self.conductors),
                allowed="one or more different conductors",
                try_this='write it like ["core1"]',
            )
        require("at_m", self.at_m)
        require("resistance_ohm", self.resistance_ohm, at_least=0.0, infinite=True)

    @property
    def position_m(self) -> Real:
        """Where it is [m from the cold joint]."""
        return self.at_m


@dataclass(frozen=True, slots=True, eq=False)
class Joint:
    """A bad series joint: extra resistance in one conductor at one point.

    Parameters
    ----------
    conductor
        The conductor that has it.
    at_m
        Position from the cold joint [m].
    resistance_ohm
        Extra series resistance [ohm].
    """

    conductor: str
    at_m: Real
    resistance_ohm: Real
    kind = "joint"

    def __post_init__(self) -> None:
        require("at_m", self.at_m)
        require("resistance_ohm", self.resistance_ohm, at_least=0.0, infinite=True)

    @property
    def conductors(self) -> tuple[str, ...]:
        """The conductor, as a tuple like that of a break."""
        return (self.conductor,)

    @property
    def position_m(self) -> Real:
        """Where it is [m from the cold joint]."""
        return self.at_m


@dataclass(frozen=True, slots=True, eq=False)
class Degraded:
    """Insulation that leaks along a stretch (or at a point, where both ends coincide).

    Parameters
    ----------
    between
        The two conductors.
    from_m, to_m
        The stretch, positions from the cold joint [m].
    resistance_ohm
        Insulation resistance of the whole stretch [ohm].
    drift_percent
        How unsteady it is: at each reading the resistance is up to this much more, or as many
        times less [%].
    """

    between: tuple[str, str]
    from_m: Real
    to_m: Real
    resistance_ohm: Real
    drift_percent: float = 0.0
    kind = "degraded"

    def __post_init__(self) -> None:
        _pair(self.between)
        require("from_m", self.from_m)
        require("to_m", self.to_m)
        require("resistance_ohm", self.resistance_ohm, above=0.0, infinite=True)
        require("drift_percent", self.drift_percent, at_least=0.0, at_most=MOST_DRIFT_PERCENT)
        if np.any(np.asarray(self.to_m) < np.asarray(self.from_m)):
            raise InputError(
                what="to_m",
                got=self.to_m,
                allowed=f"at least from_m ({self.from_m})",
                try_this="give the end nearer the cold joint as from_m",
            )

    @classmethod
    def at(
        cls,
        between: tuple[str, str],
        at_m: Real,
        resistance_ohm: Real,
        drift_percent: float = 0.0,
    ) -> Degraded:
        """Insulation that leaks at one point.

        Parameters
        ----------
        between
            The two conductors.
        at_m
            Position from the cold joint [m].
        resistance_ohm
            Resistance of the leak [ohm].
        drift_percent
            As for a stretch [%].
        """
        return cls(between, at_m, at_m, resistance_ohm, drift_percent)

    @property
    def position_m(self) -> Real:
        """The middle of the stretch [m from the cold joint]."""
        return (self.from_m + self.to_m) / 2.0


@dataclass(frozen=True, slots=True, eq=False)
class Flashover:
    """Insulation that breaks down where the voltage across it gets too high, and holds below.

    Parameters
    ----------
    between
        The two conductors.
    at_m
        Position from the cold joint [m]; negative in the cold lead.
    breakdown_volt
        Voltage across the place at which an arc strikes [V].
    arc_volt
        Voltage across the burning arc [V].
    leakage_ohm
        Resistance of the place while it holds [ohm]; infinite where it does not leak.
    """

    between: tuple[str, str]
    at_m: Real
    breakdown_volt: Real
    arc_volt: Real
    leakage_ohm: Real = np.inf
    kind = "flashover"

    def __post_init__(self) -> None:
        _pair(self.between)
        require("at_m", self.at_m)
        require("breakdown_volt", self.breakdown_volt, above=0.0)
        require("arc_volt", self.arc_volt, at_least=0.0)
        require("leakage_ohm", self.leakage_ohm, above=0.0, infinite=True)
        if np.any(np.asarray(self.arc_volt) > np.asarray(self.breakdown_volt)):
            raise InputError(
                what="arc_volt",
                got=self.arc_volt,
                allowed=f"at most breakdown_volt ({self.breakdown_volt})",
                try_this="an arc burns at less than it strikes at",
            )

    @property
    def position_m(self) -> Real:
        """Where it is [m from the cold joint]."""
        return self.at_m

    @property
    def resistance_ohm(self) -> Real:
        """What a meter of low voltage sees of it: its leakage [ohm]."""
        return self.leakage_ohm


Fault: TypeAlias = Short | Break | Joint | Degraded | Flashover
