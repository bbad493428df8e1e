"""Laying by rule: what was asked is what lies there, or one sentence says why not."""

import numpy as np
import pytest
from hypothesis import given, settings
from site_strategies import cases
from validation.rooms import measure, run

from cablesim.errors import InputError
from cablesim.site.laying import laid_route
from cablesim.site.plan import plan_of
from cablesim.site.room import Room
from cablesim.site.survey import Rule, Survey

ROOM = Room(((0.0, 0.0), (3.0, 0.0), (3.0, 2.4), (0.0, 2.4)))
RULE = Rule(0.1, 0.05, (0.0, 0.0))


@settings(max_examples=15)
@given(cases())
def test_a_laid_cable_is_what_was_asked(case):
    room, rule, length_m = case
    try:
        plan = plan_of(Survey(room=room, rule=rule), length_m)
    except InputError as error:
        assert "\n" not in str(error)
        return
    found = measure(plan, room, rule, np.random.default_rng(1))
    assert max(vars(found).values()) < 2e-9, found


def test_random_rooms_of_the_full_check():
    tally = run(6, 7)
    assert tally.laid >= 5
    assert max(tally.worst.values()) < 2e-9


def test_measuring_would_notice():
    plan = plan_of(Survey(room=ROOM, rule=RULE), 40.0)
    nothing = np.random.default_rng(1)
    asked = Rule(0.12, 0.08, (0.0, 0.0))
    found = measure(plan, ROOM, asked, nothing)
    assert found.spacing_short_m == pytest.approx(0.02)
    assert found.outside_m == pytest.approx(0.03, abs=1e-6)
    box = ((1.0, 1.0), (2.0, 1.0), (2.0, 2.0), (1.0, 2.0))
    assert measure(plan, Room(ROOM.outline_m, (box,)), RULE, nothing).in_keep_out_m > 0


def test_bends_have_the_radius_asked():
    for radius in (0.02, 0.05):
        route = laid_route(ROOM, Rule(0.1, 0.05, (0.0, 0.0), radius), 40.0)
        xy = route.xy_m
        before, after = np.diff(xy, axis=0)[:-1], np.diff(xy, axis=0)[1:]
        turn = np.abs(
            np.arctan2(
                before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0],
                np.sum(before * after, axis=1),
            )
        )
        # No sharp corner: each turn of the chords is five degrees, over a chord of that radius.
        assert np.degrees(turn.max()) < 5.01
        chord = np.hypot(*before.T)[turn > np.radians(4)].min()
        assert chord / (2 * np.sin(np.radians(2.5))) == pytest.approx(radius, rel=1e-3)


def test_the_cold_joint_lies_where_it_was_asked():
    for start in ((0.0, 0.0), (3.0, 2.4), (1.5, 0.0), (3.0, 1.3)):
        route = laid_route(ROOM, Rule(0.1, 0.05, start), 40.0)
        assert np.hypot(*(route.at(0.0) - start)) < 0.15


def test_furniture_in_the_middle_is_gone_round():
    box = ((1.2, 1.0), (1.8, 1.0), (1.8, 1.5), (1.2, 1.5))
    route = laid_route(Room(ROOM.outline_m, (box,)), RULE, 55.0)
    for place in ((0.5, 1.2), (2.5, 1.2), (1.5, 0.3), (1.5, 2.0)):
        assert route.nearest(place)[1] < 0.1, "a side of it stays cold"


def test_what_fits_is_told_and_fits():
    with pytest.raises(InputError, match=r"heated_length_m is 200\.0.*at most") as caught:
        laid_route(ROOM, RULE, 200.0)
    most_m = float(caught.value.allowed.split()[2])
    assert laid_route(ROOM, RULE, most_m).length_m == pytest.approx(most_m, abs=1e-9)
    with pytest.raises(InputError):
        laid_route(ROOM, RULE, most_m + 0.11)
    with pytest.raises(InputError, match=r"heated_length_m is 2\.0.*at least") as caught:
        laid_route(ROOM, RULE, 2.0)
    least_m = float(caught.value.allowed.split()[2])
    assert laid_route(ROOM, RULE, least_m).length_m == pytest.approx(least_m, abs=1e-9)


def test_most_of_a_bare_room_can_be_heated():
    with pytest.raises(InputError) as caught:
        laid_route(ROOM, RULE, 200.0)
    most_m = float(caught.value.allowed.split()[2])
    assert most_m > 0.95 * 2.9 * 2.3 / 0.1


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: Rule(0.02, 0.05, (0, 0)), r"run\.spacing_m is 0\.02.*at least 0\.025"),
        (lambda: Rule(float("nan"), 0.05, (0, 0)), r"run\.spacing_m is nan"),
        (lambda: Rule(0.1, -0.05, (0, 0)), r"run\.margin_m is -0\.05"),
        (lambda: Rule(0.1, 0.05, (0, 0), 0.06), r"run\.spacing_m is 0\.1.*twice bend_radius_m"),
        (lambda: Rule(0.1, 0.05, (0,)), r"run\.start_m: point 1"),
        (
            lambda: laid_route(ROOM, Rule(0.1, 0.05, (9, 0)), 40.0),
            r"run\.start_m is \[9\.0, 0\.0\]",
        ),
        (lambda: laid_route(ROOM, Rule(0.1, 1.19, (0, 0)), 40.0), "no place for two runs"),
        (lambda: laid_route(ROOM, Rule(0.1, 5.0, (0, 0)), 40.0), "no place for two runs"),
        (
            lambda: laid_route(
                Room(((0, 0), (90, 0), (90, 90), (0, 90))), Rule(0.05, 0.05, (0, 0)), 40.0
            ),
            "too large to be laid by rule",
        ),
    ],
)
def test_what_cannot_be_is_one_sentence(make, why):
    with pytest.raises(InputError, match=why) as caught:
        make()
    assert "\n" not in str(caught.value)
