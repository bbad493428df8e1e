"""The table of the floor: the room, where the cable lies in it, tiles, layers, suspicious spots."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from msgspec import UNSET, Meta, Struct, UnsetType

__all__ = ["FloorTable", "LayerTable", "RunTable", "SuspectTable"]

_MOST_CORNERS = 1000
_MOST_AREAS = 50
_MOST_LAYERS = 20
_MOST_SUSPECTS = 50

_Metres: TypeAlias = Annotated[float, Meta(ge=-1000, le=1000)]
_XY: TypeAlias = tuple[_Metres, _Metres]
_Ring: TypeAlias = Annotated[list[_XY], Meta(min_length=3, max_length=_MOST_CORNERS)]


class RunTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How the cable was laid, where nobody has surveyed it: a serpentine by rule."""

    spacing_m: Annotated[
        float, Meta(gt=0, le=2, description="Distance between neighbouring runs [m].")
    ]
    margin_m: Annotated[
        float,
        Meta(ge=0, le=1000, description="Distance kept from walls and from keep_out_m [m]."),
    ]
    start_m: Annotated[
        _XY, Meta(description="Where the cold joint lies, or the nearest place to it [m].")
    ]
    bend_radius_m: (
        Annotated[
            float,
            Meta(gt=0, le=1, description="Radius of the bends [m]; default half the spacing."),
        ]
        | UnsetType
    ) = UNSET


class LayerTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """One layer of the floor, from the top downwards."""

    material: Annotated[str, Meta(max_length=40, description="Name of the material.")]
    thickness_mm: Annotated[float, Meta(gt=0, le=10_000, description="Thickness [mm].")]


class SuspectTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A spot where damage is likelier than elsewhere."""

    at_m: Annotated[_XY, Meta(description="Its middle on the plan [m].")]
    radius_m: Annotated[float, Meta(gt=0, le=1000, description="How far it reaches [m].")]
    why: (
        Annotated[str, Meta(max_length=200, description="What makes it suspicious.")] | UnsetType
    ) = UNSET


class FloorTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The floor as seen from above: x to the right, y upwards, in metres."""

    outline_m: (
        Annotated[_Ring, Meta(description="Corners of the room's walls in order [m].")] | UnsetType
    ) = UNSET
    keep_out_m: (
        Annotated[
            list[_Ring],
            Meta(
                max_length=_MOST_AREAS,
                description="Corners of each area without cable, such as fixed furniture [m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    route_m: (
        Annotated[
            list[_XY],
            Meta(
                min_length=2,
                max_length=_MOST_CORNERS,
                description="The heated part as surveyed: corners of its way from the cold joint "
                "on [m]. Either this or run.",
            ),
        ]
        | UnsetType
    ) = UNSET
    run: (
        Annotated[RunTable, Meta(description="How it was laid, where it was not surveyed.")]
        | UnsetType
    ) = UNSET
    layers: (
        Annotated[
            list[LayerTable],
            Meta(max_length=_MOST_LAYERS, description="What the floor is made of, top first."),
        ]
        | UnsetType
    ) = UNSET
    tile_m: (
        Annotated[
            tuple[float, float],
            Meta(description="Width and height of the tiles with their joints [m]."),
        ]
        | UnsetType
    ) = UNSET
    tile_origin_m: (
        Annotated[_XY, Meta(description="A corner where four tiles meet [m]; default [0, 0].")]
        | UnsetType
    ) = UNSET
    suspect: (
        Annotated[
            list[SuspectTable],
            Meta(max_length=_MOST_SUSPECTS, description="Spots where damage is likelier."),
        ]
        | UnsetType
    ) = UNSET
