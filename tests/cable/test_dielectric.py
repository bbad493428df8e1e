"""Absorption: what a loss tangent says about the current that falls with time."""

import mpmath as mp
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.dielectric import (
    Absorption,
    absorption_of,
    corrected_to_temperature,
    exponent_of,
    factor_of,
    loss_tangent_of,
)
from cablesim.errors import InputError
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup


@given(st.floats(1e-6, 1.0))
def test_exponent_and_loss_tangent_are_two_names_for_one_thing(loss_tangent):
    assert loss_tangent_of(exponent_of(loss_tangent)) == pytest.approx(loss_tangent, rel=1e-9)


def test_no_loss_no_absorption():
    assert exponent_of(0.0) == 1.0
    assert factor_of(1.0) == 0.0
    assert absorption_of(Cable.rated("twin", 30.0, 88.2, loss_tangent=0.0)).factor == 0.0


@pytest.mark.parametrize("loss_tangent", [0.003, 0.07, 0.4])
def test_the_step_response_has_the_loss_tangent_at_its_frequency(loss_tangent):
    """Laplace transform of the current at j w0: a capacitor of 1 F with this loss tangent."""
    n = float(exponent_of(loss_tangent))
    beta = float(factor_of(n))
    omega = 2 * mp.pi * 1000
    # i(t) = beta t^-n for a step of 1 V, so the admittance is s I(s) = beta Gamma(1 - n) s^n.
    admittance = beta * mp.gamma(1 - n) * (1j * omega) ** n
    assert float(admittance.imag / omega) == pytest.approx(1.0, rel=1e-9)
    assert float(admittance.real / admittance.imag) == pytest.approx(loss_tangent, rel=1e-9)


def test_the_circuit_has_the_same_loss_at_a_frequency():
    """What the circuit does at 1 kHz and what it absorbs at direct current are one dielectric."""
    cable = Cable.rated(
        "single", 30.0, core_ohm_per_m=(1e-6,), insulation_gigaohm_m=1e9, loss_tangent=0.07,
        braid_ohm_per_m=1e-6, cold_lead_ohm_per_m=1e-6, velocity_factor=1.0,
    )  # fmt: skip
    hookup = Hookup.of(cable, ("core1", "braid"))
    at_1_khz = terminal_network(cable, (), hookup.terminals, 1000.0).between_leads(hookup)[0, 1]
    assert complex(at_1_khz).real / complex(at_1_khz).imag == pytest.approx(0.07, rel=1e-6)
    farad = complex(at_1_khz).imag / (2 * np.pi * 1000)
    after = terminal_network(cable, (), hookup.terminals, seconds=60.0).between_leads(hookup)[0, 1]
    leak = terminal_network(cable, (), hookup.terminals).between_leads(hookup)[0, 1]
    law = absorption_of(cable)
    wanted = farad * law.siemens_per_farad(60.0)
    assert float(after - leak) == pytest.approx(wanted, rel=1e-6)


@given(st.floats(0.3, 1.0), st.floats(1e-6, 10.0), st.floats(1e-3, 1e6), st.floats(1.01, 100.0))
def test_the_current_only_falls(exponent, factor, seconds, later):
    law = Absorption(exponent, factor)
    assert law.siemens_per_farad(seconds * later) < law.siemens_per_farad(seconds)


def test_it_ends():
    assert Absorption(0.9, 1.0).siemens_per_farad(np.inf) == 0.0


def test_stated_values_go_before_the_loss_tangent():
    cable = Cable.rated("twin", 30.0, 88.2, absorption_exponent=0.8, absorption_factor=0.02)
    law = absorption_of(cable)
    assert (law.exponent, law.factor) == (0.8, 0.02)
    only = absorption_of(Cable.rated("twin", 30.0, 88.2, absorption_exponent=0.8))
    assert only.factor == factor_of(0.8)


@pytest.mark.parametrize(
    "wrong", [{"absorption_exponent": 0.2}, {"absorption_exponent": 1.1}, {"absorption_factor": -1}]
)
def test_impossible_values_are_refused(wrong):
    with pytest.raises(InputError, match=next(iter(wrong))):
        Cable.rated("twin", 30.0, 88.2, **wrong)


@given(st.floats(1.0, 1e12), st.floats(-20, 80), st.floats(-20, 80))
def test_temperature_correction_halves_each_ten_kelvin_and_goes_back(ohm, at_c, to_c):
    there = corrected_to_temperature(ohm, at_c, to_c)
    assert corrected_to_temperature(there, to_c, at_c) == pytest.approx(ohm, rel=1e-12)
    assert corrected_to_temperature(ohm, at_c + 10, to_c) == pytest.approx(2 * there, rel=1e-12)
