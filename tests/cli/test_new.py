"""``cablesim new``: what it writes can be used at once, and fills in to something that locates."""

import json

import pytest

from cablesim.scenario.reading import parse_scenario
from cablesim.scenario.shipped import shipped_directory
from cablesim.scenario.template import TEMPLATES, template


@pytest.mark.parametrize("construction", TEMPLATES)
def test_a_template_is_a_scenario_and_so_is_every_line_that_waits_in_it(construction):
    text = template(construction)
    assert not parse_scenario(text).readings
    head, _, rest = text.partition("# One [[reading]]")
    said, _, floor = rest.partition("\n# Where it lies")
    waiting = said.partition("\n")[2] + floor.partition("\n")[2]
    filled = parse_scenario(head + waiting.replace("\n# ", "\n").removeprefix("# "))
    assert len(filled.readings) == len(filled.entries) == 4
    assert filled.plan is not None


def test_a_filled_template_locates(cablesim, tmp_path):
    file = tmp_path / "hall.toml"
    assert "cablesim check" in cablesim("new", file).out
    text = file.read_text()
    for ohm in ("90.6", "74.4", "127.5"):  # the readings of the demo
        text = text.replace("# ohm = 90.6", f"ohm = {ohm}", 1)
    file.write_text(text)
    told = json.loads(cablesim("locate", file, "--json").out)
    assert told["verdict"] == "short"
    assert abs(told["faults"][0]["position_m"] - 12.4) < 0.3


def test_a_shipped_scenario_is_copied_and_a_file_kept(cablesim, tmp_path):
    file = tmp_path / "copy.toml"
    assert cablesim("new", file, "--like", "demo").code == 0
    assert file.read_bytes() == (shipped_directory() / "demo.toml").read_bytes()
    again = cablesim("new", file)
    assert (again.code, again.out) == (2, "")
    assert "--force" in again.err
    assert cablesim("new", file, "--force").code == 0


def test_names_are_listed_and_the_nearest_offered(cablesim, tmp_path):
    listed = cablesim("new", tmp_path / "x.toml", "--like", "list").out.split()
    assert {"twin", "single", "demo", "published/murray-mehta-11-21"} <= set(listed)
    wrong = cablesim("new", tmp_path / "x.toml", "--like", "bathroom-flor")
    assert wrong.code == 2
    assert "did you mean bathroom-floor?" in wrong.err
    assert not (tmp_path / "x.toml").exists()


def test_the_shipped_scenarios_are_named_without_a_file(cablesim, refused):
    named = cablesim("new", "--like", "list")
    assert named.code == 0
    assert "bathroom-floor" in named.out.split()
    assert refused("new").startswith("FILE is missing")
