"""Routes: there and back, parts, runs and neighbours."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.errors import InputError
from cablesim.site.route import Route
from cablesim.site.runs import neighbours_of, run_graph, runs_of

# Three runs of 2 m, 0.1 m apart, joined by square ends.
COMB = Route(((0, 0), (2, 0), (2, 0.1), (0, 0.1), (0, 0.2), (2, 0.2)))


@st.composite
def combs(draw):
    """A surveyed serpentine: runs of different lengths, some bends with a corner more, turned."""
    spacing = draw(st.floats(0.03, 0.3))
    ends = draw(st.lists(st.floats(0.5, 4.0), min_size=1, max_size=8))
    points = [(0.0, 0.0)]
    for number, end in enumerate(ends):
        y = number * spacing
        points += [(end, y), (end, y + spacing)] if number % 2 == 0 else [(0.0, y)]
        if number % 2:
            points.append((0.0, y + spacing))
    angle = draw(st.floats(0, 2 * np.pi))
    turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
    shift = draw(st.floats(-50, 50))
    unique = list(dict.fromkeys(points))
    return Route(tuple(map(tuple, np.array(unique) @ turn + shift)))


@given(combs(), st.floats(0, 1))
def test_a_place_comes_back_from_its_point(route, share):
    along = share * route.length_m
    back, off = route.nearest(route.at(along))
    assert back == pytest.approx(along, abs=1e-9)
    assert off < 1e-9


@given(combs(), st.floats(0, 1), st.floats(0, 1))
def test_a_part_is_as_long_as_it_says_and_lies_on_the_way(route, one, other):
    low, high = sorted((one * route.length_m, other * route.length_m))
    part = route.stretch(low, high)
    assert np.sum(np.hypot(*np.diff(part, axis=0).T)) == pytest.approx(high - low, abs=1e-9)
    assert all(route.nearest(point)[1] < 1e-9 for point in part)


@given(combs(), st.floats(-1, 5), st.floats(-1, 5))
def test_nothing_is_nearer_than_the_nearest(route, x, y):
    along, off = route.nearest((x, y))
    everywhere = route.at(np.linspace(0, route.length_m, 500))
    assert off <= np.hypot(*(everywhere - (x, y)).T).min() + 1e-9
    assert np.hypot(*(route.at(along) - (x, y))) == pytest.approx(off, abs=1e-9)


@pytest.mark.parametrize(
    ("points", "why"),
    [
        (((0, 0),), "number of points of route_m is 1"),
        (((0, 0), (0, 0), (1, 0)), "twice in a row"),
        (((0, 0), (2, 0), (2, 1), (1, 1), (1, -1)), "crosses or touches itself"),
        (((0, 0), (2, 0), (1, 0)), "crosses or touches itself"),
        (((0, 0), (2, 0), (2, 1), (0, 0)), "crosses or touches itself"),
        (((0, 0), (float("inf"), 0)), "point 2 is"),
    ],
)
def test_what_no_cable_can_follow_is_refused(points, why):
    with pytest.raises(InputError, match=why):
        Route(points)


@pytest.mark.parametrize("place", [-0.01, 6.3, float("nan")])
def test_places_off_the_route_are_refused(place):
    with pytest.raises(InputError, match=r"from 0 to 6\.2 m"):
        COMB.at(place)
    with pytest.raises(InputError):
        COMB.at(np.array([0.0, place]))


@pytest.mark.parametrize("point", [(1,), (1, 2, 3), (float("nan"), 0)])
def test_what_is_no_point_is_refused(point):
    with pytest.raises(InputError, match="two numbers"):
        COMB.nearest(point)


def test_runs_are_numbered_and_leave_nothing_out():
    runs = runs_of(COMB)
    assert [run.number for run in runs] == [1, 2, 3]
    assert runs[0].from_m == 0.0
    assert runs[-1].to_m == COMB.length_m
    assert all(a.to_m == b.from_m for a, b in pairwise(runs))
    assert runs[1].straight_m == pytest.approx((2.1, 4.1))


def test_a_way_without_a_straight_part_is_one_run():
    angles = np.linspace(0, 3, 100)
    circle = Route(tuple(map(tuple, 0.2 * np.stack([np.cos(angles), np.sin(angles)], axis=1))))
    assert len(runs_of(circle)) == 1


def test_runs_within_reach_are_joined_in_the_graph():
    near = run_graph(COMB, 0.05)
    assert set(near.edges) == {(1, 2), (2, 3)}
    far = run_graph(COMB, 0.25)
    assert set(far.edges) == {(1, 2), (1, 3), (2, 3)}
    assert far.edges[1, 3]["distance_m"] == pytest.approx(0.2)
    assert far.edges[1, 2]["distance_m"] == pytest.approx(0.1)


def test_neighbours_are_the_other_runs_beside_the_work():
    (below, above) = neighbours_of(COMB, 3.0, 3.2, 0.12)
    assert (below.run, above.run) == (1, 3)
    assert below.distance_m == pytest.approx(0.1)
    # The work lies at x = 1.1 to 0.9, the tool reaches sqrt(0.12^2 - 0.1^2) farther.
    assert (below.from_m, below.to_m) == pytest.approx((0.9 - 0.0663, 1.1 + 0.0663), abs=1e-3)
    assert neighbours_of(COMB, 3.0, 3.2, 0.09) == ()


def test_what_follows_on_the_cable_is_no_neighbour():
    line = Route(((0.0, 0.0), (5.0, 0.0)))
    assert neighbours_of(line, 2.0, 2.5, 0.2) == ()
