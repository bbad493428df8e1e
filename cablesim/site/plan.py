"""The plan: where on the floor each place of the cable lies, and what lies beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from cablesim.cable.numbers import FloatArray, Real, require
from cablesim.errors import InputError
from cablesim.site.laying import laid_route
from cablesim.site.room import Point, Room
from cablesim.site.route import Route
from cablesim.site.runs import Neighbour, Run, neighbours_of, runs_of
from cablesim.site.survey import Survey

__all__ = ["TOOL_REACH_M", "Plan", "plan_of"]

TOOL_REACH_M = 0.12
"""How far around the work a chisel or a drill may come to harm [m]; common practice, no source."""

# How far the surveyed length may be off the heated length before a part must be missing from the
# survey; common practice, no source.
_SURVEY_OFF = 0.15
# What is left free around a route where nobody has measured the walls [m].
_AROUND_M = 0.2


@dataclass(frozen=True, slots=True)
class Plan:
    """A cable on its floor.

    Positions are metres of heated cable from the cold joint, as everywhere; a survey that is a
    little longer or shorter than the cable is stretched evenly.

    Parameters
    ----------
    survey
        What is known of the floor.
    room
        Walls and what is kept out.
    route
        The way of the heated part.
    heated_length_m
        Length of the heated part [m].
    """

    survey: Survey
    room: Room
    route: Route
    heated_length_m: float

    @property
    def stretched(self) -> float:
        """Metres of the plan for each metre of cable; 1 where laid by rule."""
        return self.route.length_m / self.heated_length_m

    def at(self, position_m: Real) -> FloatArray:
        """Where on the plan a place of the cable lies.

        Parameters
        ----------
        position_m
            Metres from the cold joint, from 0 to the heated length; any shape (...).

        Returns
        -------
        ndarray, shape (..., 2)
            Coordinates [m].

        Raises
        ------
        InputError
            If a place lies in the cold lead or beyond the far end.

        Examples
        --------
        >>> plan = plan_of(Survey(route_m=((0.0, 0.0), (3.0, 0.0), (3.0, 1.0))), 4.0)
        >>> plan.at(3.5).tolist(), plan.position_of((3.2, 0.5))
        ([3.0, 0.5], 3.5)
        """
        require(
            "position_m",
            position_m,
            at_least=0.0,
            at_most=self.heated_length_m,
            try_this="the plan shows the heated part only, from the cold joint to the far end",
        )
        along = np.asarray(position_m, float) * self.stretched
        return self.route.at(np.minimum(along, self.route.length_m))

    def position_of(self, xy_m: Sequence[float]) -> float:
        """The place of the cable that is nearest to a point of the plan.

        Parameters
        ----------
        xy_m
            Coordinates [m].

        Returns
        -------
        float
            Metres from the cold joint; of a point on the route exactly its own.
        """
        return self.nearest(xy_m)[0]

    def nearest(self, xy_m: Sequence[float]) -> tuple[float, float]:
        """The nearest place of the cable, and how far it is from the point [m, m]."""
        along, off_m = self.route.nearest(xy_m)
        return min(along / self.stretched, self.heated_length_m), off_m

    def stretch(self, from_m: float, to_m: float) -> FloatArray:
        """The way of the cable between two positions; what lies off the heated part is left out.

        Parameters
        ----------
        from_m, to_m
            Positions [m].

        Returns
        -------
        ndarray, shape (points, 2)
            Coordinates [m].
        """
        return self.route.stretch(from_m * self.stretched, to_m * self.stretched)

    @property
    def runs(self) -> tuple[Run, ...]:
        """Straight parts in order; their places are positions on the cable [m]."""
        s = self.stretched
        return tuple(
            Run(
                run.number,
                run.from_m / s,
                run.to_m / s,
                (run.straight_m[0] / s, run.straight_m[1] / s),
            )
            for run in runs_of(self.route)
        )

    def run_at(self, position_m: float) -> Run:
        """The run to which a position belongs."""
        runs = self.runs
        return next((run for run in runs if position_m <= run.to_m), runs[-1])

    def neighbours(
        self, from_m: float, to_m: float, reach_m: float = TOOL_REACH_M
    ) -> tuple[Neighbour, ...]:
        """Other parts of the cable within reach of a tool at a stretch.

        Parameters
        ----------
        from_m, to_m
            The stretch that is worked on [m].
        reach_m
            How far a tool may slip [m].

        Returns
        -------
        tuple of Neighbour
            In order along the cable; their places are positions [m].
        """
        require("reach_m", reach_m, above=0.0, at_most=10.0)
        s = self.stretched
        low, high = np.clip([from_m, to_m], 0.0, self.heated_length_m) * s
        return tuple(
            Neighbour(n.run, n.from_m / s, n.to_m / s, n.distance_m)
            for n in neighbours_of(self.route, float(low), float(high), reach_m)
        )

    def suspect_weights(self, step_m: float = 0.01) -> tuple[tuple[float, float], ...]:
        """How the suspicious spots of the floor weigh places of the cable.

        Every spot counts the same in all, most in its middle and nothing at its rim. A locator may
        mix this into its prior.

        Parameters
        ----------
        step_m
            Distance between places [m].

        Returns
        -------
        tuple of (float, float)
            Positions [m] and weights, which sum to 1; empty where no spot lies over the cable.
        """
        require("step_m", step_m, at_least=1e-4, at_most=1.0)
        count = max(2, round(self.heated_length_m / step_m) + 1)
        positions = np.linspace(0.0, self.heated_length_m, count)
        xy = self.at(positions)
        total = np.zeros(count)
        for spot in self.survey.suspects:
            off_m = np.hypot(*(xy - np.asarray(spot.at_m)).T)
            share = np.clip(1.0 - off_m / spot.radius_m, 0.0, None)
            if share.sum() > 0:
                total += share / share.sum()
        if not total.sum() > 0:
            return ()
        total /= total.sum()
        return tuple((float(p), float(w)) for p, w in zip(positions, total, strict=True) if w > 0)


@lru_cache(maxsize=32)
def plan_of(survey: Survey, heated_length_m: float) -> Plan:
    """Bring a cable onto its floor.

    Parameters
    ----------
    survey
        What is known of the floor: with a route, or a rule to lay by.
    heated_length_m
        Length of the heated part [m].

    Raises
    ------
    InputError
        If the survey says nothing of where the cable lies, if the surveyed length cannot be that of
        the cable, if the route leaves the room, or if the room cannot take the cable.
    """
    require("heated_length_m", heated_length_m, above=0.0)
    if survey.rule is not None and survey.room is not None:
        route = laid_route(survey.room, survey.rule, float(heated_length_m))
        return Plan(survey, survey.room, route, float(heated_length_m))
    if not survey.route_m:
        raise InputError(
            "the floor does not say where the cable lies",
            try_this="give route_m as surveyed, or run = {spacing_m, margin_m, start_m}",
        )
    route = Route(survey.route_m)
    if abs(route.length_m / heated_length_m - 1.0) > _SURVEY_OFF:
        raise InputError(
            "the length of route_m",
            round(route.length_m, 3),
            f"within {100 * _SURVEY_OFF:g} % of cable.heated_length_m, {heated_length_m:g} m",
            "survey every run, or correct the heated length",
        )
    room = survey.room or _room_around(route)
    for number, corner in enumerate(route.points_m, start=1):
        if not room.holds(corner):
            raise InputError(f"route_m: point {number}", list(corner), "inside outline_m, or on it")
    for number, (one, other) in enumerate(pairwise(route.points_m), start=1):
        if not room.holds_line(one, other):
            raise InputError(
                f"route_m leaves outline_m between points {number} and {number + 1}",
                try_this="survey more corners there, or correct outline_m",
            )
    return Plan(survey, room, route, float(heated_length_m))


def _room_around(route: Route) -> Room:
    low: Point
    low, high = route.xy_m.min(axis=0) - _AROUND_M, route.xy_m.max(axis=0) + _AROUND_M
    (x0, y0), (x1, y1) = low, high
    return Room(tuple((float(x), float(y)) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))))
