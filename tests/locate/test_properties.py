"""What holds of any posterior: order, scale, what tells nothing, and learning in two steps.

One hypothesis each, so that they are quick; sums over 8192 points scatter by about a hundredth.
"""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Short
from cablesim.instruments.meters import CapacitanceMeter, InsulationTester, Ohmmeter
from cablesim.instruments.readings import Probe, Reading, measure
from cablesim.line.terminals import Hookup
from cablesim.locate import posterior
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns, uncertain_in
from cablesim.locate.prior import heated_part, hypotheses, place_prior
from cablesim.locate.summary import weighted_quantile

CABLE = Cable.rated("twin", 30.0, 88.2)
METER = Ohmmeter(name="pocket")
THREE = (("core1", "core2"), ("core1", "braid"), ("core2", "braid"))
SHORT = next(h for h in hypotheses(CABLE) if h.verdict == "short")
PLACES = st.floats(1.0, 29.0)
OHMS = st.floats(1.0, 300.0)


def read(faults, meter=METER, cable=CABLE, hookups=THREE):
    wanted = [Probe(meter, Hookup.of(cable, across)) for across in hookups]
    shown = measure(cable, faults, wanted, rng=np.random.default_rng(1))
    return [Reading(probe, float(value)) for probe, value in zip(wanted, shown, strict=True)]


def answered(taken, cable=CABLE, hypothesis=SHORT):
    """Evidence, and the quantiles of the place that bound its central 95 %, with its middle."""
    (answer,) = posterior(cable, taken, table=[hypothesis])
    place = answer.unknowns.places_m(answer.points.z)[0]
    weight = answer.points.weight
    return answer, np.array([weighted_quantile(place, weight, q) for q in (0.025, 0.5, 0.975)])


def counting(answer):
    """How many points of equal weight would tell as much."""
    weight = answer.points.weight
    return weight.sum() ** 2 / (weight**2).sum()


@settings(max_examples=6)
@given(PLACES, OHMS)
def test_a_reading_that_tells_nothing_changes_nothing(at_m, ohm):
    taken = read((Short(("core1", "braid"), at_m, ohm),))
    # Any value is at least zero, whatever the meter.
    nothing = Reading(Probe(Ohmmeter(name="other"), taken[0].probe.hookup), 0.0, at_least=True)
    before, was = answered(taken)
    after, now = answered([*taken, nothing])
    assert after.points.evidence == pytest.approx(before.points.evidence, rel=0.1)
    # Points that lie elsewhere move an end of the interval by a sixtieth of it, now and then by
    # three times as much.
    assert np.all(np.abs(now - was) < (was[2] - was[0]) / 10)
    # And the same shares lie below the same places. The points are no random sample: of 183 shares
    # two lay beyond four standard errors of one, the farthest at 4.3.
    place = after.unknowns.places_m(after.points.z)[0]
    below = [after.points.weight[place < at].sum() / after.points.evidence for at in was]
    share = np.array([0.025, 0.5, 0.975])
    error = np.sqrt(share * (1 - share) * (1 / counting(before) + 1 / counting(after)))
    assert np.all(np.abs(below - share) < 6 * error)


@settings(max_examples=6)
@given(PLACES, OHMS, st.sampled_from([0.1, 10.0]))
def test_the_place_does_not_depend_on_the_scale_of_all_resistances(at_m, ohm, factor):
    """Cable, leads, meter, fault and prior all by the same factor; insulation is far above."""
    cable = replace(
        CABLE,
        core_ohm_per_m=tuple(factor * r for r in CABLE.core_ohm_per_m),
        cold_lead_ohm_per_m=factor * CABLE.cold_lead_ohm_per_m,
        braid_ohm_per_m=factor * CABLE.braid_ohm_per_m,
    )
    meter = replace(
        METER,
        resolution=factor * METER.resolution,
        top_range=factor * METER.top_range,
        lead_ohm=factor * METER.lead_ohm,
        lead_ohm_tolerance=factor * METER.lead_ohm_tolerance,
    )
    hypothesis = replace(
        SHORT, ohm_ranges=tuple((factor * a, factor * b) for a, b in SHORT.ohm_ranges)
    )
    _, here = answered(read((Short(("core1", "braid"), at_m, ohm),)))
    scaled = read((Short(("core1", "braid"), at_m, factor * ohm),), meter, cable)
    _, there = answered(scaled, cable, hypothesis)
    assert there == pytest.approx(here, abs=0.05 * (here[2] - here[0]))


