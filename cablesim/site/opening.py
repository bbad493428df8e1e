"""Where to open the floor: the least tiles, or the least patch, and lines that spare every run.

A splice needs more than the damage itself: some of the cable on either side must come free. Lines
to cut or rake along keep clear of the cable; where an edge of the opening passes over it, be it the
run itself or a neighbour that crosses the same tile, nothing is cut: that part is lifted by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.cable.numbers import require
from cablesim.errors import InputError
from cablesim.site.plan import Plan
from cablesim.site.room import Point
from cablesim.site.tiles import Tile, TileGrid

__all__ = ["CLEAR_M", "SLACK_M", "Opening", "opening_for", "tile_grid", "tiles_for_splice"]

SLACK_M = 0.10
"""Cable to be freed on either side of the damage [m]: about 25 mm of jacket and screen and 6 mm of
core are bared on each side, the sleeve goes beyond that, and the rest lets the splice be lifted;
common practice, no source."""

CLEAR_M = 0.02
"""How far a line to cut along keeps from the middle of a cable [m]; common practice, no source."""

# The cable, its sleeve and a finger: so much on either side of its middle must lie open [m].
_OPEN_M = 0.01
# Edges of a patch without tiles are sought so far out [m], and gain nothing by a greater distance
# from the cable than this [m].
_SOUGHT_M, _ROOMY_M, _STEP_M = 0.12, 0.05, 0.0025
# Where the work begins is sought on a grid of this step, so far from the edge, and near the damage
# once it is so far from every run [m].
_GRID_M, _EDGE_M, _ENOUGH_M = 0.01, 0.03, 0.06


@dataclass(frozen=True, slots=True)
class Opening:
    """What to open for one interval.

    Parameters
    ----------
    interval_m
        Where the damage is thought to lie [m from the cold joint].
    freed_m
        The interval and the slack for the splice, as far as the heated part goes [m].
    tiles
        Tiles to lift, by column and row; empty where the floor has none.
    patch
        The opening, a shapely geometry.
    cuts
        Edges along which to cut or rake, a shapely geometry of lines; none is nearer to the middle
        of any run than `CLEAR_M`.
    by_hand
        Edges that pass over the cable, a shapely geometry of lines: not to be cut.
    begin_m
        Where to break the covering first: far from every run, inside the opening, near the damage.
    begin_clear_m
        How far that is from the nearest run [m].
    other_runs
        Numbers of runs that lie under the opening and are not part of what is to be freed.
    covered
        Share of the freed stretch that can be reached; less than 1 where it goes under what is
        kept out.
    """

    interval_m: tuple[float, float]
    freed_m: tuple[float, float]
    tiles: tuple[Tile, ...]
    patch: Any
    cuts: Any
    by_hand: Any
    begin_m: Point
    begin_clear_m: float
    other_runs: tuple[int, ...]
    covered: float

    @property
    def area_m2(self) -> float:
        """Area of the opening [m2]."""
        return float(self.patch.area)


def tile_grid(plan: Plan) -> TileGrid | None:
    """The tiles of a plan's room, or None where it has none."""
    if plan.survey.tile_m is None:
        return None
    return TileGrid(plan.survey.tile_m, plan.survey.tile_origin_m, plan.room)


def opening_for(plan: Plan, interval_m: Sequence[float], slack_m: float = SLACK_M) -> Opening:
    """Find the smallest opening for an interval and the slack that a splice needs.

    With tiles: every tile that lies over the stretch to be freed, and no other. Without: a
    rectangle along the run whose edges lie between runs.

    Parameters
    ----------
    plan
        Where the cable lies.
    interval_m
        From and to [m from the cold joint]; what lies off the heated part is left out.
    slack_m
        Cable to be freed beyond either end of the interval [m].

    Raises
    ------
    InputError
        If the interval ends before it begins, or lies off the heated part altogether.
    """
    low, high = _checked(plan, interval_m)
    require("slack_m", slack_m, at_least=0.0, at_most=10.0)
    freed = (max(0.0, low - slack_m), min(plan.heated_length_m, high + slack_m))
    return _opening(plan, (low, high), freed)


