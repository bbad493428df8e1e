"""Every key of the scenario file with its type and bounds, from the JSON Schema."""

from __future__ import annotations

import json
from typing import Any

from cablesim.scenario.json_schema import json_schema

_HEAD = """# Keys of the scenario file

Every key with what it takes, written from the schema that the program checks files with. What
the keys mean together, their defaults and examples are in
[the scenario file](../scenario-format.md); the schema itself is
[scenario.schema.json](../scenario.schema.json).

A length may be a text with a unit, such as `"30 ft"`; a number is in the unit that the key ends in.
"""
# The order of the file. What is not named here comes after, by name.
_ORDER = ("ScenarioFile", "CableTable", "GeometryTable", "OtherTable")


def pages() -> dict[str, str]:
    """The one page."""
    tables: dict[str, dict[str, Any]] = json.loads(json_schema())["$defs"]
    first = [name for name in _ORDER if name in tables]
    text = _HEAD
    for name in (*first, *sorted(set(tables) - set(first))):
        if "properties" in tables[name]:  # a length is a text and has none
            text += _table(name, tables[name])
    return {"keys": text}


def _table(name: str, table: dict[str, Any]) -> str:
    text = f"\n## {name.removesuffix('Table')}\n\n{table.get('description', '')}\n\n"
    text += "| key | takes | meaning |\n| --- | --- | --- |\n"
    for key, schema in table["properties"].items():
        must = " (required)" if key in table.get("required", ()) else ""
        meaning = _find(schema, "description") or ""
        text += f"| `{key}` | {_takes(schema)}{must} | {_cell(meaning)} |\n"
    return text


def _find(schema: dict[str, Any], key: str) -> Any:
    """A word of a schema, or of one of its alternatives."""
    if key in schema:
        return schema[key]
    return next((found for part in schema.get("anyOf", ()) if (found := _find(part, key))), None)


def _takes(schema: dict[str, Any]) -> str:
    if "$ref" in schema:
        return schema["$ref"].rpartition("/")[2].removesuffix("Table")
    if "anyOf" in schema:
        return " or ".join(dict.fromkeys(_takes(part) for part in schema["anyOf"]))
    if "enum" in schema:
        return ", ".join(f"`{value}`" for value in schema["enum"])
    if "const" in schema:
        return f"`{schema['const']}`"
    kind = schema.get("type", "any")
    if kind == "array":
        each = schema.get("items") or (schema.get("prefixItems") or [{}])[0]
        return f"list of {_takes(each)}" if each else "list"
    if kind == "object":
        return f"tables of {_takes(schema.get('additionalProperties') or {})}"
    bounds = [
        f"{word} {schema[name]:g}"
        for name, word in (
            ("exclusiveMinimum", "above"),
            ("minimum", "from"),
            ("maximum", "to"),
        )
        if name in schema
    ]
    words = {"string": "text", "boolean": "true or false", "integer": "whole number"}
    return " ".join([words.get(kind, kind), *bounds])


def _cell(text: str) -> str:
    return text.replace("|", "\\|").replace("*", "\\*").replace("<", "&lt;")
