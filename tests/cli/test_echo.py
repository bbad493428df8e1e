"""``cablesim echo``: its table, its JSON, its figure, and what it refuses."""

import json

import pytest

from cablesim import load_scenario
from cablesim.line.reflection import echo_delay_ns


def test_the_table_names_time_place_and_kind(cablesim, scenario):
    done = cablesim("echo", scenario())
    assert (done.code, done.err) == (0, "")
    found = load_scenario(scenario())
    (fault,) = found.faults
    delay_ns = float(echo_delay_ns(found.cable, fault.at_m))
    row = next(line for line in done.out.splitlines() if f"{delay_ns:.0f}." in line)
    assert "short or leak" in row
    assert f"{fault.at_m:.1f}"[:3] in row
    assert "far end" in done.out


def test_json_holds_what_was_found_and_what_was_expected(cablesim, scenario):
    path = scenario()
    done = cablesim("echo", path, "--json")
    told = json.loads(done.out)
    assert list(told) == [
        *("meter", "across", "recorded", "velocity_factor", "wave_impedance_ohm"),
        *("echoes", "expected"),
    ]
    (fault,) = load_scenario(path).faults
    first = told["echoes"][0]
    assert first["sign"] == "-" and first["likely"] == "short or leak"
    assert first["position_m"] == pytest.approx(fault.at_m, abs=0.05)
    assert first["interval_m"][0] < fault.at_m < first["interval_m"][1]
    assert told["expected"][0]["delay_ns"] == pytest.approx(first["delay_ns"], abs=0.3)
    assert told["expected"][-1]["of"] == "far end"


def test_other_leads(cablesim, scenario):
    done = cablesim("echo", scenario(), "--across", "core2", "braid", "--json")
    assert json.loads(done.out)["across"] == ["core2", "braid"]


@pytest.mark.parametrize(
    ("leads", "words"),
    [
        (("core1", "cor2"), "did you mean core2?"),
        (("core1", "core1"), "touched more than once"),
        (("core1", "braid@far"), "one and the same end"),
    ],
)
def test_leads_without_an_echo_are_refused(cablesim, scenario, leads, words):
    done = cablesim("echo", scenario(), "--across", *leads)
    assert done.code == 2
    assert words in done.err and done.out == ""


def test_a_healthy_cable_is_said_to_be_one(cablesim, scenario):
    path = scenario()
    text = path.read_text()
    start, end = text.index("[[fault]]"), text.index("[meter")
    done = cablesim("echo", scenario((text[start:end], "")))
    assert done.code == 0
    assert "states no fault and no trace" in done.err
    assert "short or leak" not in done.out and "far end" in done.out


def test_a_figure_is_written_once(cablesim, scenario, tmp_path):
    path, image = scenario(), tmp_path / "echo.png"
    done = cablesim("echo", path, "--figure", image)
    assert done.code == 0
    assert image.read_bytes().startswith(b"\x89PNG")
    again = cablesim("echo", path, "--figure", image)
    assert again.code == 2 and "exists already" in again.err
    assert cablesim("echo", path, "--figure", tmp_path / "echo.txt").code == 2


def test_a_cable_too_long_for_the_pulse_is_refused_at_once(cablesim, scenario):
    long = scenario(("heated_length_m = 30.0", "heated_length_m = 10000.0"))
    done = cablesim("echo", long)
    assert (done.code, done.out) == (2, "")
    caution, said = done.err.splitlines()
    assert caution.startswith("caution: A heated length of 10000 m")
    assert "too long for the meter's pulse" in said
    assert "rise_ns" in said
