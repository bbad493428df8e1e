"""``cablesim next``: the plan, its JSON, its limits, and options that cannot be used."""

import json
import re

import pytest

from cablesim.locate.effort import RISKS, USUAL_EFFORT
from cablesim.scenario.shipped import shipped_directory


def test_the_plan_names_readings_and_what_they_gain(cablesim, scenario):
    done = cablesim("next", scenario(), "--steps", 1)
    assert (done.code, done.err) == (0, "")
    assert "Hall: a nail in core1" in done.out
    assert "loop bridge" in done.out
    assert "cm" in done.out
    assert "licensed practice" in done.out


def test_the_spread_of_a_place_is_not_taken_for_its_interval(cablesim):
    """A nail in the cold lead: 3.4 m within, of which most of the probability fills a part."""
    path = shipped_directory() / "wardrobe-nail-in-cold-lead.toml"
    told = cablesim("next", path, "--steps", 1).out
    heading = next(line for line in told.splitlines() if line.lstrip().startswith("#"))
    assert "Spread" in heading
    assert "interval" not in heading
    assert "95 % interval" in told.partition("Note")[2], "where it says what the spread is not"
    assert re.search(r"would narrow the place about [\d.]+ times", told)


def test_json_has_steps_whose_intervals_only_shrink(cablesim, scenario):
    told = json.loads(cablesim("next", scenario(), "--steps", 2, "--json").out)
    assert 1 <= len(told["steps"]) <= 2
    assert told["conflict"] is None
    assert told["cautions"]
    length = told["open_m"]
    for step in told["steps"]:
        assert step["before_m"] == length
        assert step["after_m"] <= length
        assert step["minutes"] == USUAL_EFFORT[step["method"]].minutes
        assert step["risk"] in RISKS
        length = step["after_m"]


def test_risk_minutes_and_methods_not_at_hand_are_obeyed(cablesim, scenario):
    def offers(*options):
        told = json.loads(cablesim("next", scenario(), "--steps", 1, "--json", *options).out)
        return [*told["steps"], *told["others"]]

    assert all(s["risk"] == "none" for s in offers("--risk", "none"))
    bridges = [s for s in offers("--minutes", "loop_bridge=25") if s["method"] == "loop_bridge"]
    assert bridges
    assert all(s["minutes"] == 25 for s in bridges)
    assert all(s["method"] != "loop_bridge" for s in offers("--without", "loop_bridge"))


# One kind of damage each: a break of a single core, a short between the cores, insulation that
# fails at high voltage only, which `locate` learns from a reading that tells no place.
@pytest.mark.parametrize(
    ("name", "method"),
    [
        ("cellar-single-broken", "pulse_echo"),
        ("hall-cores-touching", "pulse_echo"),
        ("garage-flashover", "withstand_and_camera"),
    ],
)
def test_locate_names_the_first_reading_of_the_plan(cablesim, name, method):
    path = shipped_directory() / f"{name}.toml"
    named = json.loads(cablesim("locate", path, "--json").out)["next_reading"]
    (first, *_) = json.loads(cablesim("next", path, "--steps", 1, "--json").out)["steps"]
    assert first["method"] == method
    assert named == {key: first[key] for key in named}
    assert set(named) == {"meter", "across", "setting", "why"}


def test_what_was_not_allowed_is_named_where_the_rest_tells_nothing(cablesim):
    path = shipped_directory() / "demo.toml"
    options = ("--risk", "none", "--without", "pulse_echo", "--steps", 1)
    flat = " ".join(cablesim("next", path, *options).out.split())
    assert "No reading of those allowed is expected to tell more than it costs" in flat
    left_out = flat.partition("Left out")[2].partition("Mind")[0]
    assert re.search(r"by --risk: loop bridge \([\d.]+ bits\), insulation tester", left_out)
    assert "by --without: pulse echo" in left_out
    told = json.loads(cablesim("next", path, *options, "--json").out)["left_out"]
    causes = {each["method"]: each["by"] for each in told}
    assert causes["loop_bridge"] == causes["thermal_camera"] == "risk"
    assert causes["pulse_echo"] == "without"
    assert "ohmmeter" not in causes
    assert next(each["bits"] for each in told if each["method"] == "loop_bridge") > 0.25


