"""What to read next: gains, risks and plans, on posteriors of real readings."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import CapacitanceMeter, LoopBridge, Ohmmeter, Setting
from cablesim.instruments.readings import Probe, Reading, measure
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup
from cablesim.locate.candidates import Candidate, candidates
from cablesim.locate.effort import RISKS, USUAL_EFFORT, Effort, with_minutes
from cablesim.locate.outlook import outlook
from cablesim.locate.plan import plan_next
from cablesim.locate.prior import hypotheses
from cablesim.locate.weighing import posterior

CABLE = Cable.rated("twin", 30.0, 88.2)
SINGLE = [h for h in hypotheses(CABLE) if h.places < 2]
FAULTS = {
    "short": Short(("core1", "braid"), 12.4, 55.0),
    "touch": Short(("core1", "core2"), 12.4, 20.0),
    "break": Break(("core1",), 12.4),
    "joint": Joint("core2", 21.0, 40.0),
    "leak": Degraded.at(("core2", "braid"), 7.0, 3e5),
    "healthy": None,
}


def readings(fault, probes, cable=CABLE, seed=1):
    faults = (fault,) if fault else ()
    shown = measure(cable, faults, probes, rng=np.random.default_rng(seed))
    return [Reading(probe, float(value)) for probe, value in zip(probes, shown, strict=True)]


@pytest.fixture(scope="module")
def weighed():
    """Readings and posterior of each damage after the three ohms and the insulation."""
    cases = {}
    for name, fault in FAULTS.items():
        taken = readings(fault, standard_probes(CABLE)[:4])
        cases[name] = (taken, posterior(CABLE, taken, table=SINGLE))
    return cases


def gains(answers, offered):
    seen = outlook(answers, offered)
    weights = seen.nothing_read()
    return seen, list(seen.gains(weights, range(len(offered))).values())


def bridge():
    hookup = Hookup.of(CABLE, ("core2", "core1", "braid"))
    return Probe(LoopBridge(name="bridge"), hookup, Setting(method="murray"))


# --- what one reading tells ----------------------------------------------------------------------


@pytest.mark.parametrize("name", FAULTS)
def test_a_reading_that_cannot_tell_gains_about_nothing(weighed, name):
    """A meter with huge errors, and the same reading again with the same meter."""
    _, answers = weighed[name]
    blunt = Ohmmeter(name="blunt", accuracy_percent=100.0, accuracy_counts=1900.0)
    hookups = [Hookup.of(CABLE, p) for p in (("core1", "core2"), ("core1", "braid"))]
    offered = [Candidate("ohmmeter", Probe(blunt, hookup)) for hookup in hookups]
    for gain in gains(answers, offered)[1]:
        assert gain.bits < 0.1
        assert gain.halvings < 0.15


def test_capacitance_does_not_place_a_leak_of_a_short(weighed):
    _, answers = weighed["short"]
    offered = [c for c in candidates(CABLE) if c.method == "capacitance_meter"]
    assert max(gain.bits for gain in gains(answers, offered)[1]) < 0.1


def test_the_expected_interval_after_a_bridge_is_what_it_becomes(weighed):
    taken, answers = weighed["short"]
    seen, (gain,) = gains(answers, [Candidate("loop_bridge", bridge())])
    expected_m = seen.open_m * 2.0**-gain.halvings
    short = next(h for h in SINGLE if h.verdict == "short" and h.faults[0].between[0] == "core1")
    lengths = []
    for seed in range(6):
        again = [*taken, *readings(FAULTS["short"], [bridge()], seed=seed)]
        after = posterior(CABLE, again, table=[short])
        lengths.append(outlook(after, [Candidate("loop_bridge", bridge())]).open_m)
    really_m = np.exp(np.mean(np.log(lengths)))
    assert really_m < 0.5 * seen.open_m
    # The meter's own errors were drawn once for each; the outlook is never the more hopeful one
    # by more than its scatter.
    assert 0.7 * really_m < expected_m < 2.0 * really_m


def test_open_length_is_that_of_the_interval(weighed):
    _, answers = weighed["short"]
    seen = outlook(answers, [Candidate("loop_bridge", bridge())])
    points = answers[0].points
    place = answers[0].unknowns.places_m(points.z)[0]
    low, high = np.quantile(place, [0.025, 0.975], weights=points.weight, method="inverted_cdf")
    assert seen.open_m == pytest.approx(high - low, rel=0.15)


# --- risks and efforts ---------------------------------------------------------------------------


@pytest.mark.parametrize("risk", RISKS)
@pytest.mark.parametrize("name", FAULTS)
def test_a_limit_of_risk_is_obeyed(weighed, name, risk):
    taken, answers = weighed[name]
    plan = plan_next(CABLE, taken, answers, steps=2, risk=risk)
    for step in [*plan.steps, *plan.others]:
        assert step.effort.rank <= RISKS.index(risk)


@pytest.mark.parametrize(("volt", "rank"), [(9.0, 0), (100.0, 1)])
def test_a_bridge_is_as_dangerous_as_its_battery(weighed, volt, rank):
    taken, answers = weighed["short"]
    own = replace(bridge(), meter=LoopBridge(name="bridge", battery_volt=volt))
    for limit, risk in enumerate(RISKS):
        plan = plan_next(CABLE, taken, answers, [own], steps=1, risk=risk)
        seen = [s for s in (*plan.steps, *plan.others) if s.candidate.method == "loop_bridge"]
        assert {s.effort.rank for s in seen} == ({rank} if rank <= limit else set())


def test_nobody_is_told_to_energise_a_cable_that_seems_healthy(weighed):
    taken, answers = weighed["healthy"]
    assert not answers[0].hypothesis.faults
    plan = plan_next(CABLE, taken, answers)
    assert all(step.effort.risk != "high-voltage" for step in [*plan.steps, *plan.others])


def test_at_equal_gain_the_safe_one_comes_first(weighed):
    taken, answers = weighed["touch"]
    alone = plan_next(CABLE, taken, answers, steps=1)
    first = alone.steps[0].candidate.method
    assert first == "pulse_echo"
    # As many bits a minute from the camera: the echo still goes first; far more, the camera does.
    camera = next(s for s in alone.others if s.candidate.method == "thermal_camera")
    equal = camera.bits / alone.steps[0].bits_per_minute
    for minutes, method in ((equal, "pulse_echo"), (equal / 5, "thermal_camera")):
        efforts = USUAL_EFFORT | {"thermal_camera": Effort(minutes, "high-voltage")}
        plan = plan_next(CABLE, taken, answers, steps=1, efforts=efforts)
        assert plan.steps[0].candidate.method == method


def test_methods_not_at_hand_and_their_minutes(weighed):
    taken, answers = weighed["touch"]
    plan = plan_next(CABLE, taken, answers, steps=2, without=["pulse_echo"])
    assert plan.steps[0].candidate.method == "thermal_camera"
    assert plan.steps[0].candidate.across == ()
    assert with_minutes({"pulse_echo": 9.0})["pulse_echo"].minutes == 9.0
    for wrong in ({"steps": 0}, {"steps": 11}, {"risk": "some"}, {"without": ["ouija"]}):
        with pytest.raises(InputError):
            plan_next(CABLE, taken, answers, **wrong)
    with pytest.raises(InputError, match="did you mean pulse_echo"):
        with_minutes({"pulse_ecko": 9.0})
    with pytest.raises(InputError):
        with_minutes({"pulse_echo": 0.0})
    with pytest.raises(InputError):
        Effort(1.0, "mains")


def test_a_method_costs_what_it_says_and_the_table_is_complete():
    offered = candidates(CABLE) + candidates(Cable.rated("single", 40.0, 60.0))
    assert {c.method for c in offered} == set(USUAL_EFFORT)


# --- plans ---------------------------------------------------------------------------------------


@settings(max_examples=6)
@given(name=st.sampled_from(sorted(FAULTS)), steps=st.integers(1, 3), risk=st.sampled_from(RISKS))
def test_more_steps_never_widen_the_expected_interval(weighed, name, steps, risk):
    taken, answers = weighed[name]
    plan = plan_next(CABLE, taken, answers, steps=steps, risk=risk)
    assert len(plan.steps) <= steps
    lengths = [plan.open_m, *(step.after_m for step in plan.steps)]
    assert lengths == sorted(lengths, reverse=True)
    assert [s.before_m for s in plan.steps] == lengths[:-1]
    keys = [(s.candidate.method, s.candidate.probe) for s in plan.steps]
    assert len(set(keys)) == len(keys)


def test_a_plan_is_the_same_twice(weighed):
    taken, answers = weighed["joint"]
    one, other = (plan_next(CABLE, taken, answers, steps=2).to_dict() for _ in range(2))
    assert one == other


def test_readings_that_were_taken_are_not_proposed(weighed):
    taken, _ = weighed["short"]
    turned = replace(taken[1].probe, hookup=Hookup.of(CABLE, ("braid", "core1")))
    offered = candidates(CABLE, (), taken)
    known = {(c.method, frozenset(c.probe.hookup.leads)) for c in offered}
    assert ("ohmmeter", frozenset(turned.hookup.leads)) not in known
    assert len(offered) < len(candidates(CABLE))


def test_a_camera_brings_its_caution(weighed):
    taken, answers = weighed["touch"]
    plan = plan_next(CABLE, taken, answers, steps=1, without=["pulse_echo"])
    (step,) = plan.steps
    assert step.candidate.named == "thermal camera"
    assert "energised" in step.why
    told = step.to_dict()
    assert told["risk"] == "high-voltage"
    assert told["after_m"] < told["before_m"]


def test_the_reason_is_where_the_bits_come_from(weighed):
    """Which core a joint is in no echo around the loop tells, but where it is."""
    taken, answers = weighed["joint"]
    (first, *_) = plan_next(CABLE, taken, answers, steps=1).steps
    assert first.candidate.across == ("core1", "core2")
    assert first.why.startswith("would narrow the place")
    _, (gain,) = gains(answers, [first.candidate])
    assert gain.bits_what < 0.1 * gain.bits
    # Around a loop that reads nothing either core may be cut, or both.
    loop = readings(FAULTS["break"], standard_probes(CABLE)[:1])
    both = Probe(CapacitanceMeter(name="cap"), Hookup.of(CABLE, ("core1", "core2+braid")))
    seen = posterior(CABLE, loop, table=SINGLE)
    _, (gain,) = gains(seen, [Candidate("capacitance_meter", both)])
    assert 0.0 < gain.bits_what < gain.bits


@pytest.mark.parametrize(("core", "sound"), [("core1", "core2"), ("core2", "core1")])
def test_a_bridge_is_named_sound_core_first(core, sound):
    taken = readings(Short((core, "braid"), 12.4, 900.0), standard_probes(CABLE)[:4])
    steps = plan_next(CABLE, taken, posterior(CABLE, taken, table=SINGLE), steps=1).steps
    assert steps[0].candidate.method == "loop_bridge"
    assert steps[0].candidate.across == (sound, core, "braid")


def test_a_bridge_with_its_cores_exchanged_is_the_same_reading():
    across = {c.across for c in candidates(CABLE, taken=[Reading(bridge(), 0.4)], faulty="core2")}
    assert ("core1", "core2", "braid") in across, "the other method"
    methods = [
        c.setting
        for c in candidates(CABLE, taken=[Reading(bridge(), 0.4)], faulty="core2")
        if c.method == "loop_bridge"
    ]
    assert methods == ["varley"]


@pytest.mark.parametrize("steps", [0, 1.5, "3", None, 11])
def test_a_number_of_steps_is_a_small_whole_one(weighed, steps):
    taken, answers = weighed["short"]
    with pytest.raises(InputError, match="a whole number from 1 to 10"):
        plan_next(CABLE, taken, answers, steps=steps)


def test_no_reading_takes_longer_than_a_week():
    with pytest.raises(InputError, match="minutes"):
        with_minutes({"loop_bridge": 1e300})
