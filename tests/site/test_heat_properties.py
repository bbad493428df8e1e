"""What must hold of heat in any floor."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.linalg import spsolve

from cablesim.site.conduction import network_of
from cablesim.site.heat import hot_spot, pulses
from cablesim.site.layers import MATERIALS, Floor, Layer
from cablesim.site.marching import march
from cablesim.site.mesh import mesh_of, reach_m
from cablesim.site.response import settled_response, spot_response
from cablesim.site.warm_floor import above_cable

UNTIL_S = 120.0
# Each example marches through two meshes.
FEW = settings(max_examples=8)

layers = st.builds(Layer.of, st.sampled_from(sorted(MATERIALS)), st.floats(4.0, 40.0))


@st.composite
def floors(draw):
    stack = tuple(draw(st.lists(layers, min_size=1, max_size=4)))
    whole = sum(layer.thickness_mm for layer in stack)
    if whole < 12.0:
        stack = (*stack, Layer.of("screed", 12.0))
        whole += 12.0
    depth_mm = draw(st.floats(0.0, whole - 3.0))
    surface = draw(st.floats(2.0, 25.0))
    under = draw(st.sampled_from([0.0, 5.9]))
    return Floor(stack, depth_mm, surface, under)


def centre(floor):
    return spot_response(floor, 5.0, UNTIL_S).centre(np.linspace(0.0, UNTIL_S, 25))


def allowed(floor):
    """What the meshes themselves say they may be off by."""
    times = np.linspace(0.0, UNTIL_S, 25)
    response = spot_response(floor, 5.0, UNTIL_S)
    _, correction = response.rise(times, slice(0, 1))
    return np.abs(correction[:, 0]) + response.fine.error


@FEW
@given(floors(), st.floats(0.1, 200.0), st.floats(0.1, 10.0))
def test_twice_the_power_twice_the_rise(floor, watt, times):
    once = hot_spot(floor, pulses(2.0, 3.0, 4, watt), until_s=UNTIL_S)
    more = hot_spot(floor, pulses(2.0, 3.0, 4, watt * times), until_s=UNTIL_S)
    np.testing.assert_allclose(more.surface_kelvin, times * once.surface_kelvin, rtol=1e-9)
    assert more.peak_kelvin == pytest.approx(times * once.peak_kelvin, rel=1e-6)
    assert more.width_mm == pytest.approx(once.width_mm, rel=1e-3)


@FEW
@given(floors(), st.floats(0.5, 3.0), st.floats(0.0, 50.0))
def test_bursts_add_up(floor, on_s, later_s):
    one, other = (0.0, on_s, 40.0), (later_s, later_s + 2.0, 25.0)
    both = hot_spot(floor, [one, other], until_s=UNTIL_S)
    times = np.linspace(0.0, UNTIL_S, 50)
    apart = [hot_spot(floor, [burst], until_s=UNTIL_S).profiles(times) for burst in (one, other)]
    most = np.abs(both.profiles(times)).max()
    np.testing.assert_allclose(both.profiles(times), sum(apart), atol=1e-12 * most)


@FEW
@given(floors())
def test_never_colder_than_before_and_warmest_above_the_spot(floor):
    seen = hot_spot(floor, pulses(2.0, 3.0, 3, 40.0), until_s=UNTIL_S)
    rise = seen.profiles(np.linspace(0.0, UNTIL_S, 60))
    # A step may be off by 1e-6 of the hottest cell.
    assert rise.min() >= -1e-6 * seen.spot_kelvin.max()
    at_peak = seen.profiles(np.array([seen.peak_at_s]))[0]
    assert np.argmax(at_peak) == 0
    assert seen.error_kelvin >= 0.0


@FEW
@given(
    # The spot, 5 mm high, stays clear of the covering.
    floors().filter(lambda floor: floor.depth_mm >= 2.6),
    st.sampled_from(sorted(MATERIALS)),
    st.floats(4.0, 30.0),
)
def test_more_covering_never_makes_the_surface_hotter(floor, material, thickness_mm):
    cover = Layer.of(material, thickness_mm)
    thicker = Floor(
        (cover, *floor.layers),
        floor.depth_mm + thickness_mm,
        floor.surface_w_per_m2_k,
        floor.underside_w_per_m2_k,
    )
    assert (centre(thicker) <= centre(floor) + allowed(floor) + allowed(thicker)).all()


@FEW
@given(floors(), st.floats(1.05, 4.0))
def test_more_loss_never_makes_the_surface_hotter(floor, times):
    """On one mesh, so that nothing but the steps in time is left to be off."""
    milder = Floor(floor.layers, floor.depth_mm, floor.surface_w_per_m2_k)
    mesh = mesh_of(milder, 5.0, reach_m(milder, UNTIL_S))
    times_s = np.linspace(0.0, UNTIL_S, 25)

    def surface(floor):
        network = network_of(floor, mesh)
        course = march(network, [(UNTIL_S, 1.0)], lambda rise: rise[..., :: network.slices])
        return course.at(times_s) * network.surface_share, course.error

    most, off = surface(milder)
    for stronger in (
        Floor(floor.layers, floor.depth_mm, floor.surface_w_per_m2_k * times),
        Floor(floor.layers, floor.depth_mm, floor.surface_w_per_m2_k, 5.9 * times),
    ):
        less, other_off = surface(stronger)
        assert (less <= most + off + other_off).all()


@FEW
@given(floors(), st.integers(0, 10**6), st.integers(0, 10**6))
def test_what_one_place_does_to_another_the_other_does_to_it(floor, one, other):
    network = network_of(floor, mesh_of(floor, 5.0, reach_m(floor, UNTIL_S)))
    cells = network.mass_j_per_k.size
    one, other = one % cells, other % cells
    step = network.stiffness_w_per_k.copy()
    step.setdiag(step.diagonal() + network.mass_j_per_k / 10.0)  # ten seconds, implicit
    there, back = (spsolve(step.tocsc(), np.eye(1, cells, k=place)[0]) for place in (one, other))
    assert there[other] == pytest.approx(back[one], rel=1e-9, abs=1e-200)


@FEW
@given(floors())
def test_a_settled_floor_gives_up_what_it_gets(floor):
    floor = Floor(floor.layers, floor.depth_mm, floor.surface_w_per_m2_k)
    radii, rise = settled_response(floor)
    fine = np.linspace(0.0, radii[-1], 20_001)
    given_up = np.trapezoid(2 * np.pi * fine * np.interp(fine, radii, rise), fine)
    assert given_up * floor.surface_w_per_m2_k == pytest.approx(1.0, rel=0.02)


@FEW
@given(floors(), st.lists(st.floats(0.0, 20.0), min_size=1, max_size=5))
def test_along_the_cable_warmth_follows_its_mirror_and_its_scale(floor, power):
    edges = np.arange(len(power) + 1.0)
    at = np.linspace(-0.5, edges[-1] + 0.5, 21)
    rise = above_cable(edges, power, floor, at, after_s=UNTIL_S)
    mirrored = above_cable(-edges[::-1], power[::-1], floor, -at, after_s=UNTIL_S)
    tripled = above_cable(edges, 3 * np.array(power), floor, at, after_s=UNTIL_S)
    most = np.abs(rise).max() + 1e-9
    np.testing.assert_allclose(mirrored, rise, atol=1e-9 * most)
    np.testing.assert_allclose(tripled, 3 * rise, atol=1e-9 * most)
