"""Slips that damage at two places would explain, and numbers that no display says."""

from dataclasses import replace

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.instruments.readings import Reading, measure
from cablesim.instruments.standard import standard_probes
from cablesim.locate import locate
from cablesim.locate.conflict import conflict_of
from cablesim.locate.questions import questions
from cablesim.locate.slips import of_rating
from cablesim.locate.weighing import posterior

CABLE = Cable.rated("twin", 30.0, 88.2)
SHORT = Short(("core1", "braid"), 12.4, 55.0)
THREE = standard_probes(CABLE)[:3]


def readings(faults=(SHORT,), cable=CABLE, probes=THREE, seed=3):
    shown = measure(cable, faults, probes, rng=np.random.default_rng(seed))
    return [Reading(probe, float(value)) for probe, value in zip(probes, shown, strict=True)]


def in_kohm(taken, numbers):
    return [
        replace(r, shown=float(f"{r.shown / 1e3:.12g}")) if k in numbers else r
        for k, r in enumerate(taken)
    ]


def doubted(cable, taken):
    estimate = locate(cable, taken)
    assert not estimate.conflict
    assert estimate.verdict == "undecided"
    assert not estimate.locatable
    assert "only damage at two places explains" in estimate.reason
    return estimate


def test_a_unit_written_wrongly_throughout_is_asked_about():
    """As they stand, two shorts at the cold joint explain them."""
    taken = readings()
    first = doubted(CABLE, in_kohm(taken, (0, 1, 2))).proposals[0]
    assert (first.reading, first.change, first.explains) == (1, "unit", "short")
    assert first.value == pytest.approx(taken[0].shown)
    assert first.told.startswith("readings 1, 2 and 3 would fit as")


def test_a_unit_written_wrongly_twice_is_asked_about():
    asked = locate(CABLE, in_kohm(readings(), (1, 2))).proposals[0]
    assert (asked.reading, asked.change, asked.explains) == (2, "unit", "short")


def test_a_label_with_a_slipped_point_is_asked_about():
    label = of_rating(CABLE, (), 10.0).cable
    asked = doubted(label, readings()).proposals
    (rating,) = [p for p in asked if p.change == "rating"]
    assert (rating.reading, rating.explains) == (None, "short")
    assert rating.value == pytest.approx(88.2)


def test_capacitances_a_tenth_too_small_are_asked_about():
    """As they stand, core1 is cut at the entry and core2 farther on."""
    probes = standard_probes(CABLE)[4:7]
    taken = readings((Break(("core1",), 9.0),), probes=probes)
    wrong = [replace(r, shown=float(f"{r.shown / 10:.3g}")) for r in taken]
    first = locate(CABLE, wrong).proposals[0]
    assert (first.change, first.readings, first.explains) == ("range", (1, 2, 3), "break")


@pytest.mark.parametrize("shown", [0.1, 0.092])
def test_a_healthy_loop_in_kohm_is_asked_about(shown):
    """As it stands, the cores touch at the entry; a display of 0.1 has but one digit."""
    taken = [replace(readings(())[0], shown=shown), *readings(())[1:]]
    estimate = locate(CABLE, taken)
    assert not estimate.locatable
    assert "damage near the cold joint explains" in estimate.reason
    first = estimate.proposals[0]
    assert (first.reading, first.change, first.explains) == (1, "unit", "healthy")


def test_true_damage_at_the_entry_is_believed():
    taken = readings((Short(("core1", "braid"), 0.02, 0.4),))
    assert questions(CABLE, taken, posterior(CABLE, taken)).doubt == ""


def test_no_label_is_asked_about_that_would_not_heat():
    taken = readings((), of_rating(CABLE, (), 0.01).cable)
    asked = questions(CABLE, taken, posterior(CABLE, taken)).proposals
    assert not [proposal for proposal in asked if proposal.change == "rating"]


def test_the_loop_exchanged_with_a_reading_to_the_braid_is_asked_about():
    loop, first, second = readings()
    taken = [replace(loop, shown=first.shown), replace(first, shown=loop.shown), second]
    asked = doubted(CABLE, taken).proposals
    assert any((p.change, p.reading, p.other_reading) == ("leads", 1, 2) for p in asked)


def test_true_damage_at_two_places_is_believed():
    faults = Short(("core1", "core2"), 5.0, 20.0), Short(("core2", "braid"), 21.0, 90.0)
    taken = readings(faults, probes=standard_probes(CABLE)[:4])
    answers = posterior(CABLE, taken)
    assert answers[0].hypothesis.places == 2
    assert questions(CABLE, taken, answers).doubt == ""


def test_a_number_finer_than_the_display_is_asked_about():
    taken = readings()
    finer = [taken[0], taken[1], replace(taken[2], shown=taken[2].shown + 0.0345)]
    (asked,) = locate(CABLE, finer).proposals
    assert (asked.reading, asked.change) == (3, "display")
    assert asked.value == pytest.approx(taken[2].shown)
    assert "finer than the steps of 0.1 ohm" in asked.told


def test_a_number_beyond_the_range_is_asked_about():
    probe = standard_probes(CABLE)[3]
    assert probe.meter.kind == "insulation_tester"
    taken = [*readings(()), Reading(probe, 20_000.0)]
    estimate = locate(CABLE, taken)
    (asked,) = [p for p in estimate.proposals if p.change == "display"]
    assert asked.reading == 4
    assert asked.value == probe.meter.over_range_from(probe.setting)
    assert "20 Gohm" in asked.told


def test_no_capacitance_at_all_is_asked_about():
    probe = standard_probes(CABLE)[4]
    assert probe.meter.kind == "capacitance_meter"
    (asked,) = locate(CABLE, [Reading(probe, 0.0)]).proposals
    assert (asked.reading, asked.change) == (1, "leads")
    assert "did both leads touch" in asked.told


def test_insulation_too_good_for_the_rest_is_no_unsafe_cable():
    good = [*readings(), Reading(standard_probes(CABLE)[3], 1000.0)]
    assert "a lead which did not touch" in conflict_of(CABLE, good, posterior(CABLE, good))


def test_one_reading_does_not_contradict_others():
    probe = standard_probes(CABLE)[3]
    conflict = locate(CABLE, [Reading(probe, 2e9)]).conflict
    assert conflict.startswith("no single fault and no usual double damage explains reading 1 (")


def test_two_readings_below_the_leads_hold_no_place():
    """One may fall short of a short at the entry by its counts; two were hardly of a cable."""
    loop, first, second = readings((Short(("core1", "braid"), 0.0, 0.0),))
    once = [loop, replace(first, shown=0.0), second]
    answers = posterior(CABLE, once)
    put = questions(CABLE, once, answers)
    assert put.doubt == ""
    assert "were the tips held together?" in put.proposals[0].told
    taken = [replace(reading, shown=0.0) for reading in once]
    estimate = locate(CABLE, taken)
    assert (estimate.verdict, estimate.locatable) == ("undecided", False)
    assert "less than the leads themselves" in estimate.reason
    (asked,) = estimate.proposals
    assert asked.readings == (1, 2, 3)
    assert asked.told.startswith("readings 1, 2 and 3 say less than the leads themselves")
    assert estimate.next_reading is None
