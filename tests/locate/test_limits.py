"""The bound: against algebra, against simulated estimators, and as it must move."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import CapacitanceMeter, LoopBridge, Ohmmeter, PulseEcho, Setting
from cablesim.instruments.readings import Probe, Reading, measure, predict
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup
from cablesim.locate import posterior
from cablesim.locate.closed_forms import (
    break_from_both_ends,
    break_from_three_capacitances,
    murray,
    three_readings,
)
from cablesim.locate.limits import (
    NORMAL_95,
    bound,
    bound_of,
    even_open_m,
    information,
    placeable,
    readings_place,
    whitened,
)
from cablesim.locate.linear import Given, linearised
from cablesim.locate.prior import PlacePrior, hypotheses, place_prior
from cablesim.locate.summary import intervals_of
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory

# Nothing but the fault conducts, and there are no cold leads: the algebra is exact.
PLAIN = Cable.rated(
    "twin",
    30.0,
    88.2,
    cold_lead_m=0.0,
    insulation_gigaohm_m=1e15,
    tolerance_percent=(-10.0, 10.0),
)
METER = Ohmmeter(name="pocket", lead_ohm_tolerance=0.0)
THREE = (("core1", "core2"), ("core1", "braid"), ("core2", "braid"))


def probes(*hookups, meter=METER, cable=PLAIN):
    return [Probe(meter, Hookup.of(cable, across)) for across in hookups]


def counts_variance(meter, value):
    """Rectangular counts and rounding (from memory of JCGM 100, 4.3.7)."""
    step = float(meter.step_of(value, Setting()))
    return (meter.accuracy_counts * step) ** 2 / 3 + step**2 / 12


# --- against algebra -----------------------------------------------------------------------------


@given(
    at_m=st.floats(1.0, 29.0),
    ohm=st.floats(1.0, 100.0),
    lead_ohm=st.just(0.0) | st.floats(0.01, 0.3),
)
@settings(max_examples=15)
def test_three_readings_as_propagated_by_hand(at_m, ohm, lead_ohm):
    """``x = L (1 + (R1 - R2) / R12)``; leads of m ohm pull it outwards by ``(L - x) m / R12``."""
    meter = replace(METER, lead_ohm=0.0, lead_ohm_tolerance=lead_ohm, counts=20000)
    cable = replace(PLAIN, tolerance_percent=(-90.0, 90.0))
    wanted = probes(*THREE, meter=meter)
    fault = Short(("core1", "braid"), at_m, ohm)
    r12, r1, r2 = predict(cable, (fault,), wanted)
    assume(max(r12, r1, r2) < 1900)
    slopes = 30.0 * np.array([-(r1 - r2) / r12**2, 1 / r12, -1 / r12])
    variance = np.sum(slopes**2 * counts_variance(meter, r12))
    variance += slopes.sum() ** 2 * lead_ohm**2 / 3
    least = bound(cable, (fault,), wanted).place_m[0, 0]
    # What is known of the core beforehand is next to nothing here, and of the gain cancels.
    assert least == pytest.approx(variance**0.5, rel=2e-3)


def test_without_leads_the_three_readings_need_no_prior():
    fault = Short(("core1", "braid"), 12.4, 55.0)
    nulled = probes(*THREE, meter=replace(METER, lead_ohm=0.0))
    with_prior = bound(PLAIN, (fault,), nulled).place_m[0, 0]
    without = bound(PLAIN, (fault,), nulled, prior=False).place_m[0, 0]
    assert np.isfinite(without)
    assert without == pytest.approx(with_prior, rel=0.02)
    assert without >= with_prior
    r12, r1, r2 = predict(PLAIN, (fault,), probes(*THREE))
    slopes = 30.0 * np.array([-(r1 - r2) / r12**2, 1 / r12, -1 / r12])
    by_hand = np.sqrt(np.sum(slopes**2) * counts_variance(METER, 90.0))
    assert without == pytest.approx(by_hand, rel=1e-4)


@given(at_m=st.floats(2.0, 28.0))
@settings(max_examples=12)
def test_three_capacitances_as_propagated_by_hand(at_m):
    meter = CapacitanceMeter(name="pocket", counts=20000)
    across = (("core1", "core2+braid"), ("core2", "core1+braid"), ("core1+core2", "braid"))
    cable = replace(PLAIN, capacitance_tolerance_percent=(-90.0, 90.0), loss_tangent=0.0)
    wanted = probes(*across, meter=meter)
    fault = Break(("core1",), at_m)
    linear = linearised(cable, (fault,), wanted)
    c1, c2, c12 = linear.indicated[0]
    slopes = 30.0 * np.array([1 / c12, -1 / c12, -(c1 - c2) / c12**2])
    variance = np.sum(slopes**2 * linear.noise[0] ** 2)
    assert bound_of(linear).place_m[0, 0] == pytest.approx(variance**0.5, rel=5e-3)
    assert break_from_three_capacitances(c1, c2, c12, 30.0) == pytest.approx(at_m, abs=1e-3)


def test_murray_is_twice_the_length_times_a_division():
    bridge = LoopBridge(name="bridge", accuracy_percent=0.0, galvanometer_microamp=1e-9)
    probe = Probe(bridge, Hookup.of(PLAIN, ("core2", "core1", "braid")), Setting(method="murray"))
    leak = Degraded.at(("core1", "braid"), 12.4, 1e6)
    share = float(predict(PLAIN, (leak,), [probe])[0])
    assert murray(share, 30.0) == pytest.approx(12.4, abs=1e-4)
    division = np.sqrt(0.5**2 / 3 + 1 / 12) / 1000
    for prior in (True, False):
        least = bound(PLAIN, (leak,), [probe], prior=prior)
        assert least.place_m[0, 0] == pytest.approx(60.0 * division, rel=1e-4)
        # A balance knows nothing of the leak's ohms: 10 kohm to 1 Gohm, even in the logarithm.
        expected = np.std(np.geomspace(1e4, 1e9, 200_001)) if prior else np.inf
        assert least.resistance_ohm[0, 0] == pytest.approx(expected, rel=1e-3)


def test_what_a_galvanometer_does_not_see_widens_the_bound():
    sharp, blunt = (
        Probe(
            LoopBridge(name="bridge", galvanometer_microamp=microamp),
            Hookup.of(PLAIN, ("core2", "core1", "braid")),
            Setting(method="murray"),
        )
        for microamp in (1e-9, 10.0)
    )
    leak = Degraded.at(("core1", "braid"), 12.4, 1e6)
    unseen = float(blunt.meter.unseen(PLAIN, (leak,), blunt.hookup, blunt.setting))
    wide = 60.0 * np.sqrt((0.5e-3 + unseen) ** 2 / 3 + 1e-6 / 12)
    assert bound(PLAIN, (leak,), [blunt]).place_m[0, 0] == pytest.approx(wide, rel=0.02)
    assert bound(PLAIN, (leak,), [sharp]).place_m[0, 0] < 0.9 * wide


def test_echo_is_half_the_speed_times_the_time():
    meter = PulseEcho(name="echo")
    probe = Probe(meter, Hookup.of(PLAIN, ("core1", "braid")), Setting())
    fault = Short(("core1", "braid"), 12.4, 5.0)
    velocity = PLAIN.pulse_velocity_m_per_s
    cursor = velocity / 2 * 1e-9 * np.sqrt(9 / 3 + 1 / 12)
    percent = 12.4 / 100 * np.hypot(0.1, 5.0) / 3**0.5
    least = bound(PLAIN, (fault,), [probe])
    assert least.place_m[0, 0] == pytest.approx(np.hypot(cursor, percent), rel=0.01)
    assert np.isinf(bound(PLAIN, (fault,), [probe], prior=False).place_m[0, 0])


# --- against simulated estimators ----------------------------------------------------------------


def test_the_three_reading_formula_attains_the_bound():
    """4000 simulated sets of readings; the spread of a standard deviation is 1.1 %."""
    cable = replace(PLAIN, tolerance_percent=(0.0, 0.0))
    wanted = probes(*THREE, meter=replace(METER, lead_ohm=0.0))
    fault = Short(("core1", "braid"), 12.4, 55.0)
    many = replace(fault, at_m=np.full(4000, 12.4))
    shown = measure(cable, (many,), wanted, rng=np.random.default_rng(7))
    found = three_readings(shown[:, 0], shown[:, 1], shown[:, 2], 30.0)
    least = bound(cable, (fault,), wanted, prior=False).place_m[0, 0]
    assert np.mean(found.position_m) == pytest.approx(12.4, abs=5 * least / 4000**0.5 + 0.01)
    assert np.std(found.position_m) == pytest.approx(least, rel=0.04)


def test_least_squares_attain_the_bound_with_prior_information():
    """Single core, broken; least squares over place, capacitance, two gains, all simulated."""
    cable = Cable.rated("single", 80.0, 60.0, cold_lead_m=0.0, loss_tangent=0.0,
                        capacitance_tolerance_percent=(-20.0, 20.0))  # fmt: skip
    meter = CapacitanceMeter(name="pocket")
    wanted = probes(("core1", "braid"), ("core1@far", "braid"), meter=meter, cable=cable)
    rng = np.random.default_rng(11)
    true = replace(cable, capacitance_core_braid_pf_per_m=100.0 * rng.uniform(0.8, 1.2, 4000))
    fault = Break(("core1",), 35.0)
    shown = measure(true, (replace(fault, at_m=np.full(4000, 35.0)),), wanted, rng=rng)
    linear = linearised(cable, (fault,), wanted)
    rows = whitened(linear)[0]
    names = [unknown.name for unknown in linear.unknowns]
    capacitance = names.index("capacitance core to braid")
    state = np.zeros((4000, rows.shape[1]))
    for _ in range(3):
        at = 35.0 + state[:, 0]
        scale = 1 + state[:, capacitance] / 100
        gain = 1 + state[:, -1] / 100
        near, far = 0.1 * scale * at * gain, 0.1 * scale * (80.0 - at) * gain
        left = (shown - np.stack([near, far], axis=1)) / linear.noise[0]
        prior_left = -state[:, 1:] / linear.spread[1:]
        misfit = np.concatenate([left, prior_left], axis=1)
        state += np.linalg.lstsq(rows, misfit.T, rcond=None)[0].T
    least = bound_of(linear).place_m[0, 0]
    assert np.std(state[:, 0]) == pytest.approx(least, rel=0.05)
    assert break_from_both_ends(*shown[0], 80.0) == pytest.approx(35.0, abs=4 * least)


# --- how it must move ----------------------------------------------------------------------------

CABLE = Cable.rated("twin", 30.0, 88.2)
FAULTS = st.one_of(
    st.builds(Short, st.just(("core1", "braid")), st.floats(0.5, 29.5), st.floats(0.1, 1e3)),
    st.builds(Break, st.sampled_from([("core1",), ("core1", "core2")]), st.floats(0.5, 29.5)),
    st.builds(Degraded.at, st.just(("core1", "braid")), st.floats(0.5, 29.5), st.floats(1e4, 1e6)),
    st.builds(Joint, st.just("core1"), st.floats(0.5, 29.5), st.floats(1.0, 100.0)),
)


@given(fault=FAULTS, dropped=st.integers(0, 6))
@settings(max_examples=12)
def test_information_only_adds(fault, dropped):
    """Dropping a reading, or what is known beforehand, never lowers a bound."""
    linear = linearised(CABLE, (fault,), standard_probes(CABLE))
    whole = bound_of(linear)
    fewer = bound_of(linear.chosen([k for k in range(7) if k != dropped]))
    finite = np.isfinite(fewer.deviation)
    assert (fewer.deviation[finite] >= whole.deviation[finite] * (1 - 1e-6)).all()
    bare = bound_of(linear, prior=False)
    finite = np.isfinite(bare.deviation)
    assert (bare.deviation[finite] >= whole.deviation[finite] * (1 - 1e-6)).all()


@given(fault=FAULTS, worse=st.floats(1.0, 10.0))
@settings(max_examples=12)
def test_a_worse_meter_places_no_better(fault, worse):
    good = standard_probes(CABLE)
    bad = [replace(p, meter=replace(p.meter, accuracy_counts=worse * p.meter.accuracy_counts))
           for p in good]  # fmt: skip
    better = bound(CABLE, (fault,), good).place_m[0, 0]
    assert bound(CABLE, (fault,), bad).place_m[0, 0] >= better * (1 - 1e-6)


@given(fault=FAULTS, temperature_k=st.floats(0.1, 20.0), percent=st.floats(0.1, 50.0))
@settings(max_examples=15)
def test_doubt_in_what_is_given_never_helps(fault, temperature_k, percent):
    wanted = standard_probes(CABLE)
    sure = bound(CABLE, (fault,), wanted).place_m[0, 0]
    unsure = bound(CABLE, (fault,), wanted, given=Given(temperature_k, percent)).place_m[0, 0]
    assert unsure >= sure * (1 - 1e-6)


def test_the_inverse_of_the_information_is_the_bound():
    fault = Short(("core1", "braid"), 12.4, 55.0)
    linear = linearised(CABLE, (fault,), standard_probes(CABLE)[:3])
    inverse = np.linalg.inv(information(linear)[0])
    assert np.sqrt(np.diag(inverse)) == pytest.approx(bound_of(linear).deviation[0], rel=1e-5)


def test_what_is_unknown_is_named_with_the_unit_of_its_deviation():
    linear = linearised(CABLE, (Short(("core1", "braid"), 12.4, 55.0),), standard_probes(CABLE))
    first, second, *others = ((unknown.name, unknown.unit) for unknown in linear.unknowns)
    assert (first, second) == (("place", "m"), ("fault resistance", "ohm"))
    assert ("core resistance", "%") in others
    assert ("braid resistance", "ln") in others


def test_a_batch_of_places_and_resistances_is_each_by_itself():
    places, ohms = np.array([[3.0], [12.4], [28.0]]), np.array([1.0, 55.0, 900.0])
    wanted = standard_probes(CABLE)
    whole = bound(CABLE, (Short(("core1", "braid"), places, ohms),), wanted)
    assert whole.place_m.shape == whole.resistance_ohm.shape == (9, 1)
    for k, (at_m, ohm) in enumerate((x, r) for x in places[:, 0] for r in ohms):
        alone = bound(CABLE, (Short(("core1", "braid"), at_m, ohm),), wanted)
        assert whole.place_m[k] == pytest.approx(alone.place_m[0], rel=1e-6)


def test_mirrored_cores_have_one_bound():
    wanted = standard_probes(CABLE)
    one, two = (bound(CABLE, (Short((core, "braid"), 9.0, 20.0),), wanted).place_m[0, 0]
                for core in ("core1", "core2"))  # fmt: skip
    assert one == pytest.approx(two, rel=1e-6)


@pytest.mark.parametrize("fault", [Joint("core1", 12.4, 5.0), Short(("core1", "core2"), 12.4, 5.0)])
def test_ohms_from_one_end_do_not_place_what_they_cannot(fault):
    assert bound(CABLE, (fault,), standard_probes(CABLE)[:3]).place_m[0, 0] > 100.0


def test_no_fault_and_no_probe_are_refused():
    with pytest.raises(InputError, match="at least one fault"):
        bound(CABLE, (), standard_probes(CABLE))
    with pytest.raises(InputError, match="at least one probe"):
        bound(CABLE, (Break(("core1",), 3.0),), [])


def test_placeable_asks_the_readings_alone():
    wanted = standard_probes(CABLE)[:3]
    short, joint = Short(("core1", "braid"), 12.4, 55.0), Joint("core1", 0.0, 9.5)
    for fault, expected in ((short, True), (joint, False)):
        shown = measure(CABLE, (fault,), wanted, rng=np.random.default_rng(1))
        taken = [Reading(p, float(s)) for p, s in zip(wanted, shown, strict=True)]
        found = placeable(CABLE, (fault,), taken, 3.0)
        assert bool(found) is expected
        assert found.half_width_m > 0
    assert pytest.approx(1.96, abs=1e-3) == NORMAL_95


# --- whose doing a narrow interval is ------------------------------------------------------------

SHARP = PlacePrior(np.array([-2.5, 12.0, 12.8, 30.0]), np.array([0.01, 0.98, 0.01]))


def test_a_prior_that_knows_the_place_is_no_reading():
    """The same sharp prior: ohms place a short by themselves, a bad joint they do not."""
    wanted = standard_probes(CABLE)[:3]
    for fault, expected in (
        (Short(("core1", "braid"), 12.4, 55.0), True),
        (Joint("core1", 12.4, 40.0), False),
    ):
        shown = measure(CABLE, (fault,), wanted, rng=np.random.default_rng(3))
        taken = [Reading(p, float(s)) for p, s in zip(wanted, shown, strict=True)]
        table = [h for h in hypotheses(CABLE) if h.faults and h.faults[0].kind == fault.kind]
        top = posterior(CABLE, taken, table=table[:1], place=SHARP)[0]
        found = intervals_of(top.unknowns.places_m(top.points.z)[0], top.points.weight, 0.95)
        assert found.interval_m[1] - found.interval_m[0] < 1.0, "either looks placed"
        assert readings_place(top, (fault,), taken, 3.0) is expected


def test_places_ruled_out_count_where_a_slope_does_not():
    """In the cold lead ohms hardly change, but they do say that it is not in the heated part."""
    scenario = load_scenario(shipped_directory() / "wardrobe-nail-in-cold-lead.toml")
    top = posterior(scenario.cable, scenario.readings)[0]
    assert scenario.cable.cold_lead_m == 4.0
    assert not placeable(scenario.cable, scenario.faults, scenario.readings, 4.5 / 2)
    assert readings_place(top, scenario.faults, scenario.readings, 4.5)
    assert not readings_place(top, scenario.faults, scenario.readings, 3.0)


@given(level=st.floats(0.5, 0.99))
@settings(max_examples=10)
def test_points_of_the_prior_are_open_all_along_once_it_is_taken_out(level):
    prior = place_prior(CABLE)
    places = prior.place_m((np.arange(20_000) + 0.5) / 20_000)
    open_m = even_open_m(places, np.ones(len(places)), prior, level)
    assert open_m == pytest.approx(level * 32.5, rel=0.03)
