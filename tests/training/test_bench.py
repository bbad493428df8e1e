"""The bench: the meters' own errors, zeroed leads, unsteady faults, and nothing left to chance."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import Ohmmeter, Setting
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.instruments.standard import standard_probes, usual_meter
from cablesim.line.terminals import Hookup
from cablesim.locate.classical import reading_covariance
from cablesim.training.acts import Set
from cablesim.training.bench import Bench
from cablesim.training.settings import checked_setting

CABLE = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SHORT = Short(("core1", "braid"), at_m=12.4, resistance_ohm=55.0)
POCKET = Ohmmeter(name="pocket", lead_ohm=0.4, lead_ohm_tolerance=0.2)
LOOP = Probe(POCKET, Hookup.of(CABLE, ("core1", "core2")))


@given(seed=st.integers(0, 2**53 - 1), number=st.integers(1, 10_000))
@settings(max_examples=25)
def test_a_display_lies_within_the_limits_of_its_meter(seed, number):
    bench = Bench(CABLE, (SHORT,), seed)
    for probe in standard_probes(CABLE):
        (exact,) = predict(CABLE, (SHORT,), [probe])
        reading = Reading(probe, bench.display(probe, number).value)
        meter, span = probe.meter, reading.span
        if np.isinf(exact):
            assert np.isinf(reading.shown)
            continue
        gain = meter.accuracy_percent / 100
        lead = (meter.lead_ohm, meter.lead_ohm_tolerance)
        most = (exact + sum(lead) / meter.unit_size) * (1 + gain) + span.noise
        least = (exact + (lead[0] - lead[1]) / meter.unit_size) * (1 - gain) - span.noise
        # The display rounds, and the ladder differs from the exact pieces in the fifth digit.
        assert span.low <= most + 1e-4 * abs(most)
        assert span.high >= least - 1e-4 * abs(least)


@given(seed=st.integers(0, 2**53 - 1), number=st.integers(1, 10_000))
@settings(max_examples=25)
def test_zeroed_leads_leave_two_readings_of_one_meter_alike_off_by_less(seed, number):
    bench = Bench(CABLE, (), seed)
    zero = bench.zero_ohm(POCKET, number)
    plain, zeroed = (bench.display(LOOP, number + 1, ohm).value for ohm in (0.0, zero))
    # What is taken off is the leads, give or take the counts and the rounding of both readings.
    assert abs(plain - zeroed - zero) < 0.1 + 1e-9
    assert 0.2 - 0.41 <= zero <= 0.6 * 1.008 + 0.41


def test_over_many_meters_zeroing_takes_the_mean_off_and_the_stated_spread_is_the_real_one():
    (exact,) = predict(CABLE, (), [LOOP])
    shown = np.array([Bench(CABLE, (), seed).display(LOOP, 1).value for seed in range(400)])
    # Standard deviation as the error model states it; of 400 draws it is known to 3.5 %, so six
    # deviations of the mean and of the spread leave less than one false alarm in a million.
    stated = reading_covariance([Reading(LOOP, float(exact))])[0, 0] ** 0.5
    assert abs(shown.mean() - exact - 0.4) < 6 * stated / 20
    assert abs(shown.std() / stated - 1) < 0.21


def test_the_same_seed_and_number_show_the_same_and_another_number_another_count():
    probes = standard_probes(CABLE)
    one, other = Bench(CABLE, (SHORT,), 5), Bench(CABLE, (SHORT,), 5)
    assert [one.display(p, 9) for p in probes] == [other.display(p, 9) for p in probes]
    seen = {one.display(probes[0], number).value for number in range(40)}
    assert 1 < len(seen) <= 8  # three counts either way, and the rounding


def test_an_unsteady_fault_does_not_settle_and_a_steady_one_does():
    wet = Short(("core1", "braid"), 12.4, 5e3, drift_percent=25.0)
    probe = standard_probes(CABLE)[1]
    shown = Bench(CABLE, (wet,), 3).display(probe, 1)
    assert shown.unsteady and "does not settle" in shown.words
    assert len(set(shown.glances)) == 3
    assert all(5e3 / 1.25 * 0.98 < value < 5e3 * 1.25 * 1.02 for value in shown.glances)
    assert not Bench(CABLE, (SHORT,), 3).display(probe, 1).unsteady


@pytest.mark.parametrize(
    ("probe", "faults", "words"),
    [
        (standard_probes(CABLE)[1], (), "over range"),
        (
            Probe(
                usual_meter("loop_bridge"),
                Hookup.of(CABLE, ("core2", "core1", "braid")),
                Setting(method="murray"),
            ),
            (),
            "no balance",
        ),
        (
            Probe(
                usual_meter("pulse_echo"), Hookup.of(CABLE, ("core1", "braid")), Setting(sign="-")
            ),
            (Break(("core1",), 12.4),),
            "no echo",
        ),
        (
            Probe(usual_meter("withstand_tester"), Hookup.of(CABLE, ("core1+core2", "braid"))),
            (),
            "no trip up to 2500 V",
        ),
    ],
)
def test_a_display_without_a_number_says_why(probe, faults, words):
    shown = Bench(CABLE, faults, 1).display(probe, 1)
    assert np.isinf(shown.value)
    assert shown.words == words


def test_only_an_ohmmeter_has_leads_to_zero():
    with pytest.raises(InputError, match="no leads to zero"):
        Bench(CABLE, (), 1).zero_ohm(usual_meter("capacitance_meter"), 1)


def test_a_mended_cable_has_its_joints_and_its_damage_no_more():
    bench = Bench(CABLE, (SHORT,), 1)
    mended = bench.mended((SHORT,), (12.4,))
    assert [fault.kind for fault in mended.faults] == ["joint"] * 3
    loop, braid = (mended.display(probe, 1).value for probe in standard_probes(CABLE)[:2])
    assert abs(loop - 88.5) < 2.0
    assert np.isinf(braid)


@pytest.mark.parametrize(
    ("method", "arms"), [("murray", None), ("varley", (1000.0, 1000.0)), ("capacitance", None)]
)
def test_a_bridge_is_set_to_each_of_its_methods(method, arms):
    setting = checked_setting(usual_meter("loop_bridge"), Set(method=method, arms=arms))
    assert (setting.method, setting.arms) == (method, arms)
