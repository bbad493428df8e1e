"""Drawings of a class set: the floor plan to mark, or the cable laid out straight."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.report.words import one_line
from cablesim.site.opening import opening_for
from cablesim.site.plan import Plan
from cablesim.training.sheets.content import Drawing

__all__ = ["plan_drawing", "straight_drawing"]

_PAD_M = 0.22
_RULER_M = (0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
_TICKS = 9
# The straight cable is folded into rows of at most so many metres.
_ROW_M = 15.0
# So far to either side of damage the key draws the opening.
_OPENED_M = 0.25


def plan_drawing(plan: Plan, damage_m: Sequence[float] = ()) -> Drawing:
    """The floor to scale: walls, tiles, the cable with its metres, spots that were noticed.

    Parameters
    ----------
    plan
        Where the cable lies.
    damage_m
        Damaged places, for a key [m from the cold joint].
    """
    left, low, right, high = plan.room.bounds_m

    def draw(axes: Any) -> None:
        from cablesim.report.floor_parts import draw_cable, draw_room, draw_tiles, metre_marks

        axes.set_xlim(left - _PAD_M, right + _PAD_M)
        axes.set_ylim(low - _PAD_M, high + _PAD_M)
        for place in damage_m:
            _draw_opening(axes, plan, place)
        draw_room(axes, plan)
        draw_tiles(axes, plan)
        draw_cable(axes, plan, width=1.1)
        metre_marks(axes, plan)
        _rulers(axes, (left, low, right, high))
        for number, spot in enumerate(plan.survey.suspects, start=1):
            _spot(axes, spot.at_m, spot.radius_m, f"{number}: {one_line(spot.why) or 'noticed'}")
        for place in damage_m:
            if 0.0 <= place <= plan.heated_length_m:
                x, y = plan.at(place)
                axes.plot(x, y, "o", ms=15, mfc="white", mec="black", mew=1.5, zorder=8)
                axes.plot(x, y, "x", ms=9, color="black", mew=2.5, zorder=9)

    return Drawing((right - left + 2 * _PAD_M, high - low + 2 * _PAD_M), draw)


def _draw_opening(axes: Any, plan: Plan, place: float) -> None:
    from matplotlib.patches import Polygon

    if not 0.0 <= place <= plan.heated_length_m:
        return
    patch = opening_for(plan, (place - _OPENED_M, place + _OPENED_M)).patch
    for polygon in getattr(patch, "geoms", [patch]):
        corners = np.array(polygon.exterior.coords)
        axes.add_patch(Polygon(corners, fc="0.85", ec="none", zorder=1.0))
        # The edge goes over the joints of the tiles.
        axes.add_patch(Polygon(corners, fill=False, ec="black", lw=1.2, zorder=2.5))


def _rulers(axes: Any, bounds: tuple[float, float, float, float]) -> None:
    """Metres along the lower and the left wall."""
    left, low, right, high = bounds
    step = next((s for s in _RULER_M if (right - left) / s <= _TICKS), _RULER_M[-1])
    for metre in np.arange(0.0, right - left + 1e-9, step):
        axes.plot([left + metre] * 2, [low - 0.05, low - 0.02], color="black", lw=0.8)
        axes.text(left + metre, low - 0.07, f"{left + metre:g}", ha="center", va="top", fontsize=7)
    for metre in np.arange(0.0, high - low + 1e-9, step):
        axes.plot([left - 0.05, left - 0.02], [low + metre] * 2, color="black", lw=0.8)
        axes.text(left - 0.07, low + metre, f"{low + metre:g}", ha="right", va="center", fontsize=7)


def _spot(axes: Any, at_m: tuple[float, float], radius_m: float, told: str) -> None:
    from matplotlib.patches import Circle

    axes.add_patch(Circle(at_m, radius_m, fill=False, ls=(0, (3, 2)), ec="black", lw=1.0, zorder=6))
    box = {"fc": "white", "ec": "none", "pad": 0.8}
    x, y = at_m
    axes.text(x, y + radius_m, told, ha="center", va="bottom", fontsize=7, bbox=box, zorder=6.2)


def straight_drawing(cable: Cable, damage_m: Sequence[float] = ()) -> Drawing:
    """The cable laid out straight, folded into rows, a tick each metre; for where no plan is known.

    Parameters
    ----------
    cable
        The cable, with its cold leads.
    damage_m
        Damaged places, for a key [m from the cold joint].
    """
    first, last = float(cable.first_m), float(cable.last_m)
    length = float(cable.heated_length_m)
    rows = max(1, int(np.ceil((last - first) / _ROW_M)))
    each = (last - first) / rows

    def draw(axes: Any) -> None:
        for row in range(rows):
            y = rows - row - 0.5
            begin, end = first + row * each, first + (row + 1) * each
            for low, high, style in ((first, 0.0, "--"), (0.0, length, "-"), (length, last, "--")):
                a, b = max(low, begin), min(high, end)
                if b > a:
                    axes.plot([a - begin, b - begin], [y, y], "k", ls=style, lw=2.0)
            for metre in np.arange(np.ceil(begin), end + 1e-9, 1.0):
                long = metre % 5 == 0
                axes.plot([metre - begin] * 2, [y - (0.16 if long else 0.09), y], "k", lw=0.8)
                if long:
                    told = f"{metre:g} m"
                    axes.text(metre - begin, y - 0.2, told, ha="center", va="top", fontsize=7)
            for place in damage_m:
                if begin <= place <= end:
                    axes.plot(place - begin, y, "o", ms=15, mfc="none", mec="black", mew=1.5)
                    axes.plot(place - begin, y, "x", ms=9, color="black", mew=2.5)
        axes.set_xlim(-0.5, each + 0.5)
        axes.set_ylim(0.0, rows)

    # Rows so far apart that there is room to mark them by hand.
    return Drawing((16.0, 2.0 * rows), draw, scale=False)
