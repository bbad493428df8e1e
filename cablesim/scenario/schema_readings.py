"""The tables of meters and readings in a scenario file, format 1.

Which keys a reading may have depends on the kind of its meter; ``READING_KEYS`` says which.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from msgspec import UNSET, Meta, Struct, UnsetType

__all__ = [
    "METER_TABLES",
    "READING_KEYS",
    "CapacitanceMeterTable",
    "HeatTable",
    "InsulationTesterTable",
    "LoopBridgeTable",
    "MeterTable",
    "OhmmeterTable",
    "PulseEchoTable",
    "ReadingTable",
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
)


class ReadingTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A reading as taken; without a value, one to predict. Which keys apply depends on the meter.

    ohmmeter: ohm or over_range. insulation_tester: megohm, at_least_megohm or over_range;
    test_volt, seconds. capacitance_meter: nanofarad or over_range; frequency_hz. loop_bridge:
    method, arms_ohm; balance_ohm or over_range (varley); frequency_hz (capacitance). pulse_echo:
    sign; echo_ns, trace (and healthy_trace) or over_range. heat: warm_to_m, seen_at_m or
    over_range; within_m, sought.
    """

    meter: Annotated[
        str, Meta(max_length=40, description="A kind of meter, or a name from [meter.*].")
    ]
    across: Annotated[
        list[_Lead],
        Meta(
            min_length=2,
            max_length=3,
            description="What each lead touches; + joins terminals on one lead, @far is the far "
            "end. A loop bridge has three leads: sound core, faulty core, return.",
        ),
    ]
    links: (
        Annotated[
            list[Annotated[list[_Conductor], Meta(min_length=2, max_length=6)]],
            Meta(
                max_length=6,
                description="Groups of terminals joined by a wire during this reading.",
            ),
        ]
        | UnsetType
    ) = UNSET
    note: Annotated[str, Meta(max_length=500, description="Free text.")] | UnsetType = UNSET
    over_range: (
        Annotated[
            bool, Meta(description="The display said over range (a bridge: found no balance).")
        ]
        | UnsetType
    ) = UNSET
    ohm: Annotated[_NotNegative, Meta(description="ohmmeter: the display [ohm].")] | UnsetType = (
        UNSET
    )
    megohm: (
        Annotated[_NotNegative, Meta(description="insulation_tester: the display [Mohm].")]
        | UnsetType
    ) = UNSET
    at_least_megohm: (
        Annotated[
            _NotNegative,
            Meta(description='insulation_tester: the display said "more than this" [Mohm].'),
        ]
        | UnsetType
    ) = UNSET
    nanofarad: (
        Annotated[_NotNegative, Meta(description="capacitance_meter: the display [nF].")]
        | UnsetType
    ) = UNSET
    test_volt: (
        Annotated[
            float,
            Meta(gt=0, le=10000, description="insulation_tester: test voltage [V]; default 500."),
        ]
        | UnsetType
    ) = UNSET
    seconds: (
        Annotated[
            float,
            Meta(
                gt=0,
                le=86400,
                description="insulation_tester: how long the voltage was on [s]; left out, until "
                "the reading was steady.",
            ),
        ]
        | UnsetType
    ) = UNSET
    frequency_hz: (
        Annotated[
            _Hertz,
            Meta(
                description="capacitance_meter, and loop_bridge by capacitance: frequency [Hz]; "
                "default 1000."
            ),
        ]
        | UnsetType
    ) = UNSET
    method: (
        Annotated[
            Literal["murray", "varley", "capacitance"],
            Meta(description="loop_bridge: the method."),
        ]
        | UnsetType
    ) = UNSET
    arms_ohm: (
        Annotated[
            tuple[_NotNegative, _NotNegative],
            Meta(
                description="loop_bridge: ratio arms [P, Q] at balance, P at the sound core, Q at "
                "the faulty core [ohm or divisions]. With murray and capacitance they are the "
                "reading; with varley they are set beforehand."
            ),
        ]
        | UnsetType
    ) = UNSET
    balance_ohm: (
        Annotated[
            _NotNegative,
            Meta(
                description="loop_bridge by varley: the box in series with the faulty core [ohm]."
            ),
        ]
        | UnsetType
    ) = UNSET
    sign: (
        Annotated[
            Literal["+", "-"],
            Meta(
                description="pulse_echo: whether the first echo upwards (+) or downwards (-) is "
                "meant; left out, the first of all."
            ),
        ]
        | UnsetType
    ) = UNSET
    echo_ns: (
        Annotated[
            _NotNegative, Meta(description="pulse_echo: from the step sent to its echo [ns].")
        ]
        | UnsetType
    ) = UNSET
    trace: (
        Annotated[
            _File,
            Meta(
                description="pulse_echo: instead, a CSV file of columns time_ns and volt, beside "
                "the scenario file, on which the echo is looked for."
            ),
        ]
        | UnsetType
    ) = UNSET
    healthy_trace: (
        Annotated[
            _File,
            Meta(description="pulse_echo: the same of this cable while it was whole, if there is."),
        ]
        | UnsetType
    ) = UNSET
    warm_to_m: (
        Annotated[
            _NotNegative,
            Meta(
                description="heat: energised, the cable is warm up to here, from the cold joint "
                "[m]; 0 where it is cold all along."
            ),
        ]
        | UnsetType
    ) = UNSET
    seen_at_m: (
        Annotated[
            _NotNegative,
            Meta(description="heat: a hot spot was found here, from the cold joint [m]."),
        ]
        | UnsetType
    ) = UNSET
    within_m: (
        Annotated[
            float,
            Meta(
                gt=0,
                le=1e3,
                description="heat: how far that place may be off, either way [m]; default 0.3.",
            ),
        ]
        | UnsetType
    ) = UNSET
    sought: (
        Annotated[
            Literal["edge", "spot"],
            Meta(
                description="heat, without a place: whether the edge of the warm part or a hot "
                "spot is meant; default spot."
            ),
        ]
        | UnsetType
    ) = UNSET


METER_TABLES: dict[str, type[MeterTable]] = {
    "ohmmeter": OhmmeterTable,
    "insulation_tester": InsulationTesterTable,
    "capacitance_meter": CapacitanceMeterTable,
    "loop_bridge": LoopBridgeTable,
    "pulse_echo": PulseEchoTable,
    "heat": HeatTable,
}

_EVERY_READING = ("meter", "across", "links", "note", "over_range")
READING_KEYS: dict[str, tuple[str, ...]] = {
    "ohmmeter": (*_EVERY_READING, "ohm"),
    "insulation_tester": (
        *_EVERY_READING,
        "megohm",
        "at_least_megohm",
        "test_volt",
        "seconds",
    ),
    "capacitance_meter": (*_EVERY_READING, "nanofarad", "frequency_hz"),
    "loop_bridge": (*_EVERY_READING, "method", "arms_ohm", "balance_ohm", "frequency_hz"),
    "pulse_echo": (*_EVERY_READING, "sign", "echo_ns", "trace", "healthy_trace"),
    "heat": (*_EVERY_READING, "warm_to_m", "seen_at_m", "within_m", "sought"),
}
