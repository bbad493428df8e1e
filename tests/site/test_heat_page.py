"""The page about heat tells the truth: keys, options and materials are those of the program."""

import json
import re
from pathlib import Path

import typer.main

from cablesim.cli.app import app
from cablesim.site.layers import MATERIALS

DOCS = Path(__file__).parents[2] / "docs"
PAGE = (DOCS / "heat.md").read_text(encoding="utf-8")


def test_every_option_is_described():
    command = typer.main.get_command(app).commands["heat"]
    options = {name for row in command.params for name in row.opts if name.startswith("--")}
    assert options == set(re.findall(r"`(--[a-z-]+)", PAGE.split("### The JSON object")[0]))


def test_every_key_is_described():
    from cablesim.report.heat import HeatAnswer
    from cablesim.site.layers import usual_floor
    from cablesim.site.schedule import best_schedule

    found = best_schedule(usual_floor(), 5.0, within_s=120.0)
    told = json.loads(json.dumps(HeatAnswer(found.seen, found).to_dict()))
    table = PAGE.split("### The JSON object")[1].split("## From Python")[0]

    def keys(value):
        if isinstance(value, dict):
            for key, inner in value.items():
                yield key
                yield from keys(inner)
        elif isinstance(value, list):
            for inner in value:
                yield from keys(inner)

    missing = {key for key in keys(told) if f"`{key}`" not in table}
    assert not missing


def test_every_material_is_named():
    said = (DOCS / "scenario-format.md").read_text(encoding="utf-8")
    (row,) = re.findall(r"^\| `material` .*$", said, re.MULTILINE)
    assert all(re.search(rf"\b{name}\b", row) for name in MATERIALS)
