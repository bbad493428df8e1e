"""What a trainer asks for: how many cases, of which damage, on which cables, with which meters."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from cablesim.errors import InputError, nearest
from cablesim.scenario.practice import LEVELS, MOST_SEED
from cablesim.training.bags import bag_of

__all__ = ["CONSTRUCTIONS", "KINDS", "MOST_CASES", "Syllabus"]

KINDS = ("short", "break", "degraded", "joint")
CONSTRUCTIONS = ("twin", "single")
MOST_CASES = 5000


@dataclass(frozen=True, slots=True, kw_only=True)
class Syllabus:
    """A set of cases.

    Parameters
    ----------
    number
        How many.
    seed
        Of all chance: the same syllabus with the same seed gives the same bytes.
    levels
        Levels in turn, each from 1 to 5; none for whatever level comes up.
    kinds
        Kinds of damage, in random order; of two faults each is one of them.
    constructions
        ``twin`` and ``single``, in random order.
    bag
        Names of bags and kinds of meters, see `cablesim.training.bags`.
    faults
        How many in each case, 1 or 2.
    unsteady
        Whether shorts and leaks change from reading to reading.
    covered
        Whether the covering is closed over the cable.
    hopeless
        Whether some cases cannot be located with the bag, so that the right answer is to say so.
    prefix
        How the names of the cases begin.

    Raises
    ------
    InputError
        If a value is none of these.
    """

    number: int
    seed: int
    levels: tuple[int, ...] = LEVELS
    kinds: tuple[str, ...] = KINDS
    constructions: tuple[str, ...] = CONSTRUCTIONS
    bag: tuple[str, ...] = ("full",)
    faults: int = 1
    unsteady: bool = False
    covered: bool = True
    hopeless: bool = False
    prefix: str = "case"

    def __post_init__(self) -> None:
        if not 1 <= self.number <= MOST_CASES:
            raise InputError("number", self.number, f"from 1 to {MOST_CASES}")
        if not 0 <= self.seed <= MOST_SEED:
            raise InputError("seed", self.seed, f"from 0 to {MOST_SEED}")
        for level in self.levels:
            if level not in LEVELS:
                raise InputError("level", level, "from 1 to 5")
        _among("kinds", self.kinds, KINDS)
        _among("constructions", self.constructions, CONSTRUCTIONS)
        bag_of(self.bag)
        if self.faults not in (1, 2):
            raise InputError("faults", self.faults, "1 or 2")
        if not re.fullmatch(r"[A-Za-z0-9][A-Za-z0-9_-]{0,60}", self.prefix):
            raise InputError("prefix", self.prefix, "letters, digits, - and _, at most 61 of them")
        if self.unsteady and not {"short", "degraded"} & set(self.kinds):
            raise InputError(
                "unsteady", True, "left out without short or degraded: no other damage changes"
            )
        if self.faults == 2 and not {"short", "break"} & set(self.kinds):
            raise InputError("kinds", list(self.kinds), "short or break where there are two faults")


def _among(what: str, names: Sequence[str], known: Sequence[str]) -> None:
    for name in names or ("",):
        if name not in known:
            near = nearest(name, known)
            raise InputError(
                what, name, f"some of {', '.join(known)}", f"did you mean {near}?" if near else None
            )
