"""``cablesim heat --energised``: warm up to where, its figure, and what it refuses."""

import json
import struct

import numpy as np
import pytest

from cablesim.line.energised import power_profile
from cablesim.report.energised import energised_answer
from cablesim.report.warm import power_of
from cablesim.scenario.reading import load_scenario
from cablesim.site.heat import hot_spot
from cablesim.site.layers import usual_floor

SUPPLIED = ("loop_resistance_ohm = 88.2", "loop_resistance_ohm = 88.2\nsupply_volt = 230.0")
CORES = (
    ('between = ["core1", "braid"]', 'between = ["core1", "core2"]'),
    ("resistance_ohm = 55.0", "resistance_ohm = 0.001"),
)
BROKEN = (
    (
        'kind = "short"\nbetween = ["core1", "braid"]\nat_m = 12.4\nresistance_ohm = 55.0',
        'kind = "break"\nconductors = ["core1"]\nat_m = 12.4',
    ),
)
ROOM = """
[floor]
outline_m = [[0.0, 0.0], [2.0, 0.0], [2.0, 1.5], [0.0, 1.5]]
run = { spacing_m = 0.09, margin_m = 0.05, start_m = [0.05, 0.05] }
"""
QUICK = ("--energised", "--minutes", 10)


@pytest.fixture
def roomy(scenario):
    def write(*changes):
        path = scenario(SUPPLIED, *changes)
        path.write_text(path.read_text(encoding="utf-8") + ROOM, encoding="utf-8")
        return path

    return write


def told(cablesim, *arguments):
    done = cablesim("heat", *arguments, "--json")
    assert done.code == 0
    return json.loads(done.out)


def test_warm_up_to_a_short_between_the_cores(cablesim, scenario):
    found = told(cablesim, scenario(SUPPLIED, *CORES), *QUICK)
    assert not found["neighbours_counted"]
    ((start, end),) = found["warm_m"]
    assert start == 0.0
    assert 12.4 < end < 12.5  # blurred over about the depth of the cable
    near, far = found["parts"]
    assert (near["state"], far["state"]) == ("hotter", "cold")
    assert far["rise_kelvin"] < 0.01 * near["rise_kelvin"]
    healthy = np.array(found["along"]["healthy_kelvin"])
    assert near["rise_kelvin"] == pytest.approx(
        np.median(healthy) * near["watt_per_m"] / 19.96, rel=0.01
    )


def test_the_edge_is_half_way_up(cablesim, scenario):
    found = told(cablesim, scenario(SUPPLIED, *CORES), *QUICK)
    at_m, rise = np.array(found["along"]["at_m"]), np.array(found["along"]["rise_kelvin"])
    inside = np.median(rise[(at_m > 2) & (at_m < 12)])
    assert np.interp(12.4, at_m, rise) == pytest.approx(inside / 2, rel=0.02)


def test_four_times_the_voltage_is_sixteen_times_the_rise(cablesim, scenario):
    path = scenario(SUPPLIED, *CORES)
    low, high = (
        told(cablesim, path, *QUICK, "--volt", volt)["hottest"]["kelvin"] for volt in (50, 200)
    )
    assert high == pytest.approx(16 * low, rel=1e-6)


def test_a_broken_core_leaves_all_cold(cablesim, scenario):
    found = told(cablesim, scenario(SUPPLIED, *BROKEN), *QUICK)
    assert found["warm_m"] == []
    assert found["cold_m"] == [[0.0, 30.0]]


def test_neighbouring_runs_add_warmth(cablesim, scenario, roomy):
    alone = told(cablesim, scenario(SUPPLIED, *CORES), "--energised", "--minutes", 120)
    beside = told(cablesim, roomy(*CORES), "--energised", "--minutes", 120)
    assert beside["neighbours_counted"]
    assert beside["hottest"]["kelvin"] > 1.05 * alone["hottest"]["kelvin"]


