"""Which method first: errors over the resistance, and below them a band that names the first."""

from __future__ import annotations

import math

from matplotlib.axes import Axes as Panel
from matplotlib.figure import Figure
from matplotlib.ticker import FuncFormatter

from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.first import FirstChart
from cablesim.benchmark.study.first_view import stretches
from cablesim.benchmark.study.map_figure import heading_of, short_ohm
from cablesim.benchmark.study.reach_view import plain_name
from cablesim.benchmark.study.reached import CLOSE_M, TENTH
from cablesim.report.style import BLUE, GREY, INK, LIGHT, SMALL, TEXT, VERMILION

__all__ = ["first_figure", "manner_of"]

_WIDE, _LEFT, _RIGHT, _TOP, _BOTTOM = 9.8, 0.95, 2.7, 1.0, 1.25  # inch
_HIGH, _BAND, _GAP = 1.75, 0.26, 0.85
_GREEN = "#009e73"  # from memory of Okabe and Ito, as the others
# One colour for each kind of meter; methods of one kind differ in their lines.
_MANNERS = {
    "three_readings": (BLUE, "-"),
    "two_ends": (BLUE, "-"),
    "blavier": (BLUE, "--"),
    "murray": (VERMILION, "-"),
    "murray_unequal": (VERMILION, "--"),
    "varley": (VERMILION, ":"),
    "insulation_balance": (VERMILION, "-."),
    "three_capacitances": (_GREEN, "-"),
    "both_ends": (_GREEN, "-"),
    "two_capacitances": (_GREEN, ":"),
    "good_core": (_GREEN, "--"),
    "capacitance_per_metre": (_GREEN, "-."),
    "echo_time": (INK, "-"),
}
_FINEST_M = 0.003


def manner_of(method: str) -> tuple[str, str]:
    """Colour and line of a method."""
    return _MANNERS.get(method, (GREY, "-"))


def first_figure(chart: FirstChart, title: str = "") -> Figure:
    """Draw the chart, a panel for each damage.

    Parameters
    ----------
    chart
        From `cablesim.benchmark.study.first.first_chart`.
    title
        One line above, such as the cable.
    """
    count = len(chart.candidates)
    high = _TOP + count * (_HIGH + _BAND + _GAP) + _BOTTOM - _GAP
    figure = Figure(figsize=(_WIDE, high), dpi=110, facecolor="white")
    wide = (_WIDE - _LEFT - _RIGHT) / _WIDE
    for number, damage in enumerate(chart.candidates):
        top = high - _TOP - number * (_HIGH + _BAND + _GAP)
        panel = figure.add_axes((_LEFT / _WIDE, (top - _HIGH) / high, wide, _HIGH / high))
        band = figure.add_axes(
            (_LEFT / _WIDE, (top - _HIGH - _BAND) / high, wide, 0.9 * _BAND / high)
        )
        _draw(panel, band, chart, damage)
    found = next(iter(chart.candidates.values()))[0].found
    heading_of(figure, f"Which method first, {chart.grade} meters", title)
    foot = (
        f"Dotted lines: {CLOSE_M:g} m, and a tenth of the cable. Band: the method that halves the "
        "open length most often for each minute of work;\nof those within a fifth of the best the "
        f"least dangerous. {found.axes.draws} simulated measurements in each cell, seed "
        f"{found.seed}, exact circuit.\nWork dead; local codes and licensed practice come first."
    )
    figure.text(0.15 / _WIDE, 0.12 / high, foot, fontsize=SMALL, color=GREY, va="bottom")
    return figure


def _draw(panel: Panel, band: Panel, chart: FirstChart, damage: str) -> None:
    ohm = chart.resistance_ohm(damage)
    length_m = chart.candidates[damage][0].found.heated_length_m
    for limit_m in (CLOSE_M, TENTH * length_m):
        panel.axhline(limit_m, color=GREY, lw=0.8, ls=(0, (1, 3)))
    for row in chart.candidates[damage]:
        colour, line = manner_of(row.found.method)
        named = f"{plain_name(row.found.method)}, {row.minutes:g} min"
        panel.plot(ohm, row.error_m, color=colour, ls=line, lw=1.7, label=named)
    panel.set_xscale("log")
    panel.set_yscale("log")
    panel.set_ylim(_FINEST_M, length_m)
    panel.set_xlim(ohm[0], ohm[-1])
    panel.yaxis.set_major_formatter(FuncFormatter(lambda metre, _: f"{metre:g}"))
    panel.set_ylabel("95 % of the\nerrors below [m]", fontsize=SMALL)
    panel.set_title(DAMAGES[damage].words, fontsize=TEXT, loc="left", color=INK)
    panel.tick_params(labelsize=SMALL, labelbottom=False, bottom=False)
    panel.minorticks_off()
    for side in ("top", "right"):
        panel.spines[side].set_visible(False)
    panel.legend(
        loc="upper left",
        bbox_to_anchor=(1.01, 1.0),
        fontsize=SMALL,
        frameon=False,
        handlelength=2.6,
    )
    band.set_facecolor(LIGHT)
    step = (ohm[1] / ohm[0]) ** 0.5 if len(ohm) > 1 else 2.0
    whole = math.log10(ohm[-1] / ohm[0])
    for one, low, up in stretches(chart, damage):
        start, end = max(low / step, ohm[0]), min(up * step, ohm[-1])
        name = plain_name(one.found.method) if one else "none locates"
        if one:
            band.axvspan(start, end, color=manner_of(one.found.method)[0], alpha=0.28, lw=0)
            band.axvline(end, color="white", lw=2)
        # About 14 characters to a seventh of the width.
        if math.log10(end / start) / whole > 0.0125 * len(name):
            band.text((start * end) ** 0.5, 0.5, name, fontsize=SMALL, ha="center", va="center",
                      color=INK)  # fmt: skip
    band.set_xscale("log")
    band.set_xlim(ohm[0], ohm[-1])
    band.set_ylim(0, 1)
    band.set_yticks([])
    band.minorticks_off()
    band.xaxis.set_major_formatter(FuncFormatter(lambda value, _: short_ohm(value)))
    band.tick_params(labelsize=SMALL)
    band.set_xlabel(f"{DAMAGES[damage].resistance_is} [ohm]", fontsize=SMALL, labelpad=1)
    band.spines[:].set_visible(False)
