"""The JSON Schema of the scenario file, for editors and other programs.

``python -m cablesim.scenario.json_schema docs/scenario.schema.json`` writes it anew; without a file
name it goes to standard output. The schema knows each key by itself; what keys mean together is
checked when the scenario is read.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import msgspec

from cablesim.cable.lengths import LENGTH_PATTERN
from cablesim.scenario.lengths import is_length
from cablesim.scenario.schema import ScenarioFile

__all__ = ["json_schema", "main"]


def json_schema() -> str:
    """The schema as JSON text.

    Returns
    -------
    str
        Indented, ending in a line feed.
    """
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "cablesim scenario, format 1",
    }
    keys = msgspec.json.schema(ScenarioFile)
    for table in keys["$defs"].values():
        properties = table.get("properties", {})
        for key in filter(is_length, properties):
            properties[key] = _or_text(properties[key])
    keys["$defs"]["Length"] = {
        "title": "Length",
        "description": 'A length with its unit, such as "30 ft", "98 ft 5 in" or "3/4 in".',
        "type": "string",
        "pattern": LENGTH_PATTERN,
    }
    return json.dumps(schema | keys, indent=2) + "\n"


def _or_text(schema: Any) -> Any:
    """Let every number of a schema be a text with a unit as well."""
    if isinstance(schema, list):
        return [_or_text(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    if schema.get("type") == "number":
        said = {key: schema[key] for key in ("description",) if key in schema}
        number = {key: value for key, value in schema.items() if key not in said}
        return said | {"anyOf": [number, {"$ref": "#/$defs/Length"}]}
    return {key: _or_text(value) for key, value in schema.items()}


def main(arguments: Sequence[str]) -> None:
    """Write the schema to the named file, or to standard output."""
    text = json_schema()
    if arguments:
        Path(arguments[0]).write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main(sys.argv[1:])
