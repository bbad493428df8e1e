"""Heat at points of the cable: the same surface as two other ways to it, and bad input."""

import math

import numpy as np
import pytest

from cablesim.errors import InputError
from cablesim.site.heat import hot_spot
from cablesim.site.layers import floor_of, usual_floor
from cablesim.site.point_heat import above_spots
from cablesim.site.warm_floor import above_cable, rise_at

FLOOR = usual_floor()
NAN = float("nan")


def test_a_spot_left_on_is_one_long_burst():
    seen = hot_spot(FLOOR, [(0.0, 600.0, 3.0)])
    rise = above_spots(seen.radii_m[:, np.newaxis], [3.0], FLOOR, after_s=600.0)
    profile = seen.profiles(np.array([600.0]))[0]
    np.testing.assert_allclose(rise[:-1], profile[:-1], rtol=1e-9)


@pytest.mark.parametrize("after_s", [1800.0, math.inf])
def test_a_spot_is_a_cable_of_next_to_no_length(after_s):
    away_m, half_m = np.array([0.0, 0.02, 0.06]), 0.0005
    rise = above_spots(away_m[:, np.newaxis], [2.0], FLOOR, after_s=after_s)
    edges = [-half_m, half_m]
    along = above_cable(edges, [2.0 / (2 * half_m)], FLOOR, away_m, after_s=after_s)
    # A piece of 1 mm blurs the top of a patch some 30 mm wide by less than one in a thousand.
    np.testing.assert_allclose(along, rise, rtol=1e-3)
    route = [[-half_m, 0.0], [half_m, 0.0]]
    places = np.stack([np.zeros(3), away_m], axis=1)
    image = rise_at(route, [2.0 / (2 * half_m)], FLOOR, places, after_s)
    # The lattice is a third of the depth; a single point of heat is its hardest case.
    np.testing.assert_allclose(image, rise, rtol=0.03)


def test_spots_add_up_and_none_does_nothing():
    away_m = np.array([[0.0, 0.1], [0.1, 0.0], [0.03, 0.04]])
    both = above_spots(away_m, [5.0, 2.0], FLOOR, after_s=900.0)
    each = [above_spots(away_m[:, [k]], [w], FLOOR, after_s=900.0) for k, w in ((0, 5.0), (1, 2.0))]
    np.testing.assert_allclose(both, sum(each), rtol=1e-12)
    assert above_spots(np.zeros((3, 0)), [], FLOOR).tolist() == [0.0, 0.0, 0.0]


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: above_spots([[0.0]], [1.0, 2.0], FLOOR), "one distance for each spot"),
        (lambda: above_spots(0.0, [1.0], FLOOR), "one distance for each spot"),
        (lambda: above_spots([["x"]], [1.0], FLOOR), "arrays of numbers"),
        (lambda: above_spots([[-1.0]], [1.0], FLOOR), "away_m is -1.0"),
        (lambda: above_spots([[0.0]], [NAN], FLOOR), "watt is nan"),
        (lambda: above_spots([[0.0]], [-1.0], FLOOR), "watt is -1.0"),
        (lambda: above_spots([[0.0]], [1.0], FLOOR, after_s=0.0), "after_s is 0"),
        (
            lambda: above_spots([[0.0]], [1.0], floor_of([("tile", 9)], 5, surface_w_per_m2_k=0)),
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
