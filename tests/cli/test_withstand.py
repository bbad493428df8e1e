"""``cablesim withstand``: where it trips, what gives way, what each burst does."""

import json
import struct

import pytest

from cablesim.report.withstand import CAUTIONS, withstand_tests
from cablesim.report.withstand_figure import withstand_figure
from cablesim.scenario.reading import load_scenario

GARAGE = """\
title = "Garage: a nail near core1"

[cable]
construction = "twin"
heated_length_m = 30.0
loop_resistance_ohm = 88.2

[[fault]]
kind = "flashover"
between = ["core1", "braid"]
at_m = 17.3
breakdown_volt = 1384
arc_volt = 70

[[reading]]
meter = "withstand_tester"
across = ["core1+core2", "braid"]
trip_volt = 1380

[[reading]]
meter = "insulation_tester"
across = ["core1+core2", "braid"]
over_range = true
"""
NO_FAULT = GARAGE.split("[[fault]]")[0]


@pytest.fixture
def garage(tmp_path):
    path = tmp_path / "garage.toml"
    path.write_text(GARAGE)
    return path


def test_json_says_what_broke_down_and_what_a_burst_does(cablesim, garage):
    done = cablesim("withstand", garage, "--json")
    assert (done.code, done.err) == (0, "")
    told = json.loads(done.out)
    (test,) = told["tests"]
    assert (test["trips"], test["by"], test["shown"]) == (True, "flashover", "1380 V")
    assert (test["between"], test["position_m"]) == (["core1", "braid"], 17.3)
    assert test["trip_volt"] == pytest.approx(1384.0, rel=1e-6)
    assert [burst["seconds"] for burst in test["bursts"]] == [1, 2, 3]
    assert test["bursts"][0]["watt"] == pytest.approx(0.35)
    assert told["cautions"] == list(CAUTIONS)
    assert any("licensed" in caution for caution in told["cautions"])


def test_the_table_says_it_too(cablesim, garage):
    out = cablesim("withstand", garage).out
    for word in ("1380 V", "flashover between core1 and braid", "17.30 m", "Burst of 2 s", "Mind"):
        assert word in out


def test_a_healthy_cable_does_not_trip(cablesim, garage):
    garage.write_text(NO_FAULT)
    done = cablesim("withstand", garage, "--json")
    (test,) = json.loads(done.out)["tests"]
    assert (test["trips"], test["trip_volt"], test["bursts"]) == (False, None, [])
    assert test["shown"] == "no trip up to 2500 V"
    assert "no fault" in done.err
    assert "no trip up to 2500 V" in cablesim("withstand", garage).out


@pytest.mark.parametrize("text", [GARAGE, NO_FAULT])
def test_figure(cablesim, garage, tmp_path, text):
    garage.write_text(text)
    image = tmp_path / "withstand.png"
    assert cablesim("withstand", garage, "--figure", image).code == 0
    assert struct.unpack(">II", image.read_bytes()[16:24]) == (1440, 720)


def test_the_figure_says_once_what_gave_way(garage):
    (test, *_) = withstand_tests(load_scenario(garage))
    told = " ".join(text.get_text() for text in withstand_figure(test).texts)
    assert told.count("flashover") == 1
    assert "trips at 1384 V at the flashover between core1 and braid" in told


def test_predict_shows_the_trip(cablesim, garage):
    first, second = json.loads(cablesim("predict", garage, "--json").out)["readings"]
    assert (first["healthy"], first["unit"], first["shown"]) == (None, "V", "1380 V")
    assert first["damaged"] == pytest.approx(1384.0, rel=1e-6)
    assert second["damaged"] == pytest.approx(second["healthy"], rel=1e-14)


def test_locate_never_calls_healthy_what_tripped_and_takes_no_place_from_it(cablesim, garage):
    told = json.loads(cablesim("locate", garage, "--json").out)
    assert told["verdict"] in ("flashover", "undecided")
    assert "healthy" not in {other["verdict"] for other in told["alternatives"]}
    assert told["faults"][0]["kind"] == "flashover"
    assert told["locatable"] is False
    assert told["unused"] == ["withstand_tester core1+core2 to braid: 1380 V"]
    without = GARAGE.replace(GARAGE[GARAGE.index("[[reading]]") : GARAGE.rindex("[[rea")], "")
    garage.write_text(without)
    alone = json.loads(cablesim("locate", garage, "--json").out)
    assert alone["unused"] == []
    assert alone["verdict"] in ("healthy", "undecided")
    assert alone["faults"] == []
    garage.write_text(GARAGE)
    assert "Place unused" in cablesim("locate", garage).out


def test_locate_cannot_answer_from_withstand_readings_alone(cablesim, garage):
    garage.write_text(GARAGE[: GARAGE.rindex("[[rea")])
    done = cablesim("locate", garage)
    assert done.code == 2
    assert "does not tell where" in done.err
