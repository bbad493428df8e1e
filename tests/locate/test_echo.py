"""Echoes as evidence: they place what other readings cannot, as far as the speed is known."""

from dataclasses import replace

import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Joint
from cablesim.instruments.meter import Setting
from cablesim.instruments.meters import Ohmmeter, PulseEcho
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.line.terminals import Hookup
from cablesim.locate import locate
from cablesim.locate.prior import hypotheses

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
# Two places are searched the same way, at many times the cost.
TABLE = [hypothesis for hypothesis in hypotheses(TWIN) if hypothesis.places < 2]


def readings(cable, faults, *, echo=True):
    true = replace(cable, velocity_factor=cable.velocity_factor * 1.01)
    pocket, meter = Ohmmeter(name="ohmmeter", lead_ohm=0.0), PulseEcho(name="pulse_echo")
    probes = [Probe(pocket, Hookup.of(cable, ("core1", "core2")))]
    if echo:
        hookup = Hookup.of(cable, ("core1", "braid"))
        probes.append(Probe(meter, hookup, Setting(sign="+")))
    values = predict(true, faults, probes).tolist()
    return [
        Reading(p, float(p.meter.shown(v, p.setting))) for p, v in zip(probes, values, strict=True)
    ]


@pytest.mark.parametrize("fault", [Joint("core1", 12.4, 30.0), Break(("core1",), 12.4)])
def test_an_echo_places_what_ohms_cannot(fault):
    without = locate(TWIN, readings(TWIN, (fault,), echo=False), table=TABLE).faults[0]
    found = locate(TWIN, readings(TWIN, (fault,)), table=TABLE).faults[0]
    assert found.kind == fault.kind
    assert without.open_m > 20.0
    assert found.open_m < 2.5
    assert any(low <= 12.4 <= high for low, high in found.intervals_m)


def test_the_interval_is_as_wide_as_the_speed_is_uncertain():
    joint = Joint("core1", 12.4, 30.0)
    widths = []
    for percent in (1.0, 5.0):
        cable = replace(TWIN, velocity_tolerance_percent=(-percent, percent))
        widths.append(locate(cable, readings(cable, (joint,)), table=TABLE).faults[0].open_m)
    # Nearly all of +-5 % of the way there, cold lead included.
    assert 0.9 * 0.1 * 14.9 < widths[1] < 1.3 * 0.1 * 14.9
    assert widths[0] < 0.6 * widths[1]
