"""Layers, hot spots and schedules: numbers from their sources, limits, and bad input."""

import math

import numpy as np
import pytest

from cablesim.errors import InputError
from cablesim.site import heat, layers, schedule
from cablesim.site.layers import Floor, Layer, floor_of, layer_from_words, usual_floor
from cablesim.site.marching import DAMPING, STAGES, weights
from cablesim.site.mesh import mesh_of, reach_m

NAN = float("nan")


# --- layers ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "values"),
    [
        ("mortar", (1.00, 1800, 1000)),
        ("concrete", (1.35, 2000, 1000)),
        ("tile", (1.30, 2300, 840)),
        ("wood", (0.13, 500, 1600)),
        ("granite", (2.8, 2600, 1000)),
        ("eps", (0.035, 20, 1450)),
    ],
)
def test_materials_are_those_of_iso_10456(name, values):
    row = layers.MATERIALS[name]
    found = (row.conductivity_w_per_m_k, row.density_kg_per_m3, row.heat_capacity_j_per_kg_k)
    assert found == values
    assert "from memory of ISO 10456" in row.source


def test_every_material_names_its_source():
    assert all("ISO 10456" in row.source for row in layers.MATERIALS.values())


def test_taking_the_covering_off_leaves_the_bed():
    floor = usual_floor()
    assert [layer.name for layer in floor.covering] == ["tile"]
    bare = floor.uncovered()
    assert [layer.name for layer in bare.layers] == ["adhesive", "screed", "eps"]
    assert bare.depth_mm == 0.0
    assert bare.surface_w_per_m2_k == floor.surface_w_per_m2_k


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Layer.of("tyle", 10.0), "did you mean tile?"),
        (lambda: Layer.of("lava", 10.0), "material is 'lava', but must be one of tile, adhesive"),
        (lambda: Layer.of("tile", -10.0), "thickness_mm is -10.0, but must be a number above 0"),
        (lambda: Layer.of("tile", NAN), "thickness_mm is nan"),
        (lambda: Layer("x", 10.0, NAN, 1000.0, 1000.0), "conductivity_w_per_m_k is nan"),
        (lambda: Layer("x", 10.0, 1.0, -1.0, 1000.0), "density_kg_per_m3 is -1.0"),
        (lambda: layer_from_words("tile"), 'such as "tile 10"'),
        (lambda: layer_from_words("tile ten"), 'such as "tile 10"'),
        (lambda: layer_from_words("10 tile"), 'such as "tile 10"'),
        (lambda: Floor((), 10.0), "layers must be one layer or more"),
        (lambda: floor_of([("tile", 10.0)], 12.0), "add the layers below the cable"),
        (lambda: floor_of([("tile", 10.0)], -1.0), "depth_mm is -1.0"),
        (lambda: floor_of([("tile", 10.0)], NAN), "depth_mm is nan"),
        (lambda: floor_of([("tile", 9.0)], 5.0, surface_w_per_m2_k=-1), "surface_w_per_m2_k is -1"),
        (lambda: heat.hot_spot(usual_floor(), []), "number of bursts is 0"),
        (lambda: heat.hot_spot(usual_floor(), [(0, 1, NAN)]), "watt is nan"),
        (lambda: heat.hot_spot(usual_floor(), [(0, 1, -5)]), "watt is -5"),
        (lambda: heat.hot_spot(usual_floor(), [(3, 1, 5)]), "let it end after its start"),
        (lambda: heat.hot_spot(usual_floor(), [(-1, 1, 5)]), "start of a burst in s is -1"),
        (lambda: heat.hot_spot(usual_floor(), [(0, 1, 5)], until_s=0), "until_s is 0"),
        (lambda: heat.hot_spot(usual_floor(), [(0, 1, 5)], spot_mm=NAN), "spot_mm is nan"),
        (lambda: heat.hot_spot(usual_floor(), [(0, 1, 5)], camera_kelvin=0), "camera_kelvin is 0"),
        (lambda: heat.pulses(2.0, -1.0, 3, 5.0), "pause_s is -1"),
        (lambda: heat.pulses(2.0, 1.0, 0, 5.0), "count is 0"),
        (lambda: schedule.best_schedule(usual_floor(), 0.0), "watt is 0"),
        (lambda: schedule.best_schedule(usual_floor(), 5.0, bursts_s=[4.0]), "at most 3"),
        (lambda: schedule.best_schedule(usual_floor(), 5.0, bursts_s=[]), "one length or more"),
        (lambda: schedule.best_schedule(usual_floor(), 5.0, pauses_s=[2.05]), "multiple of 0.1"),
        (lambda: schedule.spot_watt(NAN, 1.0, 1.0), "open_volt is nan"),
    ],
)
def test_bad_input_is_one_sentence(make, words):
    with pytest.raises(InputError) as raised:
        make()
    said = str(raised.value)
    assert words in said
    assert "\n" not in said


# --- steps in time --------------------------------------------------------------------------------


def test_weights_match_the_exponential_to_the_fifth_order():
    z = np.array([-0.02, -0.04])
    stages = (1 - DAMPING * z[:, np.newaxis]) ** -np.arange(1.0, STAGES + 1)
    for share in (0.3, 1.0):
        error = np.abs(stages @ weights(share) - np.expm1(share * z) / z)
        assert np.log2(error[1] / error[0]) == pytest.approx(STAGES, abs=0.2)