@settings(max_examples=6)
@given(PLACES, OHMS)
def test_two_readings_and_then_a_third_tell_what_all_three_tell(at_m, ohm):
    """Weights of the first two, times the probability of the third, against all three at once."""
    taken = read((Short(("core1", "braid"), at_m, ohm),), replace(METER, accuracy_counts=20.0))
    # One gain and one lead for all three, so that the first two know all unknowns.
    if len({reading.gain_group for reading in taken}) > 1:
        return
    first, _ = answered(taken[:2])
    whole, quantiles = answered(taken)
    unknowns = replace(first.unknowns, readings=tuple(taken))
    z = first.points.z
    third = Displays.of(taken[2:]).probability(
        unknowns.indicated(z, unknowns.exact(z, unknowns.probes))[:, 2:]
    )
    weight = first.points.weight * third
    few = weight.sum() ** 2 / (weight**2).sum()
    # Few of the first points may agree with the third reading: four standard errors of these.
    error = 4 / np.sqrt(few) + 0.03
    assert weight.sum() == pytest.approx(whole.points.evidence, rel=error)
    middle = weighted_quantile(unknowns.places_m(z)[0], weight, 0.5)
    assert middle == pytest.approx(quantiles[1], abs=error * (quantiles[2] - quantiles[0]))


def test_no_single_point_is_a_spot_of_its_own():
    """Two places and three readings leave metres open: no point of thousands may hold them all."""
    taken = read((Short(("core1", "braid"), 8.0, 60.0), Short(("core1", "braid"), 22.0, 90.0)))
    alike = next(h for h in hypotheses(CABLE) if h.places == 2 and h.alike)
    (answer,) = posterior(CABLE, taken, table=[alike])
    weight = answer.points.weight
    assert weight.max() < 1.1 * weight.sum() / np.sqrt(len(weight))


def test_a_leak_at_which_a_capacitance_range_nearly_gives_up_is_weighed_as_by_plain_draws():
    """Beyond a loss factor of 1 the range says over range: an edge across the posterior.

    Evidence against 400,000 draws from the prior, which know of no search. Both have a
    statistical error: 4 of that of the draws, and 5 % for the answer.
    """
    cable = Cable.rated("single", 40.0, 70.0, capacitance_tolerance_percent=(-20.0, 25.0))
    meter = CapacitanceMeter(name="c", accuracy_percent=10.0, accuracy_counts=200.0)
    leak = next(h for h in hypotheses(cable) if h.verdict == "degraded")
    ends = (("core1", "braid"), ("core1@far", "braid"))
    ohms = replace(METER, accuracy_percent=5.0, accuracy_counts=100.0)
    fault = Degraded.at(("core1", "braid"), 15.0, 40e3)
    taken = [
        *read((fault,), meter, cable, ends),
        *read((fault,), ohms, cable, ends[:1]),
    ]
    assert np.isfinite([reading.shown for reading in taken]).all()
    answer, _ = answered(taken, cable, leak)
    unknowns = Unknowns(cable, leak, place_prior(cable), tuple(taken))
    z = np.random.default_rng(5).random((400_000, unknowns.size))
    exact = unknowns.exact(z)
    indicated = unknowns.indicated(z, exact)
    weight = Displays.of(taken).probability(indicated)
    # The edge does cut the posterior: of what the ohmmeter allows it takes away a tenth at least.
    allowed = Displays.of(taken[2:]).probability(indicated[:, 2:]) > 0
    assert np.mean(exact[allowed][:, 0] > 1e29) > 0.1
    evidence, spread = weight.mean(), weight.std() / np.sqrt(len(weight))
    assert answer.points.evidence == pytest.approx(evidence, abs=4 * spread + 0.05 * evidence)


