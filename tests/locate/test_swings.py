"""Gains by their logarithm: even within their limits all the same, and told by a reading as the
closed form says."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break
from cablesim.instruments.meters import InsulationTester
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.line.terminals import Hookup
from cablesim.locate import posterior
from cablesim.locate.parameters import FACTORS
from cablesim.locate.prior import Hypothesis, PlacePrior
from cablesim.locate.swings import Gains


@given(st.floats(1e-4, 0.98), st.floats(0.0, 1.0))
def test_a_gain_is_even_within_its_limits(error, z):
    """The density adds up to the share below: closed form of the change of a variable."""
    gains = Gains(np.array([error]))
    # Twenty points of Gauss and Legendre are exact to rounding for so smooth a density.
    nodes, weights = np.polynomial.legendre.leggauss(20)
    at = (nodes + 1) * z / 2
    below = np.sum(weights * gains.density(at[:, None])) * z / 2
    assert below == pytest.approx(float(gains.share(np.array(z), 0)), abs=1e-9)


@pytest.mark.parametrize("accuracy_percent", [3.0, 30.0])
@pytest.mark.parametrize("broken", [False, True])
def test_insulation_by_an_inexact_tester_has_the_closed_form(accuracy_percent, broken):
    """What is shown is insulation times gain, the one even in its logarithm, the other even.

    Then the gain stays as even as it was, and the display's interval from a to b has the
    probability ln(b / a) over the range of the logarithm; in the middle of that range, so that no
    end of it cuts in.
    """
    cable = Cable.rated("twin", 24.0, 92.0, insulation_gigaohm_m=20.0)
    meter = InsulationTester(
        name="tester", accuracy_percent=accuracy_percent, accuracy_counts=0, counts=4000
    )
    probe = Probe(meter, Hookup.of(cable, ("core1+core2", "braid")))
    hypothesis, faults = Hypothesis("healthy", 1.0), ()
    if broken:
        # Somewhere within a centimetre, so that the insulation is all there is to be told.
        faults = (Break(("core1",), 12.0),)
        hypothesis = Hypothesis("break", 1.0, faults, (0,), (None,))
    exact = float(predict(cable, faults, [probe])[0])
    reading = Reading(probe, float(meter.shown(np.array(exact), probe.setting)))
    place = PlacePrior(np.array([12.0, 12.01]), np.array([1.0]))
    (found,) = posterior(cable, [reading], table=[hypothesis], place=place)
    assert found.points is not None
    span = reading.span
    decades = 2 * np.log(FACTORS["healthy insulation"])
    # Some thousand points, evenly spread.
    assert found.points.evidence == pytest.approx(np.log(span.high / span.low) / decades, rel=0.01)
    share = found.unknowns.gain_share(found.points.z, 0)
    weight = found.points.weight / found.points.evidence
    mean = np.sum(weight * share)
    assert mean == pytest.approx(0.5, abs=0.005)
    assert np.sqrt(np.sum(weight * (share - mean) ** 2)) == pytest.approx(12**-0.5, rel=0.01)
