"""The table ``[cable.geometry]`` of a scenario file: how the cable is made."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from msgspec import UNSET, Meta, Struct, UnsetType

__all__ = ["GeometryTable"]

# Outside these bounds it is another unit: from a wire like a hair to one of 300 mm2.
_Strands: TypeAlias = Annotated[
    float, Meta(ge=1, le=1000, description="Number of equal round wires; default 1.")
]
_StrandMm: TypeAlias = Annotated[
    float, Meta(ge=0.02, le=20, description="Diameter of each wire [mm].")
]
_Mm2: TypeAlias = Annotated[
    float, Meta(ge=0.001, le=300, description="Cross-section of all wires together [mm2].")
]
_Awg: TypeAlias = Annotated[
    float, Meta(ge=-3, le=56, description="American wire gauge; 0 is 1/0, -1 is 2/0.")
]
_Class: TypeAlias = Annotated[
    float,
    Meta(
        ge=1,
        le=5,
        description="Class 1, 2 or 5 of IEC 60228, beside a nominal cross-section of copper: its "
        "resistance is the most that the class allows.",
    ),
]
_LayFactor: TypeAlias = Annotated[
    float,
    Meta(
        ge=1,
        le=20,
        description="Length of a wire per length of conductor; default 1, of several wires 1.02.",
    ),
]


class GeometryTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """How a cable is made, as far as known; per-metre values follow from it."""

    core_strands: _Strands | UnsetType = UNSET
    core_strand_mm: _StrandMm | UnsetType = UNSET
    core_mm2: _Mm2 | UnsetType = UNSET
    core_awg: _Awg | UnsetType = UNSET
    core_class: _Class | UnsetType = UNSET
    core_lay_factor: _LayFactor | UnsetType = UNSET
    insulation_mm: (
        Annotated[
            float,
            Meta(ge=0.05, le=20, description="Thickness of the insulation of each core [mm]."),
        ]
        | UnsetType
    ) = UNSET
    braid_inside_mm: (
        Annotated[
            float,
            Meta(
                ge=0.2,
                le=100,
                description="Inner diameter of the braid [mm]; left out, it lies tightly round the "
                "insulated cores.",
            ),
        ]
        | UnsetType
    ) = UNSET
    braid_mm2: (
        Annotated[
            float,
            Meta(
                ge=0.01,
                le=100,
                description="Cross-section of a straight conductor that would carry as much as the "
                "braid [mm2].",
            ),
        ]
        | UnsetType
    ) = UNSET
    braid_carriers: (
        Annotated[float, Meta(ge=1, le=96, description="Bundles of wires, both ways round.")]
        | UnsetType
    ) = UNSET
    braid_wires: (
        Annotated[float, Meta(ge=1, le=40, description="Wires in each carrier.")] | UnsetType
    ) = UNSET
    braid_wire_mm: (
        Annotated[float, Meta(ge=0.02, le=1, description="Diameter of each wire [mm].")] | UnsetType
    ) = UNSET
    braid_angle_deg: (
        Annotated[
            float,
            Meta(ge=0, le=85, description="Angle between a wire and the cable's length [degrees]."),
        ]
        | UnsetType
    ) = UNSET
    braid_alloy: (
        Annotated[str, Meta(max_length=40, description="Metal of the braid; default copper.")]
        | UnsetType
    ) = UNSET
    cold_lead_strands: _Strands | UnsetType = UNSET
    cold_lead_strand_mm: _StrandMm | UnsetType = UNSET
    cold_lead_mm2: _Mm2 | UnsetType = UNSET
    cold_lead_awg: _Awg | UnsetType = UNSET
    cold_lead_class: _Class | UnsetType = UNSET
    cold_lead_lay_factor: _LayFactor | UnsetType = UNSET
    cold_lead_insulation_mm: (
        Annotated[
            float,
            Meta(
                ge=0.05,
                le=20,
                description="Thickness of the insulation of each core in the cold lead [mm].",
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_braid_inside_mm: (
        Annotated[
            float,
            Meta(
                ge=0.2,
                le=100,
                description="Inner diameter of the braid over the cold lead [mm]; left out, it "
                "lies tightly round the insulated cores.",
            ),
        ]
        | UnsetType
    ) = UNSET
    heating_wire_ohm_per_m: (
        Annotated[
            float,
            Meta(
                gt=0,
                le=1e9,
                description="Parallel: resistance of the heating wire per metre of cable [ohm/m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    zone_m: (
        Annotated[
            float,
            Meta(
                ge=0.05,
                le=20,
                description="Parallel: from one contact of the heating wire to the next [m].",
            ),
        ]
        | UnsetType
    ) = UNSET
