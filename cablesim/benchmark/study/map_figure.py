"""Heat maps of a method's reach: place across, resistance up, one column for each meter class."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes as Panel
from matplotlib.cm import ScalarMappable
from matplotlib.colors import (
    BoundaryNorm,
    LinearSegmentedColormap,
    ListedColormap,
    LogNorm,
    Normalize,
    SymLogNorm,
)
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter
from numpy.typing import NDArray

from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.reach_map import ReachMap
from cablesim.benchmark.study.reach_view import plain_name
from cablesim.benchmark.study.reached import CLOSE_M, TENTH
from cablesim.cable.numbers import FloatArray
from cablesim.report.style import AXIS_LABEL, BLUE, GREY, INK, LIGHT, SMALL, TEXT, TITLE, VERMILION
from cablesim.report.words import one_line

__all__ = ["heading_of", "map_figure", "overview_figure", "short_ohm"]

_PANEL, _HIGH, _LEFT, _RIGHT, _TOP, _BOTTOM, _GAP = 3.0, 2.1, 1.0, 1.35, 1.05, 1.4, 0.28  # inch
_NAMED = 0.26  # what the name of a row takes above it [inch]
_FINEST_M = 0.01
_HELD = (0, 50, 80, 90, 94, 98, 100)
_HELD_COLOURS = ("#a63c00", VERMILION, "#eba36a", "#f6dcc6", "#bcd9ea", BLUE)
_HELD_MAP = ListedColormap(list(_HELD_COLOURS))
_HELD_SCALE = BoundaryNorm(_HELD, len(_HELD_COLOURS))
_ENOUGH = 94  # intervals that hold the truth less often are dotted [%]
_BOTH_WAYS = LinearSegmentedColormap.from_list("both ways", [VERMILION, "white", BLUE])
_CHARACTERS = 78


def map_figure(found: ReachMap, title: str = "") -> Figure:
    """Draw a map: error, bias, coverage and refusals of one method.

    Parameters
    ----------
    found
        The map.
    title
        One line above, such as the cable.
    """
    length_m = found.heated_length_m
    rows: list[tuple[str, FloatArray, Any, Any, list[float]]] = [
        _error_row(found),
        (
            "bias [m]\n(dotted, negative: too near)",
            np.clip(found.bias_m, -length_m, length_m),
            _BOTH_WAYS,
            SymLogNorm(_FINEST_M, vmin=-length_m, vmax=length_m),
            [-10, -1, -0.1, 0, 0.1, 1, 10],
        ),
        (
            f"{100 * found.level:g} % intervals that\n"
            f"hold the truth [%]\n(dotted: under {_ENOUGH})",
            100 * found.coverage,
            _HELD_MAP,
            _HELD_SCALE,
            list(_HELD),
        ),
        ("declined [%]", 100 * found.declined, "Greys", Normalize(0, 100), [0, 50, 100]),
    ]
    figure, panels = _sheet(len(rows), len(found.axes.grades))
    for panel_row, (label, values, colours, scale, ticks) in zip(panels, rows, strict=True):
        for column, panel in enumerate(panel_row):
            _paint(panel, found, values[..., column], colours, scale)
            _contours(panel, found, column)
            # Two hues print as the same grey, so that one of them is dotted.
            if scale is _HELD_SCALE:
                _dot(panel, found, values[..., column] < _ENOUGH)
            elif colours is _BOTH_WAYS:
                _dot(panel, found, values[..., column] < -_FINEST_M)
        _bar(figure, panel_row[-1], ScalarMappable(scale, colours), label, ticks)
    heading = f"{plain_name(found.method).capitalize()}: {DAMAGES[found.damage].words}"
    _dress(figure, panels, [found] * len(rows), heading, title)
    return figure


def overview_figure(maps: Sequence[ReachMap], title: str = "") -> Figure:
    """Draw the errors of several methods, a row for each.

    Parameters
    ----------
    maps
        Of one cable and the same meter classes.
    title
        One line above, such as the cable.
    """
    figure, panels = _sheet(len(maps), len(maps[0].axes.grades), named=True)
    for panel_row, found in zip(panels, maps, strict=True):
        label, values, colours, scale, ticks = _error_row(found)
        for column, panel in enumerate(panel_row):
            _paint(panel, found, values[..., column], colours, scale)
            _contours(panel, found, column)
        named = f"{plain_name(found.method).capitalize()}: {DAMAGES[found.damage].words}"
        panel_row[0].text(
            0.0,
            1.0 + 0.05 / _HIGH,
            named,
            transform=panel_row[0].transAxes,
            fontsize=TEXT,
            fontweight="bold",
            color=INK,
            va="bottom",
        )
        _bar(figure, panel_row[-1], ScalarMappable(scale, colours), label, ticks)
    _dress(figure, panels, maps, "How far each method reaches", title, named=True)
    return figure


def _error_row(found: ReachMap) -> tuple[str, FloatArray, Any, Any, list[float]]:
    scale = LogNorm(_FINEST_M, found.heated_length_m)
    values = np.clip(found.p95_error_m, _FINEST_M, found.heated_length_m)
    return "95 % of the errors\nbelow [m]", values, "Blues_r", scale, [0.01, 0.1, 1, 10]


def _sheet(rows: int, columns: int, *, named: bool = False) -> tuple[Figure, list[list[Panel]]]:
    wide = _LEFT + columns * _PANEL + (columns - 1) * _GAP + _RIGHT
    above = _NAMED if named else 0.0
    high = _TOP + above + rows * _HIGH + (rows - 1) * (_GAP + above) + _BOTTOM
    figure = Figure(figsize=(wide, high), dpi=110, facecolor="white")
    panels = []
    for row in range(rows):
        bottom = high - _TOP - (row + 1) * (_HIGH + above) - row * _GAP
        panels.append(
            [
                figure.add_axes(
                    (
                        (_LEFT + column * (_PANEL + _GAP)) / wide,
                        bottom / high,
                        _PANEL / wide,
                        _HIGH / high,
                    )
                )
                for column in range(columns)
            ]
        )
    return figure, panels


def _edges(centres: FloatArray) -> FloatArray:
    """Edges of cells half-way between their centres; of a single one a tenth to either side."""
    if len(centres) == 1:
        return np.array([centres[0] - 0.1, centres[0] + 0.1])
    middle = (centres[1:] + centres[:-1]) / 2
    first, last = 2 * centres[0] - middle[0], 2 * centres[-1] - middle[-1]
    return np.concatenate([[first], middle, [last]])


def _paint(panel: Panel, found: ReachMap, values: FloatArray, colours: Any, scale: Any) -> None:
    # Hatched, since the lightest of the colours print as the same grey.
    panel.patch.set(facecolor=LIGHT, edgecolor="#a0a0a0", hatch="////", linewidth=0.0)
    across, up = _edges(found.axes.place_m), 10 ** _edges(np.log10(found.axes.resistance_ohm))
    panel.pcolormesh(across, up, np.ma.masked_invalid(values).T, cmap=colours, norm=scale)
    panel.set_yscale("log")
    panel.set_xlim(across[0], across[-1])
    panel.set_ylim(up[0], up[-1])


def _dot(panel: Panel, found: ReachMap, where: NDArray[np.bool_]) -> None:
    """Put a dot into some cells."""
    places, resistances = np.nonzero(where)
    panel.plot(
        found.axes.place_m[places],
        found.axes.resistance_ohm[resistances],
        color=INK,
        marker=".",
        ms=4.0,
        mew=0.0,
        ls="none",
    )


def _contours(panel: Panel, found: ReachMap, column: int) -> None:
    """Where 95 % of the errors are below half a metre, and below a tenth of the cable."""
    if min(found.axes.shape[:2]) < 2:
        return
    length_m = found.heated_length_m
    error = np.where(found.declined[..., column] > 0.5, np.inf, found.p95_error_m[..., column])
    error = np.log10(np.clip(np.nan_to_num(error, nan=np.inf), 1e-4, 10 * length_m))
    for limit_m, colour, line in ((CLOSE_M, VERMILION, "solid"), (TENTH * length_m, INK, "dashed")):
        level = np.log10(limit_m)
        if error.min() < level < error.max():
            panel.contour(
                found.axes.place_m,
                found.axes.resistance_ohm,
                error.T,
                levels=[level],
                colors=[colour],
                linestyles=[line],
                linewidths=1.4,
            )


def _bar(
    figure: Figure, beside: Panel, painted: ScalarMappable, label: str, ticks: list[float]
) -> None:
    box = beside.get_position()
    wide = figure.get_figwidth()
    axes = figure.add_axes((box.x1 + 0.12 / wide, box.y0, 0.13 / wide, box.height))
    lowest, highest = painted.get_clim()
    shown = [t for t in ticks if (lowest or 0.0) <= t <= (highest or 0.0)]
    bar = figure.colorbar(painted, cax=axes, ticks=shown)
    bar.ax.set_yticklabels([f"{tick:g}" for tick in shown], fontsize=SMALL)
    bar.ax.minorticks_off()
    bar.set_label(label, fontsize=SMALL, color=INK)
    axes.spines[:].set_visible(False)


def _dress(
    figure: Figure,
    panels: list[list[Panel]],
    maps: Sequence[ReachMap],
    heading: str,
    title: str,
    *,
    named: bool = False,
) -> None:
    wide, high = figure.get_size_inches()
    for row, (panel_row, found) in enumerate(zip(panels, maps, strict=True)):
        for column, panel in enumerate(panel_row):
            panel.yaxis.set_major_formatter(FuncFormatter(lambda ohm, _: short_ohm(ohm)))
            panel.minorticks_off()
            panel.tick_params(labelsize=SMALL, labelleft=not column)
            panel.tick_params(labelbottom=row == len(panels) - 1)
            panel.spines[:].set_visible(False)
            if not row:
                panel.set_title(
                    f"{found.axes.grades[column]} meters",
                    fontsize=TEXT,
                    color=INK,
                    pad=6 + (72 * _NAMED if named else 0),
                )
            if row == len(panels) - 1:
                panel.set_xlabel(AXIS_LABEL, fontsize=SMALL)
        panel_row[0].set_ylabel(f"{DAMAGES[found.damage].resistance_is} [ohm]", fontsize=SMALL)
    heading_of(figure, heading, title)
    found = maps[0]
    foot = (
        f"Solid line: 95 % of the errors below {CLOSE_M:g} m; dashed: below a tenth of the cable, "
        f"{TENTH * found.heated_length_m:g} m. Grey, hatched: no answer.\n"
        f"{found.axes.draws} simulated measurements in each cell, seed {found.seed}, "
        f"{' and '.join(sorted({m.formulation for m in maps}))} circuit.\n"
        "Work dead; local codes and licensed practice come first."
    )
    figure.text(0.15 / wide, 0.12 / high, foot, fontsize=SMALL, color=GREY, va="bottom")


def heading_of(figure: Figure, heading: str, title: str) -> None:
    """Put a heading and a line below it on top of a figure."""
    wide, high = figure.get_size_inches()
    left = 0.15 / wide
    figure.text(left, 1 - 0.15 / high, heading, fontsize=TITLE, fontweight="bold", color=INK,
                va="top", parse_math=False)  # fmt: skip
    line = one_line(title)
    line = line if len(line) <= _CHARACTERS else line[: _CHARACTERS - 3] + "..."
    figure.text(left, 1 - 0.42 / high, line, fontsize=TEXT, color=GREY, va="top", parse_math=False)


def short_ohm(ohm: float) -> str:
    """0.1, 10, 1 k, 100 k, 1 M.

    >>> [short_ohm(10.0**k) for k in (-1, 1, 3, 5, 6, 9)]
    ['0.1', '10', '1 k', '100 k', '1 M', '1 G']
    """
    for size, prefix in ((1e9, "G"), (1e6, "M"), (1e3, "k")):
        if ohm >= size * 0.999:
            return f"{ohm / size:.3g} {prefix}"
    return f"{ohm:.3g}"
