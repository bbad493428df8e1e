"""The way of the heated part over the floor: a polyline, position 0 at its first point."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.site.room import MOST_POINTS, Point, checked_points

__all__ = ["Route"]


@dataclass(frozen=True, slots=True)
class Route:
    """A way over the floor, from the cold joint to the far end.

    Parameters
    ----------
    points_m
        Its corners in order [m].

    Raises
    ------
    InputError
        If there are fewer than two points, two that follow each other are the same, or the way
        crosses or touches itself, which a heating cable must not.

    Examples
    --------
    >>> route = Route(((0.0, 0.0), (3.0, 0.0), (3.0, 4.0)))
    >>> route.length_m
    7.0
    >>> route.at(5.0).tolist()
    [3.0, 2.0]
    >>> route.nearest((3.5, 2.0))
    (5.0, 0.5)
    """

    points_m: tuple[Point, ...]
    _xy: FloatArray = field(init=False, repr=False, compare=False)
    _passed_m: FloatArray = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        points = checked_points("route_m", self.points_m, 2, MOST_POINTS)
        object.__setattr__(self, "points_m", points)
        self._measure(np.array(points))
        if not np.all(np.diff(self._passed_m) > 1e-9):
            twice = int(np.argmin(np.diff(self._passed_m)))
            raise InputError(
                f"route_m has the point {list(points[twice])} twice in a row",
                try_this="give each point once",
            )
        self._check_apart()

    def _measure(self, xy: FloatArray) -> None:
        steps = np.hypot(*np.diff(xy, axis=0).T)
        object.__setattr__(self, "_xy", xy)
        object.__setattr__(self, "_passed_m", np.concatenate([[0.0], np.cumsum(steps)]))

    def _check_apart(self) -> None:
        import shapely

        line = shapely.LineString(self._xy)
        if line.is_simple and self.points_m[0] != self.points_m[-1]:
            return
        raise InputError(
            "route_m crosses or touches itself, which a heating cable must not",
            try_this="give the points in the order in which the cable passes them",
        )

    @property
    def xy_m(self) -> FloatArray:
        """The corners [m], shape (corners, 2)."""
        return self._xy.copy()

    @property
    def passed_m(self) -> FloatArray:
        """How far along the way each corner lies [m], shape (corners,)."""
        return self._passed_m.copy()

    @property
    def length_m(self) -> float:
        """Length of the whole way [m]."""
        return float(self._passed_m[-1])

    def at(self, along_m: float | FloatArray) -> FloatArray:
        """The point so far along the way.

        Parameters
        ----------
        along_m
            Metres from the first point, of any shape (...).

        Returns
        -------
        ndarray, shape (..., 2)
            Coordinates [m].

        Raises
        ------
        InputError
            If a place lies before the beginning or beyond the end.
        """
        along = np.asarray(along_m, float)
        slack = 1e-9 * max(1.0, self.length_m)
        outside = ~((along >= -slack) & (along <= self.length_m + slack))
        if np.any(outside):
            raise InputError(
                "a place on the route",
                float(along[outside][0] if along.ndim else along),
                f"from 0 to {self.length_m:g} m",
            )
        leg = np.clip(
            np.searchsorted(self._passed_m, along, side="right") - 1, 0, len(self._xy) - 2
        )
        start, end = self._passed_m[leg], self._passed_m[leg + 1]
        share = np.clip((along - start) / (end - start), 0.0, 1.0)[..., None]
        return np.asarray(self._xy[leg] + share * (self._xy[leg + 1] - self._xy[leg]))

    def nearest(self, xy_m: Sequence[float]) -> tuple[float, float]:
        """The place of the way that is nearest to a point.

        Parameters
        ----------
        xy_m
            Coordinates [m].

        Returns
        -------
        tuple of float
            Metres from the first point, and the distance of the point from the way [m].
        """
        point = np.asarray(xy_m, float)
        if point.shape != (2,) or not np.all(np.isfinite(point)):
            raise InputError("a point of the plan", xy_m, "two numbers of metres")
        legs = np.diff(self._xy, axis=0)
        to_point = point - self._xy[:-1]
        share = np.clip(np.sum(to_point * legs, axis=1) / np.sum(legs**2, axis=1), 0.0, 1.0)
        off_m = np.hypot(*(to_point - share[:, None] * legs).T)
        best = int(np.argmin(off_m))
        start, end = self._passed_m[best], self._passed_m[best + 1]
        return float(start + share[best] * (end - start)), float(off_m[best])

    def stretch(self, from_m: float, to_m: float) -> FloatArray:
        """The points of a part of the way, its two ends and the corners between them.

        Parameters
        ----------
        from_m, to_m
            Ends of the part [m]; what lies beyond the way is left out.

        Returns
        -------
        ndarray, shape (points, 2)
            Coordinates [m].
        """
        low, high = np.clip([from_m, to_m], 0.0, self.length_m)
        between = (self._passed_m > low) & (self._passed_m < high)
        return np.concatenate(
            [self.at(np.array([low])), self._xy[between], self.at(np.array([high]))]
        )
