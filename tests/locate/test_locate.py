"""What an answer must do: agree with brute force, keep symmetries, admit what it cannot know."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.display import display
from cablesim.instruments.meters import (
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    Setting,
)
from cablesim.instruments.readings import Probe, Reading, measure, predict
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup
from cablesim.locate import locate, posterior
from cablesim.locate.advice import cautions
from cablesim.locate.conflict import conflict_of
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns
from cablesim.locate.prior import KINDS, heated_part, hypotheses, place_prior
from cablesim.locate.summary import intervals_of
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory

CABLE = Cable.rated("twin", 30.0, 88.2)
METER = Ohmmeter(name="pocket")
THREE = (("core1", "core2"), ("core1", "braid"), ("core2", "braid"))


def probes(*hookups, meter=METER, cable=CABLE):
    return [Probe(meter, Hookup.of(cable, across)) for across in hookups]


def readings(faults, wanted, *, seed=1, cable=CABLE):
    shown = measure(cable, faults, wanted, rng=np.random.default_rng(seed))
    return [Reading(probe, float(value)) for probe, value in zip(wanted, shown, strict=True)]


def of_kind(kind, cable=CABLE):
    return [h for h in hypotheses(cable) if h.verdict == kind]


# --- against brute force -------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("fault", "kind", "number"),
    [
        (Short(("core1", "braid"), 12.4, 55.0), "short", 0),
        (Short(("core1", "core2"), 12.4, 20.0), "short", 2),
        (Joint("core1", 12.4, 6.0), "joint", 0),
    ],
)
def test_agrees_with_plain_monte_carlo_over_the_prior(fault, kind, number):
    """Evidence and quartiles against a million draws from the prior, weighted by the same displays.

    The draws know nothing of cells, fits or proposals. Both sides have a statistical error: that of
    the draws is estimated from their weights, and 5 of it are allowed, with 2 % for the answer's.
    """
    # A coarse meter, so that enough of the draws explain its displays.
    three = probes(*THREE, meter=replace(METER, accuracy_counts=40.0))
    taken = readings((fault,), three)
    hypothesis = of_kind(kind)[number]
    (answer,) = posterior(CABLE, taken, table=[hypothesis])
    unknowns = Unknowns(CABLE, hypothesis, place_prior(CABLE), tuple(taken))
    z = np.random.default_rng(5).random((1_000_000, unknowns.size))
    weight = Displays.of(taken).probability(unknowns.indicated(z, unknowns.exact(z)))
    count = weight.sum() ** 2 / (weight**2).sum()
    assert count > 40
    evidence, spread = weight.mean(), weight.std() / np.sqrt(len(weight))
    assert answer.points.evidence == pytest.approx(evidence, abs=5 * spread + 0.02 * evidence)
    mine = unknowns.places_m(answer.points.z)[0]
    theirs = unknowns.places_m(z)[0]
    for share in (0.25, 0.5, 0.75):
        place = np.quantile(theirs, share, weights=weight, method="inverted_cdf")
        below = answer.points.weight[mine <= place].sum() / answer.points.evidence
        error = np.sqrt(share * (1 - share) / count)
        assert below == pytest.approx(share, abs=5 * error + 0.02)


@pytest.mark.parametrize(
    ("faults", "number"),
    [
        ((Short(("core1", "braid"), 6.0, 40.0), Short(("core2", "braid"), 21.0, 90.0)), 1),
        ((Break(("core1",), 10.0), Short(("core1", "braid"), 20.0, 30.0)), 3),
        ((Break(("core1",), 10.0), Short(("core2", "braid"), 20.0, 30.0)), 7),
    ],
)
def test_two_damages_agree_with_plain_monte_carlo_to_a_seventh(faults, number):
    """As above, for two places: some hundred points count there; a seventh is what that costs."""
    coarse = Ohmmeter(name="m", accuracy_percent=3.0, accuracy_counts=40.0)
    taken = readings(faults, probes(*THREE, meter=coarse), seed=2)
    hypothesis = [h for h in hypotheses(CABLE) if h.places == 2][number]
    assert {f.kind for f in hypothesis.faults} == {f.kind for f in faults}
    (answer,) = posterior(CABLE, taken, table=[hypothesis])
    unknowns = Unknowns(CABLE, hypothesis, heated_part(CABLE), tuple(taken))
    z = np.random.default_rng(5).random((400_000, unknowns.size))
    weight = Displays.of(taken).probability(unknowns.indicated(z, unknowns.exact(z)))
    evidence, spread = weight.mean(), weight.std() / np.sqrt(len(weight))
    assert spread < 0.12 * evidence
    assert answer.points.evidence == pytest.approx(evidence, abs=4 * spread + 0.15 * evidence)


def test_probability_of_a_display_is_its_frequency():
    meter = Ohmmeter(name="m", accuracy_percent=0.0, lead_ohm=0.0, lead_ohm_tolerance=0.0)
    (probe,) = probes(("core1", "core2"), meter=meter)
    exact = 88.23
    draws = 200_000
    shown = display(np.full((draws, 1), exact), [probe], rng=np.random.default_rng(3))[:, 0]
    for value in (87.9, 88.0, 88.2, 88.5, 88.6):
        expected = Displays.of([Reading(probe, value)]).probability(np.array([exact]))
        frequency = np.mean(np.isclose(shown, value))
        assert frequency == pytest.approx(float(expected), abs=5 * np.sqrt(0.2 / draws))


# --- symmetries ----------------------------------------------------------------------------------


@settings(max_examples=3)
@given(st.permutations(range(5)), st.integers(0, 5))
def test_permuting_readings_changes_nothing(order, seed):
    wanted = [*probes(*THREE), *standard_probes(CABLE)[3:5]]
    taken = readings((Short(("core2", "braid"), 7.0, 30.0),), wanted, seed=seed)
    # One place: two of them go the same way, at many times the cost.
    table = [h for h in hypotheses(CABLE) if h.places < 2]
    here, there = (locate(CABLE, some, table=table) for some in ([taken[k] for k in order], taken))
    assert here.to_dict() == there.to_dict()


def test_a_cable_read_from_its_other_end_is_mirrored():
    cable = Cable.rated("single", 40.0, 60.0)

    def ends(near, far):
        return probes(
            (near, far), (near, f"braid{near[5:]}"), (far, f"braid{far[5:]}"), cable=cable
        )

    fault = Short(("core1", "braid"), 11.0, 25.0)
    shown = measure(cable, (fault,), ends("core1", "core1@far"), rng=np.random.default_rng(2))
    estimates = [
        locate(cable, [Reading(p, float(v)) for p, v in zip(wanted, shown, strict=True)])
        for wanted in (ends("core1", "core1@far"), ends("core1@far", "core1"))
    ]
    (here,), (there,) = (estimate.faults for estimate in estimates)
    width = here.interval_m[1] - here.interval_m[0]
    # Two sets of points for one posterior: a tenth of its width is their scatter.
    assert there.position_m == pytest.approx(40.0 - here.position_m, abs=0.1 * width)
    assert there.interval_m[1] == pytest.approx(40.0 - here.interval_m[0], abs=0.1 * width)


def test_a_worse_meter_and_a_dropped_reading_widen_the_interval_on_average():
    def width(meter, hookups, seed):
        taken = readings(
            (Short(("core1", "braid"), 9.0, 40.0),), probes(*hookups, meter=meter), seed=seed
        )
        estimate = locate(CABLE, taken, established=["short"], table=of_kind("short"))
        low, high = estimate.faults[0].interval_m
        return high - low

    worse = replace(METER, accuracy_counts=10.0, accuracy_percent=3.0)
    seeds = range(3)
    usual = np.mean([width(METER, THREE, seed) for seed in seeds])
    assert np.mean([width(worse, THREE, seed) for seed in seeds]) > usual
    assert np.mean([width(METER, THREE[:2], seed) for seed in seeds]) > usual


def test_probabilities_sum_to_one():
    answers = posterior(CABLE, readings((), probes(*THREE)))
    assert sum(answer.probability for answer in answers) == pytest.approx(1.0, abs=1e-12)


# --- round trip ----------------------------------------------------------------------------------


@settings(max_examples=6)
@given(st.floats(0.5, 29.5), st.floats(0.0, 3.0), st.sampled_from(["core1", "core2"]))
def test_a_precise_meter_finds_the_fault_to_centimetres(at_m, decades, core):
    meter = Ohmmeter(
        name="bench",
        accuracy_percent=0.01,
        accuracy_counts=1,
        counts=1e5,
        resolution=1e-3,
        top_range=1e8,
        lead_ohm=0.0,
        lead_ohm_tolerance=0.0,
    )
    fault = Short((core, "braid"), at_m, 10.0**decades)
    taken = readings((fault,), probes(*THREE, meter=meter))
    table = [h for h in hypotheses(CABLE) if h.places < 2]
    (found,) = locate(CABLE, taken, level=0.999, table=table).faults
    assert found.between == (core, "braid")
    # Gains of 0.01 % on two ranges, and counts of 10 mohm beside 1.5 ohm a metre, make centimetres.
    assert found.position_m == pytest.approx(at_m, abs=0.06)
    assert found.interval_m[0] <= at_m <= found.interval_m[1]


# --- what readings cannot tell -------------------------------------------------------------------


@pytest.mark.parametrize(
    "fault",
    [
        Short(("core1", "core2"), 12.0, 20.0),
        Joint("core1", 12.0, 50.0),
        Degraded.at(("core1", "braid"), 12.0, 3e6),
        Break(("core1",), 12.0),
    ],
)
def test_ohms_alone_do_not_place_it_and_the_answer_says_so(fault):
    estimate = locate(CABLE, readings((fault,), probes(*THREE)))
    assert estimate.verdict == fault.kind
    assert not estimate.locatable
    assert "m open" in estimate.reason
    assert estimate.next_reading is not None
    assert estimate.next_reading.why


def test_a_bridge_places_the_leak_that_an_ohmmeter_does_not():
    fault = Degraded.at(("core1", "braid"), 12.0, 3e6)
    before = locate(CABLE, readings((fault,), probes(*THREE)))
    assert before.next_reading.meter == "loop_bridge"
    bridge = Probe(
        LoopBridge(name="bridge"),
        Hookup.of(CABLE, ("core2", "core1", "braid")),
        Setting(method="murray"),
    )
    after = locate(CABLE, readings((fault,), [*probes(*THREE), bridge]))
    assert after.locatable
    assert after.faults[0].interval_m[0] <= 12.0 <= after.faults[0].interval_m[1]


def test_capacitances_place_a_break():
    taken = readings((Break(("core1",), 12.0),), standard_probes(CABLE))
    estimate = locate(CABLE, taken)
    assert (estimate.verdict, estimate.locatable) == ("break", True)
    assert estimate.faults[0].conductors == ("core1",)


def test_a_core_broken_with_its_near_end_on_the_braid_is_several():
    cable = replace(CABLE, capacitance_tolerance_percent=(-5.0, 5.0))
    faults = (Break(("core1",), 12.0), Short(("core1", "braid"), 12.0, 30.0))
    estimate = locate(cable, readings(faults, standard_probes(cable)), level=0.999)
    assert estimate.verdict == "several"
    assert {fault.kind for fault in estimate.faults} == {"break", "short"}
    assert all(f.interval_m[0] <= 12.0 <= f.interval_m[1] for f in estimate.faults)


def test_healthy_readings_are_healthy():
    wanted = [*probes(*THREE), Probe(InsulationTester(name="i"), Hookup.of(CABLE, THREE[1]))]
    estimate = locate(CABLE, readings((), wanted))
    assert (estimate.verdict, estimate.faults) == ("healthy", ())


def test_a_misread_display_is_named():
    taken = readings((Short(("core1", "braid"), 12.4, 55.0),), standard_probes(CABLE)[:3])
    wrong = replace(taken[2], shown=1263.0)
    estimate = locate(CABLE, [taken[0], taken[1], wrong])
    assert estimate.verdict == "undecided"
    assert not estimate.locatable
    assert "reading" in estimate.conflict


def test_no_reading_and_no_level_are_refused():
    with pytest.raises(InputError, match="no reading"):
        locate(CABLE, [])
    with pytest.raises(InputError, match="one cable at a time"):
        many = replace(CABLE, heated_length_m=np.array([30.0, 31.0]))
        locate(many, readings((), probes(*THREE)))
    with pytest.raises(InputError, match="tuple of faults"):
        predict(CABLE, Short(("core1", "braid"), 1.0, 1.0), probes(*THREE))
    with pytest.raises(InputError, match="at least one probe"):
        predict(CABLE, (), [])
    with pytest.raises(InputError, match="level"):
        locate(CABLE, readings((), probes(*THREE)), level=1.5)


def test_every_answer_carries_cautions():
    estimate = locate(CABLE, readings((), standard_probes(CABLE)))
    assert any("licensed" in caution for caution in estimate.cautions)
    assert any("discharge" in caution for caution in estimate.cautions)


OWN = sorted(path.stem for path in shipped_directory().glob("*.toml"))


@pytest.mark.parametrize("name", OWN)
def test_shipped_floors_are_answered_without_a_wrong_word(name):
    """Decided verdicts are right, and 99.9 % intervals hold the truth of every one of them.

    Where several answers of that verdict are left, those of the conductors that are damaged count.
    """
    scenario = load_scenario(shipped_directory() / f"{name}.toml")
    estimate = locate(scenario.cable, scenario.readings, level=0.999)
    kinds = {fault.kind for fault in scenario.faults}
    truth = "healthy" if not kinds else "several" if len(scenario.faults) > 1 else kinds.pop()
    assert estimate.verdict in (truth, "undecided")
    if estimate.verdict == truth:
        others = [a.faults for a in estimate.alternatives if a.verdict == truth]
        told = [estimate.faults, *others]
        assert any(
            all(_holds(found, fault) for found, fault in zip(faults, scenario.faults, strict=True))
            for faults in told
        )


def _holds(found, fault):
    """Whether an answer is of these conductors, and its intervals hold the place."""
    touched = fault.conductors if isinstance(fault, Break | Joint) else fault.between
    # A millimetre for a fault at the very end: every point of a posterior lies before it.
    at_m = float(fault.position_m)
    inside = any(low - 1e-3 <= at_m <= high + 1e-3 for low, high in found.intervals_m)
    return inside and touched in (found.conductors, found.between)


# --- intervals -----------------------------------------------------------------------------------


def test_intervals_hold_their_level_and_see_two_modes():
    rng = np.random.default_rng(8)
    values = np.concatenate([rng.normal(5.0, 0.1, 20000), rng.normal(20.0, 0.2, 10000)])
    places = intervals_of(values, np.ones(len(values)), 0.9)
    assert len(places.intervals_m) == 2
    inside = sum(np.mean((values >= low) & (values <= high)) for low, high in places.intervals_m)
    assert inside == pytest.approx(0.9, abs=0.003)
    assert places.position_m == pytest.approx(5.0, abs=0.01)


def test_heavy_points_seldom_tear_a_stretch():
    """One stretch that thins out, told by points of which some weigh many times as much as others.

    Held to a tenth of the draws: a gap that a few heavy points leave by chance is no gap.
    """
    torn = 0
    for seed in range(100):
        rng = np.random.default_rng(seed)
        values, weights = rng.exponential(1.0, 1500), np.exp(1.5 * rng.standard_normal(1500))
        weights = np.minimum(weights, weights.sum() / len(weights) ** 0.5)
        torn += len(intervals_of(values, weights, 0.95).intervals_m) > 1
    assert torn <= 10


def test_a_few_heavy_points_are_no_stretch_of_their_own():
    values = np.append(np.random.default_rng(1).normal(5.0, 0.2, 400), [9.0, 9.0, 12.0])
    weights = np.append(np.ones(400), [4.0, 4.0, 8.0])
    ((low, high),) = intervals_of(values, weights, 0.95).intervals_m
    assert 4.0 < low < 5.0 < high < 6.0


@given(st.floats(0.1, 0.99), st.floats(-50, 50), st.floats(0.01, 10))
def test_shortest_interval_of_a_normal_is_central(level, middle, spread):
    from scipy.special import ndtri

    values = middle + spread * ndtri((np.arange(20000) + 0.5) / 20000)
    (low, high) = intervals_of(values, np.ones(len(values)), level).interval_m
    half = spread * ndtri((1 + level) / 2)
    assert (high - low) / 2 == pytest.approx(half, abs=0.02 * spread)


def test_capacitance_reading_needs_insulation():
    meter = CapacitanceMeter(name="c")
    (probe,) = probes(("core1+core2", "braid"), meter=meter)
    leak = Short(("core1", "braid"), 5.0, np.array([1e3, 1e8]))
    shown = predict(CABLE, (leak,), [probe])[:, 0]
    assert np.isinf(shown[0])
    assert shown[1] == pytest.approx(6.5, rel=0.01)


def test_the_page_states_the_prior_that_is_used():
    page = (Path(__file__).parents[2] / "docs" / "locate.md").read_text(encoding="utf-8")
    for cable in (CABLE, Cable.rated("single", 40.0, 60.0)):
        for kind in KINDS:
            weight = sum(h.weight for h in of_kind(kind, cable))
            assert f"| {kind} | {weight:.2f} |" in page
    assert sum(h.weight for h in hypotheses(CABLE)) == pytest.approx(1.0)


def test_an_answer_needs_no_reading_that_is_left_to_take():
    # A parallel cable closes no loop for a bridge, so that the usual readings are all there are.
    cable = Cable.rated("parallel", 18.0, 210.0)
    usual = standard_probes(cable)
    leak = Degraded.at(("core2", "braid"), 6.0, 20e3)
    shown = measure(cable, (leak,), usual, rng=np.random.default_rng(1))
    answer = locate(cable, [Reading(p, float(s)) for p, s in zip(usual, shown, strict=True)])
    assert answer.verdict == "degraded"
    assert answer.next_reading is None or not answer.next_reading.across


def test_the_warning_comes_with_the_advice_and_not_after_the_deed():
    estimate = locate(CABLE, readings((), probes(*THREE)))
    assert estimate.next_reading.kind == "insulation_tester"
    assert any("nobody on the floor" in caution for caution in estimate.cautions)
    # A camera would see it too, but an echo does without mains: no word then of energising.
    touching = locate(CABLE, readings((Short(("core1", "core2"), 12.0, 20.0),), probes(*THREE)))
    assert touching.next_reading.kind == "pulse_echo"
    assert not any("residual-current" in caution for caution in touching.cautions)
    for method in ("thermal_camera", "withstand_and_camera"):
        told = cautions([method], opening=False)
        assert any("residual-current" in caution for caution in told)


def test_insulation_that_fails_only_at_voltage_is_no_harmless_conflict():
    healthy = readings((), probes(*THREE))
    tester = Probe(InsulationTester(name="i"), Hookup.of(CABLE, ("core1+core2", "braid")))
    taken = [*healthy, Reading(tester, 0.5)]
    assert "unsafe to use" in conflict_of(CABLE, taken, posterior(CABLE, taken))


def test_damage_that_the_readings_do_not_tell_apart_comes_in_the_order_of_the_table():
    """Ohms from core to core say nothing of which core a joint is in; rounding must not either."""
    scenario = load_scenario(shipped_directory() / "landing-echo-of-a-joint.toml")
    first, second = posterior(scenario.cable, scenario.readings)[:2]
    assert first.probability == pytest.approx(second.probability, rel=1e-6)
    assert [a.hypothesis.faults[0].conductor for a in (first, second)] == ["core1", "core2"]
    turned = posterior(scenario.cable, scenario.readings, table=hypotheses(scenario.cable)[::-1])
    assert [a.hypothesis.faults[0].conductor for a in turned[:2]] == ["core2", "core1"]


@pytest.mark.parametrize("at_m", [0.0003, 0.005])
@pytest.mark.parametrize("lies_on_braid", [False, True])
def test_a_parallel_cable_cut_within_millimetres_of_its_joint_is_not_ruled_out(at_m, lies_on_braid):
    """What is left of it is read by the inverse of its length, to some micrometres."""
    cable = Cable.rated("parallel", 18.0, 210.0)
    pressed = (Short(("core1", "braid"), at_m, 0.2),) if lies_on_braid else ()
    faults = (Break(("core1",), at_m), *pressed)
    usual = standard_probes(cable)
    shown = measure(cable, faults, usual, rng=np.random.default_rng(3))
    taken = [Reading(p, float(s)) for p, s in zip(usual, shown, strict=True)]
    likeliest = posterior(cable, taken)[0]
    assert likeliest.hypothesis.verdict == ("several" if lies_on_braid else "break")
    (place_m,) = likeliest.unknowns.places_m(likeliest.points.z)
    told = place_m[likeliest.points.weight > 0]
    assert told.min() < at_m < told.max()
