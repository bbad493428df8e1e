"""Colours, sizes and words that all parts of a figure share.

Blue and vermilion stay apart to colour-blind eyes (from memory of Okabe and Ito, Color Universal
Design, 2008) and differ in lightness; where they carry meaning the shape of the mark does too, so
that a print in black and white loses nothing.
"""

from __future__ import annotations

from typing import Final

__all__ = [
    "AXIS_LABEL",
    "BLUE",
    "GREY",
    "INK",
    "LIGHT",
    "PALE",
    "SMALL",
    "TEXT",
    "TITLE",
    "VERMILION",
]

INK: Final = "#1a1a1a"
GREY: Final = "#6e6e6e"
LIGHT: Final = "#e9e9e9"
BLUE: Final = "#0072b2"
PALE: Final = "#80b9d9"  # blue at half strength
VERMILION: Final = "#d55e00"

TITLE: Final = 13.0  # points
TEXT: Final = 10.0
SMALL: Final = 8.5

AXIS_LABEL: Final = "distance from the cold joint [m]"
