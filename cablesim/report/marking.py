"""How far an answer is from the truth, where the truth is known."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.cable.faults import Break, Degraded, Fault
from cablesim.locate.estimate import Estimate, FaultEstimate
from cablesim.locate.prior import DEGRADED_OHM

__all__ = ["Mark", "mark"]

# Places nearer than this are one place to anyone who opens a floor.
_SAME_M = 1e-3


@dataclass(frozen=True, slots=True)
class Mark:
    """An answer held against the truth.

    Parameters
    ----------
    faults
        The truth.
    true_verdict
        What the verdict should have been.
    right
        Whether it was, with the right conductors.
    true_position_m
        Place of the true fault that lies nearest to the best place of the answer, of those on the
        same conductors where there are any [m from the cold joint]; the middle of a stretch.
    error_m
        Best place less true place [m]; None where the answer names no place.
    inside_interval
        Whether one of the answer's intervals holds the true place; None where it names no place.
    """

    faults: tuple[Fault, ...]
    true_verdict: str
    right: bool
    true_position_m: float
    error_m: float | None
    inside_interval: bool | None

    @property
    def places_m(self) -> tuple[float, ...]:
        """Every true place once, in order [m]."""
        return tuple(sorted({float(fault.position_m) for fault in self.faults}))

    def to_dict(self) -> dict[str, Any]:
        """The entry ``marked`` of ``cablesim locate --json``."""
        return {
            "true_verdict": self.true_verdict,
            "right": self.right,
            "true_position_m": self.true_position_m,
            "error_m": self.error_m,
            "inside_interval": self.inside_interval,
        }


def mark(estimate: Estimate, faults: Sequence[Fault]) -> Mark | None:
    """Hold an answer against the faults that are really there.

    Parameters
    ----------
    estimate
        The answer.
    faults
        The truth, plain numbers; where there is none, there is nothing to mark.
    """
    if not faults:
        return None
    verdict = _verdict(faults)
    right = verdict == estimate.verdict and _conductors(estimate.faults) == _conductors(faults)
    if not estimate.faults:
        return Mark(tuple(faults), verdict, right, float(faults[0].position_m), None, None)
    found = estimate.faults[0]
    alike = [fault for fault in faults if _conductors([fault]) == _conductors([found])]
    true = min(alike or faults, key=lambda fault: abs(float(fault.position_m) - found.position_m))
    low, high = _stretch(true)
    return Mark(
        faults=tuple(faults),
        true_verdict=verdict,
        right=right,
        true_position_m=float(true.position_m),
        error_m=found.position_m - float(true.position_m),
        inside_interval=any(
            a <= high + _SAME_M and b >= low - _SAME_M for a, b in found.intervals_m
        ),
    )


def _verdict(faults: Sequence[Fault]) -> str:
    """The verdict that these faults deserve, by the boundaries of the hypotheses."""
    if len(faults) > 1:
        return "several"
    (fault,) = faults
    if isinstance(fault, Break) and np.isfinite(fault.resistance_ohm):
        return "joint"  # a cut whose ends still touch is a bad joint to every meter
    if fault.kind in ("short", "degraded"):
        return "short" if fault.resistance_ohm < DEGRADED_OHM[0] else "degraded"
    return fault.kind


def _conductors(faults: Sequence[Fault | FaultEstimate]) -> set[frozenset[str]]:
    """The conductors of each fault; they have no order."""
    return {
        frozenset(getattr(fault, "between", None) or getattr(fault, "conductors", None) or ())
        for fault in faults
    }


def _stretch(fault: Fault) -> tuple[float, float]:
    if isinstance(fault, Degraded):
        return float(fault.from_m), float(fault.to_m)
    return float(fault.position_m), float(fault.position_m)
