"""Pulses and echoes against scikit-rf, ngspice, mpmath and printed examples."""

import numpy as np
import pytest
from outside import against_pulses
from outside.against_pulses import spice_deviation

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Short
from cablesim.line.ladder import ladder
from cablesim.line.pulse import Incident, echo_trace
from cablesim.line.terminals import Hookup


@pytest.mark.parametrize("check", against_pulses.INSIDE, ids=lambda check: check.name)
def test_agrees(check):
    outcome = check.run()
    assert outcome.cases > 8
    assert outcome.largest <= check.allowed, outcome.at


@pytest.mark.ngspice
@pytest.mark.parametrize("check", against_pulses.NGSPICE, ids=lambda check: check.name)
def test_agrees_with_ngspice(check):
    outcome = check.run()
    assert outcome.largest <= check.allowed, outcome.at


@pytest.mark.ngspice
def test_twice_the_rungs_in_ngspice_a_quarter_of_the_error():
    coarse, fine = (spice_deviation(rungs, lumped=False) for rungs in (50, 100))
    # Second order; below 50 rungs the next order is felt, above 100 the time step.
    assert coarse / fine == pytest.approx(4.0, abs=0.3)


def test_the_ladder_comes_to_the_exact_trace_by_the_square_of_its_rungs():
    cable = Cable.rated("twin", heated_length_m=10.0, loop_resistance_ohm=30.0, loss_tangent=0.0)
    faults = (Short(("core1", "braid"), 4.0, 20.0),)
    hookup, source = Hookup.of(cable, ("core1", "core2")), Incident(2e-8)
    exact = echo_trace(cable, faults, hookup, source, points=200)
    off = [
        np.abs(
            echo_trace(cable, faults, hookup, source, points=200, mesh_of=ladder(n)).volt
            - exact.volt
        ).max()
        for n in (20, 40, 80)
    ]
    assert off[0] / off[1] == pytest.approx(4.0, abs=0.4)
    assert off[1] / off[2] == pytest.approx(4.0, abs=0.2)


def test_a_trace_of_another_fault_does_not_agree():
    frequency_hz = np.geomspace(1e4, 1e9, 20)
    theirs = against_pulses._impedance_by_scikit_rf((), frequency_hz)
    ours = against_pulses._impedance((Short(("core1", "braid"), 9.3, 1e6),), frequency_hz)
    assert np.abs(ours / theirs - 1).max() > against_pulses.scikit_rf_impedance.allowed
