"""The table of a case to practise on: its story, and in the trainer's file the key."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from msgspec import UNSET, Meta, Struct, UnsetType

__all__ = ["KeyTable", "PracticeTable", "TrueTable"]

_Multiple: TypeAlias = Annotated[float, Meta(gt=0, le=1e6)]


class TrueTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The true cable, each value as a multiple of what [cable] says; left out, as it says."""

    core: (
        Annotated[_Multiple, Meta(description="Resistance of what heats, times that stated.")]
        | UnsetType
    ) = UNSET
    braid: (
        Annotated[_Multiple, Meta(description="Resistance of the braid, times that stated.")]
        | UnsetType
    ) = UNSET
    insulation: (
        Annotated[_Multiple, Meta(description="Healthy insulation, times that stated.")] | UnsetType
    ) = UNSET
    capacitance_core_braid: (
        Annotated[_Multiple, Meta(description="Capacitance core to braid, times that stated.")]
        | UnsetType
    ) = UNSET
    capacitance_core_core: (
        Annotated[_Multiple, Meta(description="Capacitance core to core, times that stated.")]
        | UnsetType
    ) = UNSET
    velocity: (
        Annotated[_Multiple, Meta(description="Speed of pulses, times that stated.")] | UnsetType
    ) = UNSET


class KeyTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What the trainer's file says beside the faults."""

    level: Annotated[int, Meta(ge=1, le=5, description="How hard the case is.")]
    seed: Annotated[
        int, Meta(ge=0, le=2**53 - 1, description="Of all chance on the bench of this case.")
    ]
    trainee_sha256: Annotated[
        str,
        Meta(
            min_length=64,
            max_length=64,
            description="SHA-256 of the bytes of the trainee's file, in hexadecimal.",
        ),
    ]
    locatable: (
        Annotated[
            bool,
            Meta(description="Whether the bag can place the damage; default true."),
        ]
        | UnsetType
    ) = UNSET
    half_width_m: (
        Annotated[
            float,
            Meta(
                gt=0,
                le=1e6,
                description="Half of the narrowest 95 % interval that the bag allows [m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    readings_needed: (
        Annotated[
            int,
            Meta(ge=1, le=200, description="Least number of readings that place the damage."),
        ]
        | UnsetType
    ) = UNSET
    plausible: (
        Annotated[
            int,
            Meta(
                ge=1,
                le=200,
                description="Hypotheses that stay plausible after the ohm readings; default 1.",
            ),
        ]
        | UnsetType
    ) = UNSET
    true: Annotated[TrueTable, Meta(description="The true cable.")] | UnsetType = UNSET


class PracticeTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """What makes a scenario a case to practise on."""

    story: (
        Annotated[str, Meta(max_length=2000, description="What the customer says.")] | UnsetType
    ) = UNSET
    covered: (
        Annotated[
            bool, Meta(description="Whether the covering is closed over the cable; default true.")
        ]
        | UnsetType
    ) = UNSET
    key: (
        Annotated[KeyTable, Meta(description="How the case was made; in the trainer's file only.")]
        | UnsetType
    ) = UNSET
