"""A few slips in every run; the full check is run by hand (see `slips`)."""

import pytest
from validation.slips import judged


@pytest.mark.parametrize(("slip", "seed"), [("leads", 2030), ("unit", 2029)])
def test_a_slip_that_is_no_damage_at_one_place_is_asked_about(slip, seed):
    tally = judged(slip, 1, seed)
    assert tally.conflicts + tally.doubles == 1
    assert tally.recognised == 1


def test_damage_at_two_places_is_believed():
    tally = judged("none", 1, 2029)
    assert tally.conflicts == 0
    assert tally.doubles == 1
    assert tally.doubted == 0
