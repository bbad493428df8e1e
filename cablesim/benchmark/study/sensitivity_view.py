"""What disturbs a method: a table for people, and a figure."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes as Panel
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter
from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.map_figure import heading_of
from cablesim.benchmark.study.reach_view import (
    MIND,
    heading,
    lines_of,
    ohm_words,
    plain,
    plain_name,
)
from cablesim.benchmark.study.reached import CLOSE_M, TENTH
from cablesim.benchmark.study.sensitivity import Sensitivity
from cablesim.report.style import BLUE, GREY, INK, SMALL, TEXT, VERMILION
from cablesim.report.words import one_line

__all__ = ["sensitivity_figure", "sensitivity_view"]

_PANEL, _HIGH, _LEFT, _RIGHT, _TOP, _BOTTOM, _GAP = 2.75, 2.2, 0.95, 0.2, 1.05, 1.3, 0.3  # inch
# Share of intervals that hold the truth from which a mark is full.
_HELD = 0.9
_LINES = ((BLUE, "-", "o"), (INK, "--", "s"), (VERMILION, ":", "^"))


def sensitivity_view(found: Sequence[Sensitivity], title: str = "") -> Group:
    """For each method and factor the error and the coverage at each level.

    Parameters
    ----------
    found
        Of one cable.
    title
        One line above.
    """
    parts: list[RenderableType] = [Text(one_line(title), style="bold")] if title else []
    for one in found:
        parts.append(heading(f"{plain_name(one.method)}: {DAMAGES[one.maps[0][0].damage].words}"))
        parts += [_factor_table(one, number) for number in range(len(one.factors))]
    first = found[0].maps[0][0]
    note = (
        "95 % of the errors are smaller [m], at the middling place; a star where fewer than nine "
        f"of ten of the {100 * first.level:g} % intervals hold the truth, at all places; a dash "
        "where the method declines at most places. One thing at a time, the rest as stated. "
        f"Simulated: {first.axes.draws} measurements in each cell, seed {first.seed}, "
        f"{first.formulation} circuit."
    )
    parts.append(Padding(lines_of(note, MIND), (1, 1, 0, 1)))
    return Group(*parts)


def _factor_table(found: Sensitivity, number: int) -> Table:
    factor, error, held = found.factors[number], found.error_m(number), found.coverage(number)
    table = plain()
    table.title, table.title_justify = Text(f"{factor.words} [{factor.unit}]"), "left"
    table.add_column("Meters", min_width=6)
    table.add_column("Resistance", min_width=10)
    for level in factor.levels:
        table.add_column(f"{level:g}", justify="right", min_width=7)
    for column, grade in enumerate(found.axes.grades):
        for row, ohm in enumerate(found.axes.resistance_ohm):
            cells = [
                _cell(error[k, row, column], held[k, row, column])
                for k in range(len(factor.levels))
            ]
            table.add_row(grade if not row else "", ohm_words(float(ohm)), *cells)
    return table


def _cell(error_m: float, held: float) -> str:
    if np.isnan(error_m):
        return "-"
    return f"{float(f'{error_m:.2g}'):g}" + ("" if held >= _HELD else "*")


def sensitivity_figure(found: Sensitivity, title: str = "") -> Figure:
    """Draw the errors over the levels: a row for each meter class, a column for each factor.

    Parameters
    ----------
    found
        Of one method.
    title
        One line above, such as the cable.
    """
    rows, columns = len(found.axes.grades), len(found.factors)
    wide = _LEFT + columns * _PANEL + (columns - 1) * _GAP + _RIGHT
    high = _TOP + rows * _HIGH + (rows - 1) * _GAP + _BOTTOM
    figure = Figure(figsize=(wide, high), dpi=110, facecolor="white")
    length_m = found.maps[0][0].heated_length_m
    errors = np.concatenate([found.error_m(k).ravel() for k in range(columns)])
    errors = errors[np.isfinite(errors) & (errors > 0)]
    low = 10 ** np.floor(np.log10(errors.min())) if errors.size else 0.01
    for row, grade in enumerate(found.axes.grades):
        for column in range(columns):
            panel = figure.add_axes(
                (
                    (_LEFT + column * (_PANEL + _GAP)) / wide,
                    (high - _TOP - (row + 1) * _HIGH - row * _GAP) / high,
                    _PANEL / wide,
                    _HIGH / high,
                )
            )
            _draw(panel, found, column, row)
            panel.set_ylim(low, length_m)
            panel.tick_params(labelsize=SMALL, labelleft=not column, labelbottom=row == rows - 1)
            if not column:
                panel.set_ylabel(f"{grade} meters\n95 % of the errors below [m]", fontsize=SMALL)
            if row == rows - 1:
                factor = found.factors[column]
                panel.set_xlabel(f"{factor.words} [{factor.unit}]", fontsize=SMALL)
            if not row and column == columns - 1:
                panel.legend(
                    fontsize=SMALL, frameon=False, loc="lower right", bbox_to_anchor=(1.0, 1.0),
                    ncols=3, title=DAMAGES[found.maps[0][0].damage].resistance_is,
                    title_fontsize=SMALL,
                )  # fmt: skip
    damage = DAMAGES[found.maps[0][0].damage]
    heading_of(figure, f"What disturbs {plain_name(found.method)}: {damage.words}", title)
    foot = (
        f"Dotted lines: {CLOSE_M:g} m, and a tenth of the cable. Errors above its length are off "
        "the scale. A filled mark: at least nine of ten\nintervals hold the truth; an open one: "
        f"fewer. {found.axes.draws} simulated measurements in each cell, seed "
        f"{found.maps[0][0].seed}.\nWork dead; local codes and licensed practice come first."
    )
    figure.text(0.15 / wide, 0.12 / high, foot, fontsize=SMALL, color=GREY, va="bottom")
    return figure


def _draw(panel: Panel, found: Sensitivity, factor: int, grade: int) -> None:
    levels = np.array(found.factors[factor].levels)
    error, held = found.error_m(factor)[..., grade], found.coverage(factor)[..., grade]
    length_m = found.maps[0][0].heated_length_m
    for limit_m in (CLOSE_M, TENTH * length_m):
        panel.axhline(limit_m, color=GREY, lw=0.8, ls=(0, (1, 3)))
    for row, ohm in enumerate(found.axes.resistance_ohm):
        colour, line, mark = _LINES[row % len(_LINES)]
        panel.plot(levels, error[:, row], color=colour, ls=line, lw=1.5,
                   label=ohm_words(float(ohm)))  # fmt: skip
        for full in (True, False):
            chosen = (held[:, row] >= _HELD) == full
            panel.plot(levels[chosen], error[chosen, row], color=colour, ls="", marker=mark, ms=5,
                       mfc=colour if full else "white", clip_on=True)  # fmt: skip
    panel.set_yscale("log")
    if found.factors[factor].name == "drift_percent":
        panel.set_xscale("symlog", linthresh=1.0)
        panel.set_xlim(-0.1, 1.3 * levels[-1])
        panel.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    panel.yaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}"))
    panel.minorticks_off()
    for side in ("top", "right"):
        panel.spines[side].set_visible(False)
    panel.tick_params(labelsize=TEXT)
