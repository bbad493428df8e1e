"""Wording of numbers, places and displays."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from report.answers import SINGLE, TWIN, answer, healthy, spots, undecided

from cablesim import (
    CapacitanceMeter,
    Hookup,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    Probe,
    Setting,
)
from cablesim.report.quantities import display_words, exact_words, quantity_words
from cablesim.report.words import (
    damage_words,
    interval_words,
    one_line,
    percent_words,
    place_words,
    verdict_words,
)

OHMS = Probe(Ohmmeter(name="pocket"), Hookup.of(TWIN, ("core1", "braid")))


@pytest.mark.parametrize(
    ("position_m", "cable", "words"),
    [
        (0.0, TWIN, "at the cold joint"),
        (-0.004, TWIN, "at the cold joint"),
        (0.06, TWIN, "at the cold joint (0.06 m after it)"),
        (-0.06, TWIN, "at the cold joint (0.06 m before it)"),
        (-2.0, TWIN, "2.00 m before the cold joint, in the cold lead"),
        (29.95, TWIN, "at the far end (29.95 m from the cold joint)"),
        (54.95, SINGLE, "at the far cold joint (54.95 m from the cold joint)"),
        (56.0, SINGLE, "56.00 m from the cold joint, 1.00 m past the far cold joint"),
    ],
)
def test_places(position_m, cable, words):
    assert place_words(position_m, cable) == words


@pytest.mark.parametrize(
    ("interval_m", "words"),
    [
        ((12.0, 12.4), "12.00 to 12.40 m"),
        ((-3.0, -2.1), "3.00 to 2.10 m before the cold joint, in the cold lead"),
        ((-2.9, 0.5), "2.90 m before the cold joint to 0.50 m after it"),
        ((-1.2, 0.001), "1.20 m before the cold joint to the joint itself"),
        ((-0.001, 0.4), "0.00 to 0.40 m"),
        ((-0.001, 0.002), "0.001 m before the cold joint to 0.002 m after it"),
        ((0.0712, 0.0734), "0.071 to 0.073 m"),
        ((149.9997, 150.0003), "149.9997 to 150.0003 m"),
        ((0.07, 0.07), "0.07 to 0.07 m"),
    ],
)
def test_stretches_explain_the_cold_lead_and_never_shrink_to_a_point(interval_m, words):
    assert interval_words([interval_m]) == words


@given(st.floats(1e-3, 1e14))
def test_quantities_keep_four_digits_whatever_their_size(ohm):
    number, unit = quantity_words(ohm, "ohm").split()
    factor = {"ohm": 1.0, "kohm": 1e3, "Mohm": 1e6, "Gohm": 1e9, "Tohm": 1e12}[unit]
    assert float(number) * factor == pytest.approx(ohm, rel=5.001e-4)
    assert "e" not in number
    # Never "1000 kohm".
    assert float(number) < 1000 or unit == "Tohm"


@given(st.floats(0.0, 3e7))
def test_a_display_says_the_value_that_it_shows(ohm):
    meter = OHMS.meter
    shown = float(meter.shown(ohm, OHMS.setting))
    plain = display_words(OHMS, shown, prefixed=False)
    if math.isinf(shown):
        assert plain == "over range"
        return
    number, unit = plain.split()
    assert unit == "ohm"
    assert float(number) == pytest.approx(shown, rel=1e-12)
    number, unit = display_words(OHMS, shown).split()
    factor = {"ohm": 1.0, "kohm": 1e3, "Mohm": 1e6}[unit]
    step = float(meter.step_of(shown, OHMS.setting))
    assert float(number) * factor == pytest.approx(shown, abs=step / 100)
    # As many digits as the display has, no more.
    assert len(number.replace(".", "").lstrip("0")) <= 4


def test_displays_of_the_other_meters():
    across = Hookup.of(TWIN, ("core1", "braid"))
    insulation = Probe(InsulationTester(name="tester"), across)
    capacitance = Probe(CapacitanceMeter(name="c"), across)
    bridge = LoopBridge(name="b")
    three = Hookup.of(TWIN, ("core2", "core1", "braid"))
    murray = Probe(bridge, three, Setting(method="murray"))
    varley = Probe(bridge, three, Setting(method="varley", arms=(10.0, 10.0)))
    assert display_words(insulation, 0.0) == "0.000 Mohm"
    assert display_words(insulation, 0.055) == "0.055 Mohm"
    assert display_words(capacitance, 3.33) in ("3.33 nF", "3.330 nF")
    assert display_words(murray, 0.3178) == "0.318"
    assert display_words(murray, 0.3178, prefixed=False) == "0.318 Q/(P+Q)"
    assert display_words(varley, 24.8) == "24.8 ohm"
    assert display_words(varley, -3.0) == display_words(murray, np.inf) == "no balance"
    assert exact_words(varley, np.inf) == exact_words(murray, np.nan) == "no balance"
    assert exact_words(OHMS, np.inf) == "infinite"


def test_verdicts():
    found = answer(spots(12.4)).estimate
    assert verdict_words(found) == "short between core1 and braid (97 %)"
    assert damage_words(healthy().estimate.faults) == "healthy"
    assert verdict_words(healthy().estimate) == "healthy (97 %)"
    assert verdict_words(undecided().estimate) == "undecided; likeliest kind is short (97 %)"


def test_a_probability_shared_by_several_conductors_is_that_of_the_kind():
    other = undecided().estimate.alternatives[0]
    found = answer(spots(12.4), alternatives=(other,)).estimate
    assert verdict_words(found) == "short (97 %); likeliest: short between core1 and braid (67 %)"
    even = replace(other, probability=found.probability / 2)
    either = f"short between core1 and braid or {damage_words(other.faults)}"
    found = answer(spots(12.4), alternatives=(even,)).estimate
    assert verdict_words(found) == f"short (97 %); likeliest: {either}, equally (48 % each)"


@given(st.floats(0.0, 1.0))
def test_certainty_is_never_claimed(probability):
    assert percent_words(probability) not in ("0 %", "100 %")


@given(st.text())
def test_one_line_is_one_printable_line(text):
    assert one_line(text).isprintable()


def test_intervals():
    assert interval_words([(-1.0, 0.25)], 2) == "1.00 m before the cold joint to 0.25 m after it"
