"""The log of a practice case, format 1, as typed tables: every key, its unit, its bounds.

A log is one JSON object. A drill writes it; an answer given on paper can be typed into it, with the
readings and the answer alone.
"""

from __future__ import annotations

from typing import Annotated, Literal, TypeAlias

from msgspec import Meta, Struct

from cablesim.scenario.schema_readings import ReadingTable

__all__ = [
    "ACTIONS",
    "FORMAT",
    "HANDED_BACK",
    "MOST_ACTIONS",
    "MOST_NAME",
    "Action",
    "Answer",
    "Danger",
    "Found",
    "Hypothesis",
    "Log",
    "Marked",
    "Opened",
    "Read",
    "Repaired",
    "Retest",
    "Step",
]

FORMAT = 1
MOST_ACTIONS = 5000
HANDED_BACK = "finish"
"""What a drill notes as done where the job is handed back."""
MOST_NAME = 100
"""Characters of the name of whoever practises."""

_Minutes: TypeAlias = Annotated[
    float, Meta(ge=0, le=1e5, description="Working time that it took [min].")
]
_Seen: TypeAlias = Annotated[
    str, Meta(max_length=500, description="What was seen or told, in words.")
]
_Text: TypeAlias = Annotated[str, Meta(max_length=500)]
_Metres: TypeAlias = Annotated[float, Meta(ge=-1e6, le=1e6)]
_XY: TypeAlias = tuple[_Metres, _Metres]
_Conductors: TypeAlias = Annotated[
    list[Annotated[str, Meta(max_length=40)]], Meta(min_length=1, max_length=3)
]
_Verdict: TypeAlias = Literal[
    "healthy", "short", "break", "degraded", "joint", "flashover", "several", "undecided"
]


class _Act(
    Struct,
    frozen=True,
    kw_only=True,
    forbid_unknown_fields=True,
    omit_defaults=True,
    tag_field="what",
):
    """What every action has."""

    minutes: _Minutes = 0.0
    seen: _Seen = ""


class Step(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="step"):
    """Something done that is no reading, such as isolating, zeroing leads, discharging."""

    did: Annotated[
        str,
        Meta(
            min_length=1,
            max_length=100,
            description="isolate, lock-off, prove-dead, disconnect, clear-floor, zero, discharge, "
            "look, ask, or another word.",
        ),
    ]


class Read(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="read"):
    """A reading taken."""

    reading: Annotated[
        ReadingTable, Meta(description="With the keys of [[reading]] in a scenario file.")
    ]
    zero_ohm: Annotated[
        float,
        Meta(
            ge=0,
            le=1e6,
            description="What the meter takes off the display since its leads were zeroed [ohm].",
        ),
    ] = 0.0
    zeroed: Annotated[bool, Meta(description="Whether its leads were zeroed before.")] = False


class Hypothesis(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="hypothesis"):
    """What the trainee held likely at this time."""

    verdict: _Verdict
    conductors: Annotated[
        _Conductors | None, Meta(description="The conductors that are damaged.")
    ] = None
    why: _Text = ""


class Marked(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="mark"):
    """A place marked on the cable or on the plan."""

    position_m: Annotated[
        _Metres | None, Meta(description="Along the cable [m from the cold joint].")
    ] = None
    at_m: Annotated[_XY | None, Meta(description="On the plan, x and y [m].")] = None


class Opened(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="open"):
    """The covering opened."""

    tiles: Annotated[
        list[tuple[int, int]],
        Meta(max_length=10_000, description="Column and row of each tile lifted, from 1."),
    ]
    area_m2: Annotated[
        float | None, Meta(ge=0, le=1e6, description="Where there are no tiles [m2].")
    ] = None
    found: Annotated[bool, Meta(description="Whether damage lay bare.")] = False


class Repaired(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="repair"):
    """A splice."""

    position_m: _Metres


class Retest(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="retest"):
    """A reading after the repair."""

    reading: ReadingTable
    passed: bool


class Danger(_Act, frozen=True, kw_only=True, forbid_unknown_fields=True, tag="danger"):
    """Something that could have hurt somebody."""

    rule: Annotated[
        str,
        Meta(min_length=1, max_length=100, description="Short name of the rule that was broken."),
    ]
    stopped: Annotated[bool, Meta(description="Whether it ended the drill.")] = False


Action: TypeAlias = Step | Read | Hypothesis | Marked | Opened | Repaired | Retest | Danger

ACTIONS: dict[str, type[_Act]] = {
    str(kind.__struct_config__.tag): kind
    for kind in (Step, Read, Hypothesis, Marked, Opened, Repaired, Retest, Danger)
}
"""Every kind of action by the value of its key ``what``."""


class Found(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """One fault as answered."""

    kind: Literal["short", "break", "degraded", "joint", "flashover"]
    conductors: Annotated[
        _Conductors,
        Meta(description="The two that touch, those that are cut, or the one with the joint."),
    ]
    position_m: Annotated[
        _Metres | None, Meta(description="The place [m from the cold joint].")
    ] = None
    interval_m: Annotated[
        tuple[_Metres, _Metres] | None,
        Meta(description="What holds the place with 95 % [m from the cold joint]."),
    ] = None


class Answer(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """The final answer."""

    verdict: _Verdict
    locatable: Annotated[
        bool,
        Meta(description="false: it cannot be located by the readings at hand."),
    ] = True
    faults: Annotated[list[Found], Meta(max_length=4)] = []
    repaired: Annotated[bool, Meta(description="Whether it was mended.")] = False


class Log(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True, omit_defaults=True):
    """What a trainee did, saw and answered on one case."""

    # Written even though it is the default: the file says its version.
    format: Literal[1]
    case: Annotated[
        str, Meta(min_length=1, max_length=80, description="Name of the case, as its files have.")
    ]
    trainee_sha256: Annotated[
        str,
        Meta(
            min_length=64,
            max_length=64,
            description="SHA-256 of the bytes of the trainee's file.",
        ),
    ]
    trainee: Annotated[str, Meta(max_length=MOST_NAME, description="Who practised.")] = ""
    actions: Annotated[
        list[Action], Meta(max_length=MOST_ACTIONS, description="In the order of time.")
    ] = []
    answer: Annotated[Answer | None, Meta(description="null where the case was not finished.")] = (
        None
    )
