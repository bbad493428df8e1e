"""Writing a scenario file: what `reading` reads back as an equal scenario, or nothing at all."""

from __future__ import annotations

import contextlib
import os
import secrets
import shutil
from dataclasses import MISSING, fields
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.errors import InputError, ScenarioError
from cablesim.instruments.heat_survey import USUAL_WITHIN_M, HeatSurvey
from cablesim.instruments.meters import LoopBridge, Meter, Ohmmeter, PulseEcho, WithstandTester
from cablesim.instruments.standard import (
    USUAL_FREQUENCY_HZ,
    usual_meter,
)
from cablesim.scenario.gathering_practice import practice_table
from cablesim.scenario.geometry import geometry_table
from cablesim.scenario.reading import parse_scenario
from cablesim.scenario.scenario import Entry, Scenario
from cablesim.scenario.schema import FORMAT
from cablesim.scenario.writing_floor import floor_table

__all__ = ["dump_scenario", "entry_table", "save_scenario"]

_Table = dict[str, Any]

# How the unit of a meter reads at the end of a key.
_UNIT = {
    "ohmmeter": "ohm",
    "insulation_tester": "megohm",
    "capacitance_meter": "nanofarad",
    "loop_bridge": "ohm",
    "pulse_echo": "ns",
    "heat": "m",
    "withstand_tester": "volt",
}
# Fields of some meters that are keys as they stand.
_METER_KEYS = (
    *("open_volt_percent", "limit_milliamp", "least_volt", "volt_per_second"),
    *("battery_volt", "galvanometer_microamp", "galvanometer_ohm", "slide_ohm"),
    *("rise_ns", "width_ns", "source_ohm", "noise_percent"),
)


def dump_scenario(scenario: Scenario) -> str:
    """Write a scenario as TOML.

    What has its default value is left out. The text has been read again before it is returned.

    Parameters
    ----------
    scenario
        Any scenario.

    Returns
    -------
    str
        A text from which `parse_scenario` makes an equal scenario.

    Raises
    ------
    InputError
        If the scenario holds what a file cannot, such as a fault of infinite resistance.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> print(dump_scenario(Scenario.of(cable, [Short(("core1", "braid"), 12.4, 55.0)])))
    format = 1
    <BLANKLINE>
    [cable]
    construction = "twin"
    heated_length_m = 30.0
    loop_resistance_ohm = 88.2
    <BLANKLINE>
    [[fault]]
    kind = "short"
    between = ["core1", "braid"]
    at_m = 12.4
    resistance_ohm = 55.0
    <BLANKLINE>
    """
    # Only who writes needs it, and it is not quick to import.
    import tomlkit

    text = tomlkit.dumps(document_of(scenario))
    try:
        again = parse_scenario(text)
    except InputError as error:
        raise InputError(f"this scenario cannot be written as a file: {error}") from None
    if again != scenario:
        parts = ("title", "established", "supply_volt", "meters", "entries", "floor", "practice")
        lost = [part for part in parts if getattr(again, part) != getattr(scenario, part)]
        raise InputError(
            "this scenario cannot be written as a file",
            try_this=f"no key holds all of its {' and '.join(lost) or 'cable or faults'}",
        )
    return text


def save_scenario(scenario: Scenario, path: str | os.PathLike[str], *, force: bool = False) -> None:
    """Write a scenario file, whole or not at all.

    Parameters
    ----------
    scenario
        Any scenario.
    path
        The file to write.
    force
        Whether a file of this name may be replaced.

    Raises
    ------
    ScenarioError
        If the file exists and `force` is not set, or if it cannot be written.
    InputError
        If the scenario holds what a file cannot.
    """
    name = os.fspath(path)
    data = dump_scenario(scenario).encode()
    try:
        _write(os.path.realpath(name), data, force)
    except FileExistsError:
        raise ScenarioError(
            "the file exists already", try_this="choose another name, or force it", file=name
        ) from None
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise ScenarioError(
            f"the file cannot be written ({why})",
            try_this="check the name, the folder and its rights",
            file=name,
        ) from None


