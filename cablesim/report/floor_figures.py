"""The floor plan as a sheet for the site: the room to scale, and the opening enlarged.

The sheet is A4; printed without fitting to the page, its scales hold. Everything can be told apart
without colour.
"""

from __future__ import annotations

import io
import textwrap
from typing import TYPE_CHECKING, Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Patch, Polygon

from cablesim.report.dimensions import draw_dimensions
from cablesim.report.floor import FLOOR_CAUTIONS, FloorAnswer, lines_of
from cablesim.report.floor_parts import (
    BESIDE,
    CUT,
    HAND,
    STRETCH,
    THIN,
    draw_cable,
    draw_openings,
    draw_room,
    draw_tiles,
    metre_marks,
)
from cablesim.report.floor_tables import tile_words
from cablesim.report.saving import any_letters
from cablesim.report.style import GREY, INK, SMALL, TITLE
from cablesim.report.words import (
    counted,
    damage_words,
    decimals_for,
    interval_words,
    metres_words,
    one_line,
    within_words,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from cablesim.site.opening import Opening

__all__ = ["floor_figure", "floor_image"]

_MM = 1 / 25.4  # inch
_PAGE_MM = (210.0, 297.0)
_WIDE_MM, _PLAN_MM, _TOP_MM, _LEFT_MM = 168.0, 126.0, 259.0, 24.0
_BETWEEN_MM, _DETAIL_LOW_MM = 16.0, 38.0
_DETAIL_WIDER = 1.5  # of its height, where the page allows, so that names have room beside it
_SCALES = (1, 2, 5, 10, 15, 20, 25, 50, 100, 200, 250, 500, 1000, 2000, 5000, 10000, 20000, 50000)
_ASKED = 2  # questions that the head of a sheet has room for
_PAD_M = 0.12  # around the opening in the detail
_DOTS_PER_INCH = 150


def floor_image(answer: FloorAnswer, kind: str = "png") -> bytes:
    """Draw a floor as an image.

    Parameters
    ----------
    answer
        The damage on its floor.
    kind
        ``png``, ``svg`` or ``pdf``.
    """
    import matplotlib

    image = io.BytesIO()
    with any_letters(), matplotlib.rc_context({"svg.hashsalt": "cablesim"}):
        said = {
            "png": {"Software": "cablesim"},
            "svg": {"Creator": "cablesim", "Date": None},
            "pdf": {"Creator": "cablesim", "CreationDate": None},
        }
        floor_figure(answer).savefig(image, format=kind, metadata=said[kind])
    return image.getvalue()


def floor_figure(answer: FloorAnswer) -> Figure:
    """Draw a floor: the room to scale, below it the first opening enlarged.

    Parameters
    ----------
    answer
        The damage on its floor.

    Returns
    -------
    matplotlib.figure.Figure
        An A4 sheet; it belongs to no window.
    """
    figure = Figure(
        figsize=(_PAGE_MM[0] * _MM, _PAGE_MM[1] * _MM), dpi=_DOTS_PER_INCH, facecolor="white"
    )
    _head(figure, answer)
    room = _PLAN_MM if answer.ranking is not None else _TOP_MM - _DETAIL_LOW_MM
    plan, low_mm = _panel(figure, answer.plan.room.bounds_m, (_WIDE_MM, room), _TOP_MM, "Plan")
    _draw_plan(plan, answer)
    if answer.ranking is not None:
        left, low, right, high = answer.ranking.openings[0].patch.bounds
        window = (left - _PAD_M, low - _PAD_M, right + _PAD_M, high + _PAD_M)
        top_mm = low_mm - _BETWEEN_MM
        size = (_WIDE_MM, top_mm - _DETAIL_LOW_MM)
        detail, _ = _panel(figure, window, size, top_mm, "Opening", wider=_DETAIL_WIDER)
        _draw_detail(detail, answer)
    _legend(figure, answer)
    foot = textwrap.wrap(" ".join(FLOOR_CAUTIONS[:2] + FLOOR_CAUTIONS[3:4]), 136)
    for number, line in enumerate(foot[:4]):
        _text(figure, 12, 16 - 3.4 * number, line, fontsize=6.5, color=GREY)
    return figure


def _text(figure: Figure, x_mm: float, y_mm: float, text: str, **how: Any) -> None:
    figure.text(x_mm / _PAGE_MM[0], y_mm / _PAGE_MM[1], text, va="top", parse_math=False, **how)


def _head(figure: Figure, answer: FloorAnswer) -> None:
    down = 289.0
    for line in textwrap.wrap(one_line(answer.title) or "Floor plan", 74)[:2]:
        _text(figure, 12, down, line, fontsize=TITLE, fontweight="bold", color=INK)
        down -= 6.2
    for line in _said(answer):
        for part in textwrap.wrap(line, 112):
            _text(figure, 12, down, part, fontsize=SMALL + 0.5, color=INK)
            down -= 4.4


def _said(answer: FloorAnswer) -> list[str]:
    lines = []
    if answer.intervals:
        decimals = decimals_for(sum(high - low for low, high, _ in answer.intervals))
        within = interval_words([(a, b) for a, b, _ in answer.intervals[:3]], decimals)
        more = " and more" if len(answer.intervals) > 3 else ""
        told = f"Damage within {within}{more} from the cold joint"
        if answer.position_m is not None:
            told += f", best place {metres_words(answer.position_m, decimals)}"
        lines.append(told + ".")
    for group in answer.elsewhere:
        lines.append(
            f"Also damaged, not on this plan: {damage_words(group)}, within {within_words(group)}."
        )
    if answer.estimate is not None:
        lines += [f"Ask first: {proposal.told}" for proposal in answer.estimate.proposals[:_ASKED]]
    if answer.reason:
        lines.append(f"No opening is advised yet: {answer.reason}.")
    if answer.ranking is not None:
        first = answer.ranking.openings[0]
        what = f"a patch of {first.area_m2:.2f} m2"
        if first.tiles:
            count = len(first.tiles)
            what = f"{counted(count, 'tile')}, {tile_words(first.tiles[:8])}"
            what += " and more" if count > 8 else ""
        lines.append(f"Open {what}; it frees {first.freed_m[0]:.2f} to {first.freed_m[1]:.2f} m.")
    return lines


def _panel(
    figure: Figure,
    window: tuple[float, float, float, float],
    room_mm: tuple[float, float],
    top_mm: float,
    name: str,
    wider: float = 0.0,
) -> tuple[Axes, float]:
    """Axes at the largest usual scale at which a window fits, and where they end below [mm]."""
    left, low, right, high = window
    width, height = max(right - left, 1e-3), max(high - low, 1e-3)
    margin = 0.03 * max(width, height)
    width, height = width + 2 * margin, height + 2 * margin
    scale = next(
        (s for s in _SCALES if 1000 * width / s <= room_mm[0] and 1000 * height / s <= room_mm[1]),
        _SCALES[-1],
    )
    gain = max(0.0, min(room_mm[0] * scale / 1000, wider * height) - width) / 2
    left, right, width = left - gain, right + gain, width + 2 * gain
    width_mm, height_mm = 1000 * width / scale, 1000 * height / scale
    bottom_mm = top_mm - height_mm
    axes = figure.add_axes(
        (
            _LEFT_MM / _PAGE_MM[0],
            bottom_mm / _PAGE_MM[1],
            width_mm / _PAGE_MM[0],
            height_mm / _PAGE_MM[1],
        )
    )
    axes.set_xlim(left - margin, right + margin)
    axes.set_ylim(low - margin, high + margin)
    step = _grid_step(max(width, height))
    for axis, (start, end) in (
        (axes.xaxis, (left - margin, right + margin)),
        (axes.yaxis, (low - margin, high + margin)),
    ):
        ticks = step * np.arange(np.ceil(start / step), np.floor(end / step) + 1)
        axis.set_ticks(ticks, [f"{tick:z.{1 if step < 1 else 0}f}" for tick in ticks])
    axes.tick_params(labelsize=7, length=2, width=0.5, colors=INK)
    axes.grid(True, color="#b0b0b0", lw=0.4, ls=(0, (1, 3)), zorder=0.5)
    axes.set_axisbelow(True)
    for spine in axes.spines.values():
        spine.set(color=GREY, lw=0.5)
    axes.set_title(
        f"{name}, x and y in metres; scale 1:{scale} on A4; grid {step:g} m",
        fontsize=SMALL,
        loc="left",
        color=INK,
        pad=4,
    )
    return axes, bottom_mm


def _grid_step(extent_m: float) -> float:
    return next((s for s in (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0) if extent_m / s <= 13), 100.0)


def _draw_plan(axes: Axes, answer: FloorAnswer) -> None:
    draw_room(axes, answer.plan)
    draw_tiles(axes, answer.plan)
    draw_openings(axes, answer.ranking)
    draw_cable(axes, answer.plan, width=0.9)
    for n in answer.neighbours:
        axes.plot(*answer.plan.stretch(n.from_m, n.to_m).T, **BESIDE, zorder=3.5)
    for low, high, _ in answer.intervals:
        axes.plot(*answer.plan.stretch(low, high).T, **STRETCH, zorder=6)
    for spot in answer.plan.survey.suspects:
        axes.add_patch(
            Circle(spot.at_m, spot.radius_m, fill=False, ec=INK, lw=0.9, ls=(0, (4, 2)), zorder=5)
        )
    numbers = metre_marks(axes, answer.plan)
    if answer.xy_m is None or answer.reason:
        return
    x, y = answer.xy_m
    axes.plot(x, y, marker="o", ms=9, mfc="none", mec=INK, mew=1.4, zorder=9)
    edges = [line for o in _openings(answer) for line in (*lines_of(o.cuts), *lines_of(o.by_hand))]
    draw_dimensions(axes, answer.plan, (x, y), numbers, edges)


def _openings(answer: FloorAnswer) -> Sequence[Opening]:
    return answer.ranking.openings if answer.ranking is not None else ()


def _draw_detail(axes: Axes, answer: FloorAnswer) -> None:
    assert answer.ranking is not None  # asked for with an opening only
    plan, opening = answer.plan, answer.ranking.openings[0]
    draw_room(axes, plan)
    draw_tiles(axes, plan, named=True)
    draw_openings(axes, answer.ranking, first_only=True, width=1.6)
    draw_cable(axes, plan, width=1.6)
    low, high = opening.freed_m
    axes.plot(*plan.stretch(low, high).T, color=INK, lw=3.0, zorder=5, solid_capstyle="butt")
    axes.plot(*plan.stretch(*opening.interval_m).T, **STRETCH | {"lw": 6.0}, zorder=6)
    left, bottom, right, top = opening.patch.bounds
    # Names stand beside an upright opening, above and below a lying one.
    lying = right - left > top - bottom
    before, after = (bottom, top) if lying else (left, right)
    ends = axes.get_ylim() if lying else axes.get_xlim()
    flags = [(plan.at(place), f"{place:.2f} m") for place in (low, high)]
    if answer.position_m is not None and answer.xy_m is not None:
        flags.append((np.array(answer.xy_m), f"best {answer.position_m:.2f} m"))
        axes.plot(*answer.xy_m, marker="o", ms=10, mfc="white", mec=INK, mew=1.6, zorder=9)
    _flags(axes, after + 0.3 * (ends[1] - after), flags, lying=lying)
    told = f"begin here,\n{1000 * opening.begin_clear_m:.0f} mm clear"
    begin = [(np.array(opening.begin_m), told)]
    _flags(axes, before - 0.3 * (before - ends[0]), begin, lying=lying)
    axes.plot(*opening.begin_m, marker="*", ms=14, mfc="white", mec=INK, mew=1.2, zorder=9)
    _run_names(axes, answer)


def _flags(axes: Axes, aside: float, flags: list[tuple[Any, str]], *, lying: bool) -> None:
    """Name places beside an upright opening, or above or below a lying one, none on another."""
    along = 0 if lying else 1
    low, high = axes.get_xlim() if lying else axes.get_ylim()
    apart = (0.16 if lying else 0.055) * (high - low)
    last = -np.inf
    for xy, text in sorted(flags, key=lambda flag: float(flag[0][along])):
        last = max(float(xy[along]), last + apart)
        beyond = aside > xy[1 - along]
        axes.annotate(
            text,
            xy,
            xytext=(last, aside) if lying else (aside, last),
            fontsize=7.5,
            ha="center" if lying else "left" if beyond else "right",
            va="center" if not lying else "bottom" if beyond else "top",
            zorder=8,
            annotation_clip=True,
            bbox={"fc": "white", "ec": "none", "pad": 0.8},
            arrowprops={"arrowstyle": "-", "lw": 0.7, "color": INK, "shrinkA": 0, "shrinkB": 0},
        )


def _run_names(axes: Axes, answer: FloorAnswer) -> None:
    """Name the runs where they leave the detail."""
    import shapely

    plan = answer.plan
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    inset = 0.035 * max(right - left, high - low)
    window = shapely.box(left + inset, low + inset, right - inset, high - inset)
    near: list[tuple[float, float]] = []
    for run in plan.runs:
        line = shapely.LineString(plan.stretch(*run.straight_m)).intersection(window)
        if line.is_empty or line.length < 0.05:
            continue
        ends = shapely.get_coordinates(line)
        x, y = max(ends.tolist(), key=lambda end: (round(end[1] - end[0], 6), end))
        if any(np.hypot(x - a, y - b) < 1.6 * inset for a, b in near):
            continue
        near.append((x, y))
        axes.text(
            x,
            y,
            str(run.number),
            fontsize=7,
            ha="center",
            va="center",
            zorder=7,
            bbox={"boxstyle": "circle,pad=0.18", "fc": "white", "ec": GREY, "lw": 0.7},
        )


def _legend(figure: Figure, answer: FloorAnswer) -> None:
    handles: list[Any] = [
        Line2D([], [], color=INK, lw=THIN, label="cable, a dot each metre"),
        Line2D([], [], color=INK, marker="o", ls="none", ms=6, label="cold joint, 0 m"),
        Line2D([], [], color=INK, marker="s", ls="none", ms=5.5, mfc="white", label="far end"),
    ]
    if answer.intervals:
        handles.append(Line2D([], [], **STRETCH, label="damage within"))
    if answer.ranking is not None:
        handles += [
            Line2D([], [], **CUT, label="cut or rake here"),
            Line2D([], [], **HAND, label="over the cable: lift by hand"),
            Patch(fc="#e4e4e4", ec="none", label="opening"),
        ]
    if answer.neighbours:
        handles.append(Line2D([], [], **BESIDE, label="other runs within reach"))
    if answer.plan.room.keep_out_m:
        handles.append(Polygon([(0, 0)] * 3, fc="white", ec=GREY, hatch="////", label="kept out"))
    if answer.plan.survey.suspects:
        handles.append(Line2D([], [], color=INK, lw=0.9, ls=(0, (4, 2)), label="suspect spot"))
    if answer.ranking is not None:
        handles.append(
            Line2D([], [], color=INK, marker="o", ls="none", mfc="white", ms=7, label="best place")
        )
    figure.legend(
        handles=handles,
        loc="lower left",
        bbox_to_anchor=(12 / _PAGE_MM[0], 18 / _PAGE_MM[1]),
        ncols=4,
        frameon=False,
        fontsize=7,
        borderaxespad=0.0,
        borderpad=0.0,
        columnspacing=1.6,
        handlelength=2.4,
        labelspacing=0.35,
    )
