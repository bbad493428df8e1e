"""How hard a case is, by the physics: how narrow, with how many readings, and against what else.

Three measures, none of taste:

- the half-width of the narrowest 95 % interval that all readings of the bag together allow, from
  the Cramer-Rao bound in the form of van Trees (`cablesim.locate.limits`), the place known
  beforehand to lie somewhere on the cable;
- the least number of readings that come within half as much again of that, or within a tile;
- the number of hypotheses that keep 5 % after the three ohm readings.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Probe
from cablesim.locate.advice import placed_m
from cablesim.locate.limits import NORMAL_95, whitened
from cablesim.locate.linear import linearised

__all__ = ["NEARLY", "TILE_M", "Width", "half_widths_m", "width_of"]

NEARLY = 1.5
"""A half-width within this factor of the least is nearly as good."""

TILE_M = 0.15
"""A half-width as narrow as this is good enough for anyone: one tile of 0.3 m (common practice)."""


@dataclass(frozen=True, slots=True)
class Width:
    """How well the readings of a bag can place damage.

    Parameters
    ----------
    half_width_m
        Half of the narrowest 95 % interval, of the worse place where there are two [m].
    needed
        Numbers of the fewest readings that are nearly as good.
    limit_m
        Half-width up to which damage counts as placed on this cable [m].
    """

    half_width_m: float
    needed: tuple[int, ...]
    limit_m: float

    @property
    def placed(self) -> bool:
        """Whether the bag places the damage."""
        return self.half_width_m <= self.limit_m


def half_widths_m(
    cable: Cable, faults: Sequence[Fault], probes: Sequence[Probe], sets: Sequence[Sequence[int]]
) -> list[float]:
    """Half-widths of the narrowest 95 % intervals that sets of readings allow [m].

    Parameters
    ----------
    cable
        As rated.
    faults
        The damage.
    probes
        Every reading there is.
    sets
        Numbers of those taken together; an empty set knows only the length of the cable.
    """
    rows, known = _rows(cable, faults, probes)
    return [_half_width(rows[list(chosen)], known, rows.shape[1]) for chosen in sets]


def width_of(cable: Cable, faults: Sequence[Fault], probes: Sequence[Probe]) -> Width:
    """How well a bag can place damage, and with how few of its readings.

    The fewest are found by leaving out one reading after the other, each time the one that is
    missed least; so the number may on occasion be one too high, never too low to do.

    Parameters
    ----------
    cable
        As rated.
    faults
        The damage.
    probes
        Every reading of the bag.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> from cablesim.training.bags import bag_of, probes_of
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> probes = probes_of(cable, bag_of(["pocket"]))
    >>> width = width_of(cable, [Short(("core1", "braid"), 12.4, 55.0)], probes)
    >>> width.placed, len(width.needed)
    (True, 3)
    """
    rows, known = _rows(cable, faults, probes)
    unknowns = rows.shape[1]
    left = [k for k in range(len(rows)) if np.any(rows[k])]
    least = _half_width(rows[left], known, unknowns)
    enough = max(NEARLY * least, TILE_M)
    while left:
        without = [
            _half_width(rows[[k for k in left if k != out]], known, unknowns) for out in left
        ]
        best = int(np.argmin(without))
        if without[best] > enough:
            break
        del left[best]
    return Width(least, tuple(left), placed_m(cable) / 2)


_Known = tuple[FloatArray, int]


def _rows(
    cable: Cable, faults: Sequence[Fault], probes: Sequence[Probe]
) -> tuple[FloatArray, _Known]:
    """Slopes of each reading in standard deviations, and what is known without any."""
    linear = linearised(cable, tuple(faults), probes)
    rows = whitened(linear)[0]
    readings, limits = rows[: len(probes)], rows[len(probes) :]
    # Places are known beforehand to lie on the cable, evenly.
    spread_m = float(cable.last_m - cable.first_m) / 12**0.5
    places = np.eye(linear.places, rows.shape[1]) / spread_m
    prior = np.concatenate([limits, places])
    return readings, (prior.T @ prior, linear.places)


def _half_width(rows: FloatArray, known: _Known, unknowns: int) -> float:
    """Half of the narrowest 95 % interval of the worst place [m]."""
    prior, places = known
    information = prior + rows.T @ rows
    # In units of each unknown's own deviation the matrix is near enough to one for its inverse.
    size = np.sqrt(np.diagonal(information))
    inverse = np.linalg.inv(information / np.outer(size, size))
    return NORMAL_95 * float(np.sqrt(np.max(np.diagonal(inverse)[:places] / size[:places] ** 2)))
