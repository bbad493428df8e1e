"""From the raw tables of a file to the value objects: faults, meters, readings."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from msgspec import UNSET, Struct, structs

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.placing import check_faults
from cablesim.errors import InputError, nearest
from cablesim.instruments.heat_survey import HeatSurvey
from cablesim.instruments.meters import METER_KINDS, LoopBridge, Meter, PulseEcho, Setting
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.standard import usual_meter
from cablesim.line.several import Installation, one_cable_only, part_of
from cablesim.line.terminals import Hookup, terminal
from cablesim.scenario.checking import Place, check_keys, only_value, read_table
from cablesim.scenario.echo_readings import echo_value
from cablesim.scenario.scenario import Entry
from cablesim.scenario.schema import (
    FAULT_TABLES,
    BreakTable,
    DegradedTable,
    FlashoverTable,
    JointTable,
    ShortTable,
)
from cablesim.scenario.schema_meters import (
    METER_TABLES,
    LoopBridgeTable,
    OhmmeterTable,
    PulseEchoTable,
    WithstandTesterTable,
)
from cablesim.scenario.schema_readings import READING_KEYS, ReadingTable

__all__ = ["entry_from", "fault_from", "meter_from"]

_UNIT = {
    "insulation_tester": "megohm",
    "capacitance_meter": "nanofarad",
    "pulse_echo": "ns",
    "withstand_tester": "volt",
}
_ONE_RANGE = ("loop_bridge", "pulse_echo", "withstand_tester")


def fault_from(
    raw: Mapping[str, Any], where: Cable | Installation, place: Place
) -> tuple[str, Fault]:
    """Make one fault; the first is the name of the cable that has it, empty for the main one."""
    kind = _kind(raw, list(FAULT_TABLES), place)
    of = "of a degraded fault" if kind == "degraded" else f"of a {kind}"
    table = read_table(FAULT_TABLES[kind], raw, place, but=("kind",), of=of)
    given = _given(table)
    name = given.pop("on", "")
    if name and isinstance(where, Cable):
        raise place.error("on", name, "left out where there is no [[other]] cable")
    if isinstance(table, DegradedTable):
        _check_stretch(given, place)
    try:
        cable = part_of(where, name)
        fault = _fault(table, given)
        check_faults(cable, (fault,))
    except InputError as error:
        if error.what == "cable":
            raise place.error("on", error.got, error.allowed, error.try_this) from None
        raise place.at(error) from None
    return name, fault


def _fault(table: Struct, given: dict[str, Any]) -> Fault:
    if isinstance(table, ShortTable):
        return Short(**given)
    if isinstance(table, BreakTable):
        return Break(**given | {"conductors": tuple(table.conductors)})
    if isinstance(table, JointTable):
        return Joint(**given)
    if isinstance(table, FlashoverTable):
        return Flashover(**given)
    if "at_m" in given:
        return Degraded.at(**given)
    return Degraded(**given)


def _check_stretch(given: Mapping[str, Any], place: Place) -> None:
    keys = [key for key in ("at_m", "from_m", "to_m") if key in given]
    if keys in (["at_m"], ["from_m", "to_m"]):
        return
    found = "only " + keys[0] if len(keys) == 1 else " and ".join(keys) or "no position"
    raise place.error(
        f"at_m, or from_m and to_m, must say where a degraded fault is; this one has {found}",
        try_this="give at_m for a point, from_m and to_m for a stretch",
    )


def meter_from(name: str, raw: Mapping[str, Any], place: Place) -> Meter:
    """Make one meter of the bag."""
    if "kind" not in raw and name in METER_KINDS:
        raw = {"kind": name, **raw}
    kind = _kind(raw, list(METER_TABLES), place)
    if name in METER_KINDS and name != kind:
        raise place.error(
            f"{place.table} has the name of a kind of meter but is of kind {kind}",
            try_this="give it another name",
        )
    table = read_table(METER_TABLES[kind], raw, place, but=("kind",), of=f"of {_a(kind)}")
    given = _given(table)
    fields: dict[str, Any] = {}
    written = {"resolution": "resolution", "range": "top_range"}
    keys = {"name": place.table}
    for key, value in given.items():
        field = written.get(key.partition("_")[0], key)
        fields[field] = value
        keys[field] = key
    usual = usual_meter(kind, name)
    if isinstance(table, OhmmeterTable):
        _nulled(fields, usual)
    if isinstance(table, LoopBridgeTable | PulseEchoTable | WithstandTesterTable):
        # One range, whose steps are its counts: a box of decades, or a time axis.
        top, step = (fields.get(key, getattr(usual, key)) for key in ("top_range", "resolution"))
        fields["counts"] = top / step
    try:
        return replace(usual, **fields)
    except InputError as error:
        what = error.what
        if what in ("range", "counts"):
            meter = {key: fields.get(key, getattr(usual, key)) for key in ("resolution", "counts")}
            lowest = meter["resolution"] * (10.0 if kind in _ONE_RANGE else meter["counts"])
            key = f"range_{_UNIT.get(kind, 'ohm')}"
            raise place.error(
                key,
                fields.get("top_range", usual.top_range),
                f"at least the full scale of the lowest range, {lowest:g}",
                f"change {key} or resolution_{_UNIT.get(kind, 'ohm')}",
            ) from None
        raise place.at(error) from None


def _nulled(fields: dict[str, Any], usual: Meter) -> None:
    """Fill in what an ohmmeter's leads may be off by."""
    if fields.pop("zeroed", False):
        fields["lead_ohm"] = 0.0
        fields.setdefault("lead_ohm_tolerance", fields.get("resolution", usual.resolution))
    elif "lead_ohm" in fields:
        fields.setdefault("lead_ohm_tolerance", fields["lead_ohm"] / 2)


