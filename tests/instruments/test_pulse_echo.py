"""A pulse echo meter: what it shows, and what it cannot see."""

from dataclasses import replace

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Flashover, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.meter import Setting
from cablesim.instruments.meters import PulseEcho
from cablesim.instruments.readings import Probe, measure, predict
from cablesim.line.reflection import echo_delay_ns
from cablesim.line.terminals import Hookup

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
METER = PulseEcho(name="pulse_echo")


def probe(sign=None, across=("core1", "braid"), meter=METER):
    return Probe(meter, Hookup.of(TWIN, across), Setting(sign=sign))


def shown(faults, *probes):
    return predict(TWIN, faults, probes).tolist()


def test_it_shows_the_way_there_and_back_to_the_first_echo_of_each_sign():
    delay, far = (float(echo_delay_ns(TWIN, place)) for place in (12.4, 30.0))
    short, cut = Short(("core1", "braid"), 12.4, 20.0), Break(("core1", "core2", "braid"), 12.4)
    both = (probe("-"), probe("+"), probe())
    assert shown((short,), *both) == pytest.approx([delay, far, delay])
    # Behind a clean cut there is nothing: the next echo is too weak a copy to count as one.
    assert shown((cut,), *both) == [np.inf, pytest.approx(delay), pytest.approx(delay)]
    assert shown((), *both) == [np.inf, pytest.approx(far), pytest.approx(far)]
    # The far end joins the cores: between these it is a short circuit.
    loop = [probe(sign, ("core1", "core2")) for sign in "-+"]
    assert shown((), *loop) == [pytest.approx(far), np.inf]


def test_what_reflects_less_than_the_noise_is_not_seen():
    ohm = np.logspace(0, 5, 100)
    faults = (Short(("core1", "braid"), 12.4, ohm),)
    (column,) = predict(TWIN, faults, [probe("-")]).T
    seen = np.isfinite(column)
    # One step from seen to unseen, at some hundred ohm.
    assert np.abs(np.diff(seen.astype(int))).sum() == 1
    largest = ohm[seen].max()
    assert 100 < largest < 1000
    (quieter,) = predict(TWIN, faults, [probe("-", meter=METER.with_noise_of(0.1))]).T
    assert ohm[np.isfinite(quieter)].max() > 5 * largest


def test_a_place_that_arcs_only_at_high_voltage_is_not_seen():
    arcing = Flashover(("core1", "braid"), 12.4, breakdown_volt=900.0, arc_volt=40.0)
    assert shown((arcing,), probe("-")) == [np.inf]


def test_readings_spread_as_the_accuracy_says():
    joint = (Joint("core1", np.full(2000, 9.0), 100.0),)
    values = measure(TWIN, joint, [probe("+")], rng=np.random.default_rng(4))[:, 0]
    exact = float(echo_delay_ns(TWIN, 9.0))
    # Three steps evenly either way, rounding, and the time base.
    assert np.abs(values - exact).max() <= 3 + 0.5 + 1e-3 * exact
    assert values.std() == pytest.approx(3 / 3**0.5, rel=0.1)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"rise_ns": 0.0}, "rise_ns"),
        ({"width_ns": 1.0}, "width_ns"),
        ({"lead_ohm": 1.0}, "lead_ohm"),
    ],
)
def test_a_meter_that_cannot_be_is_refused(changes, message):
    with pytest.raises(InputError, match=message):
        replace(METER, **changes)
