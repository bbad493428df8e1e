"""``[cable.geometry]``: from the table of a file to a `Geometry`, and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from msgspec import UNSET, structs

from cablesim.cable.braid import WIRES, Braid
from cablesim.cable.conductors import Conductor
from cablesim.cable.geometry import Geometry
from cablesim.errors import InputError
from cablesim.scenario.checking import Place, read_table
from cablesim.scenario.schema_geometry import GeometryTable

__all__ = ["GEOMETRY_KEYS", "geometry_from", "geometry_place", "geometry_table"]

GEOMETRY_KEYS = GeometryTable.__struct_fields__

# Fields that are called otherwise in a file.
_KEY = {"nominal_mm2": "mm2", "area_mm2": "mm2", "iec_class": "class"}
_FIELD: dict[type[Any], dict[str, str]] = {
    Conductor: {_KEY.get(f.name, f.name): f.name for f in fields(Conductor)},
    Braid: {_KEY.get(f.name, f.name): f.name for f in fields(Braid)},
}
_SIZES = ("strand_mm", "nominal_mm2", "awg")
_COUNTS = ("strands", "carriers", "wires", "iec_class")
# Which keys begin with "braid_" and are none of the braid's own.
_NOT_THE_BRAIDS = ("braid_inside_mm", "braid_alloy")
# Keys that are plain numbers.
_PLAIN = (
    "insulation_mm",
    "braid_inside_mm",
    "cold_lead_insulation_mm",
    "cold_lead_braid_inside_mm",
    "heating_wire_ohm_per_m",
    "zone_m",
)


def geometry_place(place: Place) -> Place:
    """Where the geometry of a cable stands."""
    return Place(place.file, table=f"{place.table}.geometry", entry=place.entry)


def geometry_from(raw: object, place: Place) -> Geometry:
    """Make the geometry of a cable from its table.

    Parameters
    ----------
    raw
        As it came from the file.
    place
        Of the cable.

    Raises
    ------
    ScenarioError
        One sentence naming the key, the value and the mend.
    """
    if not isinstance(raw, Mapping):
        raise place.error("geometry", raw, "a table", "write [cable.geometry] above its keys")
    here = geometry_place(place)
    table = read_table(GeometryTable, raw, here)
    given = {key: value for key, value in structs.asdict(table).items() if value is not UNSET}
    core, lead = (_part(Conductor, f"{name}_", given, here) for name in ("core", "cold_lead"))
    own = {key: value for key, value in given.items() if key not in _NOT_THE_BRAIDS}
    braid = _part(Braid, "braid_", own, here)
    plain = (*_PLAIN, "braid_alloy")
    try:
        return Geometry(
            core=core,
            cold_lead=lead,
            braid=braid,
            **{key: given[key] for key in plain if key in given},
        )
    except InputError as error:
        raise here.at(error) from None


def _part(kind: type[Any], prefix: str, given: Mapping[str, Any], place: Place) -> Any:
    """One conductor, or the braid, from the keys that begin alike; None where there is none."""
    known = _FIELD[kind]
    stated = {
        known[key.removeprefix(prefix)]: value
        for key, value in given.items()
        if key.startswith(prefix) and key.removeprefix(prefix) in known
    }
    if not stated:
        return None
    for name in _COUNTS:
        value = stated.get(name)
        if value is not None and value == int(value):
            stated[name] = int(value)
    _check_size(kind, stated, prefix, place)
    try:
        return kind(**stated)
    except InputError as error:
        key = next((key for key, name in known.items() if name == error.what), error.what)
        raise place.error(prefix + key, error.got, error.allowed, error.try_this) from None


def _check_size(kind: type[Any], stated: Mapping[str, Any], prefix: str, place: Place) -> None:
    """Say in the words of the file what is given twice or not at all."""
    keys = {name: prefix + key for key, name in _FIELD[kind].items()}
    if kind is Conductor:
        sizes = [keys[name] for name in _SIZES]
        given = [keys[name] for name in _SIZES if name in stated]
    else:
        wires = [name for name in WIRES if name in stated]
        missing = [keys[name] for name in WIRES if wires and name not in stated]
        if missing and "area_mm2" not in stated:
            raise place.error(
                f"{missing[0]} is missing",
                try_this="wires of a braid are given by all of "
                + ", ".join(keys[name] for name in WIRES),
            )
        sizes = [keys["area_mm2"], keys["wires"]]
        given = [keys[name] for name in ("area_mm2", *wires[:1]) if name in stated]
    if len(given) != 1:
        raise place.error(
            f"{' and '.join(given)} are both given" if given else f"{prefix}mm2 is missing",
            try_this=f"give one of {', '.join(sizes)}",
        )


def geometry_table(geometry: Geometry) -> dict[str, Any]:
    """The table that `geometry_from` reads back as an equal geometry."""
    table: dict[str, Any] = {}
    for prefix, part in (("core_", geometry.core), ("cold_lead_", geometry.cold_lead)):
        if part is not None:
            table |= _keys(part, prefix)
    for name in _PLAIN:
        value = getattr(geometry, name)
        if value is not None:
            table[name] = float(value)
    if geometry.braid is not None:
        table |= _keys(geometry.braid, "braid_")
    if geometry.braid_alloy != "copper":
        table["braid_alloy"] = geometry.braid_alloy
    return table


def _keys(part: Conductor | Braid, prefix: str) -> dict[str, Any]:
    table = {}
    for key, name in _FIELD[type(part)].items():
        value = getattr(part, name)
        if value is not None and (name, value) != ("strands", 1):
            table[prefix + key] = int(value) if name in _COUNTS else float(value)
    return table
