"""Probability of readings under a hypothesis, against an integral by other means."""

import numpy as np
import pytest

from cablesim.benchmark.meter_classes import METER_CLASSES, probes_of
from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.meters import InsulationTester
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.line.terminals import Hookup
from cablesim.locate import posterior
from cablesim.locate.parameters import FACTORS
from cablesim.locate.prior import DEGRADED_OHM, JOINT_OHM, Hypothesis
from cablesim.locate.summary import weighted_quantile


@pytest.mark.parametrize("accuracy_percent", [0.5, 5.0, 30.0])
@pytest.mark.parametrize("leak_ohm", [1e6, 3e7, 3e8, 9e8])
def test_a_leak_beside_healthy_insulation_is_weighed_in_full(accuracy_percent, leak_ohm):
    """Leak and insulation side by side, each even in its logarithm, times an even gain.

    For each leak, gain and error of the counts the display's interval is one of the insulation,
    whose probability is its length in the logarithm: exact, and summed by the midpoint rule.
    """
    cable = Cable.rated("twin", 24.0, 92.0)
    error = accuracy_percent / 100
    meter = InsulationTester(name="tester", accuracy_percent=accuracy_percent)
    probe = Probe(meter, Hookup.of(cable, ("core1+core2", "braid")))
    sound_ohm = float(predict(cable, (), [probe])[0]) * 1e6
    leak = (Degraded.at(("core1", "braid"), 12.0, leak_ohm),)
    shown = meter.shown(predict(cable, leak, [probe])[0], probe.setting)
    reading = Reading(probe, float(shown))
    hypothesis = Hypothesis("degraded", 1.0, leak, (0,), (DEGRADED_OHM,))
    (found,) = posterior(cable, [reading], table=[hypothesis])
    assert found.points is not None

    low_ohm, high_ohm = DEGRADED_OHM
    leaks_ohm = low_ohm * (high_ohm / low_ohm) ** _middles(20000)[:, None, None]
    gain = 1 + error * (2 * _middles(20)[:, None] - 1)
    off = reading.span.noise * (2 * _middles(10) - 1)
    ends = []
    for end in (reading.span.low, reading.span.high):
        with np.errstate(divide="ignore"):
            beside_ohm = 1.0 / np.maximum(gain / ((end - off) * 1e6) - 1.0 / leaks_ohm, 0.0)
        factor = np.log(beside_ohm / sound_ohm) / np.log(FACTORS["healthy insulation"])
        ends.append(np.clip(factor, -1.0, 1.0))
    summed = np.mean(ends[1] - ends[0]) / 2
    # Some thousand points; the cells follow the corner between the two to a few hundredths.
    assert found.points.evidence == pytest.approx(summed, rel=0.06)


# Some thousand points; for so exact a meter as a bench has, cells follow the bend between cores and
# joint less well.
@pytest.mark.parametrize(
    ("meter_class", "within"), [("cheap", 0.03), ("good", 0.03), ("bench", 0.07)]
)
@pytest.mark.parametrize("joint_ohm", [0.0, 0.6, 4.0, 300.0])
def test_a_bad_joint_or_none_is_weighed_in_full(meter_class, within, joint_ohm):
    """Cores, joint and leads in series, times a gain, with an even error of the counts.

    Each even within its limits, the joint in its logarithm. For each joint, lead, gain and error
    the display's interval is one of the cores' resistance, whose probability is its length: summed
    by the midpoint rule.
    """
    cable = Cable.rated("twin", 24.0, 92.0)
    meter = METER_CLASSES[meter_class]["ohmmeter"]
    probe = Probe(meter, Hookup.of(cable, ("core1", "core2")))
    true = cable.with_core_factor(1.02)
    faults = (Joint("core1", 7.0, joint_ohm),) if joint_ohm else ()
    exact = predict(true, faults, [probe])[0] + meter.lead_ohm
    reading = Reading(probe, float(meter.shown(exact, probe.setting)))
    hypothesis = Hypothesis("healthy", 1.0)
    series_ohm = np.zeros(1)
    if faults:
        hypothesis = Hypothesis("joint", 1.0, faults, (0,), (JOINT_OHM,))
        low_ohm, high_ohm = JOINT_OHM
        series_ohm = low_ohm * (high_ohm / low_ohm) ** _middles(4000)
    (found,) = posterior(cable, [reading], table=[hypothesis])
    assert found.points is not None

    low, high = (1 + limit / 100 for limit in cable.tolerance_percent)
    least_ohm, most_ohm = (
        float(predict(cable.with_core_factor(factor), (), [probe])[0]) for factor in (low, high)
    )
    series_ohm, lead, gain, off = np.ix_(series_ohm, _middles(16), _middles(24), _middles(8))
    in_series_ohm = series_ohm + meter.lead_ohm + meter.lead_ohm_tolerance * (2 * lead - 1)
    factor = 1 + meter.accuracy_percent / 100 * (2 * gain - 1)
    span = reading.span
    ends = [
        np.clip((end - span.noise * (2 * off - 1)) / factor - in_series_ohm, least_ohm, most_ohm)
        for end in (span.low, span.high)
    ]
    summed = np.mean(ends[1] - ends[0]) / (most_ohm - least_ohm)
    assert found.points.evidence == pytest.approx(summed, rel=within)


def test_two_breaks_that_a_search_reaches_only_by_many_steps_are_not_ruled_out():
    """The truth lies at the wall of a wide cell, where a first fit ends hundreds of times off."""
    cable = Cable.rated("parallel", 18.0, 210.0, capacitance_tolerance_percent=(-20.0, 25.0))
    probes = probes_of(cable, "good")
    shown = (1243.0, np.inf, np.inf, np.inf, np.inf, np.inf, 3.194)
    readings = [Reading(probe, value) for probe, value in zip(probes, shown, strict=True)]
    places_m = {"core1": 3.5787, "core2": 3.3124}
    breaks = tuple(Break((core,), at_m, np.inf) for core, at_m in places_m.items())
    hypothesis = Hypothesis("several", 1.0, breaks, (0, 1), (None, None))
    (found,) = posterior(cable, readings, table=[hypothesis])
    assert found.points is not None
    assert found.points.evidence > 0
    for at_m, true_m in zip(
        found.unknowns.places_m(found.points.z), places_m.values(), strict=True
    ):
        low_m, high_m = (weighted_quantile(at_m, found.points.weight, q) for q in (0.0005, 0.9995))
        assert low_m <= true_m <= high_m


def _middles(count: int) -> FloatArray:
    return (np.arange(count) + 0.5) / count
