"""Which reading places which fault: a figure of the table, and the bound along the cable."""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import LogNorm, to_rgb
from matplotlib.figure import Figure
from matplotlib.image import AxesImage

from cablesim.locate.reach import Reach
from cablesim.report.reach_table import kind_heading, set_words, width_words
from cablesim.report.saving import png_of
from cablesim.report.style import GREY, INK, LIGHT, SMALL, TEXT, TITLE, ink_on
from cablesim.report.words import one_line

__all__ = ["reach_figure", "reach_png"]

_ROW, _COLUMN, _LEFT, _RIGHT, _TOP, _BOTTOM = 0.31, 0.82, 3.3, 1.0, 1.5, 0.75  # inch
# Half-widths at the ends of the scale [m].
_BEST_M, _WORST_M = 0.01, 10.0
_LINE = 0.26  # of the heading [inch]
_CHARACTERS_INCH = 7.5  # of the heading that fit
_TOLD = "At best the place is known to so many centimetres either way; grey: not placed."
FOOT = (
    "Half of the narrowest 95 % interval, Cramer-Rao bound with the limits of cable and meters.\n"
    "c1, c2: core1, core2; b: braid. Work dead; local codes and licensed practice come first."
)


def reach_figure(found: Reach, title: str = "") -> Figure:
    """Draw the table: a cell for each set of readings and each kind, dark where it places well.

    Parameters
    ----------
    found
        From `cablesim.locate.reach.reach`.
    title
        One line above.
    """
    rows, columns = found.half_width_m.shape
    wide = _LEFT + _COLUMN * columns + _RIGHT
    lines = textwrap.wrap(one_line(title), int(_CHARACTERS_INCH * wide))[:3]
    high = _TOP + _LINE * len(lines) + _ROW * rows + _BOTTOM
    figure = Figure(figsize=(wide, high), dpi=150, facecolor="white")
    axes = figure.add_axes(
        (_LEFT / wide, _BOTTOM / high, _COLUMN * columns / wide, _ROW * rows / high)
    )
    image = _cells(axes, found)
    _name_cells(axes, found)
    bar_axes = figure.add_axes(
        (1 - 0.72 * _RIGHT / wide, _BOTTOM / high, 0.14 / wide, _ROW * rows / high)
    )
    bar = figure.colorbar(image, cax=bar_axes, ticks=[0.01, 0.1, 1.0, 10.0])
    bar.ax.set_yticklabels(["1 cm", "10 cm", "1 m", "10 m"], fontsize=SMALL)
    bar_axes.spines[:].set_visible(False)
    top = 1 - 0.15 / high
    figure.text(
        0.15 / wide, top, "\n".join(lines), fontsize=TITLE, fontweight="bold", color=INK, va="top",
        parse_math=False,
    )  # fmt: skip
    below = top - _LINE * len(lines) / high
    figure.text(0.15 / wide, below, _TOLD, fontsize=TEXT, color=INK, va="top")
    figure.text(0.15 / wide, 0.12 / high, FOOT, fontsize=SMALL, color=GREY, va="bottom")
    return figure


def _cells(axes: Axes, found: Reach) -> AxesImage:
    """A cell for each set and kind, with its half-width in it."""
    shown = np.where(found.places, found.half_width_m, np.nan)
    axes.set_facecolor(LIGHT)
    scale = LogNorm(_BEST_M, _WORST_M)
    image = axes.imshow(
        np.clip(shown, _BEST_M, _WORST_M), cmap="Blues_r", norm=scale, aspect="auto"
    )
    for (row, column), width in np.ndenumerate(found.half_width_m):
        placed = found.places[row, column]
        ground = image.cmap(float(scale(max(width, _BEST_M)))) if placed else to_rgb(LIGHT)
        axes.text(
            column, row, width_words(width, found.open_m), ha="center", va="center",
            fontsize=TEXT, color=ink_on(ground),
        )  # fmt: skip
    return image


def _name_cells(axes: Axes, found: Reach) -> None:
    """Name rows and columns, and part them by white lines."""
    rows, columns = found.half_width_m.shape
    axes.set_xticks(range(columns), [kind_heading(kind) for kind in found.kinds])
    axes.set_yticks(range(rows), [set_words(found, row) for row in found.sets])
    axes.xaxis.tick_top()
    axes.tick_params(length=0, labelsize=SMALL)
    for tick, row in zip(axes.get_yticklabels(), found.sets, strict=True):
        tick.set_fontweight("bold" if row.name else "normal")
    axes.set_xticks(np.arange(columns - 1) + 0.5, minor=True)
    axes.set_yticks(np.arange(rows - 1) + 0.5, minor=True)
    axes.grid(which="minor", color="white", lw=1.5)
    axes.tick_params(which="minor", length=0)
    axes.spines[:].set_visible(False)


def reach_png(found: Reach, title: str = "") -> bytes:
    """The same as a PNG image."""
    return png_of(lambda: reach_figure(found, title))
