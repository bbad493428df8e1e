"""Laying by rule: a serpentine of exactly the heated length in a room, or why there is none."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.site.lattice import Lattice, loops_of
from cablesim.site.room import Point, Room
from cablesim.site.route import Route
from cablesim.site.survey import Rule

__all__ = ["laid_route"]

# Chords of a quarter bend: at a radius of 50 mm no chord is farther than 0.05 mm from its arc.
_CHORDS = 18
# Beyond so many cells the rule would keep a person waiting.
_MOST_CELLS = 10_000
# Two ways of laying count as equally warm where what they leave cold differs by less of the floor.
_SAME_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class _Loop:
    """A closed way over the floor with rounded bends."""

    xy: FloatArray  # shape (points + 1, 2), the last point is the first
    longest_run_m: float
    passed_m: FloatArray = field(init=False)

    def __post_init__(self) -> None:
        steps = np.hypot(*np.diff(self.xy, axis=0).T)
        object.__setattr__(self, "passed_m", np.concatenate([[0.0], np.cumsum(steps)]))

    @property
    def length_m(self) -> float:
        return float(self.passed_m[-1])

    def part(self, from_m: float, length_m: float) -> FloatArray:
        """The points of so much of the loop, beginning anywhere on it."""
        ends = np.array([from_m, from_m + length_m])
        twice = np.concatenate([self.passed_m, self.passed_m[1:] + self.length_m])
        xy = np.concatenate([self.xy, self.xy[1:]])
        between = (twice > ends[0] + 1e-9) & (twice < ends[1] - 1e-9)
        at_ends = np.stack([np.interp(ends, twice, xy[:, k]) for k in (0, 1)], axis=1)
        return np.concatenate([at_ends[:1], xy[between], at_ends[1:]])

    def nearest_m(self, point: Point) -> float:
        """How far along the loop its nearest place to a point lies."""
        legs = np.diff(self.xy, axis=0)
        to_point = np.asarray(point) - self.xy[:-1]
        share = np.clip(np.sum(to_point * legs, axis=1) / np.sum(legs**2, axis=1), 0, 1)
        best = int(np.argmin(np.hypot(*(to_point - share[:, None] * legs).T)))
        start, end = self.passed_m[best : best + 2]
        return float(start + share[best] * (end - start)) % self.length_m


@lru_cache(maxsize=32)
def laid_route(room: Room, rule: Rule, length_m: float) -> Route:
    """Lay a cable in a room by rule.

    Runs are parallel or square to the longest wall, one spacing apart, at least a margin from the
    walls and from what is kept out. Of all ways that the rule finds it takes the one which leaves
    the least floor cold, and of those alike the one with the fewest bends.

    Parameters
    ----------
    room
        Walls, and areas that no cable may enter.
    rule
        Spacing, margin, start and bends.
    length_m
        Heated length [m]: the route has exactly this length.

    Returns
    -------
    Route
        Position 0 is the cold joint, on the laying where it is nearest to the rule's start. Bends
        are drawn as short chords.

    Raises
    ------
    InputError
        If the room cannot take the cable: it is too long (the message says what fits), too short
        for a serpentine, or there is no place for two runs.

    Examples
    --------
    >>> room = Room(((0, 0), (3, 0), (3, 2), (0, 2)))
    >>> route = laid_route(room, Rule(0.1, 0.05, (0.0, 0.0)), 40.0)
    >>> round(route.length_m, 9), [round(float(x), 3) for x in route.at(0.0)]
    (40.0, [0.065, 0.065])
    """
    if not room.holds(rule.start_m):
        raise InputError("run.start_m", list(rule.start_m), "a place inside outline_m, or on it")
    loops = list(_loops(room, rule))
    if not loops:
        raise InputError(
            f"the room has no place for two runs {rule.spacing_m:g} m apart that keep "
            f"{rule.margin_m:g} m from the walls and from keep_out_m",
            try_this="check outline_m, keep_out_m, run.margin_m and run.spacing_m",
        )
    # The two ends of the cable keep one spacing too: a half circle lies between them.
    gap_m = math.pi / 2 * rule.spacing_m
    most_m = max(loop.length_m for loop in loops) - gap_m
    least_m = min(2 * loop.longest_run_m for loop in loops) + gap_m
    if length_m > most_m:
        raise InputError(
            "cable.heated_length_m",
            length_m,
            f"at most {math.floor(10 * most_m) / 10:g} m, which is what fits into the room of "
            f"[floor] with runs {rule.spacing_m:g} m apart",
            "check run.spacing_m, or give route_m as surveyed",
        )
    if length_m < least_m:
        raise InputError(
            "cable.heated_length_m",
            length_m,
            f"at least {math.ceil(10 * least_m) / 10:g} m, which is two runs across the room of "
            "[floor]",
            "too short a cable makes no serpentine there: give route_m as surveyed",
        )
    fitting = [loop for loop in loops if loop.length_m - gap_m >= length_m]
    ways = [way for loop in fitting for way in _both_ways(loop, rule.start_m, length_m)]
    floor = room.free(rule.margin_m)
    best = min(ways, key=lambda xy: (_cold_steps(xy, floor, rule.spacing_m), _bends(xy)))
    return Route(tuple((float(x), float(y)) for x, y in _apart(best)))


def _loops(room: Room, rule: Rule) -> Iterator[_Loop]:
    import shapely

    outline = np.array(room.outline_m)
    walls = np.roll(outline, -1, axis=0) - outline
    longest = walls[int(np.argmax(np.hypot(*walls.T)))]
    cosine, sine = longest / np.hypot(*longest)
    for along in (
        np.array([[cosine, -sine], [sine, cosine]]),
        np.array([[-sine, -cosine], [cosine, -sine]]),
    ):
        # The columns of `along` are the directions of runs and across; exact zeros stay exact.
        turn = np.where(np.abs(along) < 1e-12, 0.0, along)
        floor = shapely.transform(room.free(rule.margin_m), lambda xy, turn=turn: xy @ turn)
        if floor.is_empty:
            return
        _check_size(floor, rule.spacing_m)
        shapely.prepare(floor)
        for from_top in (False, True):
            lattice = Lattice.over(floor, rule.spacing_m, rule.radius_m, from_top=from_top)
            if lattice is None:
                continue
            for corners in loops_of(lattice, floor, rule.spacing_m):
                yield _rounded(corners, rule.radius_m, turn)


def _check_size(floor: Any, spacing_m: float) -> None:
    low_x, low_y, high_x, high_y = floor.bounds
    cells = (high_x - low_x) * (high_y - low_y) / (2 * spacing_m) ** 2
    if cells > _MOST_CELLS:
        raise InputError(
            f"outline_m is too large to be laid by rule ({high_x - low_x:.0f} m by "
            f"{high_y - low_y:.0f} m with runs {spacing_m:g} m apart)",
            try_this="draw only the part of the floor that this cable heats, or give route_m",
        )


def _rounded(corners: FloatArray, radius_m: float, turn: FloatArray) -> _Loop:
    """Round right-angled corners, and turn the floor back to where it was."""
    before = corners - np.roll(corners, 1, axis=0)
    steps = np.hypot(*before.T)
    before = before / steps[:, None]
    after = np.roll(before, -1, axis=0)
    angle = np.linspace(0.0, math.pi / 2, _CHORDS + 1)[:, None, None]
    middle = corners + radius_m * (after - before)
    arcs = middle + radius_m * (np.sin(angle) * before - np.cos(angle) * after)
    xy = np.swapaxes(arcs, 0, 1).reshape(-1, 2)
    # Where two bends follow each other the last point of one is the first of the next.
    apart = np.hypot(*(xy - np.roll(xy, 1, axis=0)).T) > 1e-9
    xy = xy[apart]
    return _Loop(np.concatenate([xy, xy[:1]]) @ turn.T, float(steps.max()))


def _both_ways(loop: _Loop, start: Point, length_m: float) -> list[FloatArray]:
    back = _Loop(loop.xy[::-1].copy(), loop.longest_run_m)
    return [way.part(way.nearest_m(start), length_m) for way in (loop, back)]


def _cold_steps(xy: FloatArray, floor: Any, spacing_m: float) -> int:
    """Floor that lies farther than one spacing from the cable, in steps that count as equal."""
    import shapely

    simple = shapely.LineString(xy).simplify(spacing_m / 8)
    warm = simple.buffer(spacing_m, quad_segs=2).intersection(floor)
    return round(float((floor.area - warm.area) / (_SAME_SHARE * floor.area)))


def _bends(xy: FloatArray) -> float:
    """By how much the cable turns in all [rad]."""
    heading = np.unwrap(np.arctan2(*np.diff(xy, axis=0).T[::-1]))
    return round(float(np.sum(np.abs(np.diff(heading)))), 3)


def _apart(xy: FloatArray) -> FloatArray:
    """Drop a point that is no more than rounding away from the one before it."""
    keep = np.concatenate([[True], np.hypot(*np.diff(xy, axis=0).T) > 1e-7])
    keep[-1] = True
    if not np.hypot(*(xy[-1] - xy[keep][-2])) > 1e-7:
        keep[np.flatnonzero(keep)[-2]] = False
    return np.asarray(xy[keep], float)
