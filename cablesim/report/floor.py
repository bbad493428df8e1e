"""What is known of damage on its floor: the place on the plan, openings, neighbours, cautions."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cablesim.errors import InputError
from cablesim.locate.estimate import Estimate, FaultEstimate
from cablesim.report.words import by_place
from cablesim.scenario.scenario import Scenario
from cablesim.site.load import Load, load_of
from cablesim.site.opening import Opening, tile_grid
from cablesim.site.plan import Plan
from cablesim.site.ranking import Ranking, ranked_openings
from cablesim.site.runs import Neighbour
from cablesim.site.survey import Suspect
from cablesim.site.tiles import Tile

__all__ = ["FLOOR_CAUTIONS", "FloorAnswer", "floor_of_estimate", "floor_of_position", "wall_words"]

FLOOR_CAUTIONS = (
    "Work dead: switch off, lock off and prove dead before opening the floor; local codes and "
    "licensed practice come first.",
    "Confirm the place by a second, independent method before opening the floor: a plan is drawn, "
    "not seen, and one laid by rule shows only how the cable may lie.",
    "Look for water pipes, drains and other cables first, and mind the waterproofing of wet rooms; "
    "dust of tiles and old adhesives is harmful.",
    "Break the covering between the runs and no deeper than it is thick; where an edge passes over "
    "the cable, lift by hand.",
    "After the repair take the three readings again before closing the floor; cablesim repair says "
    "what they must be.",
)


@dataclass(frozen=True, slots=True)
class FloorAnswer:
    """Damage on its floor.

    Parameters
    ----------
    plan
        Where the cable lies.
    title
        One line for people.
    position_m
        Best single place [m from the cold joint]; None where there is none on the heated part.
    intervals
        Where the damage is thought to lie: from, to [m] and the probability that it lies there and
        on the plan.
    ranking
        Openings in their order; None where the floor should not be opened yet.
    reason
        Why not; else empty.
    neighbours
        Other parts of the cable within reach of a tool at the likeliest interval.
    suspects
        Suspicious spots over one of the intervals.
    load
        Rated power over the floor; None where the supply voltage is not known.
    off_plan
        Probability that the damage lies in the cold lead, as far as the intervals reach into it.
    estimate
        What the readings say, this place among it; None where the place was given.
    """

    plan: Plan
    title: str
    position_m: float | None
    intervals: tuple[tuple[float, float, float], ...]
    ranking: Ranking | None
    reason: str
    neighbours: tuple[Neighbour, ...]
    suspects: tuple[Suspect, ...]
    load: Load | None
    off_plan: float = 0.0
    estimate: Estimate | None = None

    @property
    def elsewhere(self) -> tuple[tuple[FaultEstimate, ...], ...]:
        """Damage at further places, which the plan does not show, in groups that share one."""
        groups = by_place(self.estimate.faults) if self.estimate is not None else []
        return tuple(tuple(group) for group in groups[1:])

    @property
    def xy_m(self) -> tuple[float, float] | None:
        """Where on the plan the best place lies [m]."""
        if self.position_m is None:
            return None
        x, y = self.plan.at(self.position_m)
        return float(x), float(y)

    @property
    def tile(self) -> Tile | None:
        """The tile over the best place, by column and row."""
        grid, xy = tile_grid(self.plan), self.xy_m
        if grid is None or xy is None:
            return None
        column, row = grid.tile_at(np.array(xy))
        return int(column), int(row)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim floor --json`` prints."""
        ranking, best = self.ranking, self.position_m
        return {
            "position_m": self.position_m,
            "at_m": list(self.xy_m) if self.xy_m else None,
            "tile": list(self.tile) if self.tile else None,
            "run": None if best is None else self.plan.run_at(best).number,
            "intervals": [
                {
                    "interval_m": [low, high],
                    "probability": share,
                    "stretch_m": self.plan.stretch(low, high).tolist(),
                }
                for low, high, share in self.intervals
            ],
            "neighbours": [
                {"run": n.run, "from_m": n.from_m, "to_m": n.to_m, "distance_m": n.distance_m}
                for n in self.neighbours
            ],
            "openings": [
                _opening_dict(opening, share)
                for opening, share in (
                    zip(ranking.openings, ranking.probabilities, strict=True) if ranking else ()
                )
            ],
            "lift_order": [
                {"tile": list(tile), "probability": share}
                for tile, share in (ranking.lift_order if ranking else ())
            ],
            "expected_tiles": ranking.expected_tiles if ranking else None,
            "expected_tiles_whole": ranking.expected_tiles_whole if ranking else None,
            "expected_area_m2": ranking.expected_area_m2 if ranking else None,
            "reason": self.reason,
            "off_plan_probability": self.off_plan,
            "elsewhere": [fault.to_dict() for group in self.elsewhere for fault in group],
            "proposals": [p.to_dict() for p in self.estimate.proposals] if self.estimate else [],
            "suspects": [
                {"at_m": list(s.at_m), "radius_m": s.radius_m, "why": s.why} for s in self.suspects
            ],
            "load": _load_dict(self.load),
            "cautions": list(FLOOR_CAUTIONS),
        }