def _write(path: str, data: bytes, force: bool) -> None:
    if os.path.isdir(path):
        raise IsADirectoryError(0, "it is a folder")
    if not force and os.path.exists(path):
        raise FileExistsError
    beside = f"{path}.{secrets.token_hex(4)}.part"
    try:
        with open(beside, "xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        if force:
            if os.path.exists(path):
                shutil.copymode(path, beside)
            os.replace(beside, path)
        else:
            # A link, unlike a replacement, fails where someone else was quicker.
            os.link(beside, path)
    finally:
        with contextlib.suppress(FileNotFoundError):
            os.remove(beside)


def document_of(scenario: Scenario, *, explicit: bool = False) -> _Table:
    """The tables of a scenario file, as plain dictionaries and lists.

    Parameters
    ----------
    scenario
        Any scenario.
    explicit
        Whether values that are usual are written as well, so that the tables mean the same whatever
        becomes usual later.
    """
    document: _Table = {"format": FORMAT}
    if scenario.title:
        document["title"] = scenario.title
    if scenario.established:
        document["established"] = list(scenario.established)
    if scenario.joins:
        document["joins"] = [list(group) for group in scenario.joins]
    document["cable"] = _cable(scenario.cable, scenario.supply_volt, explicit)
    if scenario.others:
        document["other"] = [
            {"name": p.name} | _cable(p.cable, None, explicit) for p in scenario.others
        ]
    faults = [
        _fault(fault) | ({"on": part.name} if part.name else {})
        for part in scenario.parts
        for fault in part.faults
    ]
    if faults:
        document["fault"] = faults
    used = {entry.probe.meter.name for entry in (*scenario.entries, *scenario.after_repair)}
    bag = {
        name: _meter(meter, explicit)
        for name, meter in scenario.meters.items()
        if explicit or name != meter.kind or name not in used or meter != usual_meter(meter.kind)
    }
    if bag:
        document["meter"] = bag
    entries = (*scenario.entries, *scenario.after_repair)
    if entries:
        document["reading"] = [entry_table(entry, explicit=explicit) for entry in entries]
    if scenario.floor is not None:
        document["floor"] = floor_table(scenario.floor)
    if scenario.practice is not None:
        document["practice"] = practice_table(scenario.practice)
    return document


def _cable(cable: Cable, supply_volt: float | None, explicit: bool) -> _Table:
    table: _Table = {
        "construction": cable.construction.name,
        "heated_length_m": _plain(cable.heated_length_m),
    }
    made = cable.from_make
    from_make = made.get("core_ohm_per_m") == cable.core_ohm_per_m
    loop = None if cable.construction.heats_between else _rated_loop_ohm(cable)
    if not from_make and loop is None:
        table["core_ohm_per_m"] = _plain(cable.core_ohm_per_m)
    elif not from_make:
        table["loop_resistance_ohm"] = loop
    usual = {f.name: f.default for f in fields(Cable) if f.default is not MISSING}
    for key in (part.name for part in fields(Cable)):
        if key in ("construction", "heated_length_m", "core_ohm_per_m", "geometry"):
            continue
        value = getattr(cable, key)
        if explicit:
            left_out = value is None or (isinstance(value, float) and not np.isfinite(value))
        elif key in made:
            left_out = value == made[key]
        else:
            left_out = value == usual.get(key, getattr(cable.construction, key, None))
        # Resistances from the make need the alloy said.
        if not left_out or (key == "core_alloy" and from_make):
            table[key] = _plain(value)
    if supply_volt is not None:
        table["supply_volt"] = float(supply_volt)
    if cable.geometry is not None:
        table["geometry"] = geometry_table(cable.geometry)
    return table


def _rated_loop_ohm(cable: Cable) -> float | None:
    """The shortest rating that gives exactly these cores, or None where they differ."""
    cores, length_m = cable.core_ohm_per_m, float(np.asarray(cable.heated_length_m))
    each = float(np.asarray(cores[0]))
    if any(float(np.asarray(other)) != each for other in cores):
        return None
    total = each * len(cores) * length_m
    for digits in range(2, 18):
        rated = float(f"{total:.{digits}g}")
        if rated / (len(cores) * length_m) == each:
            return rated
    return None


def _fault(fault: Fault) -> _Table:
    table: _Table = {"kind": fault.kind}
    if isinstance(fault, Break):
        table["conductors"] = list(fault.conductors)
    elif isinstance(fault, Joint):
        table["conductor"] = fault.conductor
    else:
        table["between"] = list(fault.between)
    if isinstance(fault, Degraded) and fault.from_m != fault.to_m:
        table |= {"from_m": _plain(fault.from_m), "to_m": _plain(fault.to_m)}
    else:
        table["at_m"] = _plain(fault.from_m if isinstance(fault, Degraded) else fault.at_m)
    if isinstance(fault, Flashover):
        table |= {key: _plain(getattr(fault, key)) for key in ("breakdown_volt", "arc_volt")}
        if not np.isposinf(fault.leakage_ohm):
            table["leakage_ohm"] = _plain(fault.leakage_ohm)
    elif not (isinstance(fault, Break) and np.isposinf(fault.resistance_ohm)):
        table["resistance_ohm"] = _plain(fault.resistance_ohm)
    if isinstance(fault, Short | Degraded) and fault.drift_percent:
        table["drift_percent"] = _plain(fault.drift_percent)
    if isinstance(fault, Short) and fault.side != "near":
        table["side"] = fault.side
    return table


def _meter(meter: Meter, explicit: bool) -> _Table:
    if isinstance(meter, HeatSurvey):
        return {"kind": meter.kind}  # nothing about it can be told
    usual = usual_meter(meter.kind)
    unit = _UNIT[meter.kind]
    keys = {
        "accuracy_percent": "accuracy_percent",
        "accuracy_counts": "accuracy_counts",
        "resolution": f"resolution_{unit}",
        "top_range": f"range_{unit}",
    }
    # The counts of a box or of a time axis follow from its range and its step.
    if not isinstance(meter, PulseEcho | WithstandTester):
        steps = "divisions" if isinstance(meter, LoopBridge) else "counts"
        keys[steps] = steps
    # Some fields are keys as they stand.
    keys |= {f.name: f.name for f in fields(meter) if f.name in _METER_KEYS}
    table: _Table = {"kind": meter.kind}
    for field, key in keys.items():
        if explicit or getattr(meter, field) != getattr(usual, field):
            table[key] = float(getattr(meter, field))
    if isinstance(meter, Ohmmeter):
        table |= _leads(meter, usual, explicit)
    return table


def _leads(meter: Meter, usual: Meter, explicit: bool) -> _Table:
    lead_ohm, tolerance = float(meter.lead_ohm), float(meter.lead_ohm_tolerance)
    if explicit:
        return {"lead_ohm": lead_ohm, "lead_ohm_tolerance": tolerance}
    if (lead_ohm, tolerance) == (usual.lead_ohm, usual.lead_ohm_tolerance):
        return {}
    if (lead_ohm, tolerance) == (0.0, meter.resolution):
        return {"zeroed": True}
    if tolerance == lead_ohm / 2:
        return {"lead_ohm": lead_ohm}
    return {"lead_ohm": lead_ohm, "lead_ohm_tolerance": tolerance}


def entry_table(entry: Entry, *, explicit: bool = False) -> _Table:
    """The table of one reading, with the keys that it has in a file.

    Parameters
    ----------
    entry
        A reading as taken, or one to predict.
    """
    meter, hookup, setting = entry.probe.meter, entry.probe.hookup, entry.probe.setting
    table: _Table = {"meter": meter.name, "across": list(hookup.across)}
    if hookup.links:
        table["links"] = [[str(t) for t in group] for group in hookup.links]
    if isinstance(meter, HeatSurvey):
        if setting.within_m != USUAL_WITHIN_M:
            table["within_m"] = _plain(setting.within_m)
        if setting.method == "edge" and not (entry.reading and np.isfinite(entry.reading.shown)):
            table["sought"] = setting.method
    elif setting.method is not None:
        table["method"] = setting.method
    if setting.arms is not None:
        table["arms_ohm"] = [float(arm) for arm in setting.arms]
    if setting.sign is not None:
        table["sign"] = setting.sign
    if setting.test_volt is not None:
        table["test_volt"] = float(setting.test_volt)
    usual_hz = USUAL_FREQUENCY_HZ if not explicit else None
    if setting.frequency_hz is not None and setting.frequency_hz != usual_hz:
        table["frequency_hz"] = float(setting.frequency_hz)
    if setting.limit_milliamp is not None:
        table["limit_milliamp"] = float(setting.limit_milliamp)
    if setting.seconds is not None:
        table["seconds"] = float(setting.seconds)
    if entry.reading is not None:
        table |= _value(entry)
        if entry.reading.unsteady:
            table["unsteady"] = True
    if entry.when:
        table["when"] = entry.when
    if entry.note:
        table["note"] = entry.note
    return table


def _value(entry: Entry) -> _Table:
    assert entry.reading is not None  # asked for readings only
    shown, meter = float(entry.reading.shown), entry.probe.meter
    if np.isposinf(shown):
        return {"no_trip" if isinstance(meter, WithstandTester) else "over_range": True}
    if isinstance(meter, WithstandTester):
        return {"trip_volt": shown}
    if isinstance(meter, LoopBridge):
        return {"balance_ohm": shown} if entry.probe.setting.method == "varley" else {}
    if isinstance(meter, PulseEcho):
        return {"echo_ns": shown}
    if isinstance(meter, HeatSurvey):
        edge = entry.probe.setting.method == "edge"
        return {"warm_to_m" if edge else "seen_at_m": shown}
    return {("at_least_" if entry.reading.at_least else "") + _UNIT[meter.kind]: shown}


def _plain(value: Any) -> Any:
    """Plain Python numbers instead of numpy's, and lists instead of tuples."""
    if isinstance(value, tuple):
        return [_plain(item) for item in value]
    return value if isinstance(value, str) else float(np.asarray(value))
