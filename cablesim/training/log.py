"""Logs of practice cases: reading, checking against their case, writing.

A log by itself is `Log`, typed tables. Held against the trainee's scenario it becomes `Played`:
readings as the estimators take them, minutes, tiles and dangers counted.
"""

from __future__ import annotations

import json
import math
import os
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import msgspec
from msgspec import UNSET, structs

from cablesim.errors import InputError, ScenarioError
from cablesim.instruments.meters import Ohmmeter
from cablesim.instruments.readings import Reading
from cablesim.scenario.checking import Place, read_table
from cablesim.scenario.gathering import entry_from
from cablesim.scenario.scenario import Entry, Scenario
from cablesim.scenario.schema_readings import ReadingTable
from cablesim.scenario.writing import dump_scenario, entry_table
from cablesim.training.case import sha256_of
from cablesim.training.journal import SUFFIX
from cablesim.training.log_tables import (
    ACTIONS,
    FORMAT,
    HANDED_BACK,
    MOST_ACTIONS,
    Action,
    Answer,
    Danger,
    Found,
    Log,
    Marked,
    Opened,
    Read,
    Repaired,
    Step,
)

__all__ = ["MOST_BYTES", "Played", "dump_log", "load_log", "parse_log", "played", "reading_row"]

MOST_BYTES = 4 * 2**20
ZEROED = "-zeroed"
"""Ends the name of a meter whose leads were zeroed: to an estimator it is another meter."""


