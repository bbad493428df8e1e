"""``cablesim floor``: place, tiles, figures and drawings, and one sentence for what cannot be."""

import json
import shutil

import pytest

from cablesim.scenario.shipped import shipped_directory


@pytest.fixture
def bathroom(tmp_path):
    return shutil.copy(shipped_directory() / "bathroom-floor.toml", tmp_path / "bathroom.toml")


def test_the_place_and_the_tiles_are_told(cablesim, bathroom):
    done = cablesim("floor", bathroom)
    assert (done.code, done.err) == (0, "")
    assert "under the tile in column 8" in done.out
    assert "licensed practice" in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_json_of_a_given_place(cablesim, bathroom):
    done = cablesim("floor", bathroom, "--at", 14.3, "--within", 0.2, "--json")
    told = json.loads(done.out)
    assert told["position_m"] == 14.3
    assert told["intervals"][0]["interval_m"] == pytest.approx([14.1, 14.5])
    assert told["openings"][0]["freed_m"] == pytest.approx([14.0, 14.6])
    assert told["tile"] in told["openings"][0]["tiles"]


def test_figures_and_drawings_are_written_and_never_over_others(
    cablesim, refused, bathroom, tmp_path
):
    for option, name in (("--figure", "a.svg"), ("--figure", "a.pdf"), ("--dxf", "a.dxf")):
        path = tmp_path / name
        done = cablesim("floor", bathroom, "--at", 14.3, option, path)
        assert done.code == 0
        assert str(path) in done.err
        assert path.stat().st_size > 1000
        assert "--force" in refused("floor", bathroom, "--at", 14.3, option, path)


def test_a_drawing_is_read_back_as_the_same_floor(cablesim, bathroom, tmp_path):
    path = tmp_path / "floor.dxf"
    cablesim("floor", bathroom, "--at", 14.3, "--dxf", path)
    by_rule = json.loads(cablesim("floor", bathroom, "--at", 14.3, "--json").out)
    drawn = json.loads(cablesim("floor", bathroom, "--at", 14.3, "--json", "--survey", path).out)
    assert drawn["at_m"] == pytest.approx(by_rule["at_m"], abs=1e-6)
    assert drawn["openings"][0]["tiles"] == by_rule["openings"][0]["tiles"]


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (["--at", "40"], "--at is 40.0, but must be on the heated part, from 0 to 32 m"),
        (["--at", "-1"], "--at is -1.0"),
        (["--at", "nan"], "--at is nan"),
        (["--at", "3", "--within", "-1"], "--within is -1.0"),
        (["--within", "1"], "--within goes with --at only"),
        (["--figure", "x.gif"], ".png, .svg or .pdf"),
        (["--dxf", "x.dwg"], "a name ending in .dxf"),
        (["--dxf", "missing/x.dxf"], "no folder"),
        (["--survey", "missing.dxf"], "missing.dxf: there is no such file"),
    ],
)
def test_bad_options_are_one_sentence(refused, bathroom, arguments, why):
    assert why in refused("floor", bathroom, *arguments)


def test_a_file_without_a_floor_is_told_how_to_mend_it(refused, scenario):
    path = scenario()
    for more in ([], ["--at", "3"]):
        message = refused("floor", path, *more)
        assert str(path) in message
        assert "add [floor]" in message


def test_readings_are_needed_to_locate(refused, bathroom):
    text = bathroom.read_text()
    start, end = text.index("[[reading]]"), text.index("[floor]")
    bathroom.write_text(text[:start] + text[end:])
    message = refused("floor", bathroom)
    assert "reading" in message
    assert str(bathroom) in message


def test_locate_adds_the_floor_where_there_is_one(cablesim, bathroom, scenario):
    done = cablesim("locate", bathroom)
    assert "Verdict" in done.out
    assert "under the tile in column 8" in done.out
    told = json.loads(cablesim("locate", bathroom, "--json").out)
    alone = json.loads(cablesim("floor", bathroom, "--json").out)
    assert told["floor"] == alone
    assert "floor" not in json.loads(cablesim("locate", scenario(), "--json").out)


def test_check_says_what_is_known_of_the_floor(cablesim, bathroom):
    told = cablesim("check", bathroom).out
    assert "7.2 m2, cable laid by rule, tiles of 0.3 m by 0.3 m, on top tile" in told


def test_locate_on_a_floor_points_on_to_the_repair(cablesim, bathroom):
    words = " ".join(cablesim("locate", bathroom).out.split())
    assert words.count("cablesim repair says what the readings must be then") == 1
    floor = " ".join(cablesim("floor", bathroom).out.split())
    assert "cablesim repair says what" in floor
