"""What is written is what is read."""

import tomllib
from dataclasses import replace

import msgspec
import numpy as np
import pytest
from hypothesis import given, settings
from scenario.strategies import scenarios

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Short
from cablesim.errors import InputError, ScenarioError
from cablesim.instruments.meters import InsulationTester, LoopBridge, Ohmmeter, Setting
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup
from cablesim.scenario.reading import load_scenario, parse_scenario
from cablesim.scenario.scenario import Entry, Scenario
from cablesim.scenario.schema import ScenarioFile
from cablesim.scenario.writing import dump_scenario, save_scenario

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)


@settings(max_examples=25)
@given(scenarios())
def test_a_written_scenario_reads_back_equal(scenario):
    text = dump_scenario(scenario)
    again = parse_scenario(text)
    assert again == scenario
    assert hash(again) == hash(scenario)
    assert dump_scenario(again) == text


@settings(max_examples=25)
@given(scenarios())
def test_what_is_written_obeys_the_typed_tables(scenario):
    # The reader checks key by key, the schema is one type: they must agree on what is good.
    msgspec.convert(tomllib.loads(dump_scenario(scenario)), ScenarioFile)


def test_the_rating_is_written_as_the_label_states_it():
    table = tomllib.loads(dump_scenario(Scenario(TWIN)))["cable"]
    assert table == {
        "construction": "twin",
        "heated_length_m": 30.0,
        "loop_resistance_ohm": 88.2,
    }


@pytest.mark.parametrize(
    "other",
    [
        Scenario(replace(TWIN, braid_ohm_per_m=0.02)),
        Scenario(TWIN, (Short(("core1", "braid"), 1.0, 2.0),)),
        Scenario(TWIN, title="another"),
        Scenario(TWIN, supply_volt=230.0),
        Scenario.of(TWIN, meters=[Ohmmeter(name="pocket")]),
        Scenario.of(TWIN, readings=standard_probes(TWIN)),
        "a text",
    ],
)
def test_scenarios_that_differ_are_not_equal(other):
    assert Scenario(TWIN) != other


def test_a_kind_of_fault_counts_when_compared():
    here = Degraded.at(("core1", "braid"), 3.0, 4.0)
    assert Scenario(TWIN, (here,)) != Scenario(TWIN, (Short(("core1", "braid"), 3.0, 4.0),))


def test_numpy_numbers_are_written_as_plain_ones():
    cable = Cable.rated("twin", np.float64(30.0), np.float64(88.2))
    scenario = Scenario(cable, (Short(("core1", "braid"), np.float64(12.4), np.float64(55.0)),))
    assert parse_scenario(dump_scenario(scenario)) == scenario


def test_a_clean_break_is_written_without_a_resistance():
    scenario = Scenario(TWIN, (Break(("core1",), 3.0),))
    assert "resistance_ohm" not in tomllib.loads(dump_scenario(scenario))["fault"][0]
    assert parse_scenario(dump_scenario(scenario)) == scenario


@pytest.mark.parametrize("share", [0.0, 0.413, 1 / 3, 0.1 + 0.2, 1.0])
def test_a_balance_known_as_a_share_is_written_as_arms(share):
    bridge = LoopBridge(name="loop_bridge")
    open_twin = replace(TWIN, far_end="open")
    hookup = Hookup.of(open_twin, ("core1", "core2", "braid"))
    reading = Reading(Probe(bridge, hookup, Setting(method="murray")), share)
    (again,) = parse_scenario(dump_scenario(Scenario.of(open_twin, readings=[reading]))).readings
    assert again.shown == share


def test_arms_of_another_reading_do_not_stay():
    bridge = LoopBridge(name="loop_bridge")
    hookup = Hookup.of(TWIN, ("core1", "core2", "braid"))
    probe = Probe(bridge, hookup, Setting(method="murray", arms=(1000.0, 820.0)))
    assert Entry.of(probe).probe.setting.arms is None
    assert Entry.of(Reading(probe, np.inf)).probe.setting.arms is None
    assert Entry.of(Reading(probe, 0.25)).probe.setting.arms == (750.0, 250.0)
    kept = Entry.of(Reading(probe, 820.0 / 1820.0))
    assert kept.probe.setting.arms == (1000.0, 820.0)


