"""Damage as located, made into faults, and the voltage that does not burn it."""

from dataclasses import replace

import pytest

from cablesim.cable.faults import Break, Degraded, Flashover, Joint, Short
from cablesim.instruments.withstand_tester import WithstandTester
from cablesim.locate.estimate import FaultEstimate
from cablesim.report.answer import answered
from cablesim.report.camera import ARC_VOLT, camera_answer, damage_as_located, struck_volt
from cablesim.report.warm import BURNS_KELVIN
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory

PAIR = ("core1", "braid")


def located(kind, between, conductors, ohm):
    return FaultEstimate(kind, between, conductors, 7.0, (6.0, 8.0), ((6.0, 8.0),), ohm)


@pytest.mark.parametrize(
    ("found", "fault"),
    [
        (located("short", PAIR, None, 55.0), Short(PAIR, 7.0, 55.0)),
        (located("degraded", PAIR, None, 1e6), Degraded(PAIR, 7.0, 7.0, 1e6)),
        (located("break", None, ("core1",), None), Break(("core1",), 7.0)),
        (located("joint", None, ("core1",), 12.0), Joint("core1", 7.0, 12.0)),
        (located("flashover", PAIR, None, None), Flashover(PAIR, 7.0, 1300.0, ARC_VOLT)),
    ],
)
def test_every_kind_that_is_located_is_a_fault(found, fault):
    assert repr(damage_as_located([found], 1300.0)) == repr((fault,))


def test_a_gap_strikes_at_what_was_read():
    garage = load_scenario(shipped_directory() / "garage-flashover.toml")
    assert struck_volt(garage) == 1340.0
    assert struck_volt(load_scenario(shipped_directory() / "demo.toml")) is None


def test_the_low_voltage_is_the_highest_that_burns_nothing():
    scenario = load_scenario(shipped_directory() / "laundry-splice-taken-damp.toml")
    estimate = answered(scenario).estimate
    camera = camera_answer(replace(scenario, faults=()), estimate)
    (spot,) = camera.energised.spots
    assert camera.energised.energised.volt == 48.0
    assert 0.5 * BURNS_KELVIN < spot.spot_kelvin <= BURNS_KELVIN
    assert camera.burst_watt == pytest.approx(0.005**2 * estimate.faults[0].resistance_ohm)
    assert camera.bursts is None
    assert "too little" in camera.no_bursts
    # Hundreds of times the current: too hot, and not too little.
    strong = WithstandTester(name="strong", limit_milliamp=3000.0)
    hot = camera_answer(replace(scenario, faults=(), meters={"strong": strong}), estimate)
    assert hot.bursts is None
    assert "below 80 K" in hot.no_bursts
    # On the live core it takes more: a lower voltage has to do, and the next one would burn it.
    (fault,) = estimate.faults
    live = replace(estimate, faults=(replace(fault, between=("core1", "braid")),))
    lower = camera_answer(replace(scenario, faults=()), live).energised
    (spot,) = lower.spots
    assert lower.energised.volt in (12.0, 24.0)
    assert spot.spot_kelvin <= BURNS_KELVIN < 4 * spot.spot_kelvin