def load_log(path: str | os.PathLike[str]) -> Log:
    """Read a log.

    Parameters
    ----------
    path
        The file, in JSON, format 1.

    Raises
    ------
    ScenarioError
        One sentence naming the file, the key, the value and the mend.
    """
    name = os.fspath(path)
    if name.endswith(SUFFIX):
        raise ScenarioError(
            "this is the journal of a drill, not its log",
            try_this="name its .log.json, which cablesim practice run writes when a drill ends, by "
            "finish or by a danger",
            file=name,
        )
    if not os.path.lexists(name):
        raise ScenarioError(
            "there is no such log",
            try_this="check the name and the folder; cablesim practice run writes it when a drill "
            "ends, by finish or by a danger",
            file=name,
        )
    try:
        if os.path.exists(name) and not os.path.isfile(name):
            raise ScenarioError(
                "this is no regular file", try_this="name a log, ending in .json", file=name
            )
        with open(name, "rb") as file:
            data = file.read(MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        if isinstance(error, ScenarioError):
            raise
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise ScenarioError(
            f"the log cannot be read ({why})", try_this="check the name and the rights", file=name
        ) from None
    return parse_log(data, file=name)


def parse_log(text: str | bytes, file: str | None = None) -> Log:
    """Read a log from text.

    Parameters
    ----------
    text
        JSON; bytes are UTF-8.
    file
        Name to use in messages.

    Raises
    ------
    ScenarioError
        One sentence naming the key, the value and the mend.

    Examples
    --------
    >>> sha = "0" * 64
    >>> log = parse_log('{"format": 1, "case": "bath", "trainee_sha256": "%s"}' % sha)
    >>> log.case, log.answer
    ('bath', None)
    """
    top = Place(file)
    if len(text) > MOST_BYTES:
        raise top.error("size in bytes", len(text), f"at most {MOST_BYTES}", "name a log")
    try:
        raw = msgspec.json.decode(text)
    except (msgspec.DecodeError, UnicodeError, RecursionError) as error:
        if (number := _no_number(text)) is not None:
            raise top.error(
                f"{number[0]} on line {number[1]} is no number of a log",
                try_this="write what the meter showed, or leave the key out",
            ) from None
        raise top.error(
            f"this is no JSON ({str(error).splitlines()[0][:100]})",
            try_this='a log begins like {"format": 1, "case": ...}',
        ) from None
    if not isinstance(raw, dict):
        raise top.error(
            "a log is one JSON object, and this is none",
            try_this='begin it like {"format": 1, ...}',
        )
    version = raw.get("format")
    if version is None:
        raise top.error("the log does not say its format", try_this='write "format": 1')
    if version != FORMAT or isinstance(version, bool):
        mend = None if isinstance(version, int) else 'write "format": 1'
        raise top.error("format", version, f"{FORMAT}", mend)
    checked = read_table(Log, raw, top, but=("actions", "answer"))
    actions = _list(raw, "actions", MOST_ACTIONS, top)
    given = {name: getattr(checked, name) for name in ("case", "trainee_sha256", "trainee")}
    answer = raw.get("answer")
    return Log(
        format=1,
        **given,
        actions=[
            _action(one, Place(file, entry=f"action {number}"))
            for number, one in enumerate(actions, start=1)
        ],
        answer=None if answer is None else _answer(answer, Place(file, entry="answer")),
    )


def dump_log(log: Log) -> str:
    """Write a log as JSON, ending in a line feed.

    Parameters
    ----------
    log
        Any log.
    """
    return (
        json.dumps(msgspec.to_builtins(log), indent=1, ensure_ascii=False, allow_nan=False) + "\n"
    )


def reading_row(reading: Reading) -> ReadingTable:
    """A reading with the keys that it has in a file.

    Parameters
    ----------
    reading
        As taken.
    """
    return ReadingTable(**entry_table(Entry.of(reading)))


def _no_number(text: str | bytes) -> tuple[str, int] | None:
    """The first NaN or infinity outside of quotes, which JSON does not have, and its line."""
    plain = text if isinstance(text, str) else text.decode("utf-8", "replace")
    for found in re.finditer(r'"(?:[^"\\]|\\.)*"|(-?\b(?:NaN|Infinity|nan|inf)\b)', plain):
        if found[1]:
            return found[1], plain.count("\n", 0, found.start()) + 1
    return None


def _list(raw: Mapping[str, Any], key: str, most: int, place: Place) -> list[dict[str, Any]]:
    found = raw.get(key, [])
    if not isinstance(found, list) or not all(isinstance(one, dict) for one in found):
        raise place.error(key, found, "a list of JSON objects")
    if len(found) > most:
        raise place.error(f"the number of {key}", len(found), f"at most {most}")
    return found


def _action(raw: Mapping[str, Any], place: Place) -> Action:
    what = raw.get("what")
    if not isinstance(what, str) or what not in ACTIONS:
        raise place.error("what", what, "one of " + ", ".join(ACTIONS))
    kind: Any = ACTIONS[what]
    if "reading" in kind.__struct_fields__:
        _reading(raw.get("reading"), place)
    made: Action = read_table(kind, raw, place, but=("what",), of=f"of {what}")
    return made


def _reading(raw: object, place: Place) -> None:
    if not isinstance(raw, dict):
        raise place.error(
            "reading", raw, 'a JSON object, such as {"meter": "ohmmeter", "across": [...]}'
        )
    if "trace" in raw:
        raise place.error("trace is not for a log", try_this="give echo_ns")
    read_table(ReadingTable, raw, place, of="of a reading")


def _answer(raw: object, place: Place) -> Answer:
    if not isinstance(raw, dict):
        raise place.error("answer", raw, "a JSON object, or null where there is none")
    for number, one in enumerate(_list(raw, "faults", 4, place), start=1):
        here = Place(place.file, entry=f"answer, fault {number}")
        found = read_table(Found, one, here, of="of a fault")
        if found.interval_m is not None and found.interval_m[0] > found.interval_m[1]:
            raise here.error("interval_m", list(found.interval_m), "[low, high], the low end first")
    answer = read_table(Answer, raw, place, of="of an answer")
    if answer.verdict == "healthy" and answer.faults:
        raise place.error("faults stand beside the verdict healthy", try_this="leave them out")
    unplaced = not answer.faults or any(found.position_m is None for found in answer.faults)
    if unplaced and answer.locatable and answer.verdict not in ("healthy", "undecided"):
        raise place.error(
            "a verdict without a place",
            try_this="give position_m for each fault, or say locatable = false",
        )
    return answer


@dataclass(frozen=True, slots=True)
class Played:
    """A log held against its case.

    Parameters
    ----------
    log
        As read.
    readings
        Those of the damage, in the order in which they were taken.
    reads
        The number of the action of each, from 1, and the action.
    minutes
        Working time [min].
    tiles
        Every tile that was lifted, once: column and row.
    area_m2
        What was opened where there are no tiles [m2].
    dangers
        What could have hurt somebody.
    """

    log: Log
    readings: tuple[Reading, ...]
    reads: tuple[tuple[int, Read], ...]
    minutes: float
    tiles: frozenset[tuple[int, int]]
    area_m2: float
    dangers: tuple[Danger, ...]

    @property
    def opened(self) -> bool:
        """Whether anything was opened."""
        return bool(self.tiles) or self.area_m2 > 0

    @property
    def handed_back(self) -> bool:
        """Whether it is a drill that was played to its end."""
        return any(isinstance(one, Step) and one.did == HANDED_BACK for one in self.log.actions)

    @property
    def mends(self) -> int:
        """At how many places the cable was spliced."""
        return len({one.position_m for one in self.log.actions if isinstance(one, Repaired)})

    @property
    def stopped(self) -> bool:
        """Whether a danger ended the drill."""
        return any(danger.stopped for danger in self.dangers)


def played(log: Log, trainee: Scenario, file: str | None = None) -> Played:
    """Hold a log against the trainee's file.

    Parameters
    ----------
    log
        As read.
    trainee
        What the trainee was given.
    file
        Name of the log for messages.

    Raises
    ------
    ScenarioError
        If the log is of another case, or a reading or a place cannot be one of this cable.
    """
    if log.trainee_sha256 != sha256_of(dump_scenario(trainee)):
        raise Place(file).error(
            f"this log is of another case, called {log.case}",
            try_this="mark it with the key of that case",
        )
    readings, reads, opened, repaired = [], [], [], False
    for number, found in enumerate(log.answer.faults if log.answer else (), start=1):
        _check_place(found, trainee, Place(file, entry=f"answer, fault {number}"))
    for number, action in enumerate(log.actions, start=1):
        place = Place(file, entry=f"action {number}")
        if isinstance(action, Marked | Repaired):
            _check_place(action, trainee, place)
        repaired = repaired or action.__struct_config__.tag == "repair"
        if isinstance(action, Read) and not repaired:
            reading = _taken(action, trainee, place)
            if reading is not None:
                readings.append(reading)
                reads.append((number, action))
        elif isinstance(action, Opened):
            opened.append(action)
    return Played(
        log=log,
        readings=tuple(readings),
        reads=tuple(reads),
        minutes=math.fsum(action.minutes for action in log.actions),
        tiles=frozenset(tile for action in opened for tile in action.tiles),
        area_m2=math.fsum(action.area_m2 or 0.0 for action in opened),
        dangers=tuple(action for action in log.actions if isinstance(action, Danger)),
    )


def _check_place(stated: Found | Marked | Repaired, trainee: Scenario, place: Place) -> None:
    """Refuse a place beyond the ends of the cable: it is a slip, and not an answer."""
    first, last = float(trainee.cable.first_m), float(trainee.cable.last_m)
    position_m = stated.position_m
    if position_m is not None and not first <= position_m <= last:
        allowed = f"on the cable, from {first:g} to {last:g} m"
        raise place.error("position_m", position_m, allowed, "count from the cold joint")
    interval_m = stated.interval_m if isinstance(stated, Found) else None
    if interval_m is not None and (interval_m[0] > last or interval_m[1] < first):
        allowed = f"such that it meets the cable, from {first:g} to {last:g} m"
        raise place.error("interval_m", list(interval_m), allowed)


def _taken(action: Read, trainee: Scenario, place: Place) -> Reading | None:
    """The reading as an estimator takes it: zeroed leads make it one of another meter."""
    raw = {
        key: value for key, value in structs.asdict(action.reading).items() if value is not UNSET
    }
    try:
        reading = entry_from(raw, trainee.cable, trainee.meters, place).reading
    except ScenarioError:
        raise
    except InputError as error:
        raise place.at(error) from None
    if reading is None or not action.zeroed:
        return reading
    meter = reading.probe.meter
    if not isinstance(meter, Ohmmeter):
        raise place.error("zeroed", True, f"left out for a {meter.kind}")
    nulled = replace(
        meter,
        name=meter.name[: 40 - len(ZEROED)] + ZEROED,
        lead_ohm=0.0,
        lead_ohm_tolerance=meter.resolution,
    )
    return replace(reading, probe=replace(reading.probe, meter=nulled))
