"""The errors of real meters: which are shared, how they spread, what a reading lets through."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from instruments.strategies import TWIN, bridges, meters, probe_of, values

from cablesim.cable.faults import Short
from cablesim.errors import InputError
from cablesim.instruments.display import display, indicated_on_range
from cablesim.instruments.meters import (
    MOST_RANGES,
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    Setting,
)
from cablesim.instruments.readings import Probe, Reading, measure, predict
from cablesim.line.terminals import Hookup

DRAWS = 40_000
SEEDS = st.integers(0, 2**32 - 1)
# A display of 1e12 steps and one range: what is left is the error to be looked at.
FINE = {"counts": 1e12, "resolution": 1e-6, "top_range": 1e6}
SILENT = {"accuracy_percent": 0.0, "accuracy_counts": 0.0}


def drawn(meter, exact, seed=1, setting=None):
    """Displays of many scenarios with the same exact value."""
    exact = np.full((DRAWS, 1), float(exact))
    return display(exact, [probe_of(meter, setting)], rng=np.random.default_rng(seed))[:, 0]


def assert_even(errors, half_width):
    """Rectangular from -a to a: bounds that one seed in some ten thousand would break."""
    count = len(errors)
    assert np.abs(errors).max() <= half_width * (1 + 1e-9)
    # Mean 0 with a / sqrt(3 n); spread a / sqrt(3) with a relative error of sqrt(0.2 / n).
    assert abs(errors.mean()) < 4 * half_width / math.sqrt(3 * count)
    assert errors.std() == pytest.approx(half_width / math.sqrt(3), rel=4 * math.sqrt(0.2 / count))
    # Kolmogorov: the distribution function nowhere off by more than 2.2 / sqrt(n).
    even = (np.sort(errors) / half_width + 1) / 2
    steps = np.arange(1, count + 1) / count
    assert np.abs(even - steps).max() < 2.2 / math.sqrt(count)


# --- a meter without errors -----------------------------------------------------------------------


@given(meters(), st.data(), SEEDS)
def test_a_meter_without_errors_shows_the_rounded_exact_value(meter, data, seed):
    meter = replace(meter, **SILENT)
    if meter.reads_leads:
        meter = replace(meter, lead_ohm=0.0, lead_ohm_tolerance=0.0)
    exact = data.draw(values(meter))
    shown = display(np.array([exact]), [probe_of(meter)], rng=np.random.default_rng(seed))
    assert shown == meter.shown(exact, Setting())


def test_known_leads_add_their_resistance():
    meter = Ohmmeter(name="m", lead_ohm=0.3, lead_ohm_tolerance=0.0, **SILENT)
    shown = display(np.array([55.0]), [probe_of(meter)], rng=np.random.default_rng(1))
    assert shown == pytest.approx([55.3], rel=1e-15)


def test_leads_count_in_ohm_whatever_the_unit():
    meter = InsulationTester(
        name="m", lead_ohm=5000.0, counts=1e9, resolution=1e-6, **SILENT, top_range=1e3
    )
    shown = display(np.array([2.0]), [probe_of(meter)], rng=np.random.default_rng(1))
    assert shown == pytest.approx([2.005], rel=1e-9)


# --- how the errors are distributed ---------------------------------------------------------------


def test_the_gain_is_even_within_its_limits():
    meter = Ohmmeter(name="m", accuracy_counts=0.0, lead_ohm=0.0, lead_ohm_tolerance=0.0, **FINE)
    # 1e-6 ohm steps on 1000 ohm of 0.8 %: rounding is 1e-7 of the half-width.
    assert_even(drawn(meter, 1000.0) / 1000.0 - 1, 0.008 * (1 + 1e-6))


def test_the_counts_are_even_within_their_limits():
    meter = Ohmmeter(
        name="m",
        accuracy_percent=0.0,
        accuracy_counts=3e5,
        lead_ohm=0.0,
        lead_ohm_tolerance=0.0,
        **FINE,
    )
    assert_even(drawn(meter, 1000.0) - 1000.0, 0.3 * (1 + 1e-5))


def test_the_leads_are_even_within_their_tolerance():
    meter = Ohmmeter(name="m", lead_ohm=0.3, lead_ohm_tolerance=0.2, **SILENT, **FINE)
    assert_even(drawn(meter, 1000.0) - 1000.3, 0.2 * (1 + 1e-5))


def test_rounding_is_even_over_a_step():
    meter = Ohmmeter(name="m", lead_ohm=0.0, lead_ohm_tolerance=0.0, **SILENT)
    exact = np.random.default_rng(2).uniform(50.0, 150.0, (DRAWS, 1))
    shown = display(exact, [probe_of(meter)], rng=np.random.default_rng(3))
    assert_even((shown - exact)[:, 0], 0.05 * (1 + 1e-9))


def test_the_check_above_would_notice_a_normal_distribution():
    errors = np.random.default_rng(1).normal(0.0, 1 / math.sqrt(3), DRAWS)
    with pytest.raises(AssertionError):
        assert_even(errors, 1.0)
    with pytest.raises(AssertionError):
        assert_even(np.random.default_rng(1).uniform(-1.0, 1.0, DRAWS) * 0.98, 1.0)


# --- which errors are shared ----------------------------------------------------------------------


def errors_of(probes, exact, seed=4):
    """Relative errors of several readings over many scenarios, shape (scenarios, readings)."""
    values = np.broadcast_to(np.array(exact, float), (DRAWS, len(exact)))
    return display(values, probes, rng=np.random.default_rng(seed)) / values - 1


def correlation(errors):
    return float(np.corrcoef(errors.T)[0, 1])


# Independent: the coefficient of n draws has a spread of 1 / sqrt(n).
INDEPENDENT = 4 / math.sqrt(DRAWS)
GAIN_ONLY = {
    "accuracy_percent": 1.0,
    "accuracy_counts": 0.0,
    "lead_ohm": 0.0,
    "lead_ohm_tolerance": 0.0,
}
# Ranges of 200 kohm, 2 Mohm, ... with 2 million steps: 0.1 ohm on the lowest.
RANGED = GAIN_ONLY | {"counts": 2e6, "resolution": 0.1, "top_range": 2e9}


def test_two_readings_on_one_range_move_together():
    probe = probe_of(Ohmmeter(name="m", **RANGED))
    errors = errors_of([probe, probe], [1e5, 1.7e5])
    # Apart by rounding of 0.05 in 1e5 only.
    np.testing.assert_allclose(errors[:, 0], errors[:, 1], atol=1e-6)
    assert errors[:, 0].std() > 0.005


def test_two_readings_on_two_ranges_do_not():
    probe = probe_of(Ohmmeter(name="m", **RANGED))
    assert abs(correlation(errors_of([probe, probe], [1e5, 1e6]))) < INDEPENDENT


def test_two_meters_do_not():
    one, other = (probe_of(Ohmmeter(name=name, **RANGED)) for name in ("a", "b"))
    assert abs(correlation(errors_of([one, other], [1e5, 1e5]))) < INDEPENDENT


def test_the_leads_are_one_resistance_for_all_readings():
    meter = Ohmmeter(name="m", lead_ohm=0.3, lead_ohm_tolerance=0.2, **SILENT, **FINE)
    exact = np.broadcast_to([10.0, 5000.0], (DRAWS, 2))
    shown = display(exact, [probe_of(meter)] * 2, rng=np.random.default_rng(5))
    # Two roundings of 1e-6 ohm.
    np.testing.assert_allclose(shown[:, 0] - 10.0, shown[:, 1] - 5000.0, atol=2e-6)
    assert np.ptp(shown[:, 0]) > 0.39


def test_counts_are_drawn_anew_at_each_reading():
    meter = Ohmmeter(**RANGED | {"accuracy_percent": 0.0, "accuracy_counts": 1e4}, name="m")
    assert abs(correlation(errors_of([probe_of(meter)] * 2, [1e5, 1e5]))) < INDEPENDENT


def test_scenarios_of_a_batch_do_not_share_anything():
    errors = errors_of([probe_of(Ohmmeter(name="m", **RANGED))], [1e5])[:, 0]
    assert abs(np.corrcoef(errors[:-1], errors[1:])[0, 1]) < INDEPENDENT


def test_methods_of_a_bridge_have_gains_of_their_own():
    bridge = LoopBridge(name="b", accuracy_percent=1.0, accuracy_counts=0.0, divisions=1e9)
    murray, capacitance = (
        probe_of(bridge, Setting(method=name)) for name in ("murray", "capacitance")
    )
    together = errors_of([murray, murray], [0.3, 0.4])
    np.testing.assert_allclose(together[:, 0], together[:, 1], atol=1e-8)
    assert abs(correlation(errors_of([murray, capacitance], [0.3, 0.3]))) < INDEPENDENT


# --- what a reading lets through ------------------------------------------------------------------


def gain_and_leads(meter, seed):
    """The draws of one scenario and one reading, as `display` takes them."""
    rng = np.random.default_rng(seed)
    lead = meter.lead_ohm + meter.lead_ohm_tolerance * rng.uniform(-1.0, 1.0)
    gains = rng.uniform(-1.0, 1.0, MOST_RANGES)
    return gains * meter.accuracy_percent / 100, lead


def assert_let_through(meter, exact, seed, setting=None):
    """With the very gain of the group that the reading claims, the counts must explain the rest."""
    probe = probe_of(meter, setting)
    shown = float(display(np.array([exact]), [probe], rng=np.random.default_rng(seed))[0])
    reading = Reading(probe, shown)
    gains, lead = gain_and_leads(meter, seed)
    value = exact + lead / meter.unit_size if meter.reads_leads else exact
    _, _, number = reading.gain_group
    indicated = value * (1 + gains[number])
    span = reading.span
    slack = 1e-12 * max(abs(indicated), abs(span.low))  # rounding of these sums
    assert indicated + span.noise >= span.low - slack
    assert indicated - span.noise <= span.high + slack


@given(meters(), st.data(), SEEDS)
def test_a_span_covers_the_truth_for_any_seed(meter, data, seed):
    assert_let_through(meter, data.draw(values(meter)), seed)


@given(bridges(), st.floats(-1.0, 1.2), SEEDS)
def test_a_span_of_a_bridge_covers_the_truth_for_any_seed(bridge_and_setting, share, seed):
    bridge, setting = bridge_and_setting
    # The box of a Varley loop may have to go beside the other core: a negative balance.
    exact = 500.0 * share if setting.method == "varley" else max(share, 0.0)
    assert_let_through(bridge, exact, seed, setting)


def test_near_a_change_of_range_every_scenario_is_let_through():
    """Where the ranges of a poor meter disagree most, each with a gain of its own."""
    meter = InsulationTester(name="m")
    for seed in range(300):
        for exact in (1.6, 1.9, 2.05, 2.6, 19.0, 21.0):
            assert_let_through(meter, exact, seed)


def test_the_span_of_a_plain_reading():
    span = Reading(probe_of(Ohmmeter(name="m")), 87.7).span
    assert (span.low, span.high, span.noise) == pytest.approx((87.65, 87.75, 0.3))


def test_over_range_says_at_least_the_top():
    span = Reading(probe_of(Ohmmeter(name="m")), math.inf).span
    assert (span.low, span.high, span.noise) == pytest.approx((19_995_000.0, math.inf, 30_000.0))


def test_at_least_has_no_upper_end():
    span = Reading(probe_of(InsulationTester(name="m")), 500.0, at_least=True).span
    assert (span.low, span.high) == (500.0, math.inf)


def test_zero_reaches_down_to_all_that_shows_as_zero():
    span = Reading(probe_of(Ohmmeter(name="m")), 0.0).span
    assert (span.low, span.high, span.noise) == pytest.approx((-0.35, 0.05, 0.3))
    box = Setting(method="varley", arms=(1.0, 1.0))
    assert Reading(probe_of(LoopBridge(name="b"), box), 0.0).span.low < -1e5


def test_the_least_of_a_range_may_hide_what_the_range_below_ran_over_for():
    span = Reading(probe_of(InsulationTester(name="m")), 2.0).span
    # 1.9995 Mohm over the lower range at +30 %, read at -30 % on this one, less 2 x 3 counts.
    assert span.low == pytest.approx((1.9995 - 0.03) * 0.7 / 1.3 - 0.03)
    assert Reading(probe_of(InsulationTester(name="m")), 2.01).span.low == pytest.approx(2.005)


@pytest.mark.parametrize("shown", [-0.1, math.nan, -math.inf])
def test_a_reading_that_no_display_shows_is_refused(shown):
    with pytest.raises(InputError, match="ohmmeter reading"):
        Reading(probe_of(Ohmmeter(name="m")), shown)


def test_readings_share_a_gain_on_one_meter_method_and_range_only():
    def group(name, shown, method=None):
        meter = LoopBridge(name=name) if method else Ohmmeter(name=name)
        return Reading(probe_of(meter, Setting(method=method)), shown).gain_group

    assert group("m", 60.0) == group("m", 199.9)
    assert group("m", 60.0) != group("m", 200.0)
    assert group("m", 60.0) != group("n", 60.0)
    assert group("m", 0.2, "murray") != group("m", 0.2, "capacitance")
    assert group("m", math.inf) == group("m", 1.9e7)
    # What the outlook on a further reading looks its gain up by.
    assert group("m", 60.0) == ("m", "", 0)


def test_the_first_range_that_holds_a_value_is_the_one_it_is_read_on():
    """Ranges to 10, 100 and 1000; the first reads 95 % low, and the second would run over."""
    errors = {"accuracy_percent": 95.0, "accuracy_counts": 0.0}
    meter = Ohmmeter(name="m", **errors, counts=100.0, resolution=0.1, top_range=1000.0)
    gains = np.array([[-1.0, 1.0, 0.0]])
    shown = indicated_on_range(np.array([60.0]), probe_of(meter), gains, np.zeros(1), 0.0)
    assert shown == pytest.approx([3.0], rel=1e-12)


# --- predict and measure --------------------------------------------------------------------------

READINGS = [
    probe_of(Ohmmeter(name="o")),
    probe_of(CapacitanceMeter(name="c")),
    Probe(Ohmmeter(name="o"), Hookup.of(TWIN, ("core1", "core2"))),
    probe_of(InsulationTester(name="i")),
    probe_of(CapacitanceMeter(name="c"), Setting(frequency_hz=120.0)),
]
LEAKS = Short(("core1", "braid"), np.array([[3.0], [12.4]]), np.array([1e8, 1e9, 1e10]))


def test_readings_come_last_and_in_the_order_asked_for():
    batch = predict(TWIN, (LEAKS,), READINGS)
    assert batch.shape == (2, 3, len(READINGS))
    for k, probe in enumerate(READINGS):
        alone = predict(TWIN, (LEAKS,), [probe])[..., 0]
        # Other terminals in the network, another order of the same additions.
        np.testing.assert_allclose(batch[..., k], alone, rtol=1e-12)
    # Each in its own unit: ohm, nF, ohm, Mohm, nF.
    assert batch[0, 0, 0] == pytest.approx(1e6 * batch[0, 0, 3], rel=1e-15)
    assert batch[0, 0, 2] == pytest.approx(88.2 + 2 * 2.5 * 0.0133, rel=1e-6)
    # 100 pF/m to the braid on both cores, which are one at the far end, and on 32.5 m.
    assert batch[0, 2, 1] == pytest.approx(6.5, rel=1e-3)


def test_one_scenario_has_no_batch_axis():
    assert predict(TWIN, (), READINGS).shape == (len(READINGS),)


def test_measuring_needs_a_source_of_chance():
    with pytest.raises(TypeError, match="rng"):
        measure(TWIN, (), READINGS)  # type: ignore[call-arg]
    with pytest.raises(TypeError, match="rng"):
        display(np.zeros(len(READINGS)), READINGS)  # type: ignore[call-arg]


def test_the_same_seed_measures_the_same_and_another_does_not():
    first, again, other = (
        measure(TWIN, (LEAKS,), READINGS, rng=np.random.default_rng(seed)) for seed in (7, 7, 8)
    )
    np.testing.assert_array_equal(first, again)
    assert np.any(first != other)


def test_measuring_is_predicting_and_displaying():
    shown = measure(TWIN, (LEAKS,), READINGS, rng=np.random.default_rng(7))
    exact = predict(TWIN, (LEAKS,), READINGS)
    again = display(exact, READINGS, rng=np.random.default_rng(7))
    np.testing.assert_array_equal(shown, again)


def test_a_probe_has_as_many_leads_as_its_meter():
    with pytest.raises(InputError, match="2 entries"):
        Probe(Ohmmeter(name="m"), Hookup.of(TWIN, ("core1", "core2", "braid")))
    with pytest.raises(InputError, match="3 entries"):
        Probe(LoopBridge(name="b"), Hookup.of(TWIN, ("core1", "braid")))


@pytest.mark.parametrize("rng", [None, 3, np.random])
def test_errors_come_from_a_generator(rng):
    probe = Probe(Ohmmeter(name="m"), Hookup.of(TWIN, ("core1", "core2")))
    with pytest.raises(InputError, match=r"rng is .*default_rng"):
        measure(TWIN, (), [probe], rng=rng)
