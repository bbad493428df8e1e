"""From the raw table of a floor to its survey."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from msgspec import UNSET, Struct, structs

from cablesim.cable.cable import Cable
from cablesim.errors import InputError, ScenarioError
from cablesim.scenario.checking import Place, read_table
from cablesim.scenario.schema_floor import FloorTable, LayerTable, RunTable, SuspectTable
from cablesim.site.plan import plan_of
from cablesim.site.room import Room
from cablesim.site.survey import FloorLayer, Rule, Survey, Suspect

__all__ = ["survey_from"]


def survey_from(raw: Mapping[str, Any], cable: Cable, file: str | None) -> Survey:
    """Make the survey of a floor, and see that the cable can lie on it.

    Raises
    ------
    ScenarioError
        One sentence naming the key, the value and the mend.
    """
    place = Place(file, table="floor")
    table = read_table(FloorTable, raw, place, but=("run", "layers", "suspect"))
    given = _given(table)
    run = raw.get("run")
    if run is not None and not isinstance(run, dict):
        raise place.error(
            "run",
            run,
            "a table",
            "write run = {spacing_m = 0.1, margin_m = 0.05, start_m = [0, 0]}",
        )
    try:
        survey = Survey(
            room=_room(given, place),
            route_m=tuple(given.get("route_m", ())),
            rule=None if run is None else _rule(run, Place(file, table="floor.run")),
            layers=tuple(_layers(raw, place)),
            tile_m=given.get("tile_m"),
            tile_origin_m=given.get("tile_origin_m", (0.0, 0.0)),
            suspects=tuple(_suspects(raw, place)),
        )
        if survey.has_route:
            plan_of(survey, float(cable.heated_length_m))
    except ScenarioError:
        raise
    except InputError as error:
        raise _placed(error, file) from None
    return survey


def _room(given: Mapping[str, Any], place: Place) -> Room | None:
    if "outline_m" in given:
        rings = tuple(tuple(ring) for ring in given.get("keep_out_m", ()))
        return Room(tuple(given["outline_m"]), rings)
    if "keep_out_m" in given:
        raise place.error(
            "outline_m is missing, but keep_out_m is given",
            try_this="give the corners of the room's walls in order",
        )
    return None


def _rule(raw: Mapping[str, Any], place: Place) -> Rule:
    return Rule(**_given(read_table(RunTable, raw, place)))


def _layers(raw: Mapping[str, Any], place: Place) -> list[FloorLayer]:
    return [
        _made(FloorLayer, LayerTable, table, Place(place.file, entry=f"floor layer {number}"))
        for number, table in enumerate(_tables(raw, "layers", place), start=1)
    ]


def _suspects(raw: Mapping[str, Any], place: Place) -> list[Suspect]:
    return [
        _made(Suspect, SuspectTable, table, Place(place.file, entry=f"floor suspect {number}"))
        for number, table in enumerate(_tables(raw, "suspect", place), start=1)
    ]


def _made(kind: Any, struct: type[Struct], raw: Mapping[str, Any], place: Place) -> Any:
    given = _given(read_table(struct, raw, place))
    try:
        return kind(**given)
    except InputError as error:
        raise place.at(error) from None


def _tables(raw: Mapping[str, Any], key: str, place: Place) -> list[dict[str, Any]]:
    found = raw.get(key, [])
    if not isinstance(found, list) or not all(isinstance(item, dict) for item in found):
        example = (
            'layers = [{material = "tile", thickness_mm = 10}]'
            if key == "layers"
            else 'suspect = [{at_m = [1.2, 0.4], radius_m = 0.2, why = "..."}]'
        )
        raise place.error(key, found, "a list of tables", f"write {example}")
    if len(found) > _MOST[key]:
        raise place.error(f"the number of {key} of the floor", len(found), f"at most {_MOST[key]}")
    return found


_MOST = {"layers": 20, "suspect": 50}


def _placed(error: InputError, file: str | None) -> ScenarioError:
    """Give an error of the floor its key: one of the floor's own gets the table in front."""
    found = re.match(r"(the length of |the number of points of )?(\w+)", error.what)
    what = error.what if error.what.startswith("cable.") else f"floor: {error.what}"
    if found is not None and found[2] in FloorTable.__struct_fields__:
        what = f"{found[1] or ''}floor.{error.what[len(found[1] or '') :]}"
    return ScenarioError(what, error.got, error.allowed, error.try_this, file)


def _given(table: Struct) -> dict[str, Any]:
    return {key: value for key, value in structs.asdict(table).items() if value is not UNSET}
