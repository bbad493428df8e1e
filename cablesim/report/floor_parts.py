"""What a floor plan is drawn from: walls, tiles, cable, metre marks, openings."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

import numpy as np
from matplotlib.patches import PathPatch, Polygon
from matplotlib.path import Path

from cablesim.report.floor import lines_of
from cablesim.report.style import GREY, INK, VERMILION
from cablesim.site.opening import tile_grid

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.text import Text

    from cablesim.site.plan import Plan
    from cablesim.site.ranking import Ranking

__all__ = [
    "BESIDE",
    "CUT",
    "HAND",
    "STRETCH",
    "THIN",
    "draw_cable",
    "draw_openings",
    "draw_room",
    "draw_tiles",
    "metre_marks",
]

THIN: Final = 0.9
STRETCH: Final[dict[str, Any]] = {"color": VERMILION, "lw": 4.5, "solid_capstyle": "butt"}
BESIDE: Final[dict[str, Any]] = {"color": GREY, "lw": 3.2, "ls": (0, (1.0, 0.6))}
CUT: Final[dict[str, Any]] = {"color": INK, "lw": 2.0, "solid_capstyle": "butt"}
HAND: Final[dict[str, Any]] = {"color": INK, "lw": 2.0, "ls": (0, (0.6, 1.0))}

# Metre numbers are drawn at the closest of these steps that leaves room for them.
_STEPS_M = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
_NUMBERS = 16
# Tiles narrower than this share of the drawing have no room for their names.
_NAMED = 0.06


def draw_room(axes: Axes, plan: Plan) -> None:
    """Draw walls and what is kept out."""
    for ring in plan.room.keep_out_m:
        axes.add_patch(
            Polygon(ring, closed=True, fc="white", ec=GREY, hatch="////", lw=0.8, zorder=2)
        )
    measured = plan.survey.room is not None
    axes.add_patch(
        Polygon(
            plan.room.outline_m,
            closed=True,
            fill=False,
            ec=INK if measured else GREY,
            lw=2.4 if measured else 0.8,
            ls="solid" if measured else (0, (6, 3)),
            joinstyle="miter",
            zorder=4,
        )
    )


def draw_tiles(axes: Axes, plan: Plan, *, named: bool = False) -> None:
    """Draw the joints of the tiles, and in a detail their columns and rows."""
    grid = tile_grid(plan)
    if grid is None:
        return
    walls = Polygon(plan.room.outline_m, closed=True, fill=False, ec="none")
    axes.add_patch(walls)
    left, low, right, high = plan.room.bounds_m
    columns, rows = grid.edges_m()
    if len(columns) + len(rows) > 400:  # a grey haze, and no joint to be seen
        return
    for x in columns:
        (line,) = axes.plot([x, x], [low, high], color="#9a9a9a", lw=0.5, zorder=1.2)
        line.set_clip_path(walls)
    for y in rows:
        (line,) = axes.plot([left, right], [y, y], color="#9a9a9a", lw=0.5, zorder=1.2)
        line.set_clip_path(walls)
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    if not named or min(grid.tile_m) < _NAMED * max(x1 - x0, y1 - y0):
        return
    for column in range(1, len(columns)):
        for row in range(1, len(rows)):
            a, b = columns[column - 1 : column + 1]
            c, d = rows[row - 1 : row + 1]
            # Only where the corner that holds the name is in sight.
            if x0 < a and a + 0.3 * (b - a) < x1 and y0 < d - 0.2 * (d - c) and d < y1:
                axes.text(
                    a + 0.04 * (b - a),
                    d - 0.04 * (d - c),
                    f"{column}/{row}",
                    fontsize=7,
                    color=INK,
                    ha="left",
                    va="top",
                    zorder=7,
                    bbox={"fc": "white", "ec": "none", "pad": 0.5},
                )


def draw_cable(axes: Axes, plan: Plan, *, width: float) -> None:
    """Draw the way of the cable and its two ends."""
    axes.plot(*plan.route.xy_m.T, color=INK, lw=width, zorder=3, solid_joinstyle="round")
    start, end = plan.at(np.array([0.0, plan.heated_length_m]))
    axes.plot(*start, marker="o", color=INK, ms=6.5, mec="white", mew=0.8, zorder=7)
    axes.plot(*end, marker="s", ms=5.5, mfc="white", mec=INK, mew=1.2, zorder=7)


def metre_marks(axes: Axes, plan: Plan) -> list[Text]:
    """A dot at each metre, and numbers where there is room for them, which are returned."""
    length_m = plan.heated_length_m
    if length_m <= 300:
        every = np.arange(1.0, length_m, 1.0)
        if len(every):
            axes.plot(*plan.at(every).T, marker=".", ls="none", color=INK, ms=4.0, zorder=4.5)
    step = next((s for s in _STEPS_M if length_m / s <= _NUMBERS), _STEPS_M[-1])
    taken: list[Any] = []
    numbers: list[Text] = []
    (x0, x1), _ = axes.get_xlim(), axes.get_ylim()
    apart_m = 0.045 * (x1 - x0)
    for place in np.arange(step, length_m, step):
        xy = plan.at(float(place))
        if any(np.hypot(*(xy - other)) < apart_m for other in taken):
            continue
        taken.append(xy)
        number = axes.text(
            float(xy[0]),
            float(xy[1]),
            f"{place:g}",
            fontsize=6.5,
            ha="center",
            va="center",
            zorder=6.5,
            bbox={"fc": "white", "ec": "none", "pad": 0.5},
        )
        numbers.append(number)
    return numbers


def draw_openings(
    axes: Axes, ranking: Ranking | None, *, first_only: bool = False, width: float = 1.0
) -> None:
    """Draw openings, their edges to cut and those over the cable, and their order."""
    if ranking is None:
        return
    openings = ranking.openings[:1] if first_only else ranking.openings
    for number, opening in enumerate(openings, start=1):
        for polygon in getattr(opening.patch, "geoms", [opening.patch]):
            rings = [np.array(ring.coords) for ring in (polygon.exterior, *polygon.interiors)]
            path = Path.make_compound_path(*(Path(ring, closed=True) for ring in rings))
            axes.add_patch(PathPatch(path, fc="#e4e4e4", ec="none", zorder=1.0))
        for how, lines in ((CUT, opening.cuts), (HAND, opening.by_hand)):
            for line in lines_of(lines):
                axes.plot(*np.array(line).T, **how | {"lw": how["lw"] * width}, zorder=5.5)
        if len(openings) > 1:
            x, y = opening.patch.representative_point().coords[0]
            axes.text(
                x,
                y,
                f"{number}",
                fontsize=9,
                fontweight="bold",
                ha="center",
                va="center",
                zorder=10,
                bbox={"boxstyle": "square,pad=0.2", "fc": "white", "ec": INK, "lw": 0.8},
            )
