"""A scenario of several cables: what it becomes, how it is written back, what it is refused for."""

import json

import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.readings import predict
from cablesim.line.several import Installation, Part
from cablesim.scenario.reading import parse_scenario
from cablesim.scenario.scenario import Scenario
from cablesim.scenario.shipped import shipped_directory
from cablesim.scenario.writing import dump_scenario

TEXT = (shipped_directory() / "several" / "spliced-lengths.toml").read_text(encoding="utf-8")
MATS = shipped_directory() / "several" / "hallway-two-mats.toml"


def test_a_file_becomes_an_installation_and_back():
    scenario = parse_scenario(TEXT)
    assert isinstance(scenario.laid, Installation)
    (part,) = scenario.others
    assert part.name == "b"
    assert isinstance(part.faults[0], Joint)
    assert scenario.faults == ()
    (ohm,) = predict(scenario.laid, scenario.faults, scenario.probes)
    # Two lengths in series, the bad splice, and 2.5 m of cold lead.
    assert ohm == pytest.approx(40.0 + 33.0 + 12.0 + 2 * 2.5 * 0.0133, rel=1e-6)
    assert parse_scenario(dump_scenario(scenario)) == scenario


def test_readings_and_faults_on_either_cable_are_written_back():
    text = (
        TEXT + '\n[[reading]]\nmeter = "ohmmeter"\nacross = ["core1+b.core2@far", "b.braid@far"]\n'
    )
    text += '\n[[fault]]\nkind = "short"\nbetween = ["core1", "braid"]\nat_m = 3.0\n'
    text += "resistance_ohm = 9.0\n"
    scenario = parse_scenario(text)
    assert isinstance(scenario.faults[0], Short)
    assert scenario.probes[1].hookup.across == ("core1+b.core2@far", "b.braid@far")
    again = parse_scenario(dump_scenario(scenario))
    assert again == scenario
    assert again.others[0].faults[0].at_m == 0.0


def test_two_scenarios_differ_by_what_another_cable_has():
    cable, other = Cable.rated("twin", 30.0, 88.2), Cable.rated("twin", 10.0, 40.0)
    one = Scenario.of(cable, others=[Part("b", other)])
    assert one == Scenario.of(cable, others=[Part("b", other)])
    assert one != Scenario.of(cable, others=[Part("c", other)])
    assert one != Scenario.of(cable, others=[Part("b", other, (Joint("core1", 3.0, 1.0),))])
    assert one != Scenario.of(cable, others=[Part("b", other)], joins=[["core1", "b.core1"]])
    with pytest.raises(InputError, match="joins"):
        Scenario.of(cable, joins=[["core1", "core1@far"]])


def test_commands_work_on_it_or_say_why_not(cablesim_run):
    told = json.loads(cablesim_run("predict", MATS, "--json").out)["readings"]
    assert told[0]["healthy"] == pytest.approx(63.05, abs=0.01)
    # The drilled mat pulls both readings to the braid down, for all that hang on the screws.
    assert told[1]["damaged"] < 200 < 1e9 < told[1]["healthy"]
    heat = json.loads(cablesim_run("energise", MATS, "--json").out)
    assert [row["on"] for row in heat["stretches"]] == ["", "pantry", "pantry"]
    assert heat["faults"][0]["on"] == "pantry"
    assert heat["watt"]["healthy"] == pytest.approx(230**2 / 63.05, rel=1e-3)
    assert "Cable pantry" in cablesim_run("check", MATS).out
    for command in ("locate", "insulation", "echo", "floor"):
        done = cablesim_run(command, MATS)
        assert done.code == 2
        assert f"{command} works on one cable by itself" in done.err
        assert "read each alone" in done.err
    done = cablesim_run("export", MATS, "--spice")
    assert (done.code, done.err.count("\n")) == (2, 1)


@pytest.fixture
def cablesim_run(capsys, monkeypatch):
    """Run one command line."""
    import sys
    from types import SimpleNamespace

    from cablesim.cli.app import main

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["cablesim", *map(str, arguments)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main()
        streams = capsys.readouterr()
        return SimpleNamespace(code=left.value.code or 0, out=streams.out, err=streams.err)

    return run
