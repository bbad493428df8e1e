"""Levels 1 to 5, defined by what the readings can do."""

from __future__ import annotations

__all__ = [
    "DECIDING",
    "HALF_WIDTHS_M",
    "PLAUSIBLE",
    "RAISED_BY_HYPOTHESES",
    "RAISED_BY_READINGS",
    "level_of",
]

HALF_WIDTHS_M = (0.15, 0.3, 0.6, 1.2)
"""Half-widths of the narrowest 95 % interval at which a level ends [m]: one tile, and each time
twice as wide."""

RAISED_BY_READINGS = 5
"""From so many readings on, the three ohm readings among them, a case is one level harder: ohms and
one more reading do not do."""

PLAUSIBLE = 0.05
"""A hypothesis is plausible while its probability is at least this."""

RAISED_BY_HYPOTHESES = 3
"""From so many plausible hypotheses on a case is one level harder as well: it takes more than to
tell two apart. Both together raise it once, so that levels stay in the order of their widths."""

DECIDING = 0.8
"""A verdict is given from this probability on, as `locate` does."""


def level_of(half_width_m: float, readings: int, plausible: int) -> int:
    """The level of a case.

    Parameters
    ----------
    half_width_m
        Half of the narrowest 95 % interval that the bag allows [m].
    readings
        Least number of readings that place the damage nearly as well, ohm readings among them.
    plausible
        Hypotheses that stay plausible after the ohm readings.

    Examples
    --------
    >>> level_of(0.1, 3, 1), level_of(0.1, 5, 1), level_of(0.1, 5, 4), level_of(2.0, 5, 4)
    (1, 2, 2, 5)
    """
    level = 1 + sum(half_width_m > limit for limit in HALF_WIDTHS_M)
    raised = readings >= RAISED_BY_READINGS or plausible >= RAISED_BY_HYPOTHESES
    return min(level + raised, 5)
