"""Reading a scenario file: from bytes to a checked `Scenario`, or a sentence that says why not."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import Any, Final

from cablesim.cable.cable import Cable
from cablesim.errors import InputError, ScenarioError, nearest
from cablesim.instruments.readings import Probe, Reading
from cablesim.line.several import Installation, parts_of
from cablesim.scenario.checking import Place, as_written, check_keys, read_value
from cablesim.scenario.gathering import cable_from, entry_from, fault_from, meter_from
from cablesim.scenario.scenario import Entry, Scenario
from cablesim.scenario.schema import (
    FORMAT,
    METER_NAME_PATTERN,
    MOST_FAULTS,
    MOST_METERS,
    MOST_OTHERS,
    MOST_READINGS,
    ScenarioFile,
)

__all__ = ["MOST_BYTES", "load_scenario", "parse_scenario", "scenario_of"]

# A file at every limit of the schema stays below these. The parser's time grows with the square of
# the number of dots in one key, so dots in a line are limited too.
MOST_BYTES: Final = 256 * 1024
_LONGEST_LINE: Final = 4096
_MOST_DOTS: Final = 300
_MOST_FILES_LOOKED_AT: Final = 1000

_SMALLEST: Final = (
    'a scenario needs [cable] with construction = "twin", heated_length_m = 30.0 and '
    "loop_resistance_ohm = 88.2, or the like"
)


def load_scenario(path: str | os.PathLike[str]) -> Scenario:
    """Read a scenario file.

    Parameters
    ----------
    path
        The file, in TOML, format 1.

    Returns
    -------
    Scenario
        Checked.

    Raises
    ------
    ScenarioError
        One sentence naming the file, the key, the value and the mend.
    """
    name = os.fspath(path)
    try:
        # Opening a pipe or a device may wait for ever; a missing file is told of below.
        if os.path.exists(name) and not os.path.isdir(name) and not os.path.isfile(name):
            raise ScenarioError(
                "this is no regular file",
                try_this="name a scenario file, ending in .toml",
                file=name,
            )
        with open(name, "rb") as file:
            size = os.fstat(file.fileno()).st_size
            if size > MOST_BYTES:
                raise _too_large(name, size)
            data = file.read(MOST_BYTES + 1)
    except FileNotFoundError:
        near = _neighbour(name)
        raise ScenarioError(
            "there is no such file",
            try_this=f"did you mean {near}?" if near else "check the name and the folder",
            file=name,
        ) from None
    except IsADirectoryError:
        raise ScenarioError(
            "this is a folder", try_this="name a scenario file, ending in .toml", file=name
        ) from None
    except ScenarioError:
        raise
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise ScenarioError(
            f"the file cannot be read ({why})", try_this="check the name and the rights", file=name
        ) from None
    return parse_scenario(data, file=name)


def parse_scenario(
    text: str | bytes | bytearray, file: str | os.PathLike[str] | None = None
) -> Scenario:
    """Read a scenario from text.

    Parameters
    ----------
    text
        What a scenario file holds; bytes are UTF-8.
    file
        Name to use in messages.

    Returns
    -------
    Scenario
        Checked.

    Raises
    ------
    ScenarioError
        One sentence naming the file, the key, the value and the mend.

    Examples
    --------
    >>> scenario = parse_scenario('''
    ... [cable]
    ... construction = "twin"
    ... heated_length_m = 30.0
    ... loop_resistance_ohm = 88.2
    ...
    ... [[reading]]
    ... meter = "ohmmeter"
    ... across = ["core1", "braid"]
    ... ohm = 87.7
    ... ''')
    >>> scenario.readings[0].shown
    87.7
    """
    name = None if file is None else os.fspath(file)
    return scenario_of(_tables(_decoded(text, name), name), name)


def _too_large(name: str | None, size: int) -> ScenarioError:
    return ScenarioError(
        "size in bytes", size, f"at most {MOST_BYTES}", "name a scenario file", file=name
    )


def _neighbour(name: str) -> str | None:
    """The file in the same folder that has the nearest name."""
    folder = Path(name).parent
    try:
        names = [entry.name for entry in islice(os.scandir(folder), _MOST_FILES_LOOKED_AT)]
    except (OSError, ValueError):
        return None
    near = nearest(Path(name).name, [name for name in names if name.endswith(".toml")])
    return str(folder / near) if near else None


def _decoded(text: str | bytes | bytearray, name: str | None) -> str:
    if len(text) > MOST_BYTES:
        raise _too_large(name, len(text))
    try:
        # Both ways, since text may hold what cannot be written to a file again.
        decoded = text.encode().decode() if isinstance(text, str) else bytes(text).decode()
    except UnicodeError as error:
        raise ScenarioError(
            f"the file is not text in UTF-8 (byte {error.start})"
            if isinstance(error, UnicodeDecodeError)
            else "the text cannot be written as UTF-8",
            try_this="save it as UTF-8 in a text editor",
            file=name,
        ) from None
    # Some editors begin a UTF-8 file with a mark.
    decoded = decoded.removeprefix("\ufeff")
    if not decoded.strip():
        raise ScenarioError("the file is empty", try_this=_SMALLEST, file=name)
    return decoded


def _tables(text: str, name: str | None) -> dict[str, Any]:
    for number, line in enumerate(text.split("\n"), start=1):
        for what, count, most in (
            ("length", len(line), _LONGEST_LINE),
            ("number of dots", line.count("."), _MOST_DOTS),
        ):
            if count > most:
                raise ScenarioError(
                    f"{what} of line {number}",
                    count,
                    f"at most {most}",
                    "break a long list after a comma",
                    file=name,
                )
    try:
        return tomllib.loads(text)
    except RecursionError:
        raise ScenarioError(
            "brackets or tables are nested too deeply",
            try_this="a scenario needs three levels at most",
            file=name,
        ) from None
    except (ValueError, OverflowError) as error:
        raise _syntax(str(error), text, name) from None


def _syntax(message: str, text: str, name: str | None) -> ScenarioError:
    """Reword what the TOML parser says, with the line in front."""
    found = re.search(r" \(at (line (\d+), column \d+|end of document)\)$", message)
    if found is None:
        return ScenarioError(
            f"the file is not valid TOML: {message[:80]}",
            try_this="look for a number or a date that cannot be",
            file=name,
        )
    number = int(found[2]) if found[2] else text.count("\n") + 1
    where = found[1] if found[2] else f"line {number}, the last,"
    what = message[: found.start()].split("\n")[0]
    what = what[:1].lower() + what[1:80]
    return ScenarioError(
        f"{where} is not valid TOML: {what}",
        try_this=_syntax_mend(what, text.split("\n")[number - 1]),
        file=name,
    )


def _syntax_mend(what: str, line: str) -> str | None:
    value = line.partition("=")[2].strip()
    if re.match(r"[+-]?\d+,\d", value):
        return "write a decimal point, such as 12.4"
    if re.match(r"[+-]?[\d.]+ *[A-Za-z]", value):
        return "write the bare number, the unit is in the key; or a length with its unit in quotes"
    if "illegal character" in what and re.match("[\"']", value):
        return "end a text on the line where it begins, with the quotes that began it"
    if "invalid value" in what and re.fullmatch(r"(?i)\+?(o\.?l\.?|over|open|inf\w*)", value):
        return "for a display that shows no number write over_range = true"
    if "invalid value" in what and re.match(r"(?i)(true|yes|on|false|no|off)\b", value):
        return "write true or false, in small letters and without quotes"
    if "invalid value" in what and re.match(r"[A-Za-z]", value):
        return "put text in quotes"
    if "declare" in what or "overwrite" in what or "twice" in what or "namespace" in what:
        return (
            "each key and table may stand once; several faults or readings each need their own "
            "[[fault]] or [[reading]]"
        )
    return None


def scenario_of(raw: dict[str, Any], name: str | None = None) -> Scenario:
    """Read a scenario from the tables of a file, from wherever these came.

    Parameters
    ----------
    raw
        Tables by their keys.
    name
        Name of the file to use in messages.

    Raises
    ------
    ScenarioError
        As for `parse_scenario`.
    """
    top = Place(name)
    _check_format(raw, top)
    check_keys(raw, ScenarioFile.__struct_fields__, top)
    if "cable" not in raw:
        raise top.error("[cable] is missing", try_this=_SMALLEST)
    cable, supply_volt = cable_from(_table(raw["cable"], "cable", top), Place(name, table="cable"))
    laid: Cable | Installation = cable
    if "other" in raw:
        from cablesim.scenario.gathering_others import installation_from

        others = _entries(raw, "other", MOST_OTHERS, top)
        joins = read_value(ScenarioFile, "joins", raw["joins"], top) if "joins" in raw else None
        laid = installation_from(cable, others, joins, name) if others else cable
    elif "joins" in raw:
        raise top.error("joins stands without a second cable", try_this="add [[other]] for it")
    faults = [
        fault_from(table, laid, Place(name, entry=f"fault {number}"))
        for number, table in enumerate(_entries(raw, "fault", MOST_FAULTS, top), start=1)
    ]
    meters = {}
    for called, table in _meters(raw, top):
        meters[called] = meter_from(called, table, Place(name, table=f"meter.{called}"))
    entries: list[Entry] = []
    for number, table in enumerate(_entries(raw, "reading", MOST_READINGS, top), start=1):
        entries.append(entry_from(table, laid, meters, Place(name, entry=f"reading {number}")))
    if not any(getattr(fault, "drift_percent", 0.0) for _, fault in faults):
        _check_steady(entries, name)
    floor = None
    if "floor" in raw:
        # Brings its own geometry along, which a file without a floor need not load.
        from cablesim.scenario.gathering_floor import survey_from

        floor = survey_from(_table(raw["floor"], "floor", top), cable, name)
    practice = None
    if "practice" in raw:
        from cablesim.scenario.gathering_practice import practice_from

        practice = practice_from(_table(raw["practice"], "practice", top), name)
    said = {
        key: read_value(ScenarioFile, key, raw[key], top)
        for key in ("title", "established")
        if key in raw
    }
    try:
        return Scenario(
            cable,
            tuple(fault for on, fault in faults if not on),
            tuple(entry for entry in entries if not entry.when),
            meters,
            supply_volt,
            title=said.get("title", ""),
            established=tuple(said.get("established", ())),
            floor=floor,
            others=tuple(
                replace(part, faults=tuple(fault for on, fault in faults if on == part.name))
                for part in parts_of(laid)[1:]
            ),
            joins=tuple(tuple(group) for group in raw.get("joins", ())),
            after_repair=tuple(entry for entry in entries if entry.when),
            practice=practice,
        )
    except InputError as error:
        raise top.at(error) from None


def _check_steady(entries: Sequence[Entry], name: str | None) -> None:
    """Refuse two readings that one meter on the same leads cannot both have shown."""
    first_of: dict[Probe, tuple[int, Reading]] = {}
    for second, entry in enumerate(entries, start=1):
        after = entry.reading
        if after is None or entry.when:
            continue
        first, before = first_of.setdefault(after.probe, (second, after))
        if before.contradicts(after):
            leads = " to ".join(after.probe.hookup.across)
            raise Place(name, entry=f"reading {second}").error(
                f"{after.probe.meter.name} {leads} contradicts reading {first}",
                try_this="one meter on the same leads cannot show both: keep the one you trust, or "
                "write unsteady = true where the display did not settle",
            )


def _check_format(raw: Mapping[str, Any], top: Place) -> None:
    version = raw.get("format", FORMAT)
    if isinstance(version, int) and not isinstance(version, bool):
        if version == FORMAT:
            return
        if version > FORMAT:
            raise top.error(
                "format",
                version,
                f"{FORMAT}",
                "the file is of a newer format than this version of cablesim reads",
            )
    raise top.error("format", as_written(version), f"{FORMAT}", f"write format = {FORMAT}")


def _table(value: object, key: str, top: Place) -> dict[str, Any]:
    if isinstance(value, dict):
        return value
    mend = f"write [{key}], once" if isinstance(value, list) else f"write [{key}] above its keys"
    raise top.error(key, value, "a table", mend)


def _entries(raw: Mapping[str, Any], key: str, most: int, top: Place) -> list[dict[str, Any]]:
    found = raw.get(key, [])
    if not isinstance(found, list) or not all(isinstance(item, dict) for item in found):
        raise top.error(key, found, "a list of tables", f"write [[{key}]] above each")
    if len(found) > most:
        raise top.error(f"the number of {key}s", len(found), f"at most {most}")
    return found


def _meters(raw: Mapping[str, Any], top: Place) -> list[tuple[str, dict[str, Any]]]:
    found = raw.get("meter", {})
    if not isinstance(found, dict) or not all(isinstance(item, dict) for item in found.values()):
        raise top.error(
            "meter", found, "a table for each meter", "write [meter.NAME], such as [meter.pocket]"
        )
    if len(found) > MOST_METERS:
        raise top.error("the number of meters", len(found), f"at most {MOST_METERS}")
    for called in found:
        if not re.fullmatch(METER_NAME_PATTERN, called):
            raise top.error(
                "the name of a meter",
                called,
                "a letter followed by at most 39 letters, digits, - or _",
            )
    return list(found.items())
