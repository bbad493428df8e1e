"""Rooms: what they hold, what they free, and which are refused."""

import pytest

from cablesim.errors import InputError
from cablesim.site.room import Room

SQUARE = ((0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (0.0, 2.0))


def test_areas_with_overlapping_furniture_are_not_counted_twice():
    box = ((0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0))
    beyond = ((0.5, 0.0), (1.5, 0.0), (1.5, -1.0), (0.5, -1.0))
    room = Room(SQUARE, (box, box, beyond))
    assert room.area_m2 == pytest.approx(4.0)
    assert room.free_area_m2 == pytest.approx(3.0)


def test_a_margin_is_kept_from_walls_and_furniture():
    room = Room(SQUARE, (((0.0, 0.0), (1.0, 0.0), (1.0, 2.0), (0.0, 2.0)),))
    free = room.free(0.1)
    assert free.bounds == pytest.approx((1.1, 0.1, 1.9, 1.9), abs=1e-8)
    assert room.free(5.0).is_empty


def test_a_closing_corner_given_twice_is_one():
    assert Room((*SQUARE, SQUARE[0])) == Room(SQUARE)


@pytest.mark.parametrize(
    ("outline", "why"),
    [
        (SQUARE[:2], "number of points of outline_m is 2"),
        (((0, 0), (2, 2), (2, 0), (0, 2)), "crosses or touches itself"),
        (((0, 0), (1, 0), (2, 0)), "crosses or touches itself|encloses no area"),
        (((0, 0), (1, 0), ("a", 0)), "point 3 is"),
        (((0, 0), (1, 0), (float("nan"), 0)), "point 3 is"),
        (((0, 0), (3000, 0), (3000, 2000)), "divided by 1000"),
        (((0, 0), (1, 0), (1, 1, 1)), "point 3 is"),
    ],
)
def test_what_is_no_room_is_refused(outline, why):
    with pytest.raises(InputError, match=why):
        Room(outline)
    with pytest.raises(InputError, match=r"keep_out_m\[1\]"):
        Room(SQUARE, (outline,))
