"""Charging, absorbing, discharging: energy, limits, and the exact constant-phase dielectric."""

import mpmath as mp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad_vec

from cablesim.cable.dielectric import Absorption, exponent_of, factor_of
from cablesim.errors import InputError
from cablesim.instruments.charging import Source, apparent_ohm, charged
from cablesim.instruments.discharge import SAFE_VOLT, discharge
from cablesim.instruments.relaxation import Drive, Insulation
from cablesim.locate.closed_forms import loss_of_charge

SOURCE = Source(550.0, 50e3, 2e-3)
TIMES_S = np.geomspace(1e-3, 1e4, 57)


def law(loss_tangent):
    exponent = float(exponent_of(loss_tangent))
    return Absorption(exponent, float(factor_of(exponent)))


@st.composite
def insulations(draw):
    return Insulation(
        10.0 ** draw(st.floats(-10, -7)),
        10.0 ** draw(st.floats(-13, -5)),
        law(draw(st.sampled_from([0.0, 3e-4, 0.01, 0.07, 0.4]))),
    )


@pytest.mark.parametrize("exponent", [0.3, 0.5, 0.8, 0.95, 0.9999])
def test_the_branches_sum_to_the_power_law(exponent):
    insulation = Insulation(1e-9, 0.0, Absorption(exponent, 1.0))
    siemens, rate = insulation.branches
    times = np.geomspace(0.01, 1e6, 41)
    found = (siemens * np.exp(-rate * times[:, None])).sum(axis=1)
    np.testing.assert_allclose(found, 1e-9 * times**-exponent, rtol=2e-7)


@settings(max_examples=25)
@given(insulations(), st.floats(-4, 3))
def test_no_energy_is_lost_or_made(insulation, exponent):
    """What the source gives is stored, or heat in the leak and in the branches."""
    end_s = 10.0**exponent
    drive = Drive.voltage(500.0, 1e5)
    motion = insulation.motion(drive)
    start = insulation.at_rest()
    siemens, _ = insulation.branches

    def powers(log_s):
        seconds = np.exp(log_s)
        volts = motion.volts(start, [seconds])[0]
        given_watt = volts[0] * float(motion.ampere(volts))
        lost = insulation.leak_siemens * volts[0] ** 2
        lost += np.sum(siemens * (volts[0] - volts[1:]) ** 2)
        return seconds * np.array([given_watt, lost])

    # From a time at which next to nothing has happened yet.
    moved, _ = quad_vec(powers, np.log(1e-14), np.log(end_s), epsrel=1e-9, limit=400)
    stored = insulation.energy_joule(motion.volts(start, [end_s])[0])
    assert moved[0] == pytest.approx(moved[1] + stored, rel=1e-6)


@settings(max_examples=25)
@given(insulations(), st.integers(1, 56))
def test_two_steps_are_as_good_as_one(insulation, k):
    motion = insulation.motion(Drive.voltage(500.0, 1e5))
    first, whole = TIMES_S[k], TIMES_S[k] * 2
    half = motion.volts(insulation.at_rest(), [first])[0]
    found = motion.volts(half, [whole - first])[0]
    np.testing.assert_allclose(found, motion.volts(insulation.at_rest(), [whole])[0], atol=1e-6)


@settings(max_examples=25)
@given(insulations())
def test_charging_only_rises_and_never_passes_the_source(insulation):
    volt, ampere, _ = charged(insulation, SOURCE, TIMES_S)
    assert np.all(np.diff(volt) >= -1e-6)
    assert np.all(volt <= SOURCE.open_volt * (1 + 1e-9))
    assert np.all(ampere <= SOURCE.limit_ampere * (1 + 1e-9))


@settings(max_examples=25)
@given(insulations())
def test_in_the_end_there_is_leakage_only(insulation):
    volt, ampere, _ = charged(insulation, SOURCE, np.array([1e8]))
    left = insulation.capacitance_farad * insulation.absorption.siemens_per_farad(1e8)
    wanted = volt[0] * (insulation.leak_siemens + left)
    # 1e-15 A is what the source's two terms, 10 mA each, lose to rounding.
    assert ampere[0] == pytest.approx(wanted, rel=1e-6, abs=1e-15)
    assert left < 1e-5 * insulation.capacitance_farad


@settings(max_examples=25)
@given(insulations(), st.sampled_from([15.0, 60.0, 600.0]))
def test_the_formula_for_many_cables_is_the_exact_motion_of_one(insulation, seconds):
    volt, ampere, _ = charged(insulation, SOURCE, np.array([seconds]))
    absorbing = insulation.capacitance_farad * insulation.absorption.siemens_per_farad(seconds)
    found = apparent_ohm(
        seconds,
        insulation.leak_siemens,
        insulation.capacitance_farad,
        absorbing,
        insulation.absorption.exponent,
        SOURCE,
    )
    assert found == pytest.approx(volt[0] / ampere[0], rel=1e-2)


@pytest.mark.parametrize("seconds", [1e-3, 2e-3, 4e-3, 0.02])
def test_the_formula_is_exact_where_nothing_is_absorbed(seconds):
    leak, farad = 1e-7, 7e-9
    insulation = Insulation(farad, leak, law(0.0))
    volt, ampere, _ = charged(insulation, SOURCE, np.array([seconds]))
    found = apparent_ohm(seconds, leak, farad, 0.0, 1.0, SOURCE)
    assert found == pytest.approx(volt[0] / ampere[0], rel=1e-7)


