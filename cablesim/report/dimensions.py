"""Dimension lines from a place to the walls, and metre numbers that make room for them."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from matplotlib.transforms import Bbox

from cablesim.report.floor import walls_beside
from cablesim.report.style import INK

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

    from cablesim.cable.numbers import FloatArray
    from cablesim.site.plan import Plan

__all__ = ["draw_dimensions"]

# Shares of a dimension line at which its number is tried, and room around marks.
_ALONG = (0.5, 0.6, 0.4, 0.7, 0.3, 0.8, 0.2, 0.5)
_CLEAR_PX = 2.0
# How far a metre number moves off a dimension line, and what such a line and an edge take up.
_ASIDE_POINTS, _LINE_POINTS = 8.0, 0.8


@dataclass(frozen=True, slots=True)
class _Dimension:
    """A dimension line as drawn: its number, what it takes up, and the axis along which it runs."""

    told: Text
    line: Bbox
    axis: int


def draw_dimensions(
    axes: Axes,
    plan: Plan,
    here: tuple[float, float],
    numbers: Sequence[Text],
    edges: Sequence[Sequence[Sequence[float]]],
) -> None:
    """Draw the distances of a place from the nearer walls, one along each axis.

    A metre number that a line would run through is moved beside it; one that would hide where an
    opening is cut is left out, since its dot stays.

    Parameters
    ----------
    axes
        The plan.
    plan
        Its walls.
    here
        The place [m].
    numbers
        Those of the metre marks.
    edges
        Edges of openings, each a line of points [m].
    """
    drawn = [_dimension(axes, plan, here, axis, numbers) for axis in (0, 1)]
    point = axes.figure.dpi / 72
    lines = [each for each in drawn if each is not None]
    cut = [
        _around(start, end, _LINE_POINTS * point)
        for edge in edges
        for start, end in itertools.pairwise(axes.transData.transform(np.asarray(edge)))
    ]
    for number in numbers:
        box = number.get_window_extent()
        under = next((each for each in lines if box.overlaps(each.line)), None)
        if under is None:
            number.set_visible(not any(box.overlaps(edge) for edge in cut))
            continue
        others = [other.get_window_extent() for other in numbers if other is not number]
        taken = [*others, *cut, *(each.told.get_window_extent() for each in lines)]
        start = axes.transData.transform(number.get_position())
        aside = _ASIDE_POINTS * point * np.eye(2)[1 - under.axis]
        for way in (aside, -aside):
            x, y = axes.transData.inverted().transform(start + way)
            number.set_position((float(x), float(y)))
            if not any(number.get_window_extent().overlaps(other) for other in taken):
                break
        else:
            number.set_visible(False)


def _dimension(
    axes: Axes, plan: Plan, here: tuple[float, float], axis: int, numbers: Sequence[Text]
) -> _Dimension | None:
    """The distance of the best place from the nearer wall, as a dimension line.

    Its number stands in the middle of it, or farther along where it would cover a metre mark.
    """
    less, more = walls_beside(plan, here, axis)
    way, length = (-1.0, less) if less <= more else (1.0, more)
    if not np.isfinite(length) or length <= 0:
        return None
    there = (here[0] + way * length, here[1]) if axis == 0 else (here[0], here[1] + way * length)
    arrow = {"arrowstyle": "<|-|>", "lw": 0.9, "color": INK, "shrinkA": 4.5, "shrinkB": 0}
    axes.annotate("", xy=there, xytext=here, arrowprops=arrow, zorder=8)
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    # A short one has no room for its number on the line, which then stands beside it.
    short = length < 0.16 * max(x1 - x0, y1 - y0)
    upright = axis == 1
    told = axes.annotate(
        f"{length:.2f} m",
        ((here[0] + there[0]) / 2, (here[1] + there[1]) / 2),
        xytext=(0, 0) if not short else (6, 0) if upright else (0, 6),
        textcoords="offset points",
        fontsize=8,
        fontweight="bold",
        rotation=90 if upright and not short else 0,
        ha="left" if short and upright else "center",
        va="bottom" if short and not upright else "center",
        zorder=10,
        bbox={"fc": "white", "ec": "none", "pad": 0.8},
    )
    covered = [number.get_window_extent().padded(_CLEAR_PX) for number in numbers]
    for share in _ALONG:
        told.xy = (here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1]))
        if not any(told.get_window_extent().overlaps(box) for box in covered):
            break
    ends = axes.transData.transform([here, there])
    return _Dimension(told, _around(ends[0], ends[1], _CLEAR_PX), axis)


def _around(start: FloatArray, end: FloatArray, pad_px: float) -> Bbox:
    return Bbox([np.minimum(start, end), np.maximum(start, end)]).padded(pad_px)