def _checked(plan: Plan, interval_m: Sequence[float]) -> tuple[float, float]:
    try:
        low, high = (float(value) for value in interval_m)
    except (TypeError, ValueError):
        raise InputError("interval_m", interval_m, "two positions, such as (12.2, 12.6)") from None
    if not low <= high:
        raise InputError("interval_m", [low, high], "from and to, in this order")
    if high < 0.0 or low > plan.heated_length_m:
        raise InputError(
            "interval_m",
            [low, high],
            f"on the heated part, from 0 to {plan.heated_length_m:g} m",
            "the plan does not show the cold lead",
        )
    return max(low, 0.0), min(high, plan.heated_length_m)


def _opening(plan: Plan, interval: tuple[float, float], freed: tuple[float, float]) -> Opening:
    import shapely

    wanted = _line(plan, *freed)
    room = plan.room.free()
    reachable = shapely.intersection(wanted.buffer(_OPEN_M), room)
    cable = shapely.LineString(plan.route.xy_m)
    shapely.prepare(cable)
    grid = tile_grid(plan)
    if grid is not None:
        tiles = grid.under(reachable)
        patch = grid.area(tiles)
    else:
        tiles = ()
        patch = shapely.intersection(_rectangle(plan, freed, wanted, cable), room)
    cuts, by_hand = _edges(patch, room, cable)
    begin, clear_m = _beginning(patch, cable, _line(plan, *interval))
    rest = [
        run.number
        for run in plan.runs
        if _under(plan, (run.from_m, min(run.to_m, freed[0] - CLEAR_M)), patch)
        or _under(plan, (max(run.from_m, freed[1] + CLEAR_M), run.to_m), patch)
    ]
    own = {run.number for run in plan.runs if run.from_m <= freed[1] and run.to_m >= freed[0]}
    return Opening(
        interval_m=interval,
        freed_m=freed,
        tiles=tiles,
        patch=patch,
        cuts=cuts,
        by_hand=by_hand,
        begin_m=begin,
        begin_clear_m=clear_m,
        other_runs=tuple(number for number in rest if number not in own),
        covered=float(wanted.intersection(patch.buffer(1e-6)).length / wanted.length),
    )


def tiles_for_splice(plan: Plan, position_m: float, slack_m: float = SLACK_M) -> tuple[Tile, ...]:
    """The tiles that must be lifted to splice at one place; none where the floor has no tiles.

    Parameters
    ----------
    plan
        Where the cable lies.
    position_m
        The place [m from the cold joint].
    slack_m
        Cable to be freed on either side [m].
    """
    import shapely

    grid = tile_grid(plan)
    if grid is None:
        return ()
    stretch = _line(plan, position_m - slack_m, position_m + slack_m)
    return grid.under(shapely.intersection(stretch.buffer(_OPEN_M), plan.room.free()))


def _line(plan: Plan, from_m: float, to_m: float) -> Any:
    """A stretch of the cable on the plan; one of no length still is a place."""
    import shapely

    low = min(max(from_m, 0.0), plan.heated_length_m - 1e-6)
    return shapely.LineString(plan.stretch(low, max(to_m, low + 1e-6)))


def _under(plan: Plan, stretch_m: tuple[float, float], patch: Any) -> bool:
    import shapely

    low, high = stretch_m
    if high - low < 1e-6:
        return False
    return bool(shapely.LineString(plan.stretch(low, high)).intersection(patch).length > 1e-6)


def _edges(patch: Any, room: Any, cable: Any) -> tuple[Any, Any]:
    """Part the edge of an opening into lines to cut and what passes over the cable.

    Walls and what is kept out end the covering by themselves: nothing is cut there.
    """
    import shapely

    inner = shapely.difference(patch.boundary, room.boundary.buffer(1e-4))
    # The zone is a polygon around round ends; a trifle more makes up for its corners.
    zone = cable.buffer(CLEAR_M * 1.005, quad_segs=16)
    return shapely.difference(inner, zone), shapely.intersection(inner, zone)


