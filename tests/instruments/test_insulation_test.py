"""Insulation readings over time: what the display says after so many seconds."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from line.strategies import cables, fault_lists

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Short
from cablesim.errors import InputError
from cablesim.instruments.absorption import READ_AT_S, insulation_test
from cablesim.instruments.insulation_tester import RATED_AMPERE, InsulationTester
from cablesim.instruments.meter import Setting
from cablesim.instruments.meters import Ohmmeter
from cablesim.instruments.readings import Probe, predict
from cablesim.line.terminals import Hookup

TESTER = InsulationTester(name="insulation_tester")
PVC = Cable.rated("twin", 60.0, 88.2, loss_tangent=0.1, insulation_gigaohm_m=100.0)
LEAK = (Degraded.at(("core1", "braid"), 12.0, 3e6),)


def probe(cable, seconds=None, tester=TESTER, volt=500.0):
    cores = "+".join(cable.construction.cores)
    setting = Setting(test_volt=volt, seconds=seconds)
    return Probe(tester, Hookup.of(cable, (cores, "braid")), setting)


def megohm(cable, faults, seconds, **others):
    return float(predict(cable, faults, [probe(cable, seconds, **others)])[0])


@given(st.data())
def test_a_later_reading_is_never_lower_and_the_steady_one_is_the_highest(data):
    cable = replace(data.draw(cables()), loss_tangent=data.draw(st.sampled_from([0.0, 0.01, 0.3])))
    faults = data.draw(fault_lists(cable, most=2))
    times = [1e-3, 0.1, *READ_AT_S, 1e6, None]
    shown = [megohm(cable, faults, seconds) for seconds in times]
    # Where charging is just over the formula may be off by a thousandth of what is absorbed.
    assert all(later >= sooner * (1 - 1e-3) for sooner, later in pairwise(shown))
    assert all(later >= sooner * (1 - 1e-12) for sooner, later in pairwise(shown[2:]))


def test_after_very_long_only_leakage_is_left():
    assert megohm(PVC, LEAK, 1e12) == pytest.approx(megohm(PVC, LEAK, None), rel=1e-9)


def test_without_absorption_there_is_nothing_to_wait_for():
    cable = replace(PVC, loss_tangent=0.0)
    found = insulation_test(cable, (), probe(cable))
    assert found.polarization_index == 1.0
    assert found.absorption_ratio == 1.0
    assert found.read_ohm == (found.steady_ohm,) * 4


def test_leakage_hides_absorption():
    dry, wet = (insulation_test(PVC, faults, probe(PVC)) for faults in ((), LEAK))
    assert dry.polarization_index > 1.02
    assert wet.polarization_index == pytest.approx(1.0, abs=1e-3)
    assert wet.absorption_ratio < dry.absorption_ratio


def test_ratios_are_those_of_the_readings():
    found = insulation_test(PVC, (), probe(PVC))
    wanted = [megohm(PVC, (), seconds) * 1e6 for seconds in READ_AT_S]
    assert found.read_ohm == pytest.approx(wanted)
    assert found.absorption_ratio == wanted[2] / wanted[1]
    assert found.polarization_index == wanted[3] / wanted[2]


def test_the_curve_goes_through_the_readings():
    found = insulation_test(PVC, (), probe(PVC))
    on_curve = np.exp(
        np.interp(np.log(READ_AT_S), np.log(found.seconds), np.log(found.apparent_ohm))
    )
    np.testing.assert_allclose(on_curve, found.read_ohm, rtol=2e-3)


def test_index_above_five_gigohm_says_nothing():
    """IEEE 43-2013 as quoted: not meaningful above 5000 Mohm; the quoted index is 7.5."""
    assert insulation_test(PVC, LEAK, probe(PVC)).index_means_something
    new = Cable.rated("twin", 10.0, 88.2)
    found = insulation_test(new, (), probe(new))
    assert not found.index_means_something
    quoted = replace(found, read_ohm=(1e10, 1e10, 20e9, 150e9))
    assert quoted.polarization_index == 7.5
    assert not quoted.index_means_something


def test_a_batch_reads_as_its_members_do():
    for seconds in (1e-3, 0.05, 60.0):
        ohm = np.array([1e5, 1e7, np.inf])
        found = predict(PVC, (Short(("core1", "braid"), 5.0, ohm),), [probe(PVC, seconds)])[:, 0]
        alone = [megohm(PVC, (Short(("core1", "braid"), 5.0, r),), seconds) for r in ohm]
        np.testing.assert_allclose(found, alone, rtol=1e-12)


def test_a_steady_reading_does_not_know_the_loss_tangent():
    lossless = replace(PVC, loss_tangent=0.0)
    assert megohm(PVC, LEAK, None) == megohm(lossless, LEAK, None)


@pytest.mark.parametrize("lead_pf_per_m", [None, 1e-3, 1e3])
def test_while_the_current_limit_holds_the_display_creeps_up(lead_pf_per_m):
    """In the first milliseconds V = I t / C: the resistance shown is t / C."""
    lead = {"cold_lead_capacitance_core_braid_pf_per_m": lead_pf_per_m}
    lead["cold_lead_capacitance_core_core_pf_per_m"] = lead_pf_per_m
    cable = replace(PVC, loss_tangent=0.0, **lead)
    farad = insulation_test(cable, (), probe(cable)).insulation.capacitance_farad
    assert megohm(cable, (), 1e-3) * 1e6 == pytest.approx(1e-3 / farad, rel=1e-3)


@given(st.floats(100.1, 125.0), st.floats(1.0, 15.0), st.sampled_from([50.0, 500.0, 5000.0]))
def test_the_source_keeps_to_the_standard(percent, milliamp, volt):
    """From memory of IEC 61557-2: 1.25 times without a load, 1 mA at least, 15 mA at most."""
    tester = InsulationTester(name="t", open_volt_percent=percent, limit_milliamp=milliamp)
    source = tester.source(Setting(test_volt=volt))
    assert source.open_volt <= 1.25 * volt * (1 + 1e-12)
    assert source.open_volt - RATED_AMPERE * source.source_ohm == pytest.approx(volt)
    assert RATED_AMPERE <= source.limit_ampere <= 15e-3
    assert source.limited_ampere <= 15e-3


@pytest.mark.parametrize(
    "wrong", [{"open_volt_percent": 126}, {"limit_milliamp": 0.5}, {"limit_milliamp": 16}]
)
def test_a_source_outside_the_standard_is_refused(wrong):
    with pytest.raises(InputError, match=next(iter(wrong))):
        InsulationTester(name="t", **wrong)


def test_only_an_insulation_tester_can_do_it():
    ohmmeter = Probe(Ohmmeter(name="o"), Hookup.of(PVC, ("core1", "braid")))
    with pytest.raises(InputError, match="insulation_tester"):
        insulation_test(PVC, (), ohmmeter)
