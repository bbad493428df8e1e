"""The readings taken first: the usual meters, and enough of them to answer the usual questions."""

from dataclasses import replace

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import (
    METER_KINDS,
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    Setting,
)
from cablesim.instruments.readings import predict
from cablesim.instruments.standard import standard_probes, usual_meter, usual_setting

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SINGLE = Cable.rated("single", heated_length_m=30.0, loop_resistance_ohm=44.1)


def test_probes_of_a_twin_cable():
    assert [(probe.meter.kind, *probe.hookup.across) for probe in standard_probes(TWIN)] == [
        ("ohmmeter", "core1", "core2"),
        ("ohmmeter", "core1", "braid"),
        ("ohmmeter", "core2", "braid"),
        ("insulation_tester", "core1+core2", "braid"),
        ("capacitance_meter", "core1", "core2+braid"),
        ("capacitance_meter", "core2", "core1+braid"),
        ("capacitance_meter", "core1+core2", "braid"),
    ]


def test_a_short_is_placed_by_the_first_three():
    r12, r1, r2 = predict(TWIN, (Short(("core1", "braid"), 12.4, 55.0),), standard_probes(TWIN))[:3]
    cold = 2 * TWIN.cold_lead_m * TWIN.cold_lead_ohm_per_m
    assert 30.0 * (1 + (r1 - r2) / (r12 - cold)) == pytest.approx(12.4, abs=1e-6)


def test_a_break_is_placed_by_the_last_three():
    # Between ends that are both open the capacitances are y + z, w + z and y + w, where y and w are
    # the core-to-braid parts of the near piece of the broken core and of all the rest.
    broken = Cable.rated("twin", 30.0, 88.2, cold_lead_m=0.0)
    seen = predict(broken, (Break(("core1",), 12.4),), standard_probes(broken))
    first, second, both = seen[4:]
    y, w = (first + both - second) / 2, (second + both - first) / 2
    assert 2 * 30.0 * y / (y + w) == pytest.approx(12.4, rel=1e-4)


def test_a_healthy_single_cable_reads_its_rating_end_to_end():
    loop, to_braid, *_ = predict(SINGLE, (), standard_probes(SINGLE))
    cold = 2 * SINGLE.cold_lead_m * SINGLE.cold_lead_ohm_per_m
    assert loop == pytest.approx(44.1 + cold)
    assert to_braid > 1e9


def test_a_mirrored_break_swaps_the_capacitances_of_the_ends():
    # Without loss: what the braid's resistance turns by the loss angle differs from end to end.
    cable = replace(SINGLE, loss_tangent=0.0)
    here, there = (
        predict(cable, (Break(("core1",), at_m),), standard_probes(cable)) for at_m in (10.0, 20.0)
    )
    np.testing.assert_allclose(here[[3, 4]], there[[4, 3]], rtol=1e-9)


def test_what_a_setting_leaves_open_becomes_what_is_usual():
    assert usual_setting(InsulationTester(name="a")).test_volt == 500.0
    assert usual_setting(InsulationTester(name="a"), Setting(test_volt=250.0)).test_volt == 250.0
    assert usual_setting(CapacitanceMeter(name="a")).frequency_hz == 1000.0
    assert usual_setting(CapacitanceMeter(name="a"), Setting(frequency_hz=50.0)).frequency_hz == 50
    assert usual_setting(Ohmmeter(name="a")) == Setting()
    bridge = LoopBridge(name="a")
    assert usual_setting(bridge, Setting(method="capacitance")).frequency_hz == 1000.0
    assert usual_setting(bridge, Setting(method="murray")).frequency_hz is None


@pytest.mark.parametrize("kind", METER_KINDS)
def test_a_usual_meter_is_named_like_its_kind_unless_told(kind):
    assert usual_meter(kind) == METER_KINDS[kind](name=kind)
    assert usual_meter(kind, "pocket").name == "pocket"


def test_an_unknown_kind_of_meter():
    with pytest.raises(InputError, match=r"'ohmeter'.*did you mean ohmmeter"):
        usual_meter("ohmeter")
