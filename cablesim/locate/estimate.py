"""The answer: what is broken, where, and how sure one can be. Plain frozen values."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.cable.shown import Shown

__all__ = [
    "DECIDED",
    "Alternative",
    "Density",
    "Estimate",
    "FaultEstimate",
    "NextReading",
    "Proposal",
    "decimals_for",
]

# A verdict is given where its hypotheses together have at least this probability.
DECIDED = 0.8


def decimals_for(width_m: float) -> int:
    """Decimals that a place deserves whose interval is this wide [m]."""
    if width_m >= 2.0:
        return 1
    return 2 if width_m >= 0.05 else 3


@dataclass(frozen=True, slots=True)
class FaultEstimate:
    """One fault as located.

    Parameters
    ----------
    kind
        ``short``, ``break``, ``degraded`` or ``joint``.
    between
        The two conductors of a short or a leak, else None.
    conductors
        The conductors that are cut, or that have the bad joint, else None.
    position_m
        Best single place [m from the cold joint]: the median of the likeliest interval.
    interval_m
        Shortest interval that holds the place with the estimate's level, or the likeliest of
        several [m].
    intervals_m
        All separate intervals which together hold that level.
    resistance_ohm
        Median of the fault's resistance [ohm]; None for a clean break.
    resistance_interval_ohm
        Interval that holds the resistance with the estimate's level [ohm], an end None where the
        readings do not tell it; None where there is no resistance or nothing is known of its error.
    """

    kind: str
    between: tuple[str, str] | None
    conductors: tuple[str, ...] | None
    position_m: float
    interval_m: tuple[float, float]
    intervals_m: tuple[tuple[float, float], ...]
    resistance_ohm: float | None
    resistance_interval_ohm: tuple[float | None, float | None] | None = None

    @property
    def open_m(self) -> float:
        """Length of all intervals together [m]: what the readings leave open."""
        return sum(high - low for low, high in self.intervals_m)

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {
            "kind": self.kind,
            "between": list(self.between) if self.between else None,
            "conductors": list(self.conductors) if self.conductors else None,
            "position_m": self.position_m,
            "interval_m": list(self.interval_m),
            "intervals_m": [list(interval) for interval in self.intervals_m],
            "resistance_ohm": self.resistance_ohm,
            "resistance_interval_ohm": (
                list(self.resistance_interval_ohm) if self.resistance_interval_ohm else None
            ),
        }


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another thing that may be broken.

    Parameters
    ----------
    verdict
        As in `Estimate`.
    probability
        Its share among the hypotheses considered.
    faults
        Where it would then be.
    """

    verdict: str
    probability: float
    faults: tuple[FaultEstimate, ...]

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {
            "verdict": self.verdict,
            "probability": self.probability,
            "faults": [fault.to_dict() for fault in self.faults],
        }


@dataclass(frozen=True, slots=True)
class NextReading:
    """The reading to take next.

    Parameters
    ----------
    meter
        Name of the meter, or of the method where that is no meter.
    across
        What each lead touches.
    why
        What it would decide.
    kind
        The method, as in `cablesim.locate.effort.USUAL_EFFORT`: kind of the meter, or a camera's.
    setting
        Method of a bridge or a survey, or sign of an echo; empty where there is none.
    """

    meter: str
    across: tuple[str, ...]
    why: str
    kind: str = ""
    setting: str = ""

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {
            "meter": self.meter,
            "across": list(self.across),
            "setting": self.setting or None,
            "why": self.why,
        }


