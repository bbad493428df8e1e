"""The tables of meters in a scenario file, format 1."""

from __future__ import annotations

from typing import Annotated, TypeAlias

from msgspec import UNSET, Meta, Struct, UnsetType

__all__ = [
    "METER_TABLES",
    "CapacitanceMeterTable",
    "HeatTable",
    "InsulationTesterTable",
    "LoopBridgeTable",
    "MeterTable",
    "OhmmeterTable",
    "PulseEchoTable",
    "WithstandTesterTable",
]

_Ohms = Annotated[float, Meta(ge=0, le=1e15)]
_Positive = Annotated[float, Meta(gt=0, le=1e15)]
_NotNegative = Annotated[float, Meta(ge=0, le=1e15)]
_Percent = Annotated[float, Meta(ge=0, le=100)]
_Hertz = Annotated[float, Meta(gt=0, le=1e6)]
_Conductor = Annotated[str, Meta(max_length=40)]
_File = Annotated[str, Meta(min_length=1, max_length=200)]
_Lead = Annotated[str, Meta(max_length=200)]


class _MeterBase(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"):
    accuracy_percent: (
        Annotated[
            _Percent,
            Meta(
                description="Percent part of the accuracy [% of reading]: one unknown gain for "
                "all readings of this meter on one range."
            ),
        ]
        | UnsetType
    ) = UNSET
    accuracy_counts: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=1e6,
                description="Counts part of the accuracy [steps of the display], new at each "
                "reading.",
            ),
        ]
        | UnsetType
    ) = UNSET


_Counts: TypeAlias = Annotated[
    float,
    Meta(ge=10, le=1e9, description="Steps of the display: 2000 shows up to 1999."),
]


class OhmmeterTable(_MeterBase, frozen=True, kw_only=True, tag="ohmmeter"):
    """An ohmmeter."""

    counts: _Counts | UnsetType = UNSET
    resolution_ohm: (
        Annotated[_Positive, Meta(description="Step of the lowest range [ohm].")] | UnsetType
    ) = UNSET
    range_ohm: (
        Annotated[_Positive, Meta(description="Full scale of the highest range [ohm].")] | UnsetType
    ) = UNSET
    lead_ohm: (
        Annotated[_Ohms, Meta(description="Resistance of both leads together [ohm].")] | UnsetType
    ) = UNSET
    lead_ohm_tolerance: (
        Annotated[
            _Ohms,
            Meta(
                description="How far lead_ohm may be off [ohm]; default half of lead_ohm, or one "
                "step of the lowest range where zeroed."
            ),
        ]
        | UnsetType
    ) = UNSET
    zeroed: (
        Annotated[
            bool,
            Meta(description="Whether the leads were nulled out; they then count as 0 ohm."),
        ]
        | UnsetType
    ) = UNSET


class InsulationTesterTable(_MeterBase, frozen=True, kw_only=True, tag="insulation_tester"):
    """An insulation tester."""

    counts: _Counts | UnsetType = UNSET
    resolution_megohm: (
        Annotated[_Positive, Meta(description="Step of the lowest range [Mohm].")] | UnsetType
    ) = UNSET
    range_megohm: (
        Annotated[_Positive, Meta(description="Full scale of the highest range [Mohm].")]
        | UnsetType
    ) = UNSET
    open_volt_percent: (
        Annotated[
            float,
            Meta(
                gt=100,
                le=125,
                description="Voltage without a load [% of the test voltage]; default 110.",
            ),
        ]
        | UnsetType
    ) = UNSET
    limit_milliamp: (
        Annotated[float, Meta(ge=1, le=15, description="Largest current [mA]; default 2.")]
        | UnsetType
    ) = UNSET


class CapacitanceMeterTable(_MeterBase, frozen=True, kw_only=True, tag="capacitance_meter"):
    """A capacitance meter."""

    counts: _Counts | UnsetType = UNSET
    resolution_nanofarad: (
        Annotated[_Positive, Meta(description="Step of the lowest range [nF].")] | UnsetType
    ) = UNSET
    range_nanofarad: (
        Annotated[_Positive, Meta(description="Full scale of the highest range [nF].")] | UnsetType
    ) = UNSET


