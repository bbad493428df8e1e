"""Colours, sizes and words that all parts of a figure share.

Blue and vermilion stay apart to colour-blind eyes (from memory of Okabe and Ito, Color Universal
Design, 2008) and differ in lightness; where they carry meaning the shape of the mark does too, so
that a print in black and white loses nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

__all__ = [
    "AXIS_LABEL",
    "BLUE",
    "GREY",
    "INK",
    "LIGHT",
    "PALE",
    "RUST",
    "SMALL",
    "TEXT",
    "TITLE",
    "VERMILION",
    "ink_on",
]

INK: Final = "#1a1a1a"
GREY: Final = "#6e6e6e"
LIGHT: Final = "#e9e9e9"
BLUE: Final = "#0072b2"
PALE: Final = "#80b9d9"  # blue at half strength
VERMILION: Final = "#d55e00"
RUST: Final = "#a84a00"  # vermilion for letters, which need more contrast on white

TITLE: Final = 13.0  # points
TEXT: Final = 10.0
SMALL: Final = 8.5

_INK_LUMINANCE: Final = 0.0103

AXIS_LABEL: Final = "distance from the cold joint [m]"


def ink_on(ground: Sequence[float]) -> str:
    """Whether letters on a ground are better dark or white.

    The one of higher contrast ratio (WCAG 2.2, from memory), which is then above 4.

    Parameters
    ----------
    ground
        Its red, green and blue, from 0 to 1; what follows them is not used.

    >>> ink_on((1.0, 1.0, 1.0)), ink_on((0.03, 0.19, 0.42))
    ('#1a1a1a', 'white')
    """
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in ground[:3]]
    light = sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))
    return INK if (light + 0.05) / (_INK_LUMINANCE + 0.05) > 1.05 / (light + 0.05) else "white"
