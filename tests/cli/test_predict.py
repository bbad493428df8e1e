"""``cablesim predict``: the contract of its JSON, its table, and what it refuses."""

import json

import numpy as np
import pytest

from cablesim import load_scenario
from cablesim import predict as predict_exactly

KEYS = ["meter", "across", "healthy", "damaged", "unit", "shown"]
READINGS = "[[reading]]"


def without_readings(scenario):
    path = scenario()
    text = path.read_text()
    return scenario((text[text.index(READINGS) :], ""))


def test_json_holds_the_exact_values_of_the_readings_in_the_file(cablesim, scenario):
    path = scenario()
    done = cablesim("predict", path, "--json")
    assert (done.code, done.err) == (0, "")
    (rows,) = json.loads(done.out).values()
    assert [list(row) for row in rows] == [KEYS] * 3
    assert [row["across"] for row in rows] == [
        ["core1", "core2"],
        ["core1", "braid"],
        ["core2", "braid"],
    ]
    found = load_scenario(path)
    for key, faults in (("healthy", ()), ("damaged", found.faults)):
        exact = predict_exactly(found.cable, faults, found.probes)
        np.testing.assert_array_equal([row[key] for row in rows], exact)
    # Exact value and 0.2 ohm of leads, on a display of 0.1 ohm.
    assert [row["shown"] for row in rows] == ["88.5 ohm", "73.7 ohm", "125.5 ohm"]
    assert {row["unit"] for row in rows} == {"ohm"}
    assert {row["meter"] for row in rows} == {"pocket"}


def test_a_file_without_readings_gets_the_usual_ones(cablesim, scenario):
    done = cablesim("predict", without_readings(scenario), "--json")
    rows = json.loads(done.out)["readings"]
    assert {row["meter"] for row in rows} >= {"ohmmeter", "insulation_tester", "capacitance_meter"}
    assert {row["unit"] for row in rows} >= {"ohm", "Mohm", "nF"}


def test_infinite_is_null_and_over_range(cablesim, scenario):
    # A capacitance meter across joined cores sees no capacitance but a wire.
    done = cablesim("predict", without_readings(scenario), "--json")
    rows = json.loads(done.out)["readings"]
    joined = [row for row in rows if row["damaged"] is None]
    assert joined
    assert {row["shown"] for row in joined} == {"over range"}


def test_a_bridge_shows_its_share_and_a_healthy_cable_has_no_balance(cablesim, scenario):
    bridge = """[[reading]]
meter = "loop_bridge"
method = "murray"
across = ["core2", "core1", "braid"]
"""
    path = scenario((READINGS, bridge + READINGS))
    row = json.loads(cablesim("predict", path, "--json").out)["readings"][0]
    assert row["unit"] == "Q/(P+Q)"
    assert float(row["shown"].split()[0]) == pytest.approx(row["damaged"], abs=5e-4)
    table = cablesim("predict", path).out
    assert "no balance" in table
    assert "Q/(P+Q)" in table


def test_table_says_the_same_in_words_and_shows_what_was_taken(cablesim, scenario):
    done = cablesim("predict", scenario(("ohm = 125.5", "ohm = 125.9")))
    assert (done.code, done.err) == (0, "")
    assert done.out.startswith("Hall: a nail in core1\n")
    for wanted in ("Healthy", "Damaged", "Display", "Taken", "core2 to braid", "125.3 ohm"):
        assert wanted in done.out
    assert "125.5 ohm" in done.out
    assert "125.9 ohm" in done.out


def test_no_line_of_the_table_is_wider_than_80_and_no_name_is_cut(cablesim, scenario):
    long_name = "the-big-old-meter-from-the-van-07"
    path = scenario(("meter.pocket", f"meter.{long_name}"), ('"pocket"', f'"{long_name}"'))
    lines = cablesim("predict", path).out.splitlines()
    assert max(map(len, lines)) <= 80
    letters = "".join(line[4:16].strip() for line in lines if "─" not in line)
    assert letters.count(long_name) == 3


def test_without_faults_it_says_so_on_stderr(cablesim, scenario):
    text = scenario().read_text()
    fault = text[text.index("[[fault]]") : text.index("[meter.pocket]")]
    path = scenario((fault, ""))
    done = cablesim("predict", path, "--json")
    assert done.code == 0
    assert "no fault" in done.err
    for row in json.loads(done.out)["readings"]:
        assert row["healthy"] == row["damaged"]


def test_control_characters_and_brackets_of_a_title_are_harmless(cablesim, scenario):
    path = scenario(("Hall: a nail", "[bold]Hall[/bold] \\u001b[2J :warning: a nail"))
    assert cablesim("predict", path).out.startswith("[bold]Hall[/bold] ?[2J :warning: a nail")