@dataclass(frozen=True, slots=True)
class Proposal:
    """A slip that would explain readings, or a number that no display says.

    Parameters
    ----------
    reading
        Number of the reading, from 1; of several the first; None where the cable's data may be
        wrong.
    change
        ``unit``, ``leads``, ``range``, ``rating`` or ``length``; ``display`` where the meter cannot
        have shown the number.
    value
        What the reading would then be, or the cable's loop resistance or length.
    unit
        Unit of the value.
    explains
        The likeliest verdict once it is changed.
    told
        One sentence that asks for it.
    other_reading
        Number of the reading that it changed places with; None for other slips.
    readings
        Numbers of all readings that are changed.
    """

    reading: int | None
    change: str
    value: float
    unit: str
    explains: str
    told: str
    other_reading: int | None = None
    readings: tuple[int, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        told = {name: getattr(self, name) for name in self.__dataclass_fields__}
        return told | {"readings": list(self.readings)}


@dataclass(frozen=True, slots=True)
class Density:
    """Probability density of the place, for figures.

    Parameters
    ----------
    edges_m : ndarray, shape (cells + 1,)
        Edges of the cells along the cable [m from the cold joint].
    per_m : ndarray, shape (cells,)
        Density in each cell [1/m]; integrates to 1.
    """

    edges_m: FloatArray
    per_m: FloatArray

    @property
    def mass(self) -> FloatArray:
        """Probability of each cell."""
        return self.per_m * np.diff(self.edges_m)


@dataclass(frozen=True, slots=True)
class Estimate(Shown):
    """What the readings say.

    Parameters
    ----------
    verdict
        ``healthy``, ``short``, ``break``, ``degraded``, ``joint``, ``several`` or ``undecided``.
    probability
        Of this verdict (of the likeliest one where undecided) among the hypotheses considered.
    locatable
        Whether the readings place the damage well enough to open a floor there.
    reason
        Why not, where they do not; otherwise empty.
    faults
        The likeliest damage; empty where healthy.
    level
        Probability that ``interval_m`` of a fault holds the truth, given the verdict.
    alternatives
        What else it may be, likeliest first.
    next_reading
        The reading to take next, None where none tells more than it costs.
    cautions
        What to mind before anyone acts on this.
    conflict
        Sentence naming the reading that fits least, where no hypothesis explains them all;
        otherwise empty.
    proposals
        What to ask: slips, each of which would explain readings that conflict, or explain them far
        better than damage at two places; the label of another cable, with which nothing would be
        broken; numbers that no display says. Likeliest first.
    unused
        Readings that were seen but not used for the place, in words.
    density
        Density of the place of the likeliest damage; None where healthy.
    faults_probability
        Of ``faults`` themselves, which share the verdict with other sets of conductors; None where
        nobody weighed them.
    used
        How many readings the answer rests on; 0 where nobody counted them.
    """

    verdict: str
    probability: float
    locatable: bool
    reason: str
    faults: tuple[FaultEstimate, ...]
    level: float
    alternatives: tuple[Alternative, ...]
    next_reading: NextReading | None
    cautions: tuple[str, ...]
    conflict: str = ""
    proposals: tuple[Proposal, ...] = ()
    unused: tuple[str, ...] = ()
    density: Density | None = field(default=None, compare=False, repr=False)
    faults_probability: float | None = None
    used: int = 0

    @property
    def doubted(self) -> bool:
        """Whether all is decided but for a slip that is likelier than the damage."""
        undecided = self.verdict == "undecided" and not self.conflict
        return undecided and self.probability >= DECIDED and bool(self.proposals)

    @property
    def conflict_in_short(self) -> str:
        """The conflict in few words, for one reading or for several; empty where there is none."""
        if not self.conflict:
            return ""
        one = self.used == 1
        return (
            "nothing known explains this reading" if one else "the readings contradict each other"
        )

    def to_dict(self) -> dict[str, Any]:
        """The contract of ``cablesim locate --json``, without the density."""
        return {
            "verdict": self.verdict,
            "probability": self.probability,
            "locatable": self.locatable,
            "reason": self.reason,
            "faults": [fault.to_dict() for fault in self.faults],
            "faults_probability": self.faults_probability,
            "level": self.level,
            "alternatives": [other.to_dict() for other in self.alternatives],
            "next_reading": self.next_reading.to_dict() if self.next_reading else None,
            "cautions": list(self.cautions),
            "conflict": self.conflict or None,
            "proposals": [proposal.to_dict() for proposal in self.proposals],
            "unused": list(self.unused),
        }
