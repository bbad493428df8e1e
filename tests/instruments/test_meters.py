"""Displays: ranges, rounding, over range, and what a meter refuses."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from instruments.strategies import meters, values

from cablesim.errors import InputError
from cablesim.instruments.meters import (
    METER_KINDS,
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    Setting,
)

PLAIN = Setting()


@pytest.mark.parametrize(
    ("indicated", "shown"),
    [
        (0.0, 0.0),
        (0.04, 0.0),
        (0.06, 0.1),
        (88.249, 88.2),
        (88.251, 88.3),
        (199.94, 199.9),
        (199.96, 200.0),
        (200.4, 200.0),
        (1999.4, 1999.0),
        (1999.6, 2000.0),
        (2004.0, 2000.0),
        (19_994_000.0, 19_990_000.0),
        (19_996_000.0, math.inf),
        (math.inf, math.inf),
        (math.nan, math.inf),
    ],
)
def test_a_2000_count_ohmmeter(indicated, shown):
    # Steps of 0.1 are not exact in binary: one rounding of the value.
    assert Ohmmeter(name="m").shown(indicated, PLAIN) == pytest.approx(shown, rel=1e-15)


def test_steps_and_ranges_of_a_2000_count_ohmmeter():
    meter = Ohmmeter(name="m")
    assert meter.ranges == 6
    assert [meter.range_from(k) for k in (1, 2, 6)] == pytest.approx([199.95, 1999.5, 19_995_000.0])
    np.testing.assert_array_equal(
        meter.range_of(np.array([0.0, 1.0, 1e3, 1e5, 1e30])), [0, 0, 1, 3, 5]
    )
    np.testing.assert_allclose(meter.step_of(np.array([1.0, 1e3, 1e5]), PLAIN), [0.1, 1.0, 100.0])


@given(meters(), st.data())
def test_what_is_shown_lies_on_a_step_and_half_a_step_away(meter, data):
    indicated = data.draw(values(meter))
    shown = float(meter.shown(indicated, PLAIN))
    if indicated >= meter.over_range_from(PLAIN):
        assert shown == math.inf
        return
    step = float(meter.step_of(indicated, PLAIN))
    # 1e-9 of a step: a limit of a range is itself rounded.
    assert abs(shown - indicated) <= step * (0.5 + 1e-9)
    assert shown / step == pytest.approx(round(shown / step), abs=1e-9)
    assert shown / step <= meter.counts + 1e-9


@given(meters(), st.integers(1, 7), st.integers(-4, 4))
def test_at_a_change_of_range_display_and_value_name_the_same_range(meter, number, roundings):
    value = meter.range_from(min(number, meter.ranges))
    for _ in range(abs(roundings)):
        value = float(np.nextafter(value, math.inf if roundings > 0 else 0.0))
    shown = float(meter.shown(value, PLAIN))
    if math.isfinite(shown):
        assert meter.range_of(shown) == meter.range_of(value)


@given(meters(), st.lists(st.floats(0, 1e9), min_size=2, max_size=2).map(sorted))
def test_more_never_shows_as_less(meter, pair):
    low, high = (float(meter.shown(value, PLAIN)) for value in pair)
    # Two neighbouring ranges may round one value to the same number, in digits of their own.
    assert low <= high * (1 + 1e-12)


@given(meters())
def test_just_under_the_top_it_shows_and_from_there_on_it_does_not(meter):
    top = meter.over_range_from(PLAIN)
    assert math.isfinite(meter.shown(top * (1 - 1e-9), PLAIN))
    assert meter.shown(top, PLAIN) == math.inf


def test_displays_of_arrays():
    shown = CapacitanceMeter(name="m").shown(np.array([[0.0004, 3.0], [2.05, 1e9]]), PLAIN)
    np.testing.assert_allclose(shown, [[0.0, 3.0], [2.05, np.inf]], rtol=1e-15)


@pytest.mark.parametrize(
    ("make", "field", "value"),
    [
        (Ohmmeter, "accuracy_percent", -0.1),
        (Ohmmeter, "accuracy_percent", 101.0),
        (Ohmmeter, "accuracy_counts", -1.0),
        (Ohmmeter, "counts", 5.0),
        (Ohmmeter, "resolution", 0.0),
        (Ohmmeter, "top_range", 100.0),
        (Ohmmeter, "top_range", 1e30),
        (Ohmmeter, "top_range", math.inf),
        (Ohmmeter, "lead_ohm", -0.1),
        (InsulationTester, "lead_ohm_tolerance", math.nan),
        # Ohms of leads are no nanofarads and no share of a slide.
        (CapacitanceMeter, "lead_ohm", 0.3),
        (LoopBridge, "lead_ohm", 0.3),
        (LoopBridge, "lead_ohm_tolerance", 0.1),
    ],
)
def test_a_meter_that_cannot_be_is_refused(make, field, value):
    with pytest.raises(InputError, match=field.removeprefix("top_")):
        make(name="m", **{field: value})


@pytest.mark.parametrize("kind", METER_KINDS)
def test_every_kind_makes_a_meter_with_its_usual_errors(kind):
    meter = METER_KINDS[kind](name="m")
    assert meter.kind == kind
    assert meter.accuracy_percent + meter.accuracy_counts > 0
    assert meter.accuracy_counts > 0


def test_a_balance_off_the_end_of_the_slide_is_none():
    """One division is what reading it may be off by."""
    bridge, murray = LoopBridge(name="b", divisions=100.0), Setting(method="murray")
    assert bridge.shown(1.004, murray) == 1.0
    assert bridge.shown(1.02, murray) == math.inf


def test_a_slide_and_a_box():
    bridge = LoopBridge(name="b")
    slide, box = Setting(method="murray"), Setting(method="varley", arms=(1.0, 1.0))
    assert bridge.ranges == 1
    assert bridge.shown(0.33349, slide) == pytest.approx(0.333, rel=1e-15)
    assert bridge.shown(0.9999, slide) == 1.0
    assert bridge.shown(100.04, box) == pytest.approx(100.0, rel=1e-15)
    assert bridge.shown(100_000.0, box) == math.inf
