"""The probability density of the place, with its intervals shaded."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.locate.estimate import Density, FaultEstimate
from cablesim.report.style import BLUE, GREY, INK, LIGHT, SMALL, VERMILION
from cablesim.report.words import worth_naming

__all__ = ["FIRST_PLACE", "draw_density", "join_windows"]

FIRST_PLACE = "first place"
"""Whose curve is drawn where there are two places, as legends and axes call it."""

# The curve is smoothed over this part of the narrowest interval, at most over so many cells.
_SHAPE, _MOST_SPREAD = 25.0, 4.0


def draw_density(
    axes: Axes, density: Density, fault: FaultEstimate, cable: Cable, true_m: Sequence[float] = ()
) -> None:
    """Draw the density over the cable; what part of it is seen is set by the caller.

    Parameters
    ----------
    axes
        Empty axes; x becomes metres from the cold joint, y 1/m.
    density
        Of the place.
    fault
        Its intervals and best place.
    cable
        The joints to mark.
    true_m
        The true places [m], where they are known.
    """
    places, height = _curve(density, fault, cable)
    axes.fill_between(places, height, color=BLUE, alpha=0.15, lw=0)
    for low, high in fault.intervals_m:
        inside = (places >= low) & (places <= high)
        axes.fill_between(places[inside], height[inside], color=BLUE, alpha=0.45, lw=0)
        for edge in (low, high):
            axes.plot([edge, edge], [0, _at(places, height, edge)], color=BLUE, lw=1.0)
    axes.plot(places, height, color=BLUE, lw=1.4)
    length = float(cable.heated_length_m)
    far = "far cold joint" if cable.construction.returns else "far end"
    for where, name in ((0.0, "cold joint"), (length, far)):
        axes.axvline(where, color=GREY, lw=1.0, zorder=0)
        axes.text(
            where,
            0.98,
            f" {name} ",
            transform=axes.get_xaxis_transform(),
            fontsize=SMALL,
            color=GREY,
            va="top",
            ha="left" if where == 0 else "right",
            clip_on=True,
        )
    if worth_naming(fault, cable):
        best = fault.position_m
        peak = _at(places, height, best)
        axes.plot([best, best], [0, peak], color=INK, lw=1.2, zorder=4)
        axes.plot(best, peak, color=INK, marker="v", ms=7, zorder=5)
    for true in true_m:
        axes.axvline(true, color=VERMILION, lw=1.4, ls=":", zorder=4)
        axes.plot(true, 0, color=VERMILION, marker="D", ms=6, mec="white", clip_on=False, zorder=6)
    axes.patch.set_visible(False)
    axes.tick_params(labelsize=SMALL)
    axes.spines[["right", "top"]].set_visible(False)


def join_windows(figure: Figure, strip: Axes, panels: Sequence[Axes]) -> None:
    """Show which stretch of the strip each enlarged panel is: a grey sheet from one to the other.

    Parameters
    ----------
    figure
        That holds both.
    strip
        The whole cable.
    panels
        Each an enlarged stretch of it, above the strip.
    """
    to_figure = figure.transFigure.inverted()
    top = strip.get_ylim()[1]
    for panel in panels:
        low, high = panel.get_xlim()
        upper = [(0.0, 0.0), (1.0, 0.0)]
        lower = [(high, top - 0.85), (low, top - 0.85)]
        corners = [
            *(to_figure.transform(panel.transAxes.transform(corner)) for corner in upper),
            *(to_figure.transform(strip.transData.transform(corner)) for corner in lower),
        ]
        figure.add_artist(Polygon(corners, facecolor=LIGHT, edgecolor="none", alpha=0.7, zorder=-1))


def _curve(density: Density, fault: FaultEstimate, cable: Cable) -> tuple[FloatArray, FloatArray]:
    """Places and heights of the curve: smooth to the eye, and nothing beyond the cable."""
    middles, heights = _smooth(density, fault)
    first, last = float(cable.first_m), float(cable.last_m)

    def height(where: FloatArray) -> FloatArray:
        return np.asarray(np.interp(where, middles, heights, left=0.0, right=0.0))

    ends = [edge for interval in fault.intervals_m for edge in interval]
    places = np.unique(np.concatenate([middles, ends, [first, last]]))
    places = places[(places >= first) & (places <= last)]
    # Smoothing carries some of the density past the ends of the cable: it is folded back.
    folded = height(places) + height(2 * first - places) + height(2 * last - places)
    return (
        np.concatenate([places[:1], places, places[-1:]]),
        np.concatenate([[0.0], folded, [0.0]]),
    )


def _smooth(density: Density, fault: FaultEstimate) -> tuple[FloatArray, FloatArray]:
    """Middles of cells, and heights without the wobble of single points.

    The narrowest interval keeps its shape.
    """
    cell = float(np.diff(density.edges_m).mean())
    narrowest = min(high - low for low, high in fault.intervals_m) / cell
    spread = float(np.clip(narrowest / _SHAPE, 0.1, _MOST_SPREAD))
    reach = int(np.ceil(4 * spread))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / spread) ** 2)
    count = len(density.per_m)
    middles = density.edges_m[0] + cell * (np.arange(-reach, count + reach) + 0.5)
    return middles, np.convolve(density.per_m, kernel / kernel.sum())


def _at(places: FloatArray, height: FloatArray, where: float) -> float:
    return float(np.interp(where, places, height, left=0.0, right=0.0))