def test_the_exact_constant_phase_dielectric_behind_a_resistance():
    """Laplace transform of the whole, put back by mpmath: no branches, no eigenvectors."""
    exponent, farad, leak, ohm, volt = float(exponent_of(0.1)), 20e-9, 1e-9, 1e5, 500.0
    beta = float(factor_of(exponent))
    insulation = Insulation(farad, leak, Absorption(exponent, beta))
    motion = insulation.motion(Drive.voltage(volt, ohm))
    for seconds in (1.0, 15.0, 60.0, 600.0):

        def current(s):
            admittance = leak + beta * farad * mp.gamma(1 - exponent) * s**exponent
            return volt / s * admittance / (1 + ohm * admittance)

        with mp.workdps(20):
            wanted = float(mp.invertlaplace(current, seconds, method="talbot"))
        found = float(motion.ampere(motion.volts(insulation.at_rest(), [seconds]))[0])
        # The branches have a plain capacitance in place of what is faster than 1 kHz.
        assert found == pytest.approx(wanted, rel=2e-4)


def test_a_plain_capacitor_is_an_exponential():
    insulation = Insulation(1e-8, 1e-9, law(0.0))
    motion = insulation.motion(Drive.voltage(100.0, 1e6))
    rate = (1e-9 + 1e-6) / 1e-8
    wanted = 100 / (1 + 1e-3) * -np.expm1(-rate * TIMES_S)
    np.testing.assert_allclose(motion.volts(np.zeros(1), TIMES_S)[:, 0], wanted, rtol=1e-10)


def test_loss_of_charge_of_a_printed_example():
    """N. V. Suryanarayana, Exa 4.1, p. 121: 800 pF fall from 200 to 150 V in 20 s."""
    insulation = Insulation(8e-10, 1 / 86_902.59e6, law(0.0))
    fallen = insulation.motion(Drive()).volts(np.array([200.0]), [20.0])
    # The book rounds its logarithm to four digits: 2e-5 of the resistance, a quarter of it here.
    assert fallen[0, 0] == pytest.approx(150.0, rel=1e-5)


@pytest.mark.parametrize(
    ("farad", "start", "end", "seconds"),
    [(600e-12, 250.0, 92.0, 60.0), (2.5e-6, 450.0, 280.0, 15.2 * 60)],
)
def test_loss_of_charge_there_and_back(farad, start, end, seconds):
    """Inputs of two textbook exercises whose printed answers were not seen."""
    ohm = loss_of_charge(seconds, farad, start, end)
    motion = Insulation(farad, 1 / ohm, law(0.0)).motion(Drive())
    assert motion.volts(np.array([start]), [seconds])[0, 0] == pytest.approx(end, rel=1e-9)


def test_absorption_makes_loss_of_charge_read_low():
    """Charge still soaking in after a short charge looks like leakage."""
    insulation = Insulation(1e-8, 1e-11, law(0.07))
    last = charged(insulation, SOURCE, np.array([1.0]))[2]
    first, second = insulation.motion(Drive()).terminal_volt(last, [0.0, 20.0])
    assert loss_of_charge(20.0, 1e-8, first, second) < 0.9e11


# --- discharge ------------------------------------------------------------------------------------


def left_after(insulation, seconds=600.0):
    return discharge(insulation, charged(insulation, SOURCE, np.array([seconds]))[2])


def test_a_plain_capacitor_discharges_through_its_own_leak():
    found = left_after(Insulation(1e-8, 1e-11, law(0.0)))
    assert found.alone_seconds == pytest.approx(1e3 * np.log(found.volt / SAFE_VOLT), rel=1e-6)
    assert found.by_tester_seconds < 0.05
    assert found.returned_volt < 1e-9
    assert found.stored_joule == pytest.approx(0.5e-8 * found.volt**2, rel=1e-9)


def test_what_was_absorbed_comes_back():
    small, large = (left_after(Insulation(1e-8, 1e-13, law(d))) for d in (0.01, 0.2))
    assert 1.0 < small.returned_volt < large.returned_volt < large.volt
    assert large.alone_seconds > 1e4


def test_insulation_without_leakage_stays_charged():
    assert left_after(Insulation(1e-8, 0.0, law(0.0))).alone_seconds == np.inf


def test_what_is_not_charged_is_safe_at_once():
    assert left_after(Insulation(1e-8, 1e-3, law(0.01))).alone_seconds == 0.0


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: Insulation(0.0, 1e-9, law(0.0)), "capacitance_farad"),
        (lambda: Insulation(1e-9, -1e-9, law(0.0)), "leak_siemens"),
        (lambda: Insulation(1e-9, 0.0, Absorption(np.array([0.9]), 0.1)), "absorption"),
        (lambda: Source(0.0, 1.0, 1.0), "open_volt"),
        (lambda: Source(1.0, 0.0, 1.0), "source_ohm"),
        (lambda: Source(1.0, 1.0, 0.0), "limit_milliamp"),
        (lambda: Drive.voltage(1.0, 0.0), "behind_ohm"),
    ],
)
def test_impossible_circuits_are_refused_by_name(make, named):
    with pytest.raises(InputError) as raised:
        make()
    assert raised.value.what == named
