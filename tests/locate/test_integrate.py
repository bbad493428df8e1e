"""Probability of readings under a hypothesis, against an integral by other means."""

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.meters import InsulationTester
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.line.terminals import Hookup
from cablesim.locate import posterior
from cablesim.locate.parameters import FACTORS
from cablesim.locate.prior import DEGRADED_OHM, Hypothesis


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


def _middles(count: int) -> FloatArray:
    return (np.arange(count) + 0.5) / count