def entry_from(
    raw: Mapping[str, Any],
    cable: Cable | Installation,
    meters: Mapping[str, Meter],
    place: Place,
) -> Entry:
    """Make one reading, or probe, with a meter of the bag or a usual one."""
    called = raw.get("meter")
    if isinstance(called, str):
        kind = _meter_called(called, meters, place).kind
        check_keys(raw, READING_KEYS[kind], place, f"of a reading with {_a(kind)}")
    table = read_table(ReadingTable, raw, place)
    given = _given(table)
    meter = _meter_called(table.meter, meters, place)
    hookup = _hookup(table, cable, meter, place)
    traces = None
    if isinstance(meter, LoopBridge):
        setting, shown = _bridge_value(given, place)
    elif meter.sees_places and not isinstance(cable, Cable):
        raise place.at(one_cable_only(f"the {meter.kind}"))
    elif isinstance(meter, PulseEcho) and isinstance(cable, Cable):
        setting, shown, traces = echo_value(given, meter, cable, hookup, place)
    elif isinstance(meter, HeatSurvey):
        setting, shown = _heat_value(given, place)
    else:
        setting = Setting(
            test_volt=given.get("test_volt"),
            seconds=given.get("seconds"),
            frequency_hz=given.get("frequency_hz"),
            limit_milliamp=given.get("limit_milliamp"),
        )
        shown = _value(given, place)
    try:
        probe = Probe(meter, hookup, setting)
        reading = None
        if shown is not None:
            unsteady = given.get("unsteady", False)
            reading = Reading(probe, shown, "at_least_megohm" in given, unsteady)
        elif given.get("unsteady"):
            raise place.error(
                "unsteady is said of a reading without a value",
                try_this="give the value that was seen, or leave unsteady out",
            )
        when = given.get("when", "")
        if when and reading is None:
            raise place.error(
                "when is said of a reading without a value",
                try_this="give the value that was read, or leave when out",
            )
        return Entry(probe, reading, note=given.get("note", ""), when=when, traces=traces)
    except InputError as error:
        raise place.at(error) from None


def _meter_called(name: str, meters: Mapping[str, Meter], place: Place) -> Meter:
    if name in meters:
        return meters[name]
    if name in METER_KINDS:
        return usual_meter(name)
    known = [*meters, *(kind for kind in METER_KINDS if kind not in meters)]
    near = nearest(name[:100], known)
    mend = f"did you mean {near}?" if near else "add a table [meter.NAME] for it"
    raise place.error("meter", name, _one_of(known), mend)


