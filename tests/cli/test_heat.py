"""``cablesim heat``: its table, its JSON, its figure, and what it refuses."""

import json
import struct

import pytest

FLOOR = '[floor]\nlayers = [{ material = "tile", thickness_mm = 10.0 }, '
FLOOR += '{ material = "screed", thickness_mm = 50.0 }]\n\n'
QUICK = ("--burst", 2, 3, 3, "--minutes", 2)


def test_the_table_says_when_and_how_wide_and_what_to_mind(cablesim):
    done = cablesim("heat", *QUICK, "--watt", 10)
    assert (done.code, done.err) == (0, "")
    assert "3 bursts of 2 s with 3 s between" in done.out
    assert "by a camera of 0.1 K, after 1" in done.out
    assert "mm wide at half" in done.out
    assert "licensed" in done.out
    assert "high voltage" in done.out


def test_the_help_names_every_unit(cablesim):
    said = " ".join(cablesim("heat", "--help").out.replace("│", " ").split())
    for words in ("lasts, in W.", "surface, in mm.", "spot, in mm.", "shows, in K.", "in minutes."):
        assert words in said


def test_json_is_what_the_page_describes(cablesim):
    done = cablesim("heat", "--watt", 5, "--minutes", 3, "--json")
    told = json.loads(done.out)
    assert told["seen"] is True
    assert 0.0 < told["seen_after_s"] < told["peak_at_s"] <= 180.0
    assert told["seen_until_s"] <= 180.0
    assert told["camera_kelvin"] == 0.1
    assert told["minutes"] == 3.0
    assert 0.0 <= told["error_kelvin"] < 0.02 * told["peak_kelvin"]
    assert told["floor"]["layers"][0]["material"] == "tile"
    assert all("ISO 10456" in layer["source"] for layer in told["floor"]["layers"])
    course, profile = told["course"], told["profile"]
    assert len(course["times_s"]) == len(course["surface_kelvin"]) == len(course["spot_kelvin"])
    assert max(course["surface_kelvin"]) == pytest.approx(told["peak_kelvin"], rel=0.02)
    assert profile["surface_kelvin"][0] == pytest.approx(told["peak_kelvin"], rel=1e-3)
    assert len(profile["radii_mm"]) == len(profile["surface_kelvin"])
    best = told["schedule"]["best"]
    assert best["seen_after_s"] == pytest.approx(told["seen_after_s"], abs=0.02)
    assert len(told["spot"]["bursts"]) == best["count"]
    assert told["spot"]["energy_j"] == pytest.approx(5.0 * best["on_s"] * best["count"])
    assert told["cautions"]


def test_what_is_never_seen_is_still_an_answer(cablesim):
    done = cablesim("heat", "--watt", 0.01, "--minutes", 2)
    assert done.code == 0
    assert "not by a camera of 0.1 K within 2 min" in done.out
    assert "no schedule within 2 minutes" in done.out
    told = json.loads(cablesim("heat", "--watt", 0.01, "--minutes", 2, "--json").out)
    assert told["seen"] is False
    assert told["seen_after_s"] is None
    assert told["schedule"]["best"] is None


def test_layers_come_from_the_scenario(cablesim, scenario):
    path = scenario(("[cable]", FLOOR + "[cable]"))
    told = json.loads(cablesim("heat", path, "--depth-mm", 13, *QUICK, "--json").out)
    found = [(row["material"], row["thickness_mm"]) for row in told["floor"]["layers"]]
    assert found == [("tile", 10.0), ("screed", 50.0)]
    written = cablesim(
        "heat", "--layer", "tile 10", "--layer", "screed 50", "--depth-mm", 13, *QUICK, "--json"
    )
    assert json.loads(written.out) == told


def test_without_its_covering_the_cable_is_seen_at_once(cablesim):
    told = json.loads(cablesim("heat", "--uncovered", *QUICK, "--json").out)
    assert told["floor"]["depth_mm"] == 0.0
    assert told["seen_after_s"] < 1.0
    assert "cable lying open" in cablesim("heat", "--uncovered", *QUICK).out


TESTER = ("--tester", 2500, 20, *QUICK)


