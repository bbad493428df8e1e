"""The tables of readings in a scenario file, format 1.

Which keys a reading may have depends on the kind of its meter; ``READING_KEYS`` says which.
"""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

__all__ = ["READING_KEYS", "ReadingTable"]

_Ohms = Annotated[float, Meta(ge=0, le=1e15)]
_Positive = Annotated[float, Meta(gt=0, le=1e15)]
_NotNegative = Annotated[float, Meta(ge=0, le=1e15)]
_Percent = Annotated[float, Meta(ge=0, le=100)]
_Hertz = Annotated[float, Meta(gt=0, le=1e6)]
_Conductor = Annotated[str, Meta(max_length=40)]
_File = Annotated[str, Meta(min_length=1, max_length=200)]
_Lead = Annotated[str, Meta(max_length=200)]


class ReadingTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """A reading as taken; without a value, one to predict. Which keys apply depends on the meter.

    ohmmeter: ohm or over_range. insulation_tester: megohm, at_least_megohm or over_range;
    test_volt, seconds. capacitance_meter: nanofarad or over_range; frequency_hz. loop_bridge:
    method, arms_ohm; balance_ohm or over_range (varley); frequency_hz (capacitance). pulse_echo:
    sign; echo_ns, trace (and healthy_trace) or over_range. heat: warm_to_m, seen_at_m or
    over_range; within_m, sought. withstand_tester: trip_volt or no_trip; limit_milliamp.
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
    when: (
        Annotated[
            Literal["after repair", "after covering"],
            Meta(
                description="Taken after the repair, before or after covering: it says nothing of "
                "the damage, and is held against the limits of acceptance."
            ),
        ]
        | UnsetType
    ) = UNSET
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
    unsteady: (
        Annotated[
            bool,
            Meta(
                description="The display did not settle: another reading of the same leads may "
                "differ."
            ),
        ]
        | UnsetType
    ) = UNSET
    trip_volt: (
        Annotated[
            _Positive,
            Meta(description="withstand_tester: lowest voltage at which it tripped [V]."),
        ]
        | UnsetType
    ) = UNSET
    no_trip: (
        Annotated[
            bool,
            Meta(description="withstand_tester: it did not trip at its highest voltage."),
        ]
        | UnsetType
    ) = UNSET
    limit_milliamp: (
        Annotated[
            float,
            Meta(
                gt=0,
                le=1000,
                description="withstand_tester: current at which it was set to trip [mA]; left "
                "out, as the meter has it.",
            ),
        ]
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


_EVERY_READING = ("meter", "across", "links", "note", "over_range", "unsteady")
READING_KEYS: dict[str, tuple[str, ...]] = {
    "ohmmeter": (*_EVERY_READING, "ohm", "when"),
    "insulation_tester": (
        *_EVERY_READING,
        "megohm",
        "at_least_megohm",
        "test_volt",
        "seconds",
        "when",
    ),
    "capacitance_meter": (*_EVERY_READING, "nanofarad", "frequency_hz", "when"),
    "withstand_tester": (*_EVERY_READING, "trip_volt", "no_trip", "limit_milliamp"),
    "loop_bridge": (*_EVERY_READING, "method", "arms_ohm", "balance_ohm", "frequency_hz"),
    "pulse_echo": (*_EVERY_READING, "sign", "echo_ns", "trace", "healthy_trace"),
    "heat": (*_EVERY_READING, "warm_to_m", "seen_at_m", "within_m", "sought"),
}
