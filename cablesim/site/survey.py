"""What is known of a floor: the room, how the cable lies in it, tiles, layers, suspicious spots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from cablesim.cable.numbers import require
from cablesim.errors import InputError, looked_up
from cablesim.site.layers import MATERIALS
from cablesim.site.room import MOST_METRES, MOST_POINTS, Point, Ring, Room, checked_points

__all__ = ["FloorLayer", "Rule", "Survey", "Suspect"]

# Older general minimum between runs; from memory of NEC 424.44(B). A cable's own instructions ask
# for more.
LEAST_SPACING_M = 0.025
_MOST_SPACING_M = 2.0


@dataclass(frozen=True, slots=True)
class Rule:
    """How a cable was laid, where nobody has surveyed it.

    Parameters
    ----------
    spacing_m
        Distance between neighbouring runs, middle to middle [m].
    margin_m
        Distance kept from walls and from what is kept out [m].
    start_m
        Where the cold joint lies, or the nearest place to it that the laying passes [m].
    bend_radius_m
        Radius of the bends [m]; half the spacing where not given, so that runs are joined by half
        circles.
    """

    spacing_m: float
    margin_m: float
    start_m: Point
    bend_radius_m: float | None = None

    def __post_init__(self) -> None:
        if not self.spacing_m >= LEAST_SPACING_M:
            raise InputError(
                "run.spacing_m",
                self.spacing_m,
                f"at least {LEAST_SPACING_M} m between runs (from memory of NEC 424.44(B); the "
                "cable's own instructions ask for more)",
            )
        require("run.spacing_m", self.spacing_m, at_most=_MOST_SPACING_M)
        require("run.margin_m", self.margin_m, at_least=0.0, at_most=MOST_METRES)
        (start,) = checked_points("run.start_m", [self.start_m], 1)
        object.__setattr__(self, "start_m", start)
        if self.bend_radius_m is None:
            return
        require("run.bend_radius_m", self.bend_radius_m, above=0.0)
        if self.bend_radius_m > self.spacing_m / 2 + 1e-12:
            raise InputError(
                "run.spacing_m",
                self.spacing_m,
                f"at least twice bend_radius_m, {2 * self.bend_radius_m:g} m",
                "a bend joins runs that lie two radii apart",
            )

    @property
    def radius_m(self) -> float:
        """Radius of the bends [m]."""
        return self.spacing_m / 2 if self.bend_radius_m is None else self.bend_radius_m


@dataclass(frozen=True, slots=True)
class FloorLayer:
    """One layer of the floor, from the top downwards.

    Parameters
    ----------
    material
        A name of `cablesim.site.layers.MATERIALS`.
    thickness_mm
        Its thickness [mm].
    """

    material: str
    thickness_mm: float

    def __post_init__(self) -> None:
        looked_up("material", self.material, MATERIALS)
        require("thickness_mm", self.thickness_mm, above=0.0, at_most=10_000.0)


@dataclass(frozen=True, slots=True)
class Suspect:
    """A spot where damage is likelier than elsewhere.

    Parameters
    ----------
    at_m
        Its middle [m].
    radius_m
        How far it reaches [m].
    why
        What makes it suspicious.
    """

    at_m: Point
    radius_m: float
    why: str = ""

    def __post_init__(self) -> None:
        (at,) = checked_points("at_m", [self.at_m], 1)
        object.__setattr__(self, "at_m", at)
        require("radius_m", self.radius_m, above=0.0, at_most=MOST_METRES)


@dataclass(frozen=True, slots=True)
class Survey:
    """A floor as a scenario file states it.

    Parameters
    ----------
    room
        Outline and what is kept out; None where nobody has measured the walls.
    route_m
        The heated part as surveyed, from the cold joint on [m]; empty where it was not.
    rule
        How it was laid, where it was not surveyed.
    layers
        What the floor is made of, from the top downwards.
    tile_m
        Width and height of the tiles, with their joints [m]; None where there are none.
    tile_origin_m
        A corner where four tiles meet [m].
    suspects
        Spots where damage is likelier than elsewhere.

    Raises
    ------
    InputError
        If both a route and a rule are given, or a rule without a room.
    """

    room: Room | None = None
    route_m: Ring = ()
    rule: Rule | None = None
    layers: tuple[FloorLayer, ...] = ()
    tile_m: Point | None = None
    tile_origin_m: Point = (0.0, 0.0)
    suspects: tuple[Suspect, ...] = ()

    def __post_init__(self) -> None:
        if self.route_m and self.rule is not None:
            raise InputError(
                "route_m and run are both given",
                try_this="keep route_m where the cable was surveyed, else run",
            )
        if self.rule is not None and self.room is None:
            raise InputError(
                "run needs outline_m", try_this="give the corners of the room's walls in order"
            )
        if self.route_m:
            route = checked_points("route_m", self.route_m, 2, MOST_POINTS)
            object.__setattr__(self, "route_m", route)
        if self.tile_m is not None:
            object.__setattr__(self, "tile_m", _pair("tile_m", self.tile_m))
            for side in self.tile_m:
                require("tile_m", side, at_least=0.005, at_most=10.0, try_this="give it in metres")
        object.__setattr__(
            self, "tile_origin_m", checked_points("tile_origin_m", [self.tile_origin_m], 1)[0]
        )

    @property
    def has_route(self) -> bool:
        """Whether it says where the cable lies."""
        return bool(self.route_m) or self.rule is not None


def _pair(name: str, values: Sequence[float]) -> Point:
    return checked_points(name, [values], 1)[0]