def _opening_dict(opening: Opening, share: float) -> dict[str, Any]:
    return {
        "interval_m": list(opening.interval_m),
        "probability": share,
        "freed_m": list(opening.freed_m),
        "tiles": [list(tile) for tile in opening.tiles],
        "area_m2": opening.area_m2,
        "outlines_m": lines_of(opening.patch.boundary),
        "cuts_m": lines_of(opening.cuts),
        "by_hand_m": lines_of(opening.by_hand),
        "begin_m": list(opening.begin_m),
        "begin_clear_m": opening.begin_clear_m,
        "other_runs": list(opening.other_runs),
        "covered": opening.covered,
    }


def _load_dict(load: Load | None) -> dict[str, Any] | None:
    if load is None:
        return None
    return {
        "watt": load.watt,
        "watt_per_m": load.watt_per_m,
        "watt_per_m2": load.watt_per_m2,
        "watt_per_m2_between_runs": load.watt_per_m2_between_runs,
        "notes": list(load.notes),
    }


def lines_of(geometry: Any) -> list[list[list[float]]]:
    """The lines of a shapely geometry as lists of points [m]."""
    parts = getattr(geometry, "geoms", [geometry])
    return [
        [[float(x), float(y)] for x, y in part.coords]
        for part in parts
        if part.geom_type in ("LineString", "LinearRing") and not part.is_empty
    ]


def floor_of_position(scenario: Scenario, at_m: float, within_m: float) -> FloorAnswer:
    """Show a given place on the floor.

    Parameters
    ----------
    scenario
        With a floor that says where the cable lies.
    at_m
        The place [m from the cold joint].
    within_m
        How far off it may be, either way [m].

    Raises
    ------
    InputError
        If the floor does not say where the cable lies, or the place is not on its heated part.
    """
    plan = _plan(scenario)
    if not 0.0 <= at_m <= plan.heated_length_m:
        raise InputError("at_m", at_m, f"on the heated part, from 0 to {plan.heated_length_m:g} m")
    if not 0.0 <= within_m <= plan.heated_length_m:
        raise InputError("within_m", within_m, f"a number from 0 to {plan.heated_length_m:g} m")
    low, high = max(0.0, at_m - within_m), min(plan.heated_length_m, at_m + within_m)
    return _answer(scenario, plan, at_m, [(low, high, 1.0)], [], "")


def floor_of_estimate(scenario: Scenario, estimate: Estimate) -> FloorAnswer:
    """Show on the floor what the readings say.

    Parameters
    ----------
    scenario
        With a floor that says where the cable lies.
    estimate
        What its readings say.

    Raises
    ------
    InputError
        If the floor does not say where the cable lies.
    """
    plan = _plan(scenario)
    if not estimate.faults:
        why = estimate.reason or "nothing is found broken: there is no place to open"
        return replace(_answer(scenario, plan, None, [], [], why), estimate=estimate)
    fault = estimate.faults[0]
    cells: list[tuple[float, float, float]] = []
    whole = sum(high - low for low, high in fault.intervals_m) or 1.0
    # Without a density each metre of the intervals counts alike.
    shares = [estimate.level * _on(plan, *i) / whole for i in fault.intervals_m]
    off_plan = estimate.level * (1 - sum(_on(plan, *i) for i in fault.intervals_m) / whole)
    if estimate.density is not None:
        edges, mass = estimate.density.edges_m, estimate.density.mass
        cells = [
            (float(a), float(b), float(min(m, 1.0)))
            for a, b, m in zip(edges[:-1], edges[1:], mass, strict=True)
            if m > 0 and any(a < high and b > low for low, high in fault.intervals_m)
        ]
        shares = [
            _mass_within(edges, mass, max(low, 0.0), min(high, plan.heated_length_m))
            for low, high in fault.intervals_m
        ]
        every = sum(_mass_within(edges, mass, *interval) for interval in fault.intervals_m)
        off_plan = max(0.0, every - sum(shares))
    intervals = [
        (low, high, share) for (low, high), share in zip(fault.intervals_m, shares, strict=True)
    ]
    heated = [i for i in intervals if i[1] >= 0.0 and i[0] <= plan.heated_length_m]
    best = fault.position_m if 0.0 <= fault.position_m <= plan.heated_length_m else None
    reason = ""
    if not heated:
        reason = "the damage lies in the cold lead, which this plan does not show"
    elif not estimate.locatable:
        reason = estimate.reason or "the readings do not place the damage well enough"
    found = _answer(scenario, plan, best, heated, cells, reason)
    return replace(found, off_plan=off_plan, estimate=estimate)


