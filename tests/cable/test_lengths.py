"""Lengths with a unit: what the trade writes is what is meant, to the last digit."""

import re
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.lengths import LENGTH_PATTERN, length_from_text
from cablesim.scenario.reading import parse_scenario

# Metres in each; feet, inches and yards from memory of NIST Special Publication 811, appendix B.
UNITS = {
    **dict.fromkeys(("ft", "foot", "feet", "'"), Fraction("0.3048")),
    **dict.fromkeys(("in", "inch", "inches", '"'), Fraction("0.0254")),
    **dict.fromkeys(("yd", "yards"), Fraction("0.9144")),
    **{"mm": Fraction("0.001"), "cm": Fraction("0.01"), "m": Fraction(1), "km": Fraction(1000)},
}
decimals = st.decimals(0, 9999, places=3).map(lambda d: (f"{d.normalize():f}", Fraction(d)))
fractions = st.tuples(st.integers(0, 99), st.integers(1, 15), st.sampled_from([2, 4, 8, 16])).map(
    lambda t: (f"{t[0]} {t[1]}/{t[2]}" if t[0] else f"{t[1]}/{t[2]}", t[0] + Fraction(t[1], t[2]))
)
parts = st.tuples(decimals | fractions, st.sampled_from(sorted(UNITS)), st.sampled_from(["", " "]))


@given(st.lists(parts, min_size=1, max_size=3), st.sampled_from(["", "-"]))
def test_any_sum_of_parts_is_read_to_the_last_digit(written, sign):
    text = sign + " ".join(number + gap + unit for (number, _), unit, gap in written)
    exact = sum(value * UNITS[unit] for (_, value), unit, _ in written)
    if len(text) <= 60:
        assert length_from_text(text) == float(-exact if sign else exact)
        assert re.search(LENGTH_PATTERN, text)


@pytest.mark.parametrize(
    ("text", "metres"),
    [
        ("98 ft 5 in", 29.9974),
        ("98'5\"", 29.9974),
        ("5-1/2 in", 0.1397),
        ("30m", 30.0),
        ("+0.5 ft", 0.1524),
    ],
)
def test_usual_ways_to_write_it(text, metres):
    assert length_from_text(text) == metres


@given(st.text(alphabet="0123456789./- ftinm'\"", max_size=70))
def test_no_other_text_is_a_length_and_the_schema_says_the_same(text):
    found = length_from_text(text)
    fits = re.search(LENGTH_PATTERN, text) and len(text) <= 60
    if found is None:
        assert not fits or re.search(r"/0+(?!\d)", text)
    else:
        assert fits


@given(st.decimals(1, 400, places=2), st.sampled_from(["ft", "yd", "m"]))
def test_a_file_in_feet_is_the_same_as_one_in_metres(number, unit):
    cable = '[cable]\nconstruction = "twin"\nloop_resistance_ohm = 88.2\nheated_length_m = '
    fault = '\n[[fault]]\nkind = "break"\nconductors = ["core1"]\nat_m = '
    metres = float(
        Decimal(number) * {"ft": Decimal("0.3048"), "yd": Decimal("0.9144")}.get(unit, 1)
    )
    in_unit = parse_scenario(f'{cable}"{number} {unit}"{fault}"{number} {unit}"')
    assert in_unit == parse_scenario(f"{cable}{metres!r}{fault}{metres!r}")