def test_a_meter_gives_up_past_its_limit_and_not_at_it():
    one = np.ones(1)
    displays = Displays(low=9.5 * one, high=10.5 * one, noise=one, limits=(0,))
    # Of the indicated value's own error of 1 either way, half is within the display.
    seen = np.array([[10.0, -0.1], [10.0, 0.0], [10.0, 1e-12]])
    assert displays.probability(seen) == pytest.approx([0.5, 0.5, 0.0], rel=1e-12)


@pytest.mark.parametrize("alike", [False, True])
def test_two_places_told_by_their_order_fill_the_square_evenly(alike):
    """Moments of two even places, by midpoints; alike, those of the lesser and the greater."""
    table = [h for h in hypotheses(CABLE) if h.places == 2 and h.alike == alike]
    unknowns = Unknowns(CABLE, table[0], heated_part(CABLE), (), by_order=True)
    middles = (np.arange(400) + 0.5) / 400
    z = np.full((400 * 400, unknowns.size), 0.5)
    z[:, :2] = np.stack(np.meshgrid(middles, middles), axis=-1).reshape(-1, 2)
    weight = unknowns.density(z)
    first, second = (place / CABLE.heated_length_m for place in unknowns.places_m(z))
    assert np.all((first <= second) == (alike | (z[:, 0] < 0.5)))
    assert weight.mean() == pytest.approx(1.0, abs=1e-5)
    found = [np.mean(weight * x) for x in (first, second, first**2, second**2, first * second)]
    wanted = [1 / 3, 2 / 3, 1 / 6, 1 / 2, 1 / 4] if alike else [1 / 2, 1 / 2, 1 / 3, 1 / 3, 1 / 4]
    assert found == pytest.approx(wanted, abs=1e-5)


def test_a_cable_is_as_uncertain_as_the_page_on_locate_says():
    """Least, middle and most of each factor: even, or even in the logarithm."""
    kinds = {"ohmmeter", "insulation_tester", "capacitance_meter", "pulse_echo"}
    found = {}
    for _, change in uncertain_in(CABLE, kinds, at_frequency=True):
        for name, value in change(CABLE, np.array([0.0, 0.5, 1.0])).items():
            found[name] = np.asarray(value) / np.reshape(getattr(CABLE, name), (-1, 1))
    wanted = {
        "core_ohm_per_m": (0.95, 1.025, 1.1),
        "capacitance_core_braid_pf_per_m": (0.5, 1.25, 2.0),
        "capacitance_core_core_pf_per_m": (0.5, 1.25, 2.0),
        "velocity_factor": (0.95, 1.0, 1.05),
        "insulation_gigaohm_m": (1 / 30, 1.0, 30.0),
        "braid_ohm_per_m": (0.5, 1.0, 2.0),
    }
    assert set(found) == set(wanted)
    for name, factors in wanted.items():
        np.testing.assert_allclose(found[name], np.broadcast_to(factors, found[name].shape))


def test_leads_and_their_doubt_are_added_in_the_unit_of_the_meter():
    tester = InsulationTester(name="t", lead_ohm=2e4, lead_ohm_tolerance=5e3, accuracy_percent=0.0)
    reading = Reading(Probe(tester, Hookup.of(CABLE, ("core1", "braid"))), 0.07)
    unknowns = Unknowns(CABLE, SHORT, place_prior(CABLE), (reading,))
    z, exact = np.full((3, unknowns.size), 0.5), np.full((3, 1), 0.05)
    z[:, unknowns.circuit_size] = 0.0, 0.5, 1.0
    assert unknowns.indicated(z, exact) == pytest.approx(np.array([[0.065], [0.07], [0.075]]))


def test_the_residuals_stand_in_the_order_of_the_readings():
    readings = read((Short(("core1", "braid"), 12.4, 55.0),))
    (first,) = posterior(CABLE, readings, table=[SHORT])
    (second,) = posterior(CABLE, readings[::-1], table=[SHORT])
    assert second.points.evidence == first.points.evidence
    assert second.residual.tolist() == first.residual.tolist()[::-1]
