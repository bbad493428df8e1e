"""Opening a floor in a drill: which tiles, what lies bare, and what is to be seen of the damage."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.cable.faults import Degraded, Fault
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.site.opening import SLACK_M, opening_for, tile_grid
from cablesim.site.plan import Plan
from cablesim.site.tiles import Tile
from cablesim.training.state import World

__all__ = ["Bared", "bared", "place_of"]

# How fine the cable is looked at [m].
_LOOK_M = 0.005


@dataclass(frozen=True, slots=True)
class Bared:
    """What an opening lays bare.

    Parameters
    ----------
    how
        ``tiles``, ``patch`` or ``chase``, as in `cablesim.training.state.Opened`.
    tiles
        Tiles over it, by column and row; empty where the floor has none.
    area_m2
        Its area; 0 where there is no plan.
    bare_m
        Stretches of cable [m from the cold joint].
    damage
        Numbers of the faults that are to be seen.
    patch
        The opening as a shapely geometry; None where there is no plan of it.
    """

    how: str
    tiles: tuple[Tile, ...]
    area_m2: float
    bare_m: tuple[tuple[float, float], ...]
    damage: tuple[int, ...]
    patch: Any = None


def place_of(world: World, at_m: float | None, xy_m: Sequence[float] | None) -> float:
    """A place in metres along the cable, however it was said.

    Parameters
    ----------
    world
        The cable and its floor.
    at_m
        Metres from the cold joint, or None.
    xy_m
        A point of the plan, or None.

    Raises
    ------
    InputError
        If there is neither, or both, or the place is off the cable or off the plan.
    """
    if (at_m is None) == (xy_m is None):
        raise InputError(
            "the place is not clear", try_this="say metres, such as 12.4, or a point, at 1.20,0.85"
        )
    if at_m is not None:
        first, last = float(world.cable.first_m), float(world.cable.last_m)
        if not first <= at_m <= last:
            raise InputError("the place", at_m, f"on the cable, from {first:g} to {last:g} m")
        return at_m
    assert xy_m is not None  # as checked above
    plan = world.plan
    if plan is None:
        raise InputError(
            "nobody knows how this cable lies", try_this="say the place in metres, such as 12.4"
        )
    if not plan.room.holds((float(xy_m[0]), float(xy_m[1]))):
        raise InputError(
            f"the point {xy_m[0]:g},{xy_m[1]:g} lies outside the room",
            try_this="metres along the cable are written with a point, such as 12.4",
        )
    return plan.position_of(xy_m)


def bared(world: World, at_m: float, within_m: float) -> Bared:
    """Open the floor over a place and look.

    Parameters
    ----------
    world
        The cable, what is broken in it, and its floor.
    at_m, within_m
        The place, and how far to either side of it [m].
    """
    low, high = at_m - within_m, at_m + within_m
    plan, faults = world.plan, world.bench.faults
    if plan is None or high < 0.0 or low > plan.heated_length_m:
        stretch = (low - SLACK_M, high + SLACK_M)
        seen = tuple(k for k, fault in enumerate(faults) if _lies_in(fault, (stretch,)))
        return Bared("chase", (), 0.0, (stretch,), seen)
    opening = opening_for(plan, (low, high))
    stretches = _under(plan, opening.patch)
    if low < 0.0:
        stretches = ((low - SLACK_M, 0.0), *stretches)
    seen = tuple(k for k, fault in enumerate(faults) if _lies_in(fault, stretches))
    how = "patch" if tile_grid(plan) is None else "tiles"
    return Bared(how, opening.tiles, opening.area_m2, stretches, seen, opening.patch)


def _under(plan: Plan, patch: Any) -> tuple[tuple[float, float], ...]:
    """The stretches of the cable that lie in a patch."""
    import shapely

    places = np.linspace(
        0.0, plan.heated_length_m, max(2, round(plan.heated_length_m / _LOOK_M) + 1)
    )
    inside = shapely.contains_xy(patch.buffer(1e-6), *plan.at(places).T)
    return _stretches(places, inside)


def _stretches(places: FloatArray, inside: Any) -> tuple[tuple[float, float], ...]:
    edges = np.flatnonzero(np.diff(np.concatenate([[False], inside, [False]]).astype(int)))
    return tuple(
        (float(places[begin]), float(places[end - 1]))
        for begin, end in zip(edges[::2], edges[1::2], strict=True)
    )


def _lies_in(fault: Fault, stretches: Sequence[tuple[float, float]]) -> bool:
    if isinstance(fault, Degraded):
        low, high = float(fault.from_m), float(fault.to_m)
    else:
        low = high = float(fault.position_m)
    return any(low <= end + _LOOK_M and high >= begin - _LOOK_M for begin, end in stretches)
