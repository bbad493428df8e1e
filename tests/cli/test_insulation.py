"""``cablesim insulation``: readings over time, ratios, charge left."""

import json
import re
import struct

import pytest

from cablesim.report.insulation import CAUTIONS, insulation_pairs
from cablesim.report.insulation_figure import insulation_figure
from cablesim.scenario.reading import load_scenario

DAMP = """\
title = "Cellar: damp PVC"

[cable]
construction = "twin"
heated_length_m = 60.0
loop_resistance_ohm = 88.2
loss_tangent = 0.3
insulation_gigaohm_m = 60.0
temperature_c = 30

[[fault]]
kind = "degraded"
between = ["core1", "braid"]
at_m = 14.0
resistance_ohm = 250e6

[[reading]]
meter = "insulation_tester"
across = ["core1", "braid"]
test_volt = 250
seconds = 60
megohm = 150

[[reading]]
meter = "insulation_tester"
across = ["core1", "braid"]
test_volt = 250
seconds = 600
megohm = 180
"""


@pytest.fixture
def damp(tmp_path):
    path = tmp_path / "damp.toml"
    path.write_text(DAMP)
    return path


def test_json_tells_the_test_of_the_file_once(cablesim, damp):
    done = cablesim("insulation", damp, "--json")
    assert (done.code, done.err) == (0, "")
    told = json.loads(done.out)
    (test,) = told["tests"]
    assert (test["meter"], test["across"]) == ("insulation_tester", ["core1", "braid"])
    assert test["test_volt"] == 250
    healthy, damaged = test["healthy"], test["damaged"]
    assert [r["seconds"] for r in damaged["readings"]] == [15, 30, 60, 600]
    megohm = [r["megohm"] for r in damaged["readings"]]
    assert megohm == sorted(megohm)
    assert damaged["absorption_ratio"] == pytest.approx(megohm[2] / megohm[1])
    assert damaged["polarization_index"] == pytest.approx(megohm[3] / megohm[2])
    assert damaged["steady_megohm"] < healthy["steady_megohm"]
    assert damaged["minute_at_20_c_megohm"] == pytest.approx(2 * megohm[2])
    assert damaged["discharge"]["alone_seconds"] < healthy["discharge"]["alone_seconds"]
    assert told["cautions"] == list(CAUTIONS)


def test_the_table_names_ratios_and_cautions(cablesim, damp):
    done = cablesim("insulation", damp)
    assert done.code == 0
    for word in ("after 10 min", "absorption ratio", "polarization index", "Mind", "discharge"):
        assert word in done.out


def test_without_an_insulation_test_the_usual_one_is_done(cablesim, damp):
    damp.write_text(DAMP.split("[[fault]]")[0])
    done = cablesim("insulation", damp, "--json")
    (test,) = json.loads(done.out)["tests"]
    assert (test["across"], test["test_volt"]) == (["core1+core2", "braid"], 500)
    assert test["healthy"] == test["damaged"]
    assert "no fault" in done.err


def test_a_new_cable_is_told_that_the_index_says_nothing(cablesim, damp):
    new = DAMP.replace("loss_tangent = 0.3", "").replace("= 60.0\ntemp", "= 60000.0\ntemp")
    damp.write_text(new.split("[[fault]]")[0])
    assert "says nothing" in cablesim("insulation", damp).out


def test_figure(cablesim, damp, tmp_path):
    image = tmp_path / "insulation.png"
    assert cablesim("insulation", damp, "--figure", image).code == 0
    data = image.read_bytes()
    assert data.startswith(b"\x89PNG")
    assert struct.unpack(">II", data[16:24]) == (1440, 690)
    again = cablesim("insulation", damp, "--figure", image)
    assert again.code == 2
    assert "exists already" in again.err


# A short that draws far more than the insulation ever absorbs, and a leak that draws about as much.
@pytest.mark.parametrize(("ohm", "drawn"), [("25.0", False), ("250e9", True)])
def test_what_the_legend_names_lies_within_the_axes(damp, ohm, drawn):
    damp.write_text(DAMP.replace("250e6", ohm))
    _, axes = insulation_figure(insulation_pairs(load_scenario(damp))[0]).axes
    low, high = axes.get_ylim()
    shown = {line.get_label(): line for line in axes.lines if len(line.get_ydata())}
    assert all(low < line.get_ydata().max() < high for line in shown.values())
    assert set(shown) == {"in all", "leakage"} | ({"absorption"} if drawn else set())
    told = [text.get_text() for text in axes.get_legend().get_texts()]
    assert any(re.match(r"absorption up to .* uA", text) for text in told) is not drawn


def test_predict_shows_what_the_time_does(cablesim, damp):
    done = cablesim("predict", damp, "--json")
    first, second = json.loads(done.out)["readings"]
    assert first["damaged"] < second["damaged"]
    assert first["healthy"] < second["healthy"]
