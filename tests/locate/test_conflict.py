"""Readings that conflict: a slip made on purpose is asked about, and none is asked for in vain."""

from dataclasses import replace

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.instruments.meters import LoopBridge, Setting
from cablesim.instruments.readings import Probe, Reading, measure
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup
from cablesim.locate import locate
from cablesim.locate.conflict import conflict_of
from cablesim.locate.prior import hypotheses
from cablesim.locate.questions import MOST_PROPOSALS, proposals_for, questions
from cablesim.locate.slips import of_rating, of_readings
from cablesim.locate.weighing import posterior

CABLE = Cable.rated("twin", 30.0, 88.2, capacitance_tolerance_percent=(-10.0, 10.0))
SHORT = Short(("core1", "braid"), 12.4, 55.0)


def readings(faults=(SHORT,), cable=CABLE, probes=None, seed=3):
    probes = standard_probes(cable)[:4] if probes is None else probes
    shown = measure(cable, faults, probes, rng=np.random.default_rng(seed))
    return [Reading(probe, float(value)) for probe, value in zip(probes, shown, strict=True)]


def of_kind(kind):
    return [h for h in hypotheses(CABLE) if h.verdict == kind]


def changed(taken, number, **changes):
    return [replace(r, **changes) if k == number else r for k, r in enumerate(taken)]


def test_a_wrong_unit_is_asked_about():
    taken = readings()
    wrong = changed(taken, 2, shown=taken[2].shown * 1000)
    estimate = locate(CABLE, wrong)
    assert "reading 3" in estimate.conflict
    first = estimate.proposals[0]
    assert (first.reading, first.change, first.unit) == (3, "unit", "ohm")
    assert first.value == pytest.approx(taken[2].shown)
    assert first.explains == "short"
    assert "ohm: was the unit read wrongly?" in first.told
    assert estimate.to_dict()["proposals"][0]["change"] == "unit"
    assert estimate.to_dict()["conflict"] == estimate.conflict


@pytest.mark.parametrize("megohm", [1e9, 1e10])
def test_an_absurd_reading_conflicts(megohm):
    """So far off that the window beside the best fit is lost in rounding."""
    wrong = changed(readings(), 3, shown=megohm)
    assert "reading 4" in conflict_of(CABLE, wrong, posterior(CABLE, wrong))


def test_a_slipped_decimal_point_is_asked_about():
    taken = readings()
    wrong = changed(taken, 1, shown=float(f"{taken[1].shown * 10:.6g}"))
    assert any(
        p.change == "range" and p.reading == 2
        for p in proposals_for(CABLE, wrong, of_kind("short"))
    )


def test_exchanged_leads_are_asked_about():
    bridge = Probe(
        LoopBridge(name="bridge"),
        Hookup.of(CABLE, ("core2", "core1", "braid")),
        Setting(method="murray"),
    )
    taken = readings(probes=[*standard_probes(CABLE)[:3], bridge])
    wrong = changed(changed(taken, 1, shown=taken[2].shown), 2, shown=taken[1].shown)
    found = proposals_for(CABLE, wrong, of_kind("short"))
    assert any((p.change, p.reading, p.other_reading) == ("leads", 2, 3) for p in found)
    # The bridge alone the wrong way round explains them as well: both questions are put.
    assert any((p.change, p.reading, p.other_reading) == ("leads", 4, None) for p in found)


def test_another_rating_is_asked_about():
    label = of_rating(CABLE, (), 1 / 1.6).cable
    taken = readings()
    assert posterior(label, taken)[0].probability == 0
    ratings = [p for p in proposals_for(label, taken, of_kind("short")) if p.change == "rating"]
    assert ratings
    assert ratings[0].reading is None
    assert ratings[0].value == pytest.approx(88.2, rel=0.12)