def test_a_plan_shorter_than_asked_says_why(cablesim):
    path = shipped_directory() / "demo.toml"

    def end(*options):
        told = " ".join(cablesim("next", path, *options).out.split())
        told = told.partition("Note")[0].partition("Otherwise")[0]
        return told.partition("End - ")[2].strip()

    why = "is expected to tell more than it costs."
    places = "at the terminals or with a camera"
    assert end() == f"1 of the 3 readings asked for: after it no reading {places} {why}"
    told = end("--without", "pulse_echo")
    assert told == f"1 of the 3 readings asked for: after it no reading of those allowed {why}"
    assert end("--steps", 1) == ""


def test_nothing_is_called_left_out_where_nothing_was(cablesim):
    path = shipped_directory() / "utility-room-damp-insulation.toml"
    told = cablesim("next", path).out
    assert "No reading at the terminals or with a camera" in told
    assert "Left out" not in told


def test_high_voltage_left_out_of_a_healthy_cable_is_said(cablesim):
    path = shipped_directory() / "nursery-before-covering.toml"
    told = " ".join(cablesim("next", path, "--risk", "none").out.split())
    assert "as the cable is most likely healthy: thermal camera" in told


def test_the_caution_names_what_the_plan_has(cablesim, scenario):
    """A bridge, and no insulation test, which is neither in the file nor in the plan."""
    told = json.loads(cablesim("next", scenario(), "--json").out)
    assert {step["meter"] for step in told["steps"]} == {"loop_bridge"}
    (said,) = (caution for caution in told["cautions"] if "high voltage" in caution)
    assert said.startswith("A loop bridge puts")


def test_readings_that_conflict_get_no_plan(cablesim, scenario):
    path = scenario(("ohm = 125.5", "ohm = 1255.0"))
    told = json.loads(cablesim("next", path, "--json").out)
    assert told["steps"] == []
    assert "reading" in told["conflict"]


# Readings that conflict, and the label of another cable with which nothing would be broken.
@pytest.mark.parametrize("changed", [("ohm = 125.5", "ohm = 1255.0"), None])
def test_it_asks_what_locate_asks(cablesim, scenario, changed):
    path = scenario(changed) if changed else shipped_directory() / "living-room-bad-joint.toml"
    asked = json.loads(cablesim("locate", path, "--json").out)["proposals"]
    assert asked
    if changed:
        assert json.loads(cablesim("next", path, "--json").out)["proposals"] == asked
    else:
        told = " ".join(cablesim("next", path, "--steps", 1).out.split())
        assert "Ask" in told
        assert all(proposal["told"][1:].rstrip(".?") in told for proposal in asked)


def test_options_that_cannot_be_used(refused, scenario):
    path = scenario()
    assert "steps" in refused("next", path, "--steps", 0)
    assert "one of none, insulation, high-voltage" in refused("next", path, "--risk", "much")
    assert "loop_bridge" in refused("next", path, "--minutes", "loop_brige=3")
    assert "loop_bridge=25" in refused("next", path, "--minutes", "loop_bridge")
    assert "one of" in refused("next", path, "--without", "luck")
    assert "no reading" in refused("next", scenario(*_no_readings()))


def test_options_are_refused_before_the_readings_are_weighed(refused, scenario, monkeypatch):
    monkeypatch.delattr("cablesim.report.plan_table.weighed")
    for wrong in (("--steps", 11), ("--risk", "much"), ("--without", "luck")):
        assert wrong[0] in refused("next", scenario(), *wrong)


def _no_readings():
    values = ("88.5", "73.7", "125.5")
    return [(f"ohm = {value}\n", "\n") for value in values]


@pytest.mark.parametrize(
    ("option", "words"),
    [
        (("--minutes", "loop_bridge=-5"), ("--minutes is 'loop_bridge=-5'", "loop_bridge=25")),
        (("--minutes", "loop_bridge=nan"), ("--minutes is 'loop_bridge=nan'", "loop_bridge=25")),
        (("--minutes", "bridge=5"), ("--minutes is 'bridge'", "did you mean loop_bridge?")),
        (("--steps", "three"), ("--steps", "'three' is no whole number; write it like 3.")),
        (("--steps", "2.5"), ("--steps", "'2.5' is no whole number; write it like 3.")),
    ],
)
def test_an_option_that_cannot_be_used_is_told_of_with_the_mend(cablesim, scenario, option, words):
    done = cablesim("next", scenario(), *option)
    assert done.code == 2
    assert all(word in done.err for word in words)