def test_steps_damp_what_is_stiff_and_grow_nothing():
    z = np.concatenate([-np.logspace(-3, 9, 400), 1j * np.logspace(-3, 9, 400)])
    stages = (1 - DAMPING * z[:, np.newaxis]) ** -np.arange(1.0, STAGES + 1)
    grown = np.abs(1 + z * (stages @ weights(1.0)))
    assert grown.max() <= 1 + 1e-9
    # Rounding of one part in 1e16 of the weights is all that is left of the stiffest.
    assert grown[399] < 1e-7


def test_half_a_mesh_keeps_every_face():
    floor = usual_floor()
    coarse, fine = (mesh_of(floor, 5.0, reach_m(floor, 600.0), k) for k in (0, 1))
    np.testing.assert_allclose(fine.radius_faces_m[::2], coarse.radius_faces_m, atol=1e-12)
    np.testing.assert_allclose(fine.depth_faces_m[::2], coarse.depth_faces_m, atol=1e-12)
    ends = np.cumsum([0.010, 0.008, 0.045, 0.030])
    assert all(np.abs(coarse.depth_faces_m - end).min() < 1e-12 for end in ends)


# --- hot spots ------------------------------------------------------------------------------------


def test_the_camera_sees_where_the_curve_says():
    seen = heat.hot_spot(usual_floor(), heat.pulses(3.0, 2.0, 3, 40.0))
    assert 0.0 < seen.seen_after_s < seen.peak_at_s < seen.seen_until_s <= 600.0
    at = seen.profiles(np.array([seen.seen_after_s, seen.peak_at_s]))
    assert at[0, 0] == pytest.approx(0.1, rel=1e-6)
    assert at[1, 0] == pytest.approx(seen.peak_kelvin, rel=1e-9)
    half = np.interp(seen.width_mm / 2000.0, seen.radii_m, at[1])
    assert half == pytest.approx(seen.peak_kelvin / 2, rel=1e-3)
    assert seen.energy_j == pytest.approx(360.0)
    assert seen.error_kelvin < 0.01 * seen.peak_kelvin


def test_what_is_too_faint_is_not_seen():
    seen = heat.hot_spot(usual_floor(), [(0.0, 1.0, 0.01)])
    assert seen.seen_after_s is None
    assert seen.seen_until_s is None
    assert 0.0 < seen.peak_kelvin < 0.1


def test_an_open_cable_is_seen_at_once_and_narrower():
    covered, bare = (
        heat.hot_spot(floor, heat.pulses(3.0, 2.0, 3, 5.0))
        for floor in (usual_floor(), usual_floor().uncovered())
    )
    assert bare.seen_after_s < 0.1 < covered.seen_after_s
    assert bare.peak_kelvin > 10 * covered.peak_kelvin
    assert bare.width_mm < covered.width_mm


def test_the_stated_error_holds_what_is_missing():
    """Against a mesh halved once more, extrapolated: the error that is stated is not too small."""
    from outside.against_heat import THREE_LAYERS, TIMES_S, transformed

    exact = transformed(THREE_LAYERS, 0.0, TIMES_S)[:-1]
    for time_s, right in zip(TIMES_S[:-1], exact, strict=True):
        seen = heat.hot_spot(THREE_LAYERS, [(0.0, time_s, 10.0)], until_s=time_s)
        assert abs(seen.peak_kelvin - 10.0 * right) <= seen.error_kelvin


# --- schedules ------------------------------------------------------------------------------------


def test_power_of_a_tester_is_limited_by_current_or_by_voltage():
    assert schedule.spot_watt(2500.0, 20.0, 50e3) == pytest.approx(20.0)
    assert schedule.spot_watt(2500.0, 20.0, 500e3) == pytest.approx(12.5)


def test_the_best_schedule_is_as_soon_as_any_and_is_what_it_says():
    found = schedule.best_schedule(usual_floor(), 2.0)
    best = found.best
    assert found.reason is None
    soonest = min(row.seen_after_s for row in found.tried if row.seen_after_s)
    assert best.seen_after_s <= 1.01 * soonest
    again = heat.hot_spot(usual_floor(), heat.pulses(best.on_s, best.pause_s, best.count, 2.0))
    assert again.seen_after_s == pytest.approx(best.seen_after_s, abs=0.02)
    assert again.spot_kelvin.max() == pytest.approx(best.spot_kelvin, rel=1e-6)
    fewer = heat.hot_spot(usual_floor(), heat.pulses(best.on_s, best.pause_s, best.count - 1, 2.0))
    assert fewer.seen_after_s is None or fewer.seen_after_s > 1.009 * best.seen_after_s


def test_a_limit_on_the_spot_is_kept():
    free = schedule.best_schedule(usual_floor(), 5.0)
    limit = 0.8 * free.best.spot_kelvin
    mild = schedule.best_schedule(usual_floor(), 5.0, spot_limit_kelvin=limit)
    assert mild.best.spot_kelvin <= limit
    assert mild.best.seen_after_s >= free.best.seen_after_s
    none = schedule.best_schedule(usual_floor(), 5.0, spot_limit_kelvin=1.0)
    assert none.best is None
    assert "keeps the spot's own rise below 1 K" in none.reason


def test_it_says_that_no_schedule_will_do():
    found = schedule.best_schedule(usual_floor(), 0.01, within_s=300.0)
    assert found.best is None
    assert found.seen is None
    assert found.reason.startswith("no schedule within 5 minutes warms the surface by the 0.1 K")
    assert all(row.seen_after_s is None for row in found.tried)
    assert math.isclose(max(row.peak_kelvin for row in found.tried), 0.017, rel_tol=0.5)
