"""Where a withstand tester trips: the bridge of four nodes, limits and monotone laws."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from line.strategies import cables, fault_lists, pairs, places_m

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Flashover, Joint, Short
from cablesim.cable.placing import mirrored_fault
from cablesim.errors import InputError
from cablesim.instruments.breakdown import BY_CURRENT, tripping
from cablesim.instruments.meters import Setting, WithstandTester
from cablesim.instruments.readings import Probe, measure, predict
from cablesim.instruments.withstand import withstand_test
from cablesim.line.circuit import terminal_network
from cablesim.line.ladder import ladder
from cablesim.line.layout import tap
from cablesim.line.terminals import Hookup

LIMIT = 5e-3
NEVER_VOLT = 1e20
TESTER = WithstandTester(name="withstand_tester")
TWIN = Cable.rated("twin", 30.0, 88.2)
ARC = Flashover(("core1", "braid"), 12.4, breakdown_volt=1400.0, arc_volt=60.0)


def probe(cable=TWIN, across=("core1+core2", "braid"), **setting):
    return Probe(TESTER, Hookup.of(cable, across), Setting(**setting))


def trips_at(cable, faults, across=("core1", "braid"), limit=LIMIT):
    return float(tripping(cable, tuple(faults), Hookup.of(cable, across), limit).volt)


@st.composite
def weak_cables(draw):
    cable = draw(cables())
    at_m = draw(places_m(cable))
    arc = Flashover(draw(pairs(cable)), at_m, 10.0 ** draw(st.floats(1, 4)), 10.0, np.inf)
    return cable, (arc, *draw(fault_lists(cable, most=2)))


def nodal_volt(cable, faults, hookup):
    """Voltage across the first fault for 1 V at the leads, by plain nodal equations."""
    taps = [tap(0, name) for name in faults[0].between]
    network = terminal_network(cable, faults, hookup.terminals.union(taps))
    g = network.between_leads(hookup, taps)
    matrix = np.zeros((4, 4))
    for (i, j), siemens in g.items():
        matrix[i, j] = matrix[j, i] = -float(siemens)
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    if abs(np.linalg.det(matrix[2:, 2:])) <= 1e-9 * np.prod(np.diag(matrix)[2:]):
        return 0.0  # the two conductors are as good as one there, or reached by nothing
    inner = np.linalg.solve(matrix[2:, 2:], -matrix[2:, 0])
    return abs(inner[0] - inner[1])


@given(weak_cables())
def test_the_bridge_is_what_nodal_equations_say(case):
    cable, faults = case
    hookup = Hookup.of(cable, ("core1", "braid"))
    found = tripping(cable, faults[:1], hookup, 1e-30)
    wanted = nodal_volt(cable, faults[:1], hookup)
    assume(wanted > 1e-6)  # below, the plain equations lose it
    volt = faults[0].breakdown_volt / wanted
    by_current = 1e-30 / float(found.siemens)
    assert float(found.volt) == pytest.approx(min(volt, by_current), rel=1e-6)


@given(weak_cables(), st.floats(1.0, 100.0))
def test_a_stronger_place_never_trips_sooner(case, factor):
    cable, (arc, *others) = case
    stronger = replace(arc, breakdown_volt=arc.breakdown_volt * factor)
    one, two = (trips_at(cable, (a, *others)) for a in (arc, stronger))
    assert two >= one * (1 - 1e-9)


@given(weak_cables(), st.floats(1.0, 100.0))
def test_a_higher_limit_never_trips_sooner(case, factor):
    cable, faults = case
    one, two = (trips_at(cable, faults, limit=limit) for limit in (LIMIT, LIMIT * factor))
    assert two >= one * (1 - 1e-9)


@given(weak_cables())
def test_one_more_weak_place_never_trips_later(case):
    cable, faults = case
    assert trips_at(cable, faults) <= trips_at(cable, faults[1:]) * (1 + 1e-9)


@given(weak_cables())
def test_a_place_that_never_strikes_is_its_leakage(case):
    cable, (arc, *others) = case
    assume(not any(isinstance(other, Flashover) for other in others))
    never = replace(arc, breakdown_volt=1e30)
    leak = Degraded.at(arc.between, arc.at_m, 1e5)
    one = trips_at(cable, (replace(never, leakage_ohm=1e5), *others))
    assert one == pytest.approx(trips_at(cable, (leak, *others)), rel=1e-9)


@given(st.data())
def test_a_cable_that_returns_is_tested_as_well_from_its_far_end(data):
    cable = data.draw(cables("single"))
    faults = tuple(data.draw(fault_lists(cable, most=2)))
    arc = Flashover(("core1", "braid"), data.draw(places_m(cable)), 1400.0, 60.0)
    # At one place with a series fault an arc lies on the near side of it, which has no mirror.
    struck = {f.at_m for f in (arc, *faults) if isinstance(f, Flashover)}
    assume(not any(isinstance(f, Break | Joint) and f.at_m in struck for f in faults))
    mirrored = tuple(mirrored_fault(cable, fault) for fault in (arc, *faults))
    near = trips_at(cable, (arc, *faults))
    far = trips_at(cable, mirrored, ("core1@far", "braid@far"))
    # Behind an open at the very end lies a piece of no length, whose leak stands for none at all.
    if min(near, far) > NEVER_VOLT:
        return
    # The bridge is a difference: a place behind two breaks may lose digits.
    assert far == pytest.approx(near, rel=1e-6)


def test_the_voltage_at_the_leads_is_nearly_that_at_the_place():
    """Line drop: the leakage of 30 m of good insulation through 1.47 ohm/m is microvolts."""
    found = withstand_test(TWIN, (ARC,), probe())
    assert 0 < found.trip_volt - found.fault_volt < 1e-3
    assert found.fault_volt == pytest.approx(1400.0)


def test_a_leak_before_the_place_takes_its_share():
    """A series resistance and a shunt are a divider: what is left over strikes."""
    joint, leak = Joint("core1", 5.0, 1e5), Degraded.at(("core1", "braid"), 12.4, 3e5)
    lone = replace(TWIN, far_end="open", insulation_gigaohm_m=1e6)
    found = trips_at(lone, (joint, leak, ARC), limit=1e-9)
    wanted = 1e-9 * 4e5  # a limit this small is reached by the leak alone
    assert found == pytest.approx(wanted, rel=1e-3)
    high = trips_at(lone, (joint, leak, ARC), limit=5e-3)
    # It strikes at 1400 V over 3/4; the arc of 60 V behind 100 kohm then needs 560 V for 5 mA.
    assert high == pytest.approx(1400 / 0.75, rel=1e-3)


def test_places_on_each_other_are_counted_once():
    """Two weak places at one point, one of them leaking: the leak draws what it draws alone."""
    leaking = replace(ARC, leakage_ohm=1e4)
    alone, both = trips_at(TWIN, (leaking,)), trips_at(TWIN, (ARC, leaking, ARC))
    assert both == pytest.approx(alone, rel=1e-9) == pytest.approx(50.0, rel=0.01)


def test_between_cores_that_are_one_at_the_far_end_nothing_strikes():
    far = Flashover(("core1", "core2"), 30.0, 500.0, 30.0)
    found = tripping(TWIN, (far,), Hookup.of(TWIN, ("core1", "core2")), LIMIT)
    assert int(found.fault) == BY_CURRENT
    assert float(found.volt) == pytest.approx(5e-3 * 88.27, rel=1e-3)


def test_an_arc_behind_too_much_resistance_does_not_trip():
    far = (Joint("core1", 5.0, 1e6), ARC)
    lone = replace(TWIN, far_end="open")
    assert trips_at(lone, far) == pytest.approx(60 + 5e-3 * 1e6, rel=1e-3)


def test_a_resistive_fault_trips_by_current():
    found = withstand_test(TWIN, (Degraded.at(("core2", "braid"), 12.4, 1e5),), probe())
    assert found.by == "current"
    assert found.between == ("core2", "braid")
    assert found.trip_volt == pytest.approx(500.0, rel=1e-3)
    assert found.bursts[0].watt == pytest.approx(2.5, rel=1e-3)
    assert found.bursts[0].from_cable_joule == 0.0


def test_the_weakest_of_several_places_strikes_first():
    other = Flashover(("core2", "braid"), 3.0, breakdown_volt=900.0, arc_volt=50.0)
    found = withstand_test(TWIN, (ARC, other), probe())
    assert found.fault is other
    assert found.trip_volt == pytest.approx(900.0, rel=1e-6)


def test_a_place_behind_a_break_is_not_reached():
    cut = Break(("core1", "core2", "braid"), 5.0)
    assert not withstand_test(TWIN, (cut, ARC), probe()).trips


def test_a_healthy_cable_holds():
    found = withstand_test(TWIN, (), probe())
    assert (found.trips, found.trip_volt, found.by, found.bursts) == (False, np.inf, "", ())
    assert found.volt.max() == TESTER.top_range
    assert found.volt[0] == found.volt[-1] == 0.0  # up and down again
    assert np.all(np.diff(found.seconds) >= 0)
    assert found.ampere.max() < LIMIT


def test_charging_alone_trips_a_tester_that_is_raised_too_fast():
    fast = replace(TESTER, volt_per_second=1e6)
    found = withstand_test(TWIN, (), replace(probe(), meter=fast))
    assert (found.by, found.fault) == ("current", None)
    farad = 6.5e-9
    assert farad * 1e6 > LIMIT


def test_charging_and_leakage_together_trip_where_their_sum_is_the_limit():
    """V G + C dV/dt = I, to the next of the 400 steps in which the voltage rises."""
    dry = replace(TWIN, loss_tangent=0.0)
    raised = replace(probe(), meter=replace(TESTER, volt_per_second=5e5))
    found = withstand_test(dry, (Degraded.at(("core1", "braid"), 12.4, 1.0015e6),), raised)
    wanted = 1.0015e6 * (LIMIT - 6.5e-9 * 5e5)
    assert found.by == "current"
    # The healthy insulation adds a ten thousandth to the leak.
    step_volt = TESTER.top_range / 400
    assert wanted * (1 - 2e-4) <= found.trip_volt < wanted + step_volt


def test_once_tripped_nothing_is_left_at_the_terminals():
    found = withstand_test(TWIN, (ARC,), probe())
    after = found.seconds > found.trip_volt / TESTER.volt_per_second
    assert after.any()
    assert np.all(found.volt[after] == 0.0)
    assert np.all(found.ampere[after] == 0.0)
    assert found.volt[-2] == found.ampere[-2] == 0.0
    assert found.volt.max() == found.trip_volt


def test_energy_of_a_burst():
    found = withstand_test(TWIN, (ARC,), probe())
    for burst, seconds in zip(found.bursts, (1.0, 2.0, 3.0), strict=True):
        assert burst.watt == pytest.approx(60.0 * LIMIT)
        assert burst.joule == pytest.approx(burst.from_cable_joule + burst.watt * seconds)
    # C V^2 / 2 of 32.5 m with 200 pF/m, less what the arc leaves.
    assert found.bursts[0].from_cable_joule == pytest.approx(
        0.5 * 6.5e-9 * (1400.0**2 - 60.0**2), rel=1e-3
    )
    assert found.discharge.stored_joule >= 0.5 * 6.5e-9 * 1399.0**2


def test_current_rises_with_the_voltage_until_it_trips():
    found = withstand_test(TWIN, (replace(ARC, leakage_ohm=5e6),), probe())
    up = found.seconds < found.trip_volt / TESTER.volt_per_second
    assert np.all(np.diff(found.ampere[up]) >= 0)
    assert found.ampere.max() == LIMIT


# --- as a meter -----------------------------------------------------------------------------------


def test_predict_in_a_batch_is_predict_one_by_one():
    volts = np.array([300.0, 1400.0, 2400.0, 9000.0])
    arcs = replace(ARC, breakdown_volt=volts)
    found = predict(TWIN, (arcs,), [probe(), probe(across=("core1", "core2"))])
    alone = [predict(TWIN, (replace(ARC, breakdown_volt=v),), [probe()])[0] for v in volts]
    np.testing.assert_allclose(found[:, 0], alone)
    assert np.isinf(found[3, 0])


def test_a_ladder_trips_where_the_exact_line_does():
    leaky = replace(TWIN, insulation_gigaohm_m=1e-4)
    faults = (Joint("core1", 4.0, 3e3), ARC)
    wanted = predict(leaky, faults, [probe(across=("core1", "braid"))])
    found = predict(leaky, faults, [probe(across=("core1", "braid"))], mesh_of=ladder(64))
    np.testing.assert_allclose(found, wanted, rtol=1e-5)


def test_the_display_has_a_lowest_and_a_highest_voltage():
    assert TESTER.shown(0.4, Setting()) == 100.0
    assert TESTER.shown(1384.0, Setting()) == 1380.0
    assert TESTER.shown(2504.0, Setting()) == 2500.0
    assert np.isinf(TESTER.shown(2506.0, Setting()))


def test_the_limit_may_be_set_for_one_reading():
    leak = (Degraded.at(("core1", "braid"), 12.4, 1e5),)
    found = predict(TWIN, leak, [probe(), probe(limit_milliamp=10.0)])
    assert found[1] == pytest.approx(2 * found[0])


def test_measure_stays_within_its_accuracy():
    rng = np.random.default_rng(3)
    arcs = replace(ARC, breakdown_volt=np.full(500, 1400.0))
    shown = measure(TWIN, (arcs,), [probe()], rng=rng)[:, 0]
    assert np.all(np.abs(shown - 1400.0) <= 0.03 * 1400 + 10)
    assert len(set(shown.tolist())) > 3


def test_only_a_withstand_tester_can_do_it():
    from cablesim.instruments.meters import Ohmmeter

    with pytest.raises(InputError, match="withstand_tester"):
        withstand_test(TWIN, (), replace(probe(), meter=Ohmmeter(name="o")))


@pytest.mark.parametrize("name", ["limit_milliamp", "volt_per_second"])
def test_an_impossible_tester_is_refused_by_name(name):
    with pytest.raises(InputError) as raised:
        replace(TESTER, **{name: 0.0})
    assert raised.value.what == name


@pytest.mark.parametrize(
    ("wrong", "word"),
    [
        ({"breakdown_volt": 0.0}, "breakdown_volt"),
        ({"arc_volt": 1500.0}, "arc_volt"),
        ({"arc_volt": -1.0}, "arc_volt"),
        ({"leakage_ohm": 0.0}, "leakage_ohm"),
        ({"between": ("core1", "core1")}, "between"),
    ],
)
def test_impossible_flashovers_are_refused(wrong, word):
    with pytest.raises(InputError, match=word):
        replace(ARC, **wrong)


@pytest.mark.parametrize(
    ("other", "word"),
    [
        (Flashover(("core1", "brade"), 3.0, 900.0, 50.0), "braid"),
        (Flashover(("core1", "braid"), 99.0, 900.0, 50.0), "at_m"),
    ],
)
def test_a_flashover_must_fit_the_cable(other, word):
    with pytest.raises(InputError, match=word):
        predict(TWIN, (Short(("core1", "braid"), 1.0, 1.0), other), [probe()])