def _beginning(patch: Any, cable: Any, damage: Any) -> tuple[Point, float]:
    """Where to begin in an opening, and how far that is from the nearest run [m]."""
    if patch.is_empty:
        x, y = damage.coords[0]
        return (float(x), float(y)), 0.0
    middle = damage.interpolate(0.5, normalized=True)
    for inner in (patch.buffer(-_EDGE_M), patch):
        if inner.is_empty:
            continue
        place = _roomiest(inner, cable, middle)
        off_m = float(cable.distance(place))
        if off_m >= _EDGE_M:  # in a narrow opening the edge itself is where to begin
            break
    return (float(place.x), float(place.y)), off_m


def _roomiest(area: Any, cable: Any, middle: Any) -> Any:
    """The point of an area far from every run, and of those far enough the nearest to a place."""
    import shapely

    left, low, right, high = area.bounds
    step = max(_GRID_M, (right - left) / 200, (high - low) / 200)
    xs = np.arange(left + step / 2, right, step)
    ys = np.arange(low + step / 2, high, step)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    points = shapely.points(np.concatenate([grid, [area.representative_point().coords[0]]]))
    shapely.prepare(area)
    inside = points[shapely.contains(area, points)]
    off_m = np.minimum(np.round(shapely.distance(inside, cable), 3), _ENOUGH_M)
    return inside[int(np.lexsort((shapely.distance(inside, middle), -off_m))[0])]


def _rectangle(plan: Plan, freed: tuple[float, float], wanted: Any, cable: Any) -> Any:
    """A rectangle along the run over what is to be freed, its edges between runs if possible."""
    import shapely

    middle = (freed[0] + freed[1]) / 2
    legs = np.diff(plan.stretch(*plan.run_at(middle).straight_m), axis=0)
    lengths = np.hypot(*legs.T)
    cosine, sine = legs[np.argmax(lengths)] / lengths.max()
    turn = np.array([[cosine, -sine], [sine, cosine]])
    line, others = (shapely.transform(part, lambda xy: xy @ turn) for part in (wanted, cable))
    shapely.prepare(others)
    left, low, right, high = line.bounds
    out = dict.fromkeys(("left", "low", "right", "high"), _ROOMY_M)
    for _ in range(2):  # how long an edge is depends on where the edges beside it lie
        for side in out:
            out[side] = _best_offset(side, (left, low, right, high), out, others)
    box = shapely.box(
        left - out["left"], low - out["low"], right + out["right"], high + out["high"]
    )
    return shapely.transform(box, lambda xy: xy @ turn.T)


def _best_offset(side: str, bounds: tuple[float, ...], out: dict[str, float], cable: Any) -> float:
    """How far out an edge crosses least cable, keeps clear of it, and makes the least opening."""
    import shapely

    offsets = np.arange(_OPEN_M, _SOUGHT_M + _STEP_M / 2, _STEP_M)
    left, low, right, high = (
        bounds[0] - out["left"],
        bounds[1] - out["low"],
        bounds[2] + out["right"],
        bounds[3] + out["high"],
    )
    if side in ("left", "right"):
        x = bounds[0] - offsets if side == "left" else bounds[2] + offsets
        ends = [(np.full_like(x, low), np.full_like(x, high)), (x, x)]
        lines = shapely.linestrings(
            np.stack([np.stack([ends[1][k], ends[0][k]], axis=-1) for k in (0, 1)], axis=1)
        )
    else:
        y = bounds[1] - offsets if side == "low" else bounds[3] + offsets
        lines = shapely.linestrings(
            np.stack([np.stack([np.full_like(y, x), y], axis=-1) for x in (left, right)], axis=1)
        )
    zone = cable.buffer(CLEAR_M)
    over_m = np.round(shapely.length(shapely.intersection(lines, zone)), 4)
    clear_m = np.minimum(shapely.distance(lines, cable), _ROOMY_M)
    return float(offsets[np.lexsort((offsets, -np.round(clear_m, 4), over_m))[0]])
