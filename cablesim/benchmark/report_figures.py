"""Figures of a report: each estimator a row, each value a dot with its interval."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter, LogLocator, NullFormatter

from cablesim.benchmark.metrics import Value
from cablesim.benchmark.results import Report
from cablesim.report.style import BLUE, GREY, INK, LIGHT, SMALL, TEXT, TITLE, VERMILION, ink_on

__all__ = ["by_kind_figure", "coverage_figure", "score_figure", "speed_figure"]

_ROW, _TOP, _BOTTOM, _WIDE, _LEFT, _RIGHT = 0.27, 0.62, 0.62, 7.6, 1.95, 0.45  # inch


def score_figure(report: Report) -> Figure:
    """Filled CRPS of each estimator, best first; shaded in turn where ranks change."""
    names = [rank.name for rank in report.ranks]
    figure, axes = _rows(names, "Score of the place: filled CRPS, best first")
    # Ranks are not consecutive where some are shared.
    order = sorted({rank.rank for rank in report.ranks})
    for row, rank in enumerate(report.ranks):
        if order.index(rank.rank) % 2 == 0:
            axes.axhspan(row - 0.5, row + 0.5, color=LIGHT, lw=0)
    for row, rank in enumerate(report.ranks):
        _dot(axes, row, rank.score, BLUE)
    _ratios(axes)
    axes.set_xlabel("mean filled CRPS [m], 95 % interval; one shade: not to be told apart")
    return figure


def coverage_figure(report: Report) -> Figure:
    """Share of the intervals that hold the truth, beside what they promise."""
    values = report.values
    names = [rank.name for rank in report.ranks if values[rank.name]["all"]["coverage"].cases > 1]
    figure, axes = _rows(names, "Coverage: do 95 % intervals hold the truth?")
    axes.axvline(0.95, color=GREY, lw=1)
    for row, name in enumerate(names):
        found = values[name]["all"]["coverage"]
        missed = found.high < 0.95 or found.low > 0.95
        _dot(axes, row, found, VERMILION if missed else BLUE, "s" if missed else "o")
        axes.text(1.015, row, f"{found.cases}", fontsize=SMALL, color=GREY, va="center")
    axes.set_xlim(0, 1)
    axes.set_xlabel("share held, 95 % interval; orange squares: not what is promised; right: cases")
    return figure


def by_kind_figure(report: Report) -> Figure:
    """Median distance from place to truth, by kind of damage, for all that name places."""
    kinds = [group for group in report.groups if group.startswith("kind ")]
    kinds = [kind for kind in kinds if kind != "kind healthy"]
    names = [rank.name for rank in report.ranks]
    table = np.array(
        [[_median(report, name, kind) for kind in kinds] for name in names], float
    ).reshape(len(names), len(kinds))
    high = _TOP + _ROW * len(names) + _BOTTOM
    figure = Figure(figsize=(_WIDE, high), dpi=150, facecolor="white")
    axes = figure.add_axes(
        (_LEFT / _WIDE, _BOTTOM / high, 1 - (_LEFT + _RIGHT) / _WIDE, _ROW * len(names) / high)
    )
    axes.set_facecolor(LIGHT)
    shade = np.log10(np.clip(table, 0.01, 100.0))
    image = axes.imshow(shade, cmap="Blues_r", vmin=-2, vmax=2, aspect="auto")
    for (row, column), value in np.ndenumerate(table):
        if np.isfinite(value):
            color = ink_on(tuple(image.to_rgba(shade[row, column])))
            axes.text(column, row, f"{value:.2f}", ha="center", va="center", color=color)
    axes.set_xticks(range(len(kinds)), [kind.removeprefix("kind ") for kind in kinds])
    axes.set_yticks(range(len(names)), names)
    axes.tick_params(length=0, labelsize=SMALL)
    axes.spines[:].set_visible(False)
    axes.set_xlabel("grey: names a place in fewer than 3 cases", fontsize=SMALL, color=GREY)
    _title(figure, high, "Median distance from place to truth [m], by kind of damage")
    return figure


def _median(report: Report, name: str, kind: str) -> float:
    found = report.values[name][kind]["error_median_m"]
    return found.value if found.cases >= 3 else float("nan")


def speed_figure(report: Report) -> Figure:
    """Cases a second, by the clock for external programs, else of CPU."""
    names = [rank.name for rank in report.ranks]
    figure, axes = _rows(names, "Cases a second on one core")
    for row, name in enumerate(names):
        outside = report.results.about[name]["command"] is not None
        found = (report.clock_s if outside else report.cpu_s)[name]
        rate = Value(1 / found.value, 1 / found.high, 1 / found.low, found.cases)
        _dot(axes, row, rate, BLUE)
    _ratios(axes)
    axes.set_xlabel("cases a second of CPU, 95 % interval")
    return figure


def _rows(names: Sequence[str], title: str) -> tuple[Figure, Axes]:
    high = _TOP + _ROW * max(len(names), 1) + _BOTTOM
    figure = Figure(figsize=(_WIDE, high), dpi=150, facecolor="white")
    axes = figure.add_axes(
        (
            _LEFT / _WIDE,
            _BOTTOM / high,
            1 - (_LEFT + _RIGHT) / _WIDE,
            _ROW * max(len(names), 1) / high,
        )
    )
    axes.set_yticks(range(len(names)), names)
    axes.set_ylim(max(len(names), 1) - 0.5, -0.5)
    axes.tick_params(labelsize=SMALL, length=2)
    axes.spines[["top", "right"]].set_visible(False)
    axes.grid(axis="x", color=LIGHT, lw=0.8)
    axes.set_axisbelow(True)
    axes.xaxis.label.set_fontsize(TEXT)
    axes.xaxis.label.set_color(GREY)
    _title(figure, high, title)
    return figure, axes


def _title(figure: Figure, high: float, title: str) -> None:
    figure.text(
        0.15 / _WIDE, 1 - 0.14 / high, title, fontsize=TITLE, fontweight="bold", color=INK, va="top"
    )


def _ratios(axes: Axes) -> None:
    """A logarithmic scale with plain numbers, close enough that a short one has some too."""
    axes.set_xscale("log")
    low, high = axes.get_xlim()
    steps = (1.0, 2.0, 3.0, 5.0, 7.0) if high < 30 * low else (1.0,)
    axes.xaxis.set_major_locator(LogLocator(subs=steps))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:,g}"))
    axes.xaxis.set_minor_formatter(NullFormatter())


def _dot(axes: Axes, row: int, value: Value, color: str, marker: str = "o") -> None:
    if not np.isfinite(value.value):
        return
    if np.isfinite(value.low) and np.isfinite(value.high):
        axes.plot([value.low, value.high], [row, row], color=color, lw=2, solid_capstyle="butt")
    axes.plot([value.value], [row], marker=marker, color=color, ms=5, clip_on=False)
