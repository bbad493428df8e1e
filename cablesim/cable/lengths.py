"""Lengths as people write them: ``30 ft``, ``98 ft 5 in``, ``3/4 in``, ``12.4 m``, ``14 mm``.

Feet and inches are the international ones of 0.3048 m and 25.4 mm exactly (from memory of NIST
Special Publication 811, appendix B). All sums are made with fractions and rounded once.
"""

from __future__ import annotations

import re
from fractions import Fraction

__all__ = ["LENGTH_PATTERN", "length_from_text"]

_METRES = {
    "mm": Fraction(1, 1000),
    "cm": Fraction(1, 100),
    "m": Fraction(1),
    "km": Fraction(1000),
    "in": Fraction("0.0254"),
    "ft": Fraction("0.3048"),
    "yd": Fraction("0.9144"),
}
_WRITTEN = {
    "inch": "in",
    "inches": "in",
    '"': "in",
    "foot": "ft",
    "feet": "ft",
    "'": "ft",
    "yard": "yd",
    "yards": "yd",
    "metre": "m",
    "metres": "m",
    "meter": "m",
    "meters": "m",
}
_UNIT = "|".join(sorted(map(re.escape, (*_METRES, *_WRITTEN)), key=len, reverse=True))
# 12.4, 3/4, 1 1/2 or 1-1/2; digits are few, so that no text costs more than a glance.
_NUMBER = r"(?:\d{1,7}[ -])?\d{1,7}/\d{1,7}|\d{1,9}(?:\.\d{0,12})?|\.\d{1,12}"
_PART = re.compile(rf"\s*({_NUMBER})\s*({_UNIT})(?![A-Za-z])\s*")
_LONGEST = 60

LENGTH_PATTERN = rf"^\s*[+-]?\s*(({_NUMBER})\s*({_UNIT})(?![A-Za-z])\s*)+$"
"""The same as a regular expression, for a schema."""


def length_from_text(text: str, unit: str = "m") -> float | None:
    """Read a length that names its unit.

    Parameters
    ----------
    text
        One or more numbers with a unit each: mm, cm, m, km, in, ft, yd, or ``'`` and ``"``. A sign
        in front counts for all of them. Numbers may be fractions.
    unit
        Unit of the result: ``m`` or ``mm``.

    Returns
    -------
    float or None
        The length, rounded once; None where the text is no such length.

    Examples
    --------
    >>> length_from_text("98 ft 5 in")
    29.9974
    >>> length_from_text("3/4 in", "mm"), length_from_text("-1 1/2 ft")
    (19.05, -0.4572)
    >>> length_from_text("30") is None
    True
    """
    if len(text) > _LONGEST:
        return None
    sign, rest = 1, text.strip()
    if rest[:1] in ("-", "+"):
        sign, rest = (-1 if rest[0] == "-" else 1), rest[1:]
    total, start = Fraction(0), 0
    while start < len(rest):
        part = _PART.match(rest, start)
        if part is None:
            return None
        value = _number(part[1])
        if value is None:
            return None
        total += value * _METRES[_WRITTEN.get(part[2], part[2])]
        start = part.end()
    return float(sign * total / _METRES[unit]) if start else None


def _number(text: str) -> Fraction | None:
    whole, _, part = text.rpartition(" ") if " " in text else text.rpartition("-")
    try:
        return Fraction(whole or 0) + Fraction(part)
    except ZeroDivisionError:
        return None
