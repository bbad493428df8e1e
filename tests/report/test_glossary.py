"""The glossary speaks of names that the program has, and of every key that people meet first."""

import re
from pathlib import Path

import msgspec

from cablesim.cable.construction import CONSTRUCTIONS
from cablesim.instruments.meters import METER_KINDS
from cablesim.scenario import schema
from cablesim.scenario.schema import CableTable

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "glossary.md").read_text(encoding="utf-8")
NAMES = set(re.findall(r"`([a-z][a-z0-9_]*)`", PAGE))
CODE = "\n".join(p.read_text(encoding="utf-8") for p in (ROOT / "cablesim").rglob("*.py"))


def test_every_name_is_one_of_the_program():
    assert len(NAMES) > 60
    missing = {name for name in NAMES if not re.search(rf"\b{name}\b", CODE)}
    assert not missing


def test_every_kind_of_damage_meter_and_cable_is_there():
    said = NAMES | set(re.findall(r"^\| (\w+):", PAGE, re.MULTILINE))
    assert set(schema.FAULT_TABLES) <= said
    assert {kind for kind in METER_KINDS if "meter" not in kind and "tester" not in kind} <= said
    assert set(CONSTRUCTIONS) <= said


def test_every_number_that_a_label_states_is_there():
    must = {field.name for field in msgspec.structs.fields(CableTable) if field.required}
    assert must | {"loop_resistance_ohm", "cold_lead_m"} <= NAMES
