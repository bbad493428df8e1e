"""Reading a scenario file: from bytes to a checked `Scenario`, or a sentence that says why not."""

from __future__ import annotations

import os
import re
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.instruments.readings import Probe, Reading
from cablesim.line.several import Installation, parts_of
from cablesim.scenario.checking import Place, as_written, check_keys, read_value
from cablesim.scenario.gathering import entry_from, fault_from, meter_from
from cablesim.scenario.gathering_cable import cable_from
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
from cablesim.scenario.toml_text import SMALLEST, content_of, tables_of

if TYPE_CHECKING:
    from cablesim.scenario.practice import Practice
    from cablesim.site.survey import Survey

__all__ = ["load_scenario", "parse_scenario", "scenario_of"]


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
    return parse_scenario(content_of(name), file=name)


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
    return scenario_of(tables_of(text, name), name)


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
        raise top.error("[cable] is missing", try_this=SMALLEST)
    cable, supply_volt = cable_from(_table(raw["cable"], "cable", top), Place(name, table="cable"))
    laid = _laid(raw, cable, top)
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
    floor, practice = _floor(raw, cable, top), _practice(raw, top)
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


def _laid(raw: dict[str, Any], cable: Cable, top: Place) -> Cable | Installation:
    """The cable, with those that it is joined to."""
    if "other" not in raw:
        if "joins" in raw:
            raise top.error("joins stands without a second cable", try_this="add [[other]] for it")
        return cable
    from cablesim.scenario.gathering_others import installation_from

    others = _entries(raw, "other", MOST_OTHERS, top)
    joins = read_value(ScenarioFile, "joins", raw["joins"], top) if "joins" in raw else None
    return installation_from(cable, others, joins, top.file) if others else cable


def _floor(raw: dict[str, Any], cable: Cable, top: Place) -> Survey | None:
    if "floor" not in raw:
        return None
    # Brings its own geometry along, which a file without a floor need not load.
    from cablesim.scenario.gathering_floor import survey_from

    return survey_from(_table(raw["floor"], "floor", top), cable, top.file)


def _practice(raw: dict[str, Any], top: Place) -> Practice | None:
    if "practice" not in raw:
        return None
    from cablesim.scenario.gathering_practice import practice_from

    return practice_from(_table(raw["practice"], "practice", top), top.file)


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
        mend = f"keep those that differ, or write the rest of the [[{key}]] into another file"
        raise top.error(f"the number of {key}s", len(found), f"at most {most}", mend)
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