class LoopBridgeTable(_MeterBase, frozen=True, kw_only=True, tag="loop_bridge"):
    """A loop bridge: a slide of two ratio arms, and a box of resistance for the Varley method."""

    divisions: (
        Annotated[
            float,
            Meta(ge=10, le=1e9, description="Divisions of the slide; default 1000."),
        ]
        | UnsetType
    ) = UNSET
    resolution_ohm: Annotated[_Positive, Meta(description="Step of the box [ohm].")] | UnsetType = (
        UNSET
    )
    range_ohm: (
        Annotated[_Positive, Meta(description="Largest value of the box [ohm].")] | UnsetType
    ) = UNSET
    battery_volt: (
        Annotated[float, Meta(gt=0, le=1e5, description="Voltage of its battery or source [V].")]
        | UnsetType
    ) = UNSET
    galvanometer_microamp: (
        Annotated[float, Meta(gt=0, le=1e6, description="Smallest current that it shows [uA].")]
        | UnsetType
    ) = UNSET
    galvanometer_ohm: (
        Annotated[_Ohms, Meta(description="Resistance of its galvanometer [ohm].")] | UnsetType
    ) = UNSET
    slide_ohm: (
        Annotated[_Positive, Meta(description="Resistance of the whole slide [ohm].")] | UnsetType
    ) = UNSET


class PulseEchoTable(_MeterBase, frozen=True, kw_only=True, tag="pulse_echo"):
    """A pulse echo meter: it sends a step or a pulse and times what comes back."""

    resolution_ns: (
        Annotated[_Positive, Meta(description="Step of the time display [ns].")] | UnsetType
    ) = UNSET
    range_ns: (
        Annotated[_Positive, Meta(description="Longest time that it shows [ns].")] | UnsetType
    ) = UNSET
    rise_ns: (
        Annotated[
            float, Meta(ge=1e-3, le=1e6, description="Rise time of what it sends, 10 to 90 % [ns].")
        ]
        | UnsetType
    ) = UNSET
    width_ns: (
        Annotated[
            float,
            Meta(
                ge=1e-3,
                le=1e9,
                description="Width of the pulse, at least its rise time [ns]; left out, a step.",
            ),
        ]
        | UnsetType
    ) = UNSET
    source_ohm: (
        Annotated[float, Meta(ge=0.01, le=1e5, description="Its internal resistance [ohm].")]
        | UnsetType
    ) = UNSET
    noise_percent: (
        Annotated[
            _Percent,
            Meta(
                description="Standard deviation of its trace [% of the step that enters the cable]."
            ),
        ]
        | UnsetType
    ) = UNSET


class WithstandTesterTable(_MeterBase, frozen=True, kw_only=True, tag="withstand_tester"):
    """A withstand tester."""

    resolution_volt: (
        Annotated[_Positive, Meta(description="Step of its setting [V].")] | UnsetType
    ) = UNSET
    range_volt: (
        Annotated[_Positive, Meta(description="Highest voltage that can be set [V].")] | UnsetType
    ) = UNSET
    least_volt: (
        Annotated[_NotNegative, Meta(description="Lowest voltage that can be set [V].")] | UnsetType
    ) = UNSET
    limit_milliamp: (
        Annotated[
            float, Meta(gt=0, le=1000, description="Current at which it trips [mA]; default 5.")
        ]
        | UnsetType
    ) = UNSET
    volt_per_second: (
        Annotated[_Positive, Meta(description="How fast the voltage is raised [V/s].")] | UnsetType
    ) = UNSET


class _KindBase(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, tag_field="kind"):
    pass


class HeatTable(_KindBase, frozen=True, kw_only=True, tag="heat"):
    """Somebody who looks where an energised cable is warm."""


MeterTable: TypeAlias = (
    OhmmeterTable
    | InsulationTesterTable
    | CapacitanceMeterTable
    | LoopBridgeTable
    | PulseEchoTable
    | HeatTable
    | WithstandTesterTable
)


METER_TABLES: dict[str, type[MeterTable]] = {
    "ohmmeter": OhmmeterTable,
    "insulation_tester": InsulationTesterTable,
    "capacitance_meter": CapacitanceMeterTable,
    "loop_bridge": LoopBridgeTable,
    "pulse_echo": PulseEchoTable,
    "heat": HeatTable,
    "withstand_tester": WithstandTesterTable,
}
