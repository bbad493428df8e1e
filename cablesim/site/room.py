"""A room on the plan: its outline, what stands in it for good, and where a cable may lie."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, TypeAlias

from cablesim.errors import InputError

__all__ = ["MOST_CORNERS", "MOST_METRES", "MOST_POINTS", "Point", "Ring", "Room", "checked_points"]

Point: TypeAlias = tuple[float, float]
Ring: TypeAlias = tuple[Point, ...]

MOST_CORNERS = 1000
MOST_POINTS = 100_000  # a way laid by rule has twenty points in each bend
MOST_METRES = 1000.0  # farther from the origin lies no floor

# A cable on the very edge of what is allowed lies within it, whatever the last digit says.
_EDGE_M = 1e-9
_ROUNDING_M = 1e-6  # numbers in a file have fewer digits than walls need


@dataclass(frozen=True, slots=True)
class Room:
    """A room as seen from above.

    Parameters
    ----------
    outline_m
        Corners of the walls in order [m]; the last is joined to the first.
    keep_out_m
        Corners of each area that no cable may enter, such as fixed furniture [m].

    Raises
    ------
    InputError
        If an outline has fewer than three corners, crosses itself or encloses nothing.

    Examples
    --------
    >>> room = Room(((0, 0), (3, 0), (3, 2), (0, 2)), (((0, 0), (1, 0), (1, 1), (0, 1)),))
    >>> room.area_m2, room.free_area_m2
    (6.0, 5.0)
    """

    outline_m: Ring
    keep_out_m: tuple[Ring, ...] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "outline_m", _checked_ring("outline_m", self.outline_m))
        keep_out = tuple(
            _checked_ring(f"keep_out_m[{number}]", ring)
            for number, ring in enumerate(self.keep_out_m, start=1)
        )
        object.__setattr__(self, "keep_out_m", keep_out)

    @property
    def area_m2(self) -> float:
        """Area within the walls [m2]."""
        return float(_polygon(self.outline_m).area)

    @property
    def free_area_m2(self) -> float:
        """Area within the walls less what is kept out [m2]."""
        return float(self.free().area)

    @property
    def bounds_m(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y [m]."""
        xs, ys = zip(*self.outline_m, strict=True)
        return min(xs), min(ys), max(xs), max(ys)

    def free(self, margin_m: float = 0.0) -> Any:
        """Where a cable may lie, as a shapely geometry.

        Parameters
        ----------
        margin_m
            Distance to be kept from walls and from what is kept out [m].
        """
        return _free(self, margin_m)

    def holds(self, xy_m: Point) -> bool:
        """Whether a point lies within the walls, or outside them by rounding alone."""
        import shapely

        return bool(_polygon(self.outline_m).distance(shapely.Point(xy_m)) <= _ROUNDING_M)

    def holds_line(self, one_m: Point, other_m: Point) -> bool:
        """Whether a straight line lies within the walls, or leaves them by rounding alone."""
        import shapely

        line = shapely.LineString((one_m, other_m))
        if shapely.covers(_polygon(self.outline_m), line):
            return True
        return bool(shapely.covers(_polygon(self.outline_m).buffer(_ROUNDING_M), line))


def checked_points(
    name: str, points: Iterable[Sequence[float]], least: int, most: int = MOST_CORNERS
) -> Ring:
    """Make a tuple of points of what may come from a file.

    Parameters
    ----------
    name
        What they are, for the message.
    points
        Pairs of numbers [m].
    least, most
        How many there may be.

    Raises
    ------
    InputError
        If there are too few or too many, or one is no pair of finite numbers on a floor.
    """
    found = []
    for number, point in enumerate(points, start=1):
        try:
            x, y = (float(value) for value in point)
        except (TypeError, ValueError):
            raise InputError(
                f"{name}: point {number}", point, "two numbers, such as [1.2, 0.4]"
            ) from (None)
        if not (math.hypot(x, y) <= MOST_METRES):
            raise InputError(
                f"{name}: point {number}",
                [x, y],
                f"two numbers of metres, at most {MOST_METRES:g} m from the origin",
                "a plan in millimetres must be divided by 1000",
            )
        found.append((x, y))
    if not least <= len(found) <= most:
        raise InputError(f"the number of points of {name}", len(found), f"from {least} to {most}")
    return tuple(found)


def _checked_ring(name: str, corners: Iterable[Sequence[float]]) -> Ring:
    ring = checked_points(name, corners, 3)
    if len(ring) > 3 and ring[0] == ring[-1]:
        ring = ring[:-1]
    polygon = _polygon(ring)
    if not polygon.is_valid:
        from shapely.validation import explain_validity

        where = explain_validity(polygon)
        raise InputError(
            f"{name} crosses or touches itself ({where.replace('[', ' at ').rstrip(']').lower()})",
            try_this="give the corners in order, once round",
        )
    if polygon.area < 1e-6:
        raise InputError(f"{name} encloses no area", try_this="give the corners in order")
    return ring


@lru_cache(maxsize=64)
def _polygon(ring: Ring) -> Any:
    import shapely

    return shapely.Polygon(ring)


@lru_cache(maxsize=64)
def _free(room: Room, margin_m: float) -> Any:
    import shapely

    # Mitred corners keep rectangles rectangular, and stay on the safe side of the margin.
    def grown(ring: Ring, by_m: float) -> Any:
        return _polygon(ring).buffer(by_m, join_style="mitre", mitre_limit=5.0)

    if margin_m == 0.0 and not room.keep_out_m:
        return _polygon(room.outline_m)
    inside = grown(room.outline_m, _EDGE_M - margin_m) if margin_m else _polygon(room.outline_m)
    outside = [
        grown(ring, margin_m - _EDGE_M) if margin_m else _polygon(ring) for ring in room.keep_out_m
    ]
    free = inside.difference(shapely.union_all(outside)) if outside else inside
    shapely.prepare(free)
    return free
