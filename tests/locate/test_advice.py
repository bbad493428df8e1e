"""Cautions name what was done, and only that."""

import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Short
from cablesim.instruments.loop_bridge import LoopBridge
from cablesim.instruments.meter import Setting
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.line.terminals import Hookup
from cablesim.locate import locate
from cablesim.training.dangers import risk_of

CABLE = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)


def balance(volt):
    bridge = LoopBridge(name="bridge", battery_volt=volt)
    hookup = Hookup.of(CABLE, ("core2", "core1", "braid"))
    probe = Probe(bridge, hookup, Setting(method="murray"))
    shown = predict(CABLE, (Short(("core1", "braid"), 12.4, 55.0),), [probe])
    return Reading(probe, float(shown[0]))


@pytest.mark.parametrize(("volt", "warned"), [(9.0, False), (30.0, False), (100.0, True)])
def test_a_bridge_on_a_few_volts_is_not_called_high_voltage(volt, warned):
    reading = balance(volt)
    answer = locate(CABLE, [reading], bag=[reading.probe], established=["short"])
    assert any("high voltage" in caution for caution in answer.cautions) is warned
    assert any("prove dead" in caution for caution in answer.cautions)
    assert (risk_of(reading.probe.meter) != "none") is warned
