"""The one result of every estimator: what is broken, where, and how sure, flat and comparable."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from math import isfinite
from types import MappingProxyType
from typing import TypeAlias

from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.locate.budget import Declined
from cablesim.locate.estimate import Density, Estimate

__all__ = ["Answer", "BrokenContract", "Raw", "answer_of"]

_NOTHING: Mapping[str, float] = MappingProxyType({})


class BrokenContract(InputError):
    """What an estimator says is no answer; a refusal of readings is another thing."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What an estimator says of one case.

    Parameters
    ----------
    verdict
        Kind of damage as in `Estimate`, ``undecided``, or empty where the estimator does not say.
    probabilities
        Of each kind, as far as given; at most 1 together. Empty for a method that presumes a kind
        and does not weigh it against others.
    position_m
        Best place of the damage, of the nearest where there are two [m from the cold joint]; None
        where it names none.
    intervals_m
        Separate intervals which together hold that place with probability `level` [m].
    level
        See there.
    density
        Density of the place. Where it is left out, scores take the normal one that has the one
        interval given.
    locatable
        Whether it holds the place good enough to open a floor there.
    declined
        Why there is no answer, in one clause; then all else is empty.

    Raises
    ------
    BrokenContract
        If a place is not a number, an interval is reversed, the level is not between 0 and 1, or
        probabilities are none.

    Examples
    --------
    >>> answer = Answer(position_m=12.4, intervals_m=((12.2, 12.6),))
    >>> answer.level, answer.holds(12.5), answer.holds(13.0)
    (0.95, True, False)
    >>> Answer(declined="needs a reading: loop bridge").declined
    'needs a reading: loop bridge'
    """

    verdict: str = ""
    probabilities: Mapping[str, float] = field(default_factory=lambda: _NOTHING, hash=False)
    position_m: float | None = None
    intervals_m: tuple[tuple[float, float], ...] = ()
    level: float = 0.95
    density: Density | None = field(default=None, compare=False, repr=False)
    locatable: bool = True
    declined: str = ""

    def __post_init__(self) -> None:
        if not 0.0 < self.level < 1.0:
            raise BrokenContract(
                "level", self.level, "between 0 and 1", "give a share such as 0.95"
            )
        if self.position_m is not None and not isfinite(self.position_m):
            raise BrokenContract("position_m", self.position_m, "a number of metres")
        if self.intervals_m and self.position_m is None:
            raise BrokenContract(
                "an answer has an interval but no place", try_this="give position_m"
            )
        for low, high in self.intervals_m:
            if not (isfinite(low) and isfinite(high) and low <= high):
                raise BrokenContract(
                    "interval_m", [low, high], "two numbers of metres, low and high"
                )
        shares = list(self.probabilities.values())
        # A little over one is rounding.
        if any(not 0.0 <= share <= 1.0 + 1e-6 for share in shares) or sum(shares) > 1 + 1e-6:
            raise BrokenContract(
                "probabilities", dict(self.probabilities), "between 0 and 1, at most 1 together"
            )
        if self.declined and (self.verdict or self.position_m is not None or shares):
            raise BrokenContract(
                "an answer is declined and given at once", try_this="do one of them"
            )

    @property
    def open_m(self) -> float:
        """Length of all intervals together [m]."""
        return sum(high - low for low, high in self.intervals_m)

    def holds(self, place_m: float) -> bool:
        """Whether an interval holds this place [m]."""
        return any(low <= place_m <= high for low, high in self.intervals_m)


Raw: TypeAlias = Answer | Estimate | Declined
"""What an estimator may return; `answer_of` makes an `Answer` of it."""


def answer_of(found: Raw, cable: Cable, *, weighs: bool = True) -> Answer:
    """Make the one result of whatever an estimator of this package returns.

    Parameters
    ----------
    found
        What it returned.
    cable
        The cable that it was asked about: an interval that misses it altogether is no answer.
    weighs
        Whether it weighs one kind of damage against others.

    Raises
    ------
    BrokenContract
        If it returned something else.
    """
    if isinstance(found, Answer):
        return found
    if isinstance(found, Declined):
        return Answer(declined=found.reason)
    if not isinstance(found, Estimate):
        raise BrokenContract(
            "what the estimator returned", found, "an Answer, an Estimate or a Declined"
        )
    if not found.faults:
        return Answer(found.verdict, _shares(found) if weighs else _NOTHING, level=found.level)
    nearest = min(found.faults, key=lambda fault: fault.position_m)
    first, last = float(cable.first_m), float(cable.last_m)
    if all(high < first or low > last for low, high in nearest.intervals_m):
        return Answer(declined=found.reason or "its place lies off the cable")
    return Answer(
        verdict=found.verdict,
        probabilities=_shares(found) if weighs else _NOTHING,
        position_m=nearest.position_m,
        intervals_m=nearest.intervals_m,
        level=found.level,
        density=found.density if nearest is found.faults[0] else None,
        locatable=found.locatable,
    )


def _shares(found: Estimate) -> dict[str, float]:
    """Probability of each kind; what an estimate does not list (under 2 %) is not shared out."""
    kind = found.verdict
    if kind == "undecided":
        kinds = {fault.kind for fault in found.faults}
        kind = "several" if len(found.faults) > 1 else next(iter(kinds), "healthy")
    shares = {kind: found.probability}
    for other in found.alternatives:
        if other.verdict != kind:
            shares[other.verdict] = shares.get(other.verdict, 0.0) + other.probability
    return shares
