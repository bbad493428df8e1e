"""What ideal meters show of the network between their leads."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from instruments.strategies import THREE_LEADS, TWIN, TWO_LEADS
from line.strategies import decades

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.errors import InputError
from cablesim.instruments.display import display
from cablesim.instruments.meters import (
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    Setting,
)
from cablesim.instruments.readings import Probe, predict
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup

NO_LEAK = Cable.rated(
    "twin", 30.0, 90.0, cold_lead_m=0.0, braid_ohm_per_m=1e-9, insulation_gigaohm_m=math.inf
)
MURRAY, EQUAL_ARMS = Setting(method="murray"), Setting(method="varley", arms=(1.0, 1.0))


def balance(setting, *faults, cable=NO_LEAK):
    return float(predict(cable, faults, [Probe(LoopBridge(name="b"), THREE_LEADS, setting)])[0])


# --- capacitance meter ----------------------------------------------------------------------------


@given(decades(0, 5))
def test_a_capacitance_meter_shows_the_imaginary_part_of_the_whole_admittance(frequency_hz):
    probe = Probe(CapacitanceMeter(name="c"), TWO_LEADS, Setting(frequency_hz=frequency_hz))
    network = terminal_network(TWIN, (), TWO_LEADS.terminals, frequency_hz)
    admittance = complex(network.between_leads(TWO_LEADS)[0, 1])
    farad = admittance.imag / (2 * math.pi * frequency_hz)
    shown = float(predict(TWIN, (), [probe])[0])
    # Up to 100 kHz this cable stays below a loss factor of 1.
    assert admittance.real < admittance.imag
    assert shown == pytest.approx(farad * 1e9, rel=1e-14)


def test_a_leak_in_parallel_does_not_count_but_too_low_a_one_ends_the_reading():
    # 6.5 nF at 1 kHz are 24.5 kohm; the bounds leave room for the resistance of the core.
    probe = Probe(CapacitanceMeter(name="c"), TWO_LEADS)
    dry, leaky, lost = (
        float(predict(TWIN, (Short(("core1", "braid"), -2.5, ohm),), [probe])[0])
        for ohm in (1e12, 25e3, 24e3)
    )
    assert leaky == pytest.approx(dry, rel=1e-12)
    assert lost == math.inf


# --- loop bridge ----------------------------------------------------------------------------------


@given(decades(-3, 6))
def test_a_murray_loop_does_not_know_the_resistance_of_the_fault(ohm):
    # 1e-9: the braid of 1e-9 ohm/m is beside 1 mohm at most.
    share = balance(MURRAY, Short(("core2", "braid"), 12.0, ohm))
    assert share == pytest.approx(12.0 / 60.0, rel=1e-9)


@given(decades(-3, 6))
def test_a_varley_loop_knows_neither(ohm):
    # The sound core and the way back, 48 m, less the 12 m to the fault, at 1.5 ohm/m.
    box = balance(EQUAL_ARMS, Short(("core2", "braid"), 12.0, ohm))
    assert box == pytest.approx(36.0 * 1.5, rel=1e-9)


@given(decades(-2, 2))
def test_unequal_arms_balance_a_box_in_their_proportion(ratio):
    """P to Q as the sound core and the way back, 72 ohm, to box and the 18 ohm to the fault."""
    setting = Setting(method="varley", arms=(10.0, 10.0 * ratio))
    box = balance(setting, Short(("core2", "braid"), 12.0, 1000.0))
    assert box == pytest.approx(72.0 * ratio - 18.0, rel=1e-9, abs=1e-6)


def test_a_leak_between_the_cores_does_not_count_in_a_murray_loop():
    """At balance both ends of the cores have one potential, so a leak there takes no current."""
    earth = Short(("core2", "braid"), 12.0, 1000.0)
    leak = Short(("core1", "core2"), 0.0, 50.0)
    assert balance(MURRAY, earth, leak) == pytest.approx(balance(MURRAY, earth), rel=1e-12)


@pytest.mark.parametrize("setting", [MURRAY, EQUAL_ARMS])
def test_with_no_path_to_the_return_there_is_nothing_to_balance(setting):
    assert balance(setting, Break(("core1", "core2", "braid"), 0.0)) == math.inf
    probe = Probe(LoopBridge(name="b"), THREE_LEADS, setting)
    assert display(np.array([math.inf]), [probe], rng=np.random.default_rng(1)) == math.inf


def test_a_box_that_had_to_go_beside_the_other_core_shows_zero():
    near_the_sound_end = Short(("core1", "braid"), 12.0, 1000.0)
    assert balance(EQUAL_ARMS, near_the_sound_end) == pytest.approx(-54.0, rel=1e-9)
    probe = Probe(LoopBridge(name="b"), THREE_LEADS, EQUAL_ARMS)
    assert display(np.array([-54.0]), [probe], rng=np.random.default_rng(1)) == 0.0


def test_a_leak_between_the_cores_counts_in_a_varley_loop():
    """By hand: equal arms let 1 A into each core, and the box holds the cores apart."""
    earth = Short(("core2", "braid"), 12.0, 1000.0)
    leak_ohm, far, near = 50.0, 72.0, 18.0
    box = balance(EQUAL_ARMS, earth, Short(("core1", "core2"), 0.0, leak_ohm))
    # The leak takes i from core1 to core2: far (1 - i) - near (1 + i) = leak i = box 1.
    through_leak = (far - near) / (far + near + leak_ohm)
    assert box == pytest.approx(leak_ohm * through_leak, rel=1e-8)


def test_a_varley_loop_needs_its_arms():
    with pytest.raises(InputError, match="arms_ohm"):
        balance(Setting(method="varley"), Short(("core2", "braid"), 12.0, 1.0))


def test_an_open_circuit_reads_infinite():
    cable = Cable.rated("twin", 30.0, 90.0, insulation_gigaohm_m=math.inf)
    hookup = Hookup.of(cable, ("core1", "braid"))
    meters = (Ohmmeter(name="o"), InsulationTester(name="i"))
    found = predict(cable, (), [Probe(meter, hookup) for meter in meters])
    np.testing.assert_array_equal(found, [math.inf, math.inf])