def test_another_length_is_asked_about():
    wrong = replace(CABLE, heated_length_m=20.0, **CABLE.core_fields(1.5))
    taken = readings((Break(("core1",), 12.4),), probes=standard_probes(CABLE))
    assert posterior(wrong, taken)[0].probability == 0
    lengths = [p for p in proposals_for(wrong, taken, of_kind("break")) if p.change == "length"]
    assert lengths
    assert lengths[0].value == pytest.approx(30.0, rel=0.12)
    assert lengths[0].unit == "m"


def test_every_proposal_explains_the_readings():
    taken = readings()
    wrong = changed(taken, 2, shown=taken[2].shown * 1000)
    found = proposals_for(CABLE, wrong)
    assert 1 <= len(found) <= MOST_PROPOSALS
    for proposal in found:
        if proposal.change == "unit":
            mended = changed(wrong, proposal.reading - 1, shown=proposal.value)
            answers = posterior(CABLE, mended)
            assert answers[0].probability > 0
            assert answers[0].hypothesis.verdict == proposal.explains


def test_readings_that_fit_bring_no_proposal():
    estimate = locate(CABLE, readings())
    assert estimate.conflict == ""
    assert estimate.proposals == ()
    assert estimate.to_dict()["proposals"] == []


@pytest.mark.parametrize("factor", [0.2, 3.0])
def test_damage_that_would_be_none_with_another_label_is_asked_about(factor):
    """Another cable's label looks like cores that touch, or a bad joint."""
    other = of_rating(CABLE, (), factor).cable
    # Damage at two places, which takes most of the time, explains neither better.
    table = [h for h in hypotheses(CABLE) if h.places < 2]
    estimate = locate(CABLE, readings((), other), table=table)
    assert not estimate.conflict
    assert estimate.verdict != "healthy"
    (asked,) = estimate.proposals
    assert (asked.change, asked.explains, asked.reading) == ("rating", "healthy", None)
    assert asked.value == pytest.approx(88.2 * factor, rel=0.1)
    assert "would fit an undamaged cable rated about" in asked.told


@pytest.mark.parametrize("faults", [(), (SHORT,), (Break(("core1",), 9.0),)])
def test_no_label_is_doubted_where_the_loop_reads_as_rated_or_not_at_all(faults):
    taken = readings(faults)
    assert not questions(CABLE, taken, posterior(CABLE, taken)).proposals


def test_slips_change_one_thing_each():
    taken = readings()
    for slip in of_readings(CABLE, taken):
        pairs = zip(slip.readings, taken, strict=True)
        differ = tuple(k for k, (new, old) in enumerate(pairs) if new != old)
        assert differ == slip.numbers
        assert slip.told.format(*slip.numbers)
        assert slip.cable == CABLE


def test_the_reading_named_is_the_one_asked_about():
    """Any of the three may be left out, and the rest makes sense."""
    taken = readings(probes=standard_probes(CABLE)[:3])
    wrong = changed(taken, 2, shown=taken[2].shown / 1000)
    answers = posterior(CABLE, wrong)
    for number in (1, 2):
        said = conflict_of(CABLE, wrong, answers, suspects=[number])
        assert f"fits least is reading {number + 1} (" in said
    estimate = locate(CABLE, wrong)
    assert estimate.proposals[0].reading == 3
    assert "fits least is reading 3 (" in estimate.conflict


def test_what_is_established_may_be_what_is_wrong():
    conflict = locate(CABLE, readings(), established=iter(["break"])).conflict
    assert conflict.startswith("of what is established (break) nothing explains these readings")
    assert "whether that is established" in conflict


def test_only_good_insulation_is_called_good():
    probe = standard_probes(CABLE)[3]
    for megohm, called in ((0.5, False), (1000.0, True)):
        taken = [*readings(probes=standard_probes(CABLE)[:3]), Reading(probe, megohm)]
        table = [h for h in hypotheses(CABLE) if h.places < 2]
        said = conflict_of(CABLE, taken, posterior(CABLE, taken, table=table))
        assert ("insulation this good" in said) is called
