"""The page that describes the format tells the truth: examples load, keys and defaults hold."""

import re
import tomllib
from pathlib import Path

import pytest

from cablesim.cable.insulations import INSULATIONS
from cablesim.cable.materials import ALLOYS
from cablesim.cable.plausible import LONGEST_USUAL_M
from cablesim.instruments.standard import usual_meter
from cablesim.scenario import schema, schema_floor, schema_meters, schema_practice, schema_readings
from cablesim.scenario.checking import Place
from cablesim.scenario.geometry import geometry_from
from cablesim.scenario.reading import parse_scenario
from cablesim.scenario.schema_geometry import GeometryTable
from cablesim.scenario.toml_text import MOST_BYTES
from cablesim.site.layers import MATERIALS

PAGE = (Path(__file__).parents[2] / "docs" / "scenario-format.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"^```toml\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
# Section, key, default, in page order.
ROWS = [
    (heading.strip(), *row)
    for heading, body in re.findall(r"^##+ ([^\n]*)\n(.*?)(?=^##|\Z)", PAGE, re.M | re.S)
    for row in re.findall(r"^\| `(\w+)` \|[^|]*\| ([^|]*?) \|", body, re.MULTILINE)
]
SMALLEST = """
[cable]
construction = "twin"
heated_length_m = 30.0
loop_resistance_ohm = 88.2
"""


def keys_under(word):
    return {key for heading, key, _ in ROWS if word in heading}


def defaults_under(word):
    """The defaults that the page states as a value."""
    found = {}
    for heading, key, default in ROWS:
        if word in heading and default.startswith("`"):
            found[key] = tomllib.loads(f"x = {default.strip('`')}")["x"]
    return found


def test_the_complete_example_is_complete():
    scenario = parse_scenario(EXAMPLES[0])
    assert scenario.title
    assert scenario.faults
    assert {"pocket"} < set(scenario.meters)
    assert len(scenario.readings) == len(scenario.entries) - 1


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_example_loads(example):
    scenario = parse_scenario(example if "[cable]" in example else SMALLEST + example)
    assert scenario.entries or scenario.plan


def test_no_example_was_overlooked():
    assert len(EXAMPLES) == PAGE.count("```toml") == 5


@pytest.mark.parametrize(
    ("word", "table"),
    [
        ("[cable]", schema.CableTable),
        ("[cable.geometry]", GeometryTable),
        ("[floor]", schema_floor.FloorTable),
        ("`run`:", schema_floor.RunTable),
        ("`layers`:", schema_floor.LayerTable),
        ("`suspect`:", schema_floor.SuspectTable),
        ("[practice]", schema_practice.PracticeTable),
        ("[practice.key]", schema_practice.KeyTable),
        ("[practice.key.true]", schema_practice.TrueTable),
        *((f"`{kind}`:", table) for kind, table in schema.FAULT_TABLES.items()),
    ],
)
def test_every_key_of_a_table_is_on_the_page_and_no_other(word, table):
    assert keys_under(word) == set(table.__struct_fields__)


@pytest.mark.parametrize(("kind", "table"), schema_meters.METER_TABLES.items())
def test_every_key_of_a_meter_is_on_the_page_and_no_other(kind, table):
    found = {key for heading, key, _ in ROWS if heading == f"`{kind}`"}
    assert found == {"kind", *table.__struct_fields__}


@pytest.mark.parametrize("kind", schema_readings.READING_KEYS)
def test_every_key_of_a_reading_is_on_the_page_and_no_other(kind):
    found = keys_under("[[reading]]") | keys_under(f"With a `{kind}`")
    found |= keys_under(f"With an `{kind}`")
    assert found == set(schema_readings.READING_KEYS[kind])


def test_another_cable_has_the_keys_of_a_cable_and_a_name():
    keys = set(schema.OtherTable.__struct_fields__)
    assert keys == {*schema.CableTable.__struct_fields__, "name"}
    assert keys_under("[[other]]") == {"name"}


def test_every_key_above_the_first_table_is_on_the_page():
    inside = {"cable", "other", "fault", "meter", "reading", "floor", "practice"}
    assert (
        keys_under("Above the first table") == set(schema.ScenarioFile.__struct_fields__) - inside
    )


def test_the_defaults_of_a_cable_are_those_stated():
    cable = parse_scenario(SMALLEST).cable
    stated = defaults_under("[cable]")
    assert len(stated) == 13
    for key, value in stated.items():
        assert getattr(cable, key) == (tuple(value) if isinstance(value, list) else value)


@pytest.mark.parametrize("kind", schema_meters.METER_TABLES)
def test_the_defaults_of_a_meter_are_those_stated(kind):
    meter = usual_meter(kind)
    stated = {
        key: tomllib.loads(f"x = {default.strip('`')}")["x"]
        for heading, key, default in ROWS
        if heading == f"`{kind}`" and default.startswith("`")
    }
    stated.pop("zeroed", None)
    assert len(stated) >= (0 if kind == "heat" else 5)
    for key, value in stated.items():
        field = {"resolution": "resolution", "range": "top_range"}.get(key.split("_")[0], key)
        assert getattr(meter, field) == value


def test_the_defaults_of_a_reading_are_those_stated():
    text = SMALLEST + '[[reading]]\nacross = ["core1", "braid"]\nmeter = '
    (tester,) = parse_scenario(text + '"insulation_tester"').probes
    assert tester.setting.test_volt == defaults_under("With an `insulation_tester`")["test_volt"]
    (meter,) = parse_scenario(text + '"capacitance_meter"').probes
    stated = defaults_under("With a `capacitance_meter`")["frequency_hz"]
    assert meter.setting.frequency_hz == stated


def test_the_defaults_of_a_geometry_are_those_stated():
    stated = defaults_under("[cable.geometry]")
    assert len(stated) == 3
    make = geometry_from({"core_mm2": 1.0, "cold_lead_mm2": 1.5}, Place(None, "cable"))
    assert make.core.strands == stated["core_strands"]
    assert make.cold_lead.strands == stated["cold_lead_strands"]
    assert make.braid_alloy == stated["braid_alloy"]


def test_alloys_and_limits_are_those_stated():
    assert all(f"`{name}`" in PAGE for name in (*ALLOYS, *INSULATIONS, *MATERIALS))
    assert f"heated length over {LONGEST_USUAL_M:g} m" in PAGE
    assert f"at most {MOST_BYTES // 1024} KiB" in PAGE
    assert f"at most {schema.MOST_FAULTS}, in any order" in PAGE
    assert f"there may be {schema.MOST_METERS} meters" in PAGE
    assert f"at most {schema.MOST_READINGS}. A reading without" in PAGE