@pytest.mark.parametrize("changes", [(), CORES])
def test_heat_along_the_cable_is_that_of_the_exact_currents(scenario, changes):
    found = load_scenario(scenario(SUPPLIED, *changes))
    edges, power = power_of(energised_answer(found), damaged=True)
    middle = (edges[:-1] + edges[1:]) / 2
    exact = power_profile(found.cable, found.faults, 230.0, middle)
    assert power == pytest.approx(exact, rel=1e-6, abs=1e-9)
    assert edges[[0, -1]].tolist() == [0.0, 30.0]
    assert 12.4 in edges


def test_heat_in_a_partial_short_is_counted_where_it_sits(cablesim, scenario, roomy):
    """The short of 55 ohm takes what the currents say, and its patch is that of a hot spot."""
    path = scenario(SUPPLIED)
    found = told(cablesim, path, *QUICK, "--volt", 12)
    (spot,) = found["spots"]
    answer = energised_answer(load_scenario(path), volt=12.0)
    assert spot["watt"] == pytest.approx(float(answer.damaged.fault_watt[0]), rel=1e-12)
    assert spot["at_m"] == 12.4
    seen = hot_spot(usual_floor(), [(0.0, 600.0, spot["watt"])])
    assert spot["surface_kelvin"] == pytest.approx(seen.surface_kelvin[-1], rel=1e-6)
    assert spot["spot_kelvin"] == pytest.approx(seen.spot_kelvin[-1], rel=1e-6)
    assert found["hottest"]["at_m"] == 12.4
    assert found["hottest"]["kelvin"] > spot["surface_kelvin"]
    ((start, end),) = found["warm_m"]  # too little along the cable for the camera, enough here
    assert 12.2 < start < 12.35 and 12.45 < end < 12.6
    # On a plan the same; the other runs add next to nothing after ten minutes.
    beside = told(cablesim, roomy(), *QUICK, "--volt", 12)
    assert beside["hottest"]["kelvin"] == pytest.approx(found["hottest"]["kelvin"], rel=0.01)


def test_damage_that_would_burn_is_named(cablesim, scenario):
    found = told(cablesim, scenario(SUPPLIED), *QUICK)
    (spot,) = found["spots"]
    assert spot["watt"] > 300.0
    assert 0.0 < spot["burns_after_s"] < 1.0
    assert any("can burn" in caution for caution in found["cautions"])
    words = " ".join(cablesim("heat", scenario(SUPPLIED), *QUICK).out.split())
    assert "burns or parts before its warmth comes through" in words


def test_the_table_and_its_cautions(cablesim, roomy):
    done = cablesim("heat", roomy(*CORES), *QUICK, "--volt", 50)
    words = " ".join(done.out.split())
    assert "from the cold joint up to 12.4" in words
    assert "After 10 min at 50 V" in words
    assert "licensed" in words and "residual-current device" in words
    assert "usual ones" in done.err


@pytest.mark.parametrize("known", [True, False])
def test_the_figure(cablesim, refused, scenario, roomy, tmp_path, known):
    path = roomy(*CORES) if known else scenario(SUPPLIED, *CORES)
    image = tmp_path / "warm.png"
    assert cablesim("heat", path, *QUICK, "--figure", image).code == 0
    data = image.read_bytes()
    assert data.startswith(b"\x89PNG")
    width, height = struct.unpack(">II", data[16:24])
    assert width > 1000 and height > 400
    assert "exists already" in refused("heat", path, *QUICK, "--figure", image)


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--burst", 1, 1, 1), "--burst"),
        (("--volt", -5), "volt is -5"),
        (("--minutes", 0), "minutes is 0"),
        (("--camera-kelvin", "nan"), "--camera-kelvin"),
        (("--layer", "tile 10"), "--depth-mm is missing"),
    ],
)
def test_refused_options(refused, scenario, arguments, said):
    assert said in refused("heat", scenario(SUPPLIED), "--energised", *arguments)


def test_refused_beside_each_other(refused, scenario):
    assert "SCENARIO is missing" in refused("heat", "--energised")
    assert "--energised" in refused("heat", "--volt", 50)
    assert "supply voltage" in refused("heat", scenario(), "--energised")
