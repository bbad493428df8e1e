"""A few slips in every run; the full check is run by hand (see `slips`)."""

import pytest
from validation.slips import judged


@pytest.mark.parametrize("slip", ["leads", "unit"])
def test_a_slip_that_is_no_damage_at_one_place_is_asked_about(slip):
    tally = judged(slip, 1, 2026)
    assert tally.conflicts + tally.doubles == 1
    assert tally.recognised == 1


def test_damage_at_two_places_is_believed():
    tally = judged("none", 1, 2026)
    assert tally.conflicts == 0
    assert tally.doubles == 1
    assert tally.doubted == 0
