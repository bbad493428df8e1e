"""The scenario file, format 1, as typed tables: every key, its unit, its bounds and its meaning.

The tables say what a file may hold; the JSON Schema is generated from them. What the values mean
together (a fault off the cable, a reading across one conductor twice) is checked by the value
objects that are made from them. A key that may be left out is ``UNSET`` then, so that its default
has one home only: the construction, the fault or the meter.
"""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from cablesim.scenario.schema_cable import CableTable
from cablesim.scenario.schema_faults import (
    FAULT_TABLES,
    BreakTable,
    DegradedTable,
    FaultTable,
    FlashoverTable,
    JointTable,
    ShortTable,
)
from cablesim.scenario.schema_floor import FloorTable
from cablesim.scenario.schema_meters import MeterTable
from cablesim.scenario.schema_practice import PracticeTable
from cablesim.scenario.schema_readings import ReadingTable

__all__ = [
    "FAULT_TABLES",
    "FORMAT",
    "METER_NAME_PATTERN",
    "MOST_FAULTS",
    "MOST_METERS",
    "MOST_OTHERS",
    "MOST_READINGS",
    "BreakTable",
    "CableTable",
    "DegradedTable",
    "FaultTable",
    "FlashoverTable",
    "JointTable",
    "OtherTable",
    "ScenarioFile",
    "ShortTable",
]

FORMAT = 1
MOST_FAULTS = 50
MOST_OTHERS = 10
MOST_METERS = 50
MOST_READINGS = 200
METER_NAME_PATTERN = r"^[A-Za-z][A-Za-z0-9_-]{0,39}$"

_Terminal = Annotated[str, Meta(max_length=90)]


class OtherTable(CableTable, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """Another cable of the same installation: its name, and the keys of [cable]."""

    name: Annotated[
        str,
        Meta(
            pattern=METER_NAME_PATTERN,
            description='Its name, which stands before the dot of its terminals: "b.core1".',
        ),
    ]


class ScenarioFile(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A damaged floor-heating cable: what was laid, what is broken, what was read."""

    format: Annotated[
        Literal[1], Meta(description="Version of this format; left out, 1 is meant.")
    ] = 1
    title: Annotated[str, Meta(max_length=200, description="One line for people.")] | UnsetType = (
        UNSET
    )
    established: (
        Annotated[
            list[Literal["healthy", "short", "break", "degraded", "joint", "several"]],
            Meta(
                min_length=1,
                max_length=6,
                description="Kinds of damage held possible; left out, all of them.",
            ),
        ]
        | UnsetType
    ) = UNSET
    joins: (
        Annotated[
            list[Annotated[list[_Terminal], Meta(min_length=2, max_length=20)]],
            Meta(
                max_length=20,
                description="Groups of terminals that are joined, where there are several cables; "
                "left out, all are parallel at the thermostat.",
            ),
        ]
        | UnsetType
    ) = UNSET
    cable: CableTable
    other: (
        Annotated[
            list[OtherTable],
            Meta(max_length=MOST_OTHERS, description="Further cables that are joined to it."),
        ]
        | UnsetType
    ) = UNSET
    fault: (
        Annotated[
            list[FaultTable],
            Meta(max_length=MOST_FAULTS, description="What is broken, as far as known."),
        ]
        | UnsetType
    ) = UNSET
    meter: (
        Annotated[
            dict[Annotated[str, Meta(pattern=METER_NAME_PATTERN)], MeterTable],
            Meta(max_length=MOST_METERS, description="The meters in the bag, by name."),
        ]
        | UnsetType
    ) = UNSET
    reading: (
        Annotated[
            list[ReadingTable],
            Meta(max_length=MOST_READINGS, description="Readings taken, or to predict."),
        ]
        | UnsetType
    ) = UNSET
    floor: (
        Annotated[FloorTable, Meta(description="The floor, and where in it the cable lies.")]
        | UnsetType
    ) = UNSET
    practice: (
        Annotated[PracticeTable, Meta(description="What makes it a case to practise on.")]
        | UnsetType
    ) = UNSET
