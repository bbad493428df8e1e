"""Colours of figures: letters can be read on every ground that they are put on."""

import matplotlib
import pytest
from matplotlib.colors import to_rgb

from cablesim.report.style import GREY, INK, RUST, ink_on


def luminance(colour):
    """WCAG 2.2, relative luminance (from memory)."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)]
    return sum(w * c for w, c in zip((0.2126, 0.7152, 0.0722), linear, strict=True))


def contrast(one, other):
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


# Dark letters have luminance 0.0103: on the worst grey both have sqrt(1.05 / 0.0603) = 4.17.
@pytest.mark.parametrize("name", ["Blues_r", "Greys"])
def test_letters_on_a_scale_of_colours_have_contrast(name):
    scale = matplotlib.colormaps[name]
    grounds = [scale(step / 255)[:3] for step in range(256)]
    assert min(contrast(ink_on(ground), ground) for ground in grounds) > 4.16
    assert {ink_on(ground) for ground in grounds} == {INK, "white"}


@pytest.mark.parametrize("colour", [INK, GREY, RUST])
def test_letters_on_white_have_contrast(colour):
    assert contrast(colour, "white") >= 4.5
