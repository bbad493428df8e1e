"""The energised cable: two ways to the same surface, limits, and bad input."""

import math

import numpy as np
import pytest

from cablesim.errors import InputError
from cablesim.site.layers import floor_of, usual_floor
from cablesim.site.warm_floor import (
    above_cable,
    cut_route,
    floor_image,
    rise_at,
    warm_stretches,
)

FLOOR = usual_floor()
LINE = [[0.0, 0.0], [12.0, 0.0]]
NAN = float("nan")


@pytest.mark.parametrize("after_s", [1800.0, math.inf])
def test_lattice_and_integral_agree_along_a_stretched_cable(after_s):
    at = np.array([1.0, 2.0, 2.9, 3.0, 3.05, 3.1])
    along = above_cable([0.0, 3.0, 6.0], [15.0, 2.0], FLOOR, at, after_s=after_s)
    route = [[0.0, 0.0], [3.0, 0.0], [6.0, 0.0]]
    places = np.stack([at, np.zeros(at.size)], axis=1)
    image = rise_at(route, [15.0, 2.0], FLOOR, places, after_s)
    np.testing.assert_allclose(image, along, rtol=2e-3)


def test_turning_and_moving_the_floor_changes_nothing():
    turn = np.array([[math.cos(0.4), math.sin(0.4)], [-math.sin(0.4), math.cos(0.4)]])
    route = np.array([[0.0, 0.0], [0.6, 0.0], [0.6, 0.1], [0.0, 0.1]])
    places = np.array([[0.3, 0.0], [0.3, 0.05], [0.6, 0.05], [0.1, 0.12]])
    power = [12.0, 12.0, 0.0]
    straight = rise_at(route, power, FLOOR, places, 1800.0)
    turned = rise_at(route @ turn + 3.3, power, FLOOR, places @ turn + 3.3, 1800.0)
    np.testing.assert_allclose(turned, straight, rtol=3e-3)


def test_a_dead_end_is_cold_and_the_break_is_half_way():
    at = np.linspace(0.0, 20.0, 401)
    rise = above_cable([0.0, 12.0, 30.0], [15.0, 0.0], FLOOR, at)
    ((start, end),) = warm_stretches(at, rise, rise.max() / 2)
    assert start == pytest.approx(0.0, abs=0.06)  # half of it is missing before the cold joint
    assert end == pytest.approx(12.0, abs=0.01)


def test_two_warm_stretches_are_told_apart():
    at = np.arange(6.0)
    assert warm_stretches(at, [2, 2, 0, 0, 2, 2], 1.0) == [(0.0, 1.5), (3.5, 5.0)]
    assert warm_stretches(at, [0, 0, 0, 0, 0, 0], 1.0) == []
    assert warm_stretches(at, [2, 2, 2, 2, 2, 2], 1.0) == [(0.0, 5.0)]


def test_power_is_cut_where_route_and_pieces_turn():
    points, power = cut_route([[0, 0], [1, 0], [1, 2]], [-1.0, 0.5, 2.0], [10.0, 5.0])
    assert points.tolist() == [[0, 0], [0.5, 0], [1, 0], [1, 1], [1, 2]]
    assert power.tolist() == [10.0, 5.0, 5.0, 0.0]


def test_an_image_is_what_its_places_are():
    x_m, y_m = np.linspace(0.2, 0.8, 4), np.linspace(-0.1, 0.1, 3)
    image = floor_image([[0, 0], [1, 0]], [15.0], FLOOR, (x_m, y_m), 1800.0)
    assert image.shape == (3, 4)
    one = rise_at([[0, 0], [1, 0]], [15.0], FLOOR, [[0.4, 0.1]], 1800.0)
    assert image[2, 1] == pytest.approx(one[0], rel=1e-2)
    np.testing.assert_allclose(image[0], image[2], rtol=1e-3)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: above_cable([0, 1], [1, 2], FLOOR, [0]), "one more than powers"),
        (lambda: above_cable([0, 0], [1], FLOOR, [0]), "edges_m must be ascending"),
        (lambda: above_cable([0, 1], [-1], FLOOR, [0]), "watt_per_m is -1.0"),
        (lambda: above_cable([0, NAN], [1], FLOOR, [0]), "edges_m is nan"),
        (lambda: above_cable([0, 1], [1], FLOOR, [0], after_s=-1), "after_s is -1"),
        (lambda: above_cable([0, 1], ["x"], FLOOR, [0]), "watt_per_m is ['x']"),
        (lambda: rise_at(LINE, [1, 2], FLOOR, [[0, 0]]), "1 numbers, one a segment"),
        (lambda: rise_at([[0, 0]], [], FLOOR, [[0, 0]]), "two points or more"),
        (lambda: rise_at(LINE, [1], FLOOR, [0, 0]), "pairs of numbers"),
        (lambda: rise_at(LINE, [1], FLOOR, [[0, 0], [90, 90]]), "look at a part of it"),
        (lambda: warm_stretches([0, 1], [1], 1.0), "one for each place"),
        (
            lambda: above_cable([0, 1], [1], floor_of([("tile", 9)], 5, surface_w_per_m2_k=0), [0]),
            "never settles",
        ),
    ],
)
def test_bad_input_is_one_sentence(make, words):
    with pytest.raises(InputError) as raised:
        make()
    said = str(raised.value)
    assert words in said
    assert "\n" not in said