def test_a_tester_leaves_what_its_limits_allow(cablesim, scenario):
    def watt(*arguments):
        done = cablesim("heat", *arguments, "--json")
        assert done.code == 0
        return json.loads(done.out)["spot"]["bursts"][0]["watt"]

    # The current is the limit, then the voltage; the file's own 55 ohm; the arc of a gap.
    assert watt(*TESTER, "--fault-ohm", 50_000) == pytest.approx(0.02**2 * 50_000)
    assert watt(*TESTER, "--fault-ohm", 1e6) == pytest.approx(2500**2 / 1e6)
    layers = ("--layer", "tile 10", "--layer", "screed 50", "--depth-mm", 14)
    assert watt(scenario(), *TESTER, *layers) == pytest.approx(0.02**2 * 55.0)
    gap = 'kind = "flashover"\nbreakdown_volt = 1300.0\narc_volt = 70.0'
    path = scenario(('kind = "short"', gap), ("resistance_ohm = 55.0", ""))
    assert watt(path, *TESTER, *layers) == pytest.approx(0.02 * 70.0)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--tester", 2500, 20), "--fault-ohm is missing"),
        (("--fault-ohm", 100), "without --tester"),
        (("--tester", 2500, 20, "--watt", 3), "exclude each other"),
        (("--tester", "nan", 20, "--fault-ohm", 3), "--tester VOLT is nan"),
        (("--tester", 2500, 0, "--fault-ohm", 3), "--tester MILLIAMP is 0"),
        (("--tester", 2500, 20, "--fault-ohm", -1), "--fault-ohm is -1"),
        (("--energised", "--watt", 3), "--watt"),
        (("--volt", 12), "--volt is given without --energised"),
        (("--burst", 2, -1, 3), "--burst PAUSE is -1"),
        (("--layer", "tile 0", "--depth-mm", 1), "--layer MM is 0"),
        (("--layer", "tile 9", "--depth-mm", 20), "--depth-mm is 20"),
        (("--minutes", 0.0001), "--minutes is 0.0001"),
    ],
)
def test_a_tester_that_cannot_be_is_refused(refused, arguments, words):
    assert words in refused("heat", *arguments)


def test_a_tester_and_a_fault_that_takes_nothing(refused, scenario):
    broken = (
        'kind = "short"\nbetween = ["core1", "braid"]',
        'kind = "break"\nconductors = ["core1"]',
    )
    path = scenario(broken, ("resistance_ohm = 55.0", ""))
    assert "takes no power" in refused("heat", path, "--tester", 2500, 20)
    gap = 'kind = "flashover"\nbreakdown_volt = 3000.0\narc_volt = 70.0'
    path = scenario(('kind = "short"', gap), ("resistance_ohm = 55.0", ""))
    assert "at least 3000 V to strike" in refused("heat", path, "--tester", 2500, 20)


def test_the_figure_is_drawn_and_not_over_another(cablesim, refused, tmp_path):
    path = tmp_path / "heat.png"
    done = cablesim("heat", *QUICK, "--figure", path)
    assert done.code == 0
    assert struct.unpack(">II", path.read_bytes()[16:24]) == (1440, 945)
    assert "--force" in refused("heat", *QUICK, "--figure", path)


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--layer", "tyle 10", "--depth-mm", 5), "did you mean tile?"),
        (("--layer", "tile", "--depth-mm", 5), 'such as "tile 10"'),
        (("--layer", "tile 10"), "--depth-mm is missing"),
        (("--layer", "tile -10", "--depth-mm", 5), "--layer MM is -10.0"),
        (("--layer", "tile nan", "--depth-mm", 5), "--layer MM is nan"),
        (("--depth-mm", 500), "within the floor, which is 93 mm thick"),
        (("--watt", "nan"), "watt is nan"),
        (("--watt", -1, "--burst", 1, 1, 1), "watt is -1.0"),
        (("--burst", 0, 1, 1), "--burst ON is 0.0"),
        (("--burst", 1, 1, 0), "--burst COUNT is 0"),
        (("--minutes", 0), "--minutes is 0.0"),
        (("--minutes", 1e9), "--minutes is 1000000000.0"),
        (("--camera-kelvin", 0), "--camera-kelvin is 0.0"),
        (("--figure", "heat.jpg"), "a name ending in .png"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(refused, arguments, words):
    assert words in refused("heat", *arguments)


def test_a_floor_without_layers_is_named_with_its_file(refused, scenario):
    path = scenario()
    said = refused("heat", path, "--depth-mm", 13)
    assert f"In {path}: the floor has no layers" in said
    path = scenario(("[cable]", FLOOR.replace("screed", "scred") + "[cable]"))
    said = refused("heat", path, "--depth-mm", 13)
    assert "floor layer 2: material is 'scred'" in said
    assert "did you mean screed?" in said


def test_a_spot_that_would_burn_its_surroundings_is_told(cablesim):
    # 20 W for 2 s lifts 5 mm of cable past 80 K, and 1 W does not.
    for watt, burns in ((20, True), (1, False)):
        told = json.loads(cablesim("heat", *QUICK, "--watt", watt, "--json").out)
        assert (told["spot"]["peak_kelvin"] > 80.0) is burns
        assert any("by more than 80 K" in caution for caution in told["cautions"]) is burns
        shown = " ".join(cablesim("heat", *QUICK, "--watt", watt).out.split())
        assert ("by more than 80 K" in shown) is burns
