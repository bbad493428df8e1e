"""A case to practise on: from the raw table to the value object, and back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from msgspec import UNSET, Struct, structs

from cablesim.errors import InputError
from cablesim.scenario.checking import Place, read_table
from cablesim.scenario.practice import Deviation, Practice, PracticeKey
from cablesim.scenario.schema_practice import KeyTable, PracticeTable, TrueTable

__all__ = ["practice_from", "practice_table"]


def practice_from(raw: Mapping[str, Any], file: str | None) -> Practice:
    """Make what a scenario says of practice.

    Raises
    ------
    ScenarioError
        One sentence naming the key, the value and the mend.
    """
    place = Place(file, table="practice")
    given = _given(read_table(PracticeTable, raw, place, but=("key",)))
    if "key" in raw:
        given["key"] = _key(raw["key"], place, file)
    return Practice(**given)


def _key(raw: object, above: Place, file: str | None) -> PracticeKey:
    place = Place(file, table="practice.key")
    if not isinstance(raw, dict):
        raise above.error("key", raw, "a table", "write [practice.key] above its keys")
    given = _given(read_table(KeyTable, raw, place, but=("true",)))
    if "true" in raw:
        true = raw["true"]
        if not isinstance(true, dict):
            raise place.error("true", true, "a table", "write [practice.key.true] above its keys")
        given["true"] = Deviation(
            **_given(read_table(TrueTable, true, Place(file, table="practice.key.true")))
        )
    try:
        return PracticeKey(**given)
    except InputError as error:
        raise place.at(error) from None


def practice_table(practice: Practice) -> dict[str, Any]:
    """The table from which an equal value is made; what has its default is left out.

    Parameters
    ----------
    practice
        What a scenario says of practice.
    """
    table = _said(practice, but="key")
    if practice.key is not None:
        table["key"] = _said(practice.key, but="true")
        true = _said(practice.key.true)
        if true:
            table["key"]["true"] = true
    return table


def _said(value: Any, but: str = "") -> dict[str, Any]:
    return {
        part.name: getattr(value, part.name)
        for part in fields(value)
        if part.name != but and getattr(value, part.name) != part.default
    }


def _given(table: Struct) -> dict[str, Any]:
    return {key: value for key, value in structs.asdict(table).items() if value is not UNSET}
