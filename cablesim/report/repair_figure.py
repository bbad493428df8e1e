"""A repair drawn: for each reading its limit, what to expect, and what was read.

Each reading has an axis of its own, in its meter's unit: even where a value has to lie between two
limits, logarithmic where more is better. Marks differ in shape, so that no colour is needed.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from cablesim.report.quantities import across_words, meter_words
from cablesim.report.saving import png_of
from cablesim.report.style import BLUE, GREY, INK, PALE, SMALL, TITLE, VERMILION
from cablesim.report.words import one_line
from cablesim.scenario.scenario import AFTER

if TYPE_CHECKING:
    from matplotlib.artist import Artist
    from matplotlib.axes import Axes

    from cablesim.report.repair import Expected, Measured, RepairAnswer

__all__ = ["repair_figure", "repair_png"]

_WIDE, _ROW, _HEAD, _FOOT = 9.6, 0.95, 1.05, 0.42
_LEFT, _RIGHT = 2.1, 1.95
_DOTS_PER_INCH = 150
_CAUTION = (
    "Work dead; discharge the cable after an insulation test. Local codes and licensed practice "
    "come first."
)
# Heights of what is drawn within a row, from 0 to 1.
_HEIGHTS = {"expected": 0.8, AFTER[0]: 0.5, AFTER[1]: 0.2}
_SPANS = {AFTER[0]: ("o", BLUE), AFTER[1]: ("s", VERMILION)}


def repair_figure(answer: RepairAnswer) -> Figure:
    """Draw every reading that has a limit, one below the other.

    Parameters
    ----------
    answer
        The repair.

    Returns
    -------
    matplotlib.figure.Figure
        Ready to be saved; it belongs to no window.
    """
    rows = [row for row in answer.expected if row.limit is not None]
    high = _HEAD + _ROW * len(rows) + _FOOT
    figure = Figure(figsize=(_WIDE, high), dpi=_DOTS_PER_INCH, facecolor="white")
    title = one_line(answer.title) or "Repair"
    title = title if len(title) <= 84 else title[:81] + "..."
    _text(figure, 0.25, high - 0.2, title, fontsize=TITLE, fontweight="bold", color=INK)
    _text(figure, 0.25, 0.26, _CAUTION, fontsize=SMALL, color=GREY)
    figure.legend(
        handles=_legend(answer),
        loc="upper left",
        bbox_to_anchor=(0.25 / _WIDE, 1 - 0.5 / high),
        ncols=5,
        frameon=False,
        fontsize=SMALL,
        borderpad=0.0,
        borderaxespad=0.0,
        columnspacing=1.4,
        handletextpad=0.5,
    )
    for k, row in enumerate(rows):
        low = high - _HEAD - _ROW * (k + 1)
        axes = figure.add_axes(
            (_LEFT / _WIDE, (low + 0.4) / high, 1 - (_LEFT + _RIGHT) / _WIDE, (_ROW - 0.45) / high)
        )
        taken = [
            m
            for m in answer.measured
            if (m.entry.probe.meter.name, m.entry.probe.hookup)
            == (row.probe.meter.name, row.probe.hookup)
        ]
        _draw(axes, row, taken)
        named = f"{meter_words(row.probe)}\n{across_words(row.probe.hookup.across)}"
        _text(figure, 0.25, low + _ROW - 0.06, named, fontsize=SMALL, color=INK)
        told = [f"{m.entry.when}: {m.judged[0]}" for m in taken if m.judged is not None] or [
            "not read yet"
        ]
        _text(
            figure, _WIDE - _RIGHT + 0.12, low + _ROW - 0.06, "\n".join(told), fontsize=SMALL,
            color=INK,
        )  # fmt: skip
    return figure


def repair_png(answer: RepairAnswer) -> bytes:
    """Draw a repair as a PNG image.

    Parameters
    ----------
    answer
        The repair.
    """
    return png_of(lambda: repair_figure(answer))


def _draw(axes: Axes, row: Expected, taken: Sequence[Measured]) -> None:
    limit = row.limit
    assert limit is not None  # only such rows are drawn
    logarithmic = math.isinf(limit.most)
    spans = [m.span for m in taken]
    values = [v for v in (limit.least, limit.most, row.after, *sum(spans, ())) if math.isfinite(v)]
    if logarithmic:
        values = [max(v, 1e-3 * limit.least) for v in values]
        first, last = min(values) / 5, max(values) * 5
        axes.set_xscale("log")
    else:
        pad = 0.12 * (max(values) - min(values))
        first, last = min(values) - pad, max(values) + pad
    axes.set_xlim(first, last)
    axes.set_ylim(0.0, 1.0)
    axes.axvspan(limit.least, min(limit.most, last), color=PALE, alpha=0.5, lw=0)
    for edge in (limit.least, limit.most):
        if math.isfinite(edge):
            axes.axvline(edge, color=INK, lw=1.0)
    expected = min(row.after, last)
    axes.plot(expected, _HEIGHTS["expected"], marker="D", color=INK, ms=5, ls="none", clip_on=False)
    for m, (low, high) in zip(taken, spans, strict=True):
        mark, colour = _SPANS[m.entry.when]
        height = _HEIGHTS[m.entry.when]
        low, high = max(low, first), min(high, last)
        axes.plot([low, high], [height, height], color=colour, lw=2.4, solid_capstyle="butt")
        shown = m.entry.reading.shown if m.entry.reading is not None else high
        # Over range: all that is known is that it lies beyond.
        at, mark = (min(shown, last), mark) if math.isfinite(shown) else (last, ">")
        axes.plot(
            max(at, first), height, marker=mark, color=colour, mfc="white", ms=6, ls="none",
            clip_on=False,
        )  # fmt: skip
    axes.set_yticks([])
    axes.tick_params(axis="x", labelsize=SMALL - 1, length=3)
    axes.spines[["left", "right", "top"]].set_visible(False)
    axes.annotate(
        f"[{row.probe.meter.unit}]", (1.0, 0.0), xycoords="axes fraction", xytext=(4, -3),
        textcoords="offset points", fontsize=SMALL, va="center", color=INK,
    )  # fmt: skip


def _legend(answer: RepairAnswer) -> list[Artist]:
    handles: list[Artist] = [
        Patch(facecolor=PALE, alpha=0.5, label="within the limit"),
        Line2D([], [], color=INK, marker="D", ls="none", ms=5, label="expected after the repair"),
    ]
    for when in AFTER:
        if any(m.entry.when == when for m in answer.measured):
            mark, colour = _SPANS[when]
            handles.append(
                Line2D(
                    [],
                    [],
                    color=colour,
                    marker=mark,
                    mfc="white",
                    lw=2.4,
                    ms=6,
                    label=f"read {when}, may be",
                )
            )
    return handles


def _text(figure: Figure, left: float, up: float, text: str, **how: object) -> None:
    figure.text(
        left / _WIDE,
        up / figure.get_figheight(),
        text,
        va="top",
        parse_math=False,
        **how,  # type: ignore[arg-type]
    )
