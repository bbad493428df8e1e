"""Up to which resistance a method reaches, read off its map."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cablesim.benchmark.study.reach_map import ReachMap

__all__ = ["CLOSE_M", "TENTH", "Reached", "reached", "reaches"]

# Errors that people ask about: half a metre, which is a tile or two, and a tenth of the cable.
CLOSE_M = 0.5
TENTH = 0.1
# A method reaches a resistance where this share of the places is placed.
_PLACES = 0.9
# There it may decline so often.
_DECLINED = 0.1


@dataclass(frozen=True, slots=True)
class Reached:
    """Resistances at which a method places damage, with one class of meters.

    Parameters
    ----------
    range_ohm
        First and last resistance of the map that is reached [ohm]; None where none is.
    gaps
        Whether some in between are not: most often chance, where errors are about as large as the
        limit.
    coverage
        Mean share of intervals there that hold the truth; NaN where there is no range.
    bias_m
        The largest bias at a place there [m]; NaN where there is no range.
    """

    range_ohm: tuple[float, float] | None
    gaps: bool
    coverage: float
    bias_m: float


def reaches(found: ReachMap, limit_m: float) -> NDArray[np.bool]:
    """Whether 95 % of the errors lie within a limit, at nine places of ten.

    Parameters
    ----------
    found
        The map.
    limit_m
        Limit of the error [m].

    Returns
    -------
    ndarray, shape (resistances, meter classes)
        A place where the method declines in more than a tenth of the cases is not placed.
    """
    with np.errstate(invalid="ignore"):
        placed = (found.p95_error_m <= limit_m) & (found.declined <= _DECLINED)
    return np.asarray(placed.mean(axis=0) >= _PLACES)


def reached(found: ReachMap, limit_m: float, column: int) -> Reached:
    """The resistances that a method reaches.

    Parameters
    ----------
    found
        The map.
    limit_m
        Limit of the error [m].
    column
        Number of the meter class.
    """
    good = reaches(found, limit_m)[:, column]
    if not good.any():
        return Reached(None, False, float("nan"), float("nan"))
    first, *_, last = np.flatnonzero(good).repeat(2)
    ohm = found.axes.resistance_ohm
    bias = found.bias_m[:, good, column]
    return Reached(
        (float(ohm[first]), float(ohm[last])),
        not good[first : last + 1].all(),
        float(np.nanmean(found.coverage[:, good, column])),
        float(bias.flat[np.nanargmax(np.abs(bias))]),
    )
