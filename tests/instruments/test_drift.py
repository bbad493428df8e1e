"""Unsteady faults: another resistance at each reading."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from line.strategies import cables, places_m

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Short
from cablesim.errors import InputError
from cablesim.instruments.drift import predict_range
from cablesim.instruments.meters import LoopBridge, Ohmmeter, Setting
from cablesim.instruments.readings import Probe, measure, predict
from cablesim.line.terminals import Hookup

TWIN = Cable.rated("twin", 30.0, 88.2)
PERFECT = Ohmmeter(
    name="o", accuracy_percent=0.0, accuracy_counts=0.0, lead_ohm=0.0, lead_ohm_tolerance=0.0,
    counts=1e7, resolution=1e-4, top_range=1e12,
)  # fmt: skip
WET = Short(("core1", "braid"), 12.4, 1000.0, drift_percent=25.0)


def ohmmeter(cable=TWIN, across=("core1", "braid")):
    return Probe(PERFECT, Hookup.of(cable, across))


@given(st.data(), st.floats(1.0, 900.0))
def test_every_reading_lies_within_the_range(data, drift):
    cable = data.draw(cables())
    fault = Degraded.at(("core1", "braid"), data.draw(places_m(cable)), 1e5, drift)
    low, high = predict_range(cable, (fault,), [ohmmeter(cable)])
    for share in data.draw(st.lists(st.floats(-1.0, 1.0), min_size=3, max_size=3)):
        now = replace(fault, resistance_ohm=1e5 * (1 + drift / 100) ** share)
        found = predict(cable, (now,), [ohmmeter(cable)])
        assert low * (1 - 1e-12) <= found <= high * (1 + 1e-12)


def test_without_drift_there_is_one_value():
    low, high = predict_range(TWIN, (replace(WET, drift_percent=0.0),), [ohmmeter()])
    assert low == high == predict(TWIN, (WET,), [ohmmeter()])


def test_more_unsteady_faults_widen_the_range():
    others = tuple(replace(WET, at_m=at_m) for at_m in (3.0, 20.0, 25.0, 28.0))
    one = np.ptp(predict_range(TWIN, (WET, *(replace(o, drift_percent=0.0) for o in others)),
                               [ohmmeter()]), axis=0)  # fmt: skip
    all_of_them = np.ptp(predict_range(TWIN, (WET, *others), [ohmmeter()]), axis=0)
    assert all_of_them > one > 0


def test_measure_draws_it_anew_for_each_reading():
    rng = np.random.default_rng(1)
    shown = measure(TWIN, (WET,), [ohmmeter()] * 6, rng=rng)
    low, high = predict_range(TWIN, (WET,), [ohmmeter()])
    assert len(set(shown.tolist())) == 6
    assert np.all((shown >= low) & (shown <= high))


def test_measured_spread_is_even_in_the_logarithm():
    rng = np.random.default_rng(2)
    batch = replace(WET, resistance_ohm=np.full(4000, 1000.0), drift_percent=300.0)
    way = float(predict(TWIN, (replace(WET, resistance_ohm=0.0),), [ohmmeter()])[0])
    shown = measure(TWIN, (batch,), [ohmmeter()], rng=rng)[:, 0] - way
    share = np.log(shown / 1000.0) / np.log(4.0)
    assert share.min() >= -1.001
    assert share.max() <= 1.001
    # Of 4000 even draws: standard error of the mean 0.009, of the variance 0.005.
    assert abs(share.mean()) < 0.05
    assert share.var() == pytest.approx(1 / 3, abs=0.03)


def test_a_steady_fault_is_drawn_as_before():
    steady = replace(WET, drift_percent=0.0)
    one, two = (
        measure(TWIN, (steady,), [ohmmeter()], rng=np.random.default_rng(5)) for _ in range(2)
    )
    assert one == two == pytest.approx(predict(TWIN, (steady,), [ohmmeter()]), abs=1e-3)


def test_a_bridge_does_not_mind():
    bridge = LoopBridge(name="b", accuracy_percent=0.0, accuracy_counts=0.0, divisions=1e9)
    probe = Probe(bridge, Hookup.of(TWIN, ("core2", "core1", "braid")), Setting(method="murray"))
    leak = Degraded.at(("core1", "braid"), 12.0, 1e5, 300.0)
    low, high = predict_range(TWIN, (leak,), [probe])
    # Only the leakage of the rest, 1e5 times higher, moves it.
    assert high - low < 1e-5
    ohm_low, ohm_high = predict_range(TWIN, (leak,), [ohmmeter()])
    assert ohm_high / ohm_low > 15


@pytest.mark.parametrize("wrong", [-1.0, 1001.0, float("nan")])
def test_impossible_drift_is_refused(wrong):
    with pytest.raises(InputError, match="drift_percent"):
        replace(WET, drift_percent=wrong)
