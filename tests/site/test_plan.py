"""Plans: positions and points, what a survey may be off, neighbours, suspicious spots."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from site_strategies import cases

from cablesim.errors import InputError
from cablesim.site.plan import plan_of
from cablesim.site.room import Room
from cablesim.site.survey import FloorLayer, Rule, Survey, Suspect

ROOM = Room(((0.0, 0.0), (3.0, 0.0), (3.0, 2.4), (0.0, 2.4)))
LAID = plan_of(Survey(room=ROOM, rule=Rule(0.1, 0.05, (0.0, 0.0))), 40.0)


@settings(max_examples=15)
@given(cases(), st.lists(st.floats(0, 1), min_size=1, max_size=20))
def test_a_position_comes_back_from_the_plan(case, shares):
    room, rule, length_m = case
    try:
        plan = plan_of(Survey(room=room, rule=rule), length_m)
    except InputError:
        return
    positions = np.array(shares) * length_m
    back = [plan.position_of(point) for point in plan.at(positions)]
    assert np.abs(back - positions).max() < 1e-9


def test_a_survey_a_little_off_is_stretched_over_the_cable():
    survey = Survey(route_m=((0.0, 0.0), (10.0, 0.0)))
    plan = plan_of(survey, 10.5)
    assert plan.at(10.5).tolist() == [10.0, 0.0]
    assert plan.at(5.25).tolist() == [5.0, 0.0]
    assert plan.position_of((5.0, 0.3)) == pytest.approx(5.25)
    assert plan.nearest((5.0, 0.3))[1] == pytest.approx(0.3)


def test_a_survey_far_off_is_refused():
    survey = Survey(route_m=((0.0, 0.0), (10.0, 0.0)))
    for length_m in (12.0, 8.0):
        with pytest.raises(InputError, match=r"length of route_m is 10\.0.*within 15 %"):
            plan_of(survey, length_m)


@pytest.mark.parametrize("position", [-0.1, 40.1, float("nan")])
def test_places_off_the_heated_part_are_refused(position):
    with pytest.raises(InputError, match=r"position_m.*at least 0 and at most 40"):
        LAID.at(position)


def test_a_route_through_the_wall_is_refused():
    survey = Survey(room=ROOM, route_m=((1.0, 1.0), (4.0, 1.0)))
    with pytest.raises(InputError, match=r"route_m: point 2 is \[4\.0, 1\.0\].*inside outline_m"):
        plan_of(survey, 3.0)
    notched = Room(((0, 0), (3, 0), (3, 2), (2, 2), (2, 1), (1, 1), (1, 2), (0, 2)))
    with pytest.raises(InputError, match=r"route_m leaves outline_m between points 1 and 2"):
        plan_of(Survey(room=notched, route_m=((0.5, 1.5), (2.5, 1.5))), 2.0)


def test_a_floor_that_says_nothing_of_the_cable_has_no_plan():
    with pytest.raises(InputError, match="does not say where the cable lies"):
        plan_of(Survey(room=ROOM), 40.0)


def test_runs_and_neighbours_are_positions_on_the_cable():
    survey = Survey(route_m=((0, 0), (2, 0), (2, 0.1), (0, 0.1)))
    plan = plan_of(survey, 4.1 * 1.1)
    assert plan.runs[-1].to_m == pytest.approx(4.1 * 1.1)
    assert plan.run_at(1.0).number == 1
    assert plan.run_at(4.0).number == 2
    (other,) = plan.neighbours(1.0 * 1.1, 1.2 * 1.1)
    assert other.run == 2
    assert plan.at(other.from_m)[1] == pytest.approx(0.1)


def test_suspicious_spots_weigh_what_lies_under_them():
    spots = (Suspect((1.5, 1.2), 0.3, "screw"), Suspect((9.0, 9.0), 0.2, "elsewhere"))
    plan = plan_of(Survey(room=ROOM, rule=Rule(0.1, 0.05, (0.0, 0.0)), suspects=spots), 40.0)
    weights = plan.suspect_weights()
    assert sum(weight for _, weight in weights) == pytest.approx(1.0)
    at = plan.at(np.array([position for position, _ in weights]))
    assert np.hypot(*(at - (1.5, 1.2)).T).max() <= 0.3
    heaviest = max(weights, key=lambda pair: pair[1])[0]
    assert np.hypot(*(plan.at(heaviest) - (1.5, 1.2))) < 0.1
    assert LAID.suspect_weights() == ()


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: Survey(rule=Rule(0.1, 0.05, (0, 0))), "run needs outline_m"),
        (
            lambda: Survey(room=ROOM, rule=Rule(0.1, 0.05, (0, 0)), route_m=((0, 0), (1, 0))),
            "route_m and run are both given",
        ),
        (lambda: Survey(tile_m=(0.3, 0.0)), "tile_m is 0"),
        (lambda: Survey(tile_m=(300, 300)), "tile_m is 300.*in metres"),
        (lambda: FloorLayer("tile", 0.0), "thickness_mm is 0"),
        (lambda: Suspect((0, 0), -1.0), r"radius_m is -1"),
        (lambda: LAID.neighbours(1.0, 2.0, 0.0), "reach_m is 0"),
    ],
)
def test_what_cannot_be_is_refused(make, why):
    with pytest.raises(InputError, match=why):
        make()
