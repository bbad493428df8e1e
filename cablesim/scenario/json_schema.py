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

import msgspec

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
    return json.dumps(schema | msgspec.json.schema(ScenarioFile), indent=2) + "\n"


def main(arguments: Sequence[str]) -> None:
    """Write the schema to the named file, or to standard output."""
    text = json_schema()
    if arguments:
        Path(arguments[0]).write_text(text, encoding="utf-8")
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main(sys.argv[1:])
