"""The tables of faults in a scenario file, format 1."""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from msgspec import UNSET, Meta, Struct, UnsetType

__all__ = [
    "FAULT_TABLES",
    "BreakTable",
    "DegradedTable",
    "FaultTable",
    "FlashoverTable",
    "JointTable",
    "ShortTable",
]

# Far beyond any cable, yet far from where floating-point numbers end.
_Metres = Annotated[float, Meta(ge=-1e6, le=1e6)]
_Ohms = Annotated[float, Meta(ge=0, le=1e15)]
_Conductor = Annotated[str, Meta(max_length=40)]
_Drift = Annotated[
    float,
    Meta(
        ge=0,
        le=1000,
        description="By how much the resistance may have changed at each reading: up to this much "
        "more, or as many times less [%].",
    ),
]


class _FaultBase(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"):
    on: (
        Annotated[
            str,
            Meta(
                max_length=40,
                description="Name of the [[other]] cable that has it; left out, that of [cable].",
            ),
        ]
        | UnsetType
    ) = UNSET


_Between: TypeAlias = Annotated[
    tuple[_Conductor, _Conductor],
    Meta(description="The two conductors: two of core1, core2, braid."),
]
_At: TypeAlias = Annotated[
    _Metres,
    Meta(description="Position from the cold joint [m]; negative in the cold lead."),
]


class ShortTable(_FaultBase, frozen=True, kw_only=True, tag="short"):
    """A conducting path between two conductors at one point."""

    between: _Between
    at_m: _At
    resistance_ohm: Annotated[_Ohms, Meta(description="Resistance of the path [ohm].")]
    drift_percent: _Drift | UnsetType = UNSET
    side: (
        Annotated[
            Literal["near", "far"],
            Meta(
                description="On which side of a break at the very same position it lies, seen "
                "from the cold joint; default near."
            ),
        ]
        | UnsetType
    ) = UNSET


class BreakTable(_FaultBase, frozen=True, kw_only=True, tag="break"):
    """One or more conductors cut through at one point."""

    conductors: Annotated[
        list[_Conductor],
        Meta(min_length=1, max_length=3, description="The conductors that are cut."),
    ]
    at_m: _At
    resistance_ohm: (
        Annotated[
            _Ohms,
            Meta(description="What remains of each cut conductor [ohm]; left out where cut clean."),
        ]
        | UnsetType
    ) = UNSET


class JointTable(_FaultBase, frozen=True, kw_only=True, tag="joint"):
    """A bad series joint: extra resistance in one conductor at one point."""

    conductor: Annotated[_Conductor, Meta(description="The conductor that has it.")]
    at_m: _At
    resistance_ohm: Annotated[_Ohms, Meta(description="Extra series resistance [ohm].")]


class DegradedTable(_FaultBase, frozen=True, kw_only=True, tag="degraded"):
    """Insulation that leaks along a stretch (from_m and to_m) or at a point (at_m)."""

    between: _Between
    at_m: _At | UnsetType = UNSET
    from_m: (
        Annotated[_Metres, Meta(description="Near end of the stretch, from the cold joint [m].")]
        | UnsetType
    ) = UNSET
    to_m: (
        Annotated[_Metres, Meta(description="Far end of the stretch, from the cold joint [m].")]
        | UnsetType
    ) = UNSET
    resistance_ohm: Annotated[
        float,
        Meta(ge=1e-6, le=1e15, description="Insulation resistance of the whole stretch [ohm]."),
    ]
    drift_percent: _Drift | UnsetType = UNSET


class FlashoverTable(_FaultBase, frozen=True, kw_only=True, tag="flashover"):
    """Insulation that breaks down where the voltage across it gets too high."""

    between: _Between
    at_m: _At
    breakdown_volt: Annotated[
        float,
        Meta(gt=0, le=1e5, description="Voltage across the place at which an arc strikes [V]."),
    ]
    arc_volt: Annotated[
        float, Meta(ge=0, le=1e5, description="Voltage across the burning arc [V].")
    ]
    leakage_ohm: (
        Annotated[
            float,
            Meta(
                ge=1e-6,
                le=1e15,
                description="Resistance of the place while it holds [ohm]; left out, it does not "
                "leak.",
            ),
        ]
        | UnsetType
    ) = UNSET


FaultTable: TypeAlias = ShortTable | BreakTable | JointTable | DegradedTable | FlashoverTable


FAULT_TABLES: dict[str, type[FaultTable]] = {
    "short": ShortTable,
    "break": BreakTable,
    "joint": JointTable,
    "degraded": DegradedTable,
    "flashover": FlashoverTable,
}
