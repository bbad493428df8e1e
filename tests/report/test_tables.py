"""Tables and panels: all that people need is there, whole, on any width."""

import io
import re
from dataclasses import replace

import numpy as np
import pytest
from report.answers import SHAPES, TWIN, answer
from rich.console import Console

from cablesim import Hookup, Ohmmeter, Probe, Reading, Scenario, Short, load_scenario
from cablesim.report.answer import answered, bag_of
from cablesim.report.predicted import predicted
from cablesim.report.tables import answer_view, readings_table, scenario_table
from cablesim.scenario.shipped import shipped_directory


def printed(part, width=80):
    console = Console(file=io.StringIO(), width=width, color_system=None)
    console.print(part)
    return console.file.getvalue()


def squeezed(text):
    return "".join(text.split())


@pytest.mark.parametrize("width", [60, 80, 200])
@pytest.mark.parametrize("name", SHAPES)
def test_an_answer_is_whole_on_any_width(name, width):
    made = SHAPES[name]()
    text = printed(answer_view(made), width)
    assert max(map(len, text.splitlines())) <= width
    assert "Verdict" in text
    assert "Mind the step." in text
    assert ("Truth" in text) == (made.marked is not None)
    assert ("Left open" in text) == bool(made.estimate.reason)
    if made.estimate.reason:
        assert squeezed(made.estimate.reason)[1:] in squeezed(text)


def test_a_title_is_cut_at_a_word():
    made = replace(SHAPES["narrow"](), title="A corridor whose threshold was screwed down twice")
    head = printed(answer_view(made), 50).splitlines()[0]
    assert "A corridor whose threshold was screwed down… ─" in head
    assert "twice ─" in printed(answer_view(made), 80).splitlines()[0]


def test_a_wide_answer_names_no_place_and_a_narrow_one_does():
    assert "left open by these readings" in printed(answer_view(SHAPES["wide"]()))
    assert "12.41" in printed(answer_view(SHAPES["narrow"]()))


def test_alternatives_and_next_reading():
    text = printed(answer_view(SHAPES["undecided"]()), 200)
    assert "short between core1 and braid (30 %), 19." in text
    assert "pocket meter, core2 to braid: would tell them apart" in text


def test_each_of_two_places_is_named_with_its_damage_and_alternatives_with_both_places():
    text = printed(answer_view(SHAPES["two places"]()), 200)
    assert "Place        short between core1 and braid: best guess 11.0" in text
    assert "Place        degraded insulation between core1 and core2: left open" in text
    assert "two shorts between core1 and braid (30 %), 4.81 to 5.19 m and 20.81 to 21.19 m" in text


def test_a_wrong_answer_is_told_what_is_really_broken():
    text = squeezed(printed(answer_view(SHAPES["contradiction"]())))
    assert squeezed("really short between core1 and braid, 5.00 m") in text
    assert squeezed("short between core2 and braid, 25.00 m") in text


@pytest.mark.parametrize("width", [50, 80])
def test_readings_are_folded_and_never_cut(width):
    meter = Ohmmeter(name="a-meter-with-a-rather-long-name")
    probe = Probe(meter, Hookup.of(TWIN, ("core1+core2@far", "braid")))
    rows = predicted(TWIN, (Short(("core1", "braid"), 3.0, 1.0),), (probe,))
    text = printed(readings_table(rows, "A [red]title[/red]", [Reading(probe, 12.3)]), width)
    assert max(map(len, text.splitlines())) <= width
    letters = squeezed(text)
    assert "A[red]title[/red]" in letters
    for part in ("12.3", "…"):
        assert (part in letters) == (part != "…")
    assert sum(letters.count(c) for c in "@") == 1


def test_a_scenario_is_told_in_full():
    found = load_scenario(shipped_directory() / "demo.toml")
    text = printed(scenario_table(found))
    for wanted in ("600 W at 230 V", "12.40 m from the cold joint, 55 ohm", "4 taken"):
        assert wanted in text


def test_the_next_reading_comes_from_the_scenarios_own_bag():
    asked = Probe(Ohmmeter(name="bench"), Hookup.of(TWIN, ("core2@far", "braid")))
    meter = Ohmmeter(name="pocket", lead_ohm=0.1)
    taken = Reading(Probe(meter, Hookup.of(TWIN, ("core1", "core2"))), 88.4)
    bag = bag_of(Scenario.of(TWIN, readings=[taken, asked]))
    assert bag[0].meter.name == "bench"
    assert {p.meter.name for p in bag[1:] if p.meter.kind == "ohmmeter"} == {"pocket"}
    assert len({(p.meter.kind, p.hookup, p.setting) for p in bag}) == len(bag)


def test_an_answer_without_truth_is_not_marked():
    found = load_scenario(shipped_directory() / "demo.toml")
    bare = Scenario.of(found.cable, readings=found.readings)
    told = answered(bare).to_dict()
    assert "marked" not in told
    assert told["faults"] == answered(found).to_dict()["faults"]


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        ("narrow", r"the best place is 0\.0\d m beyond it, the interval holds it"),
        ("two places", r"the best first place is 0\.\d\d m short of the true place at 11\.20 m"),
    ],
)
def test_an_error_names_the_places_that_it_is_between(shape, said):
    assert re.search(said, " ".join(printed(answer_view(SHAPES[shape]())).split()))


def test_no_error_is_told_of_a_place_that_is_left_open():
    truth = (Short(("core1", "braid"), 12.4, 55.0),)
    told = answer(np.linspace(4.0, 26.0, 4000), truth=truth, locatable=False, reason="open")
    text = " ".join(printed(answer_view(told)).split())
    assert "no best place is named, the interval holds it" in text
    assert "the best place is" not in text


def test_no_place_is_held_found_by_a_label_that_no_floor_cable_has():
    scenario = load_scenario(shipped_directory() / "demo.toml")
    assert answered(scenario).estimate.locatable
    odd = replace(scenario, supply_volt=24.0)
    estimate = answered(odd).estimate
    assert not estimate.locatable
    assert "does not look like that of this cable: at 24 V this cable gives 0.218 W" in (
        estimate.reason
    )