def test_one_name_cannot_stand_for_two_meters():
    entries = (
        Entry.of(Probe(Ohmmeter(name="a"), Hookup.of(TWIN, ("core1", "braid")))),
        Entry.of(Probe(Ohmmeter(name="a", lead_ohm=0.7), Hookup.of(TWIN, ("core1", "braid")))),
    )
    with pytest.raises(InputError, match="'a' stands for two different meters"):
        Scenario(TWIN, entries=entries)


def test_a_scenario_holds_no_batch():
    with pytest.raises(InputError, match=r"at_m is .* must be one number"):
        Scenario(TWIN, (Short(("core1", "braid"), np.array([1.0, 2.0]), 5.0),))
    with pytest.raises(InputError, match=r"core_ohm_per_m is .* must be one number"):
        Scenario(replace(TWIN, core_ohm_per_m=(np.array([1.0]), 1.0)))


@pytest.mark.parametrize(
    ("scenario", "why"),
    [
        (Scenario(TWIN, (Short(("core1", "braid"), 1.0, np.inf),)), "no fault"),
        (Scenario.of(TWIN, meters=[InsulationTester(name="a", lead_ohm=0.5)]), "meters"),
        (Scenario.of(TWIN, meters=[Ohmmeter(name="my meter")]), "name of a meter"),
        (Scenario(replace(TWIN, insulation_gigaohm_m=np.inf)), "insulation_gigaohm_m"),
        (Scenario(TWIN, title="x" * 1000), "title"),
    ],
)
def test_what_a_file_cannot_hold_is_refused_in_one_sentence(scenario, why):
    with pytest.raises(InputError, match=f"cannot be written as a file.*{why}") as caught:
        dump_scenario(scenario)
    assert "\n" not in str(caught.value)


class TestSave:
    """Whole or not at all, and never over another file by accident."""

    def test_a_new_file(self, tmp_path):
        save_scenario(Scenario(TWIN), tmp_path / "hall.toml")
        assert load_scenario(tmp_path / "hall.toml") == Scenario(TWIN)
        assert [path.name for path in tmp_path.iterdir()] == ["hall.toml"]

    def test_an_existing_file_is_kept(self, tmp_path):
        path = tmp_path / "hall.toml"
        path.write_text("mine")
        with pytest.raises(ScenarioError, match=r"hall\.toml: the file exists already"):
            save_scenario(Scenario(TWIN), path)
        assert path.read_text() == "mine"

    def test_unless_forced(self, tmp_path):
        path = tmp_path / "hall.toml"
        path.write_text("mine")
        path.chmod(0o640)
        save_scenario(Scenario(TWIN), path, force=True)
        assert load_scenario(path) == Scenario(TWIN)
        assert path.stat().st_mode & 0o777 == 0o640
        assert [found.name for found in tmp_path.iterdir()] == ["hall.toml"]

    def test_what_cannot_be_written_leaves_the_old_file(self, tmp_path):
        path = tmp_path / "hall.toml"
        path.write_text("mine")
        bad = Scenario(TWIN, (Short(("core1", "braid"), 1.0, np.inf),))
        with pytest.raises(InputError):
            save_scenario(bad, path, force=True)
        assert path.read_text() == "mine"

    @pytest.mark.parametrize("name", ["no/such/folder.toml", ".", "nul\0.toml", "x" * 300])
    def test_a_place_that_cannot_be_written(self, tmp_path, name):
        with pytest.raises(ScenarioError, match="cannot be written") as caught:
            save_scenario(Scenario(TWIN), f"{tmp_path}/{name}", force=True)
        assert "\n" not in str(caught.value)
        assert list(tmp_path.iterdir()) == []