def _hookup(table: ReadingTable, cable: Cable | Installation, meter: Meter, place: Place) -> Hookup:
    links = table.links if table.links is not UNSET else []
    named = {
        "across": [name for lead in table.across for name in lead.split("+")],
        "links": [name for group in links for name in group],
    }
    for key, names in named.items():
        for name in names:
            try:
                terminal(name, cable)
            except InputError as error:
                if error.what == "cable":
                    raise place.error(
                        f"{key}: the cable of {name}", error.got, error.allowed, error.try_this
                    ) from None
                raise place.error(
                    f"{key}: terminal", error.got, error.allowed, error.try_this
                ) from None
    if len(table.across) != meter.leads:
        raise place.error(
            "across",
            table.across,
            f"{meter.leads} entries, one for each lead of the {meter.kind}",
            'several terminals on one lead are joined by +, like "core1+core2"',
        )
    try:
        return Hookup.of(cable, tuple(table.across), tuple(tuple(group) for group in links))
    except InputError as error:
        raise place.at(error) from None


def _value(given: Mapping[str, Any], place: Place) -> float | None:
    """The one value of a reading; infinite for over range, None for a probe."""
    keys = [k for k in ("ohm", "megohm", "at_least_megohm", "nanofarad", "trip_volt") if k in given]
    values = [float(given[key]) for key in keys]
    for key in ("over_range", "no_trip"):
        if given.get(key):
            keys.append(key)
            values.append(math.inf)
    return only_value(keys, values, place)


def _heat_value(given: Mapping[str, Any], place: Place) -> tuple[Setting, float | None]:
    """What was looked for, and the place that was found."""
    keys = [key for key in ("warm_to_m", "seen_at_m") if key in given]
    values = [float(given[key]) for key in keys]
    sought = given.get("sought")
    if keys and sought is not None:
        raise place.error(
            f"sought is for a reading without a place; {keys[0]} says it already",
            try_this="leave one of them out",
        )
    if given.get("over_range"):
        keys.append("over_range")
        values.append(math.inf)
    shown = only_value(keys, values, place)
    found = {"warm_to_m": "edge", "seen_at_m": "spot"}.get(keys[0]) if keys else None
    return Setting(method=found or sought, within_m=given.get("within_m")), shown


def _bridge_value(given: Mapping[str, Any], place: Place) -> tuple[Setting, float | None]:
    """Setting and value of a balance: a share of the slide, or the box of the Varley method."""
    method = given.get("method")
    if method is None:
        raise place.error(
            "method is missing",
            try_this="it must be murray, varley or capacitance for a loop_bridge",
        )
    if method != "capacitance" and "frequency_hz" in given:
        raise place.error("frequency_hz", given["frequency_hz"], "left out with direct current")
    arms = given.get("arms_ohm")
    if arms is not None and (sum(arms) <= 0 or (method == "varley" and min(arms) <= 0)):
        allowed = (
            "two numbers above 0" if method == "varley" else "two numbers, one of them above 0"
        )
        raise place.error("arms_ohm", list(arms), allowed)
    setting = Setting(frequency_hz=given.get("frequency_hz"), method=method, arms=arms)
    keys, values = [], []
    if method == "varley":
        if arms is None:
            raise place.error(
                "arms_ohm is missing",
                try_this="varley needs the two arms as set, such as [1000, 1000]",
            )
        if "balance_ohm" in given:
            keys, values = ["balance_ohm"], [float(given["balance_ohm"])]
    else:
        if "balance_ohm" in given:
            raise place.error(
                "balance_ohm", given["balance_ohm"], f"left out with {method}", "give arms_ohm"
            )
        if arms is not None:
            keys, values = ["arms_ohm"], [arms[1] / (arms[0] + arms[1])]
    if given.get("over_range"):
        keys.append("over_range")
        values.append(math.inf)
    return setting, only_value(keys, values, place)


def _kind(raw: Mapping[str, Any], known: list[str], place: Place) -> str:
    kind = raw.get("kind")
    if kind is None:
        raise place.error(
            f"{place.table}.kind is missing" if place.table else "kind is missing",
            try_this=f"it must be {_one_of(known)}",
        )
    if isinstance(kind, str) and kind in known:
        return kind
    near = nearest(kind, known) if isinstance(kind, str) and len(kind) < 100 else None
    mend = f"did you mean {near}?" if near else None
    raise place.error("kind", kind, _one_of(known), mend)


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "aeiou" else f"a {kind}"


def _one_of(names: list[str]) -> str:
    return "one of " + ", ".join(names)


def _given(table: Struct) -> dict[str, Any]:
    return {key: value for key, value in structs.asdict(table).items() if value is not UNSET}
