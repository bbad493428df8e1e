"""What a repair does to the readings, and readings held against the limits of acceptance."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Joint
from cablesim.errors import InputError
from cablesim.instruments.meters import InsulationTester, Ohmmeter
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.instruments.standard import standard_probes
from cablesim.line.mended import Section, mended_network
from cablesim.line.several import Installation
from cablesim.line.terminals import Hookup
from cablesim.site.acceptance import (
    Limit,
    judged,
    judged_exact,
    limit_of,
    may_have_seen,
    overall,
)
from cablesim.site.repair import (
    SPLICE_M,
    Mend,
    heated_m_left,
    mends_for,
    predict_mended,
    sections_of,
)

TWIN = Cable.rated("twin", 30.0, 88.2)
LOOP, CORE1, CORE2, INSULATION = standard_probes(TWIN)[:4]
constructions = st.sampled_from(["twin", "single", "parallel"])
places = st.floats(-2.5, 30.0)
ohms = st.floats(1e-4, 10.0)


def cable_of(name):
    return Cable.rated(name, 30.0, 88.2, cold_lead_m=2.5, insulation_gigaohm_m=0.5)


@given(constructions, st.lists(places, min_size=0, max_size=3, unique=True))
def test_a_mend_without_loss_is_the_healthy_cable(name, at):
    cable = cable_of(name)
    probes = standard_probes(cable)
    mended = predict_mended(cable, [Mend(place, joint_ohm=0.0) for place in at], probes)
    assert mended == pytest.approx(predict(cable, (), probes), rel=1e-9)


@given(constructions, places, ohms)
def test_a_splice_reads_as_a_bad_joint_in_every_conductor(name, at, ohm):
    cable = cable_of(name)
    probes = standard_probes(cable)
    joints = tuple(Joint(conductor, at, ohm) for conductor in cable.conductors)
    mended = predict_mended(cable, [Mend(at, joint_ohm=ohm)], probes)
    assert mended == pytest.approx(predict(cable, joints, probes), rel=1e-9)


@given(st.floats(0.0, 30.0), st.floats(0.0, 10.0))
def test_what_is_cut_out_lowers_the_loop_by_its_share(at, removed):
    cable = replace(TWIN, insulation_gigaohm_m=np.inf)
    assume(removed / 2 <= at <= 30.0 - removed / 2)
    (ohm,) = predict_mended(cable, [Mend(at, 0.0, removed)], [LOOP])
    (whole,) = predict(cable, (), [LOOP])
    assert ohm == pytest.approx(whole - 88.2 * removed / 30.0, rel=1e-9)


def test_what_is_cut_out_and_put_in_counts_by_its_own_values():
    cable = replace(TWIN, insulation_gigaohm_m=np.inf)
    (whole,) = predict(cable, (), [LOOP])
    (ohm,) = predict_mended(cable, [Mend(12.0, 0.01, 0.5, 2.0)], [LOOP])
    # Two cores: 1.47 ohm/m out, 0.0133 ohm/m in, and two joints in each.
    cold = float(TWIN.cold_lead_ohm_per_m)
    assert ohm == pytest.approx(whole - 2 * 1.47 * 0.5 + 2 * cold * 2.0 + 4 * 0.01, rel=1e-9)


@given(st.floats(-2.0, 30.0), st.floats(0.0, 1.9), st.floats(0.0, 3.0))
def test_insulation_and_capacitance_go_by_the_length_that_is_left(at, removed, inserted):
    probes = standard_probes(TWIN)
    insulation, capacitance = probes[3], probes[6]
    mended = predict_mended(TWIN, [Mend(at, 0.0, removed, inserted)], [insulation, capacitance])
    healthy = predict(TWIN, (), [insulation, capacitance])
    longer = (32.5 - removed + inserted) / 32.5
    assert mended[0] == pytest.approx(healthy[0] / longer, rel=1e-6)
    assert mended[1] == pytest.approx(healthy[1] * longer, rel=1e-6)


@given(constructions, st.floats(0.0, 30.0), ohms, st.floats(1.01, 10.0))
def test_a_worse_joint_never_lowers_a_resistance(name, at, ohm, factor):
    cable = cable_of(name)
    probes = [p for p in standard_probes(cable) if p.meter.unit != "nF"]
    good, bad = (predict_mended(cable, [Mend(at, r)], probes) for r in (ohm, ohm * factor))
    assert (bad >= good * (1 - 1e-12)).all()
    if name != "parallel" or at < 29.0:  # no current flows at the open end of bus cores
        assert bad[0] > good[0]


@given(st.lists(places, min_size=1, max_size=4))
def test_lengths_of_the_sections_add_up(at):
    mends = mends_for(at, removed_m=0.1, inserted_m=0.4)
    try:
        sections = sections_of(TWIN, mends)
    except InputError as error:
        assert "overlap" in str(error)
        return
    total = sum(part.length_m for part in sections)
    assert total == pytest.approx(32.5 + sum(m.inserted_m - m.removed_m for m in mends))
    assert heated_m_left(TWIN, mends) <= 30.0
    assert sum(part.joint_ohm for part in sections) == pytest.approx(0.02 * len(mends))


def test_places_side_by_side_are_mended_at_once():
    joint = Joint("core1", 12.0, 5.0)
    near, far = 12.0 + 0.9 * SPLICE_M, 12.0 + 1.1 * SPLICE_M
    assert len(mends_for([joint, near])) == 1
    assert len(mends_for([joint, far])) == 2


def test_places_that_one_cut_takes_out_are_mended_at_once():
    (mend,) = mends_for([12.0, 12.8], removed_m=1.0)
    assert mend.cut_m(TWIN) == pytest.approx((11.9, 12.9))


def test_a_leaking_stretch_is_cut_out_whole():
    (mend,) = mends_for([Degraded(("core1", "braid"), 4.0, 6.0, 1e5)], removed_m=0.5)
    assert (mend.at_m, mend.removed_m) == (5.0, 2.0)
    assert mend.cut_m(TWIN) == (4.0, 6.0)


@pytest.mark.parametrize(
    ("mend", "said"),
    [
        (Mend(31.0), "at_m"),
        (Mend(5.0, removed_m=40.0), "whole cable"),
    ],
)
def test_a_mend_must_fit_the_cable(mend, said):
    with pytest.raises(InputError, match=said):
        sections_of(TWIN, [mend])


def test_mends_must_not_overlap():
    with pytest.raises(InputError, match="overlap"):
        sections_of(TWIN, [Mend(5.0, removed_m=2.0), Mend(6.0, removed_m=2.0)])


@pytest.mark.parametrize("field", ["joint_ohm", "removed_m", "inserted_m"])
@pytest.mark.parametrize("value", [-1.0, np.inf, np.nan])
def test_a_mend_refuses_what_cannot_be(field, value):
    with pytest.raises(InputError, match=field):
        Mend(3.0, **{field: value})


def test_limits_of_the_usual_readings():
    cable = replace(TWIN, cold_lead_m=0.0)
    loop, braid, insulation = (limit_of(cable, p) for p in (LOOP, CORE1, INSULATION))
    assert (loop.least, loop.most) == pytest.approx((0.95 * 88.2, 1.10 * 88.2), rel=1e-6)
    assert braid.over_range
    assert (insulation.least, insulation.least_volt) == (1.0, 500.0)
    selv = limit_of(cable, INSULATION, supply_volt=24.0)
    assert (selv.least, selv.least_volt) == (0.5, 250.0)
    assert limit_of(cable, standard_probes(cable)[6]) is None


def test_no_insulation_is_asked_of_conductors_that_are_joined():
    across = Hookup.of(TWIN, ("core1", "core2"))
    tester = InsulationTester(name="insulation_tester")
    assert limit_of(TWIN, Probe(tester, across)) is None


meters = st.builds(
    Ohmmeter,
    name=st.just("m"),
    accuracy_percent=st.floats(0.0, 5.0),
    accuracy_counts=st.floats(0.0, 5.0),
    lead_ohm=st.floats(0.0, 1.0),
    lead_ohm_tolerance=st.floats(0.0, 0.5),
)


@given(meters, st.floats(5.0, 180.0), st.floats(0.05, 4.0))
def test_verdicts_flip_at_the_limit_and_the_uncertainty(meter, shown, beyond):
    reading = Reading(Probe(meter, LOOP.hookup), shown)
    low, high = may_have_seen(reading)
    assume(high - low > 0.05)
    beyond = min(beyond, (high - low) / 2)
    outside = beyond + 1e-9
    far = 1e6
    assert judged(reading, Limit(low - outside, far, ""))[0] == "pass"
    assert judged(reading, Limit(low + beyond, far, ""))[0] == "not decided"
    assert judged(reading, Limit(high + outside, far, ""))[0] == "fail"
    assert judged(reading, Limit(0.0, high + outside, ""))[0] == "pass"
    assert judged(reading, Limit(0.0, high - beyond, ""))[0] == "not decided"
    if low > outside:
        assert judged(reading, Limit(0.0, low - outside, ""))[0] == "fail"


@given(st.floats(0.0, 1900.0), st.floats(0.0, 1900.0))
def test_more_insulation_is_never_judged_worse(one, other):
    rank = {"fail": 0, "not decided": 1, "pass": 2}
    limit = limit_of(TWIN, INSULATION)
    less, more = sorted((one, other))
    told = [rank[judged(Reading(INSULATION, value), limit)[0]] for value in (less, more)]
    assert told[0] <= told[1]
    exact = [rank[judged_exact(value, limit)] for value in (less, more)]
    assert exact[0] <= exact[1]


@given(meters, st.floats(5.0, 180.0), st.floats(0.0, 3.0))
def test_a_worse_meter_never_decides_what_a_better_one_leaves_open(meter, shown, more):
    limit = Limit(0.95 * 88.2, 1.10 * 88.2, "")
    better = Reading(Probe(meter, LOOP.hookup), shown)
    coarser = replace(meter, accuracy_percent=meter.accuracy_percent + more)
    worse = judged(Reading(Probe(coarser, LOOP.hookup), shown), limit)[0]
    assert worse in (judged(better, limit)[0], "not decided")


@given(st.floats(1.0, 100.0), st.integers(0, 2**32 - 1))
def test_what_the_meter_may_have_seen_holds_what_there_was(ohm, seed):
    from cablesim.instruments.display import display

    meter = Ohmmeter(name="m", lead_ohm=0.3, lead_ohm_tolerance=0.15)
    probe = Probe(meter, LOOP.hookup)
    (shown,) = display(np.array([ohm]), [probe], rng=np.random.default_rng(seed))
    low, high = may_have_seen(Reading(probe, float(shown)))
    assert low <= ohm <= high


def test_over_range_is_asked_of_a_core_to_the_braid():
    limit = limit_of(TWIN, CORE1)
    assert judged(Reading(CORE1, np.inf), limit)[0] == "pass"
    assert judged(Reading(CORE1, 5000.0), limit)[0] == "fail"
    nearly = CORE1.meter.range_from(CORE1.meter.ranges) * 0.999
    assert judged(Reading(CORE1, nearly), limit)[0] == "not decided"


def test_a_lower_test_voltage_does_not_show_that_insulation_is_good():
    limit = limit_of(TWIN, INSULATION)
    low = replace(INSULATION, setting=replace(INSULATION.setting, test_volt=250.0))
    assert judged(Reading(low, 500.0), limit) == ("not decided", "tested at 250 V instead of 500 V")
    assert judged(Reading(low, 0.1), limit)[0] == "fail"


def test_one_failure_fails_all():
    assert overall(["pass", "fail", "not decided"]) == "fail"


def test_an_ohmmeter_that_reads_insulation_has_no_limit():
    wet = replace(TWIN, insulation_gigaohm_m=0.01)
    assert limit_of(wet, CORE1) is None


@given(
    st.floats(1.0, 29.0), ohms, st.floats(0.0, 1.9), st.floats(0.01, 5.0), st.floats(0.001, 100.0)
)
def test_a_piece_put_in_is_a_cable_of_its_own_joined_at_both_ends(
    at, ohm, removed, inserted, gigaohm_m
):
    cable = replace(TWIN, insulation_gigaohm_m=gigaohm_m)
    cut = Mend(at, ohm, removed, inserted).cut_m(cable)
    core, cold = cable.core_ohm_per_m, (cable.cold_lead_ohm_per_m,) * 2
    near = replace(cable, heated_length_m=cut[0], far_end="open")
    piece = replace(
        near, heated_length_m=inserted, core_ohm_per_m=cold, cold_lead_m=0.0, core_alloy="CuNi44"
    )
    rest = replace(cable, heated_length_m=30.0 - cut[1], core_ohm_per_m=core, cold_lead_m=0.0)
    joints = tuple(Joint(name, 0.0, ohm) for name in cable.conductors)
    joins = [[f"{name}@far", f"p.{name}"] for name in cable.conductors]
    joins += [[f"p.{name}@far", f"r.{name}"] for name in cable.conductors]
    whole = Installation.of(near, {"p": (piece, joints), "r": (rest, joints)}, joins)
    across = [("core1", "core2"), ("core1", "braid"), ("core2", "braid")]
    meter = LOOP.meter
    joined = predict(whole, (), [Probe(meter, Hookup.of(whole, pair)) for pair in across])
    probes = [Probe(meter, Hookup.of(cable, pair)) for pair in across]
    mended = predict_mended(cable, [Mend(at, ohm, removed, inserted)], probes)
    assert mended == pytest.approx(joined, rel=1e-9)


@pytest.mark.parametrize("wrong", [{"length_m": -1.0}, {"length_m": 2e6}, {"joint_ohm": -0.1}])
def test_a_section_that_cannot_be_is_refused_by_name(wrong):
    with pytest.raises(InputError) as raised:
        Section(**({"length_m": 1.0, "heated": True} | wrong))
    assert raised.value.what == next(iter(wrong))


def test_a_cable_of_no_section_is_none():
    with pytest.raises(InputError, match="at least one"):
        mended_network(TWIN, [], LOOP.hookup.terminals)