def _on(plan: Plan, low_m: float, high_m: float) -> float:
    """How much of an interval lies on the plan [m]; a point of it counts as no length."""
    return max(0.0, min(high_m, plan.heated_length_m) - max(low_m, 0.0))


def _mass_within(edges: Any, mass: Any, low: float, high: float) -> float:
    if high <= low:
        return 0.0
    widths = np.diff(edges)
    overlap = np.clip(np.minimum(edges[1:], high) - np.maximum(edges[:-1], low), 0.0, None)
    return float(min(1.0, np.sum(mass * overlap / widths)))


def _plan(scenario: Scenario) -> Plan:
    if scenario.plan is None:
        raise InputError(
            "the scenario does not say where the cable lies on the floor",
            try_this="add [floor] with outline_m and route_m, or with run",
        )
    return scenario.plan


def _answer(
    scenario: Scenario,
    plan: Plan,
    best_m: float | None,
    intervals: Sequence[tuple[float, float, float]],
    cells: Sequence[tuple[float, float, float]],
    reason: str,
) -> FloorAnswer:
    ranking = None
    if intervals and not reason:
        # Their probabilities are those of what lies on the plan.
        on_plan = [(max(a, 0.0), min(b, plan.heated_length_m), share) for a, b, share in intervals]
        ranking = ranked_openings(plan, on_plan, cells=cells)
    around: tuple[Neighbour, ...] = ()
    if ranking is not None:
        around = plan.neighbours(*ranking.openings[0].freed_m)
    load = None
    if scenario.supply_volt is not None:
        load = load_of(plan, scenario.cable, scenario.supply_volt)
    return FloorAnswer(
        plan=plan,
        title=scenario.title,
        position_m=best_m,
        intervals=tuple(sorted(intervals, key=lambda i: -i[2])),
        ranking=ranking,
        reason=reason,
        neighbours=around,
        suspects=tuple(s for s in plan.survey.suspects if _over(plan, s, intervals)),
        load=load,
    )


def _over(plan: Plan, spot: Suspect, intervals: Sequence[tuple[float, float, float]]) -> bool:
    for low, high, _ in intervals:
        a, b = max(low, 0.0), min(high, plan.heated_length_m)
        xy = plan.at(np.linspace(a, b, max(2, int((b - a) / 0.01))))
        if np.hypot(*(xy - np.asarray(spot.at_m)).T).min() <= spot.radius_m:
            return True
    return False


def wall_words(plan: Plan, xy_m: Sequence[float]) -> str:
    """How far a point is from the walls, along and across the plan.

    >>> from cablesim.site.plan import plan_of
    >>> from cablesim.site.room import Room
    >>> from cablesim.site.survey import Survey
    >>> room = Room(((0, 0), (3, 0), (3, 2), (0, 2)))
    >>> wall_words(plan_of(Survey(room, ((0.5, 0.5), (2.5, 0.5))), 2.0), (2.5, 0.5))
    '0.50 m from the wall on the right, 0.50 m from the wall below'
    """
    told = []
    for names, axis in ((("on the left", "on the right"), 0), (("below", "above"), 1)):
        near = min(zip(walls_beside(plan, xy_m, axis), names, strict=True))
        told.append(f"{near[0]:.2f} m from the wall {near[1]}")
    return ", ".join(told)


def walls_beside(plan: Plan, xy_m: Sequence[float], axis: int) -> tuple[float, float]:
    """Distances of the walls from a point, towards less and more x (axis 0) or y (axis 1) [m]."""
    import shapely

    left, low, right, high = plan.room.bounds_m
    x, y = (float(value) for value in xy_m)
    ends = [(left - 1, y), (right + 1, y)] if axis == 0 else [(x, low - 1), (x, high + 1)]
    outline = shapely.Polygon(plan.room.outline_m).exterior
    here = shapely.Point(x, y)
    found = []
    for end in ends:
        ray = shapely.LineString([(x, y), end])
        crossing = ray.intersection(outline)
        found.append(float(crossing.distance(here)) if not crossing.is_empty else float("inf"))
    return found[0], found[1]
