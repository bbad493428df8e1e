"""Answers held against the truth."""

import pytest
from report.answers import BREAK, SHORT, answer, double_damage, fault, healthy, spots

from cablesim import Break, Degraded, Joint, Short
from cablesim.report.marking import mark

SHORTED = Short(("core1", "braid"), 12.4, 55.0)


def marked(*truth, places=None, kind=SHORT, **changes):
    places = spots(12.4) if places is None else places
    return mark(answer(places, kind, **changes).estimate, truth)


def test_without_truth_there_is_no_mark():
    assert marked() is None


def test_a_good_answer():
    found = marked(SHORTED)
    assert (found.true_verdict, found.right, found.true_position_m) == ("short", True, 12.4)
    assert found.error_m == pytest.approx(0.0, abs=0.05)
    assert found.inside_interval


def test_the_sign_of_the_error_is_answer_less_truth():
    assert marked(Short(("core1", "braid"), 12.0, 55.0)).error_m == pytest.approx(0.4, abs=0.05)


def test_a_place_outside_every_interval():
    assert not marked(Short(("core1", "braid"), 11.0, 55.0)).inside_interval


def test_any_of_several_intervals_may_hold_the_truth():
    for place in (3.0, 22.0):
        assert marked(
            Short(("core1", "braid"), place, 1.0), places=spots(3.0, 22.0)
        ).inside_interval


def test_an_end_of_the_cable_counts_as_inside_although_intervals_end_a_hair_before_it():
    places = 30.0 - 1e-4 - abs(spots(0.0))
    assert marked(Short(("core1", "braid"), 30.0, 55.0), places=places).inside_interval


def test_a_stretch_is_met_where_the_interval_touches_it():
    leak = Degraded(("core1", "braid"), 12.3, 20.0, 1e6)
    found = marked(leak, verdict="degraded")
    assert found.inside_interval
    assert found.true_position_m == pytest.approx(16.15)
    assert found.right


def test_the_order_of_two_conductors_does_not_matter():
    assert marked(Short(("braid", "core1"), 12.4, 55.0)).right


def test_the_right_kind_on_the_wrong_conductors_is_wrong():
    found = marked(Short(("core2", "braid"), 12.4, 55.0))
    assert (found.true_verdict, found.right) == ("short", False)


@pytest.mark.parametrize(
    ("truth", "verdict"),
    [
        (SHORTED, "short"),
        (Short(("core1", "braid"), 12.4, 1e6), "degraded"),
        (Degraded.at(("core1", "braid"), 12.4, 1e6), "degraded"),
        (Degraded.at(("core1", "braid"), 12.4, 1e3), "short"),
        (Break(("core1",), 12.4), "break"),
        (Break(("core1",), 12.4, 20.0), "joint"),
        (Joint("core1", 12.4, 20.0), "joint"),
    ],
)
def test_the_verdict_that_a_fault_deserves(truth, verdict):
    assert marked(truth).true_verdict == verdict


def test_double_damage():
    found = double_damage().marked
    assert (found.true_verdict, found.right) == ("several", True)
    assert found.places_m == (11.2,)


def test_of_two_places_the_nearer_one_is_marked():
    far = Short(("core2", "braid"), 29.0, 1.0)
    assert marked(far, SHORTED).true_position_m == 12.4


def test_a_place_is_held_against_damage_of_the_same_conductors():
    other = Short(("core2", "braid"), 12.5, 1.0)
    same = Short(("core1", "braid"), 25.0, 1.0)
    assert marked(other, same).true_position_m == 25.0


def test_an_answer_without_a_place_has_no_error():
    found = mark(healthy().estimate, (SHORTED,))
    assert (found.right, found.error_m, found.inside_interval) == (False, None, None)
    assert "faults" not in found.to_dict()


def test_a_break_is_not_confused_with_a_short_of_the_same_conductors():
    found = marked(Break(("core1", "braid"), 12.4), kind=SHORT)
    assert not found.right
    assert marked(Break(("core1",), 12.4), kind=BREAK, faults=(fault(spots(12.4), BREAK),)).right
