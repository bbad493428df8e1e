"""The scenario file, format 1, as typed tables: every key, its unit, its bounds and its meaning.

The tables say what a file may hold; the JSON Schema is generated from them. What the values mean
together (a fault off the cable, a reading across one conductor twice) is checked by the value
objects that are made from them. A key that may be left out is ``UNSET`` then, so that its default
has one home only: the construction, the fault or the meter.
"""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

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
from cablesim.scenario.schema_geometry import GeometryTable
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

# Far beyond any cable, yet far from where floating-point numbers end.
_Positive = Annotated[float, Meta(gt=0, le=1e15)]
_Terminal = Annotated[str, Meta(max_length=90)]


class CableTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The cable as laid and healthy."""

    construction: Annotated[
        Literal["twin", "single", "parallel"],
        Meta(
            description="twin: two cores joined at the far end; "
            "single: one core, both of its ends at the thermostat; "
            "parallel: two bus cores with heating between them along the length"
        ),
    ]
    heated_length_m: Annotated[
        float, Meta(gt=0, le=1e6, description="Length of the heated part [m].")
    ]
    loop_resistance_ohm: (
        Annotated[
            _Positive,
            Meta(
                description="Rated resistance of the heated part at 20 C [ohm]: core1 to core2 "
                "(twin), end to end (single), through the heating element (parallel). Either "
                "this or core_ohm_per_m, on a parallel cable either this or heating_ohm_m."
            ),
        ]
        | UnsetType
    ) = UNSET
    core_ohm_per_m: (
        Annotated[
            list[Annotated[float, Meta(ge=1e-9, le=1e9)]],
            Meta(
                min_length=1,
                max_length=2,
                description="Resistance of each core at 20 C [ohm/m], where the cores differ; of "
                "the bus cores on a parallel cable.",
            ),
        ]
        | UnsetType
    ) = UNSET
    tolerance_percent: (
        Annotated[
            tuple[float, float],
            Meta(
                description="How far the true core resistance may lie under and over the rated "
                "one [%]; default [-5.0, 10.0]."
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_m: (
        Annotated[
            float,
            Meta(ge=0, le=1e6, description="Length of the cold lead, or of each of the two [m]."),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_ohm_per_m: (
        Annotated[
            float,
            Meta(ge=1e-9, le=1e9, description="Resistance of each core in the cold lead [ohm/m]."),
        ]
        | UnsetType
    ) = UNSET
    braid_ohm_per_m: (
        Annotated[
            float,
            Meta(
                ge=1e-9,
                le=1e9,
                description="Resistance of the braid, heated part and cold lead alike [ohm/m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    capacitance_core_braid_pf_per_m: (
        Annotated[
            float,
            Meta(ge=0, le=1e6, description="Partial capacitance of each core to braid [pF/m]."),
        ]
        | UnsetType
    ) = UNSET
    capacitance_core_core_pf_per_m: (
        Annotated[
            float,
            Meta(ge=0, le=1e6, description="Partial capacitance of core1 to core2 [pF/m]."),
        ]
        | UnsetType
    ) = UNSET
    capacitance_tolerance_percent: (
        Annotated[
            tuple[float, float],
            Meta(
                description="How far the true capacitances may lie under and over those above "
                "[%]; default [-50.0, 100.0]."
            ),
        ]
        | UnsetType
    ) = UNSET
    insulation_gigaohm_m: (
        Annotated[
            float,
            Meta(
                ge=1e-9,
                le=1e12,
                description="Insulation resistance times length of every two conductors [Gohm m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    velocity_factor: (
        Annotated[
            float,
            Meta(
                ge=0.01,
                le=1,
                description="Speed of pulses relative to that of light; default 0.645.",
            ),
        ]
        | UnsetType
    ) = UNSET
    velocity_tolerance_percent: (
        Annotated[
            tuple[float, float],
            Meta(
                description="How far the true velocity may lie under and over that [%]; "
                "default [-5.0, 5.0]."
            ),
        ]
        | UnsetType
    ) = UNSET
    loss_tangent: (
        Annotated[
            float,
            Meta(ge=0, le=1, description="Loss tangent of the insulation at 1 kHz."),
        ]
        | UnsetType
    ) = UNSET
    absorption_exponent: (
        Annotated[
            float,
            Meta(
                ge=0.3,
                le=1,
                description="Exponent n of the absorption current, factor C V t^-n; left out, it "
                "follows from loss_tangent.",
            ),
        ]
        | UnsetType
    ) = UNSET
    absorption_factor: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=1e6,
                description="Factor of the absorption current, t in seconds; left out, it follows "
                "from the exponent.",
            ),
        ]
        | UnsetType
    ) = UNSET
    heating_ohm_m: (
        Annotated[
            float,
            Meta(
                ge=1e-6,
                le=1e12,
                description="Resistance of the heating element between the cores times length "
                "[ohm m], on a parallel cable instead of loop_resistance_ohm.",
            ),
        ]
        | UnsetType
    ) = UNSET
    temperature_c: (
        Annotated[
            float,
            Meta(
                ge=-60,
                le=250,
                description="Temperature of the heated part while it is read [C]; default 20.",
            ),
        ]
        | UnsetType
    ) = UNSET
    core_alloy: (
        Annotated[
            str,
            Meta(
                max_length=40,
                description="Alloy of the cores, which gives the temperature coefficient; "
                "default CuNi44.",
            ),
        ]
        | UnsetType
    ) = UNSET
    far_end: (
        Annotated[
            Literal["joined", "open"],
            Meta(
                description="How the cores end; default joined (twin), always open (single), open "
                "(parallel)."
            ),
        ]
        | UnsetType
    ) = UNSET
    insulation: (
        Annotated[
            str,
            Meta(
                max_length=40,
                description="Insulating material, which gives velocity_factor and loss_tangent, "
                "and with geometry the capacitances and insulation_gigaohm_m.",
            ),
        ]
        | UnsetType
    ) = UNSET
    geometry: (
        Annotated[
            GeometryTable,
            Meta(
                description="How the cable is made, as far as known; per-metre values that are not "
                "given follow from it."
            ),
        ]
        | UnsetType
    ) = UNSET
    supply_volt: (
        Annotated[
            float,
            Meta(gt=0, le=1000, description="Supply voltage [V]; states the rated power only."),
        ]
        | UnsetType
    ) = UNSET


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
