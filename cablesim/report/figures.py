"""The figure of an answer: the cable, where the damage may be, and how likely each place is.

Drawn on a ``Figure`` of matplotlib without its global state, so that any number of figures may be
made at once.
"""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Rectangle

from cablesim.cable.cable import Cable
from cablesim.locate.estimate import Alternative, Density, FaultEstimate
from cablesim.report.answer import Answer
from cablesim.report.density import FIRST_PLACE, draw_density, join_windows
from cablesim.report.saving import png_of
from cablesim.report.strip import OTHER, draw_strip, mark_intervals
from cablesim.report.style import (
    AXIS_LABEL,
    BLUE,
    GREY,
    INK,
    PALE,
    SMALL,
    TEXT,
    TITLE,
    VERMILION,
)
from cablesim.report.windows import windows_of
from cablesim.report.words import (
    by_place,
    damage_words,
    decimals_for,
    interval_words,
    metres_words,
    one_line,
    percent_words,
    plural,
    verdict_words,
    within_words,
    worth_naming,
)

__all__ = ["answer_figure", "answer_png"]

DOTS_PER_INCH = 150
WIDTH_INCH = 9.6
# Heights of the parts, and what is left free beside them [inch].
_TITLE_LINE, _LINE, _LEGEND, _DENSITY, _GAP, _STRIP, _LANE = 0.27, 0.21, 0.36, 2.2, 0.72, 1.2, 0.5
_TOP, _BOTTOM, _LEFT, _RIGHT, _BETWEEN = 0.2, 0.85, 0.85, 0.35, 0.75
_TICKS = 10  # steps between labels that have room along all panels
# Other explanations that are drawn: at least this likely, at most so many.
_LIKELY, _LANES = 0.05, 4
_ABREAST, _ABREAST_LETTERS = 3, 100  # entries of the legend, and their letters, that fit in a line
_TOLD = 2  # intervals that have room in one line with the best place
_TITLE_WRAP, _WRAP = 80, 120  # characters in a line of the heading

FOOT = (
    "Work dead. Confirm the place by a second, independent method before opening the floor. "
    "Local codes and licensed practice come first."
)


def answer_figure(answer: Answer) -> Figure:
    """Draw an answer.

    Above, the probability density of the place, enlarged where it covers little of the cable;
    below, the cable with the damage, and the other explanations that are likely.

    Parameters
    ----------
    answer
        The estimate, its cable, and the truth where that is known.

    Returns
    -------
    matplotlib.figure.Figure
        Ready to be saved; it belongs to no window.
    """
    estimate, cable = answer.estimate, answer.cable
    whole = (float(cable.first_m), float(cable.last_m))
    title = textwrap.wrap(one_line(answer.title), _TITLE_WRAP)[:3]
    said = textwrap.wrap(one_line(verdict_words(estimate)), _WRAP)
    if estimate.reason:
        said += textwrap.wrap(one_line(f"Left open: {estimate.reason}"), _WRAP)
    if estimate.faults and len(estimate.faults[0].intervals_m) > _TOLD:
        first = estimate.faults[0]
        within = interval_words(first.intervals_m, decimals_for(first.open_m))
        told = f"{100 * estimate.level:g} % within {within}"
        said += textwrap.wrap(told, _WRAP)
    others = [o for o in estimate.alternatives if o.probability >= _LIKELY and o.faults][:_LANES]
    drawn = estimate.density is not None and bool(estimate.faults)
    handles = _legend_handles(answer)
    abreast = _abreast([str(handle.get_label()) for handle in handles])
    rows = -(-len(handles) // abreast)
    page = _Page.of(len(title), len(said), len(others), density=drawn, legend=rows)

    page.head(title, said)
    strip = page.axes(_LEFT, page.strip_inch, WIDTH_INCH - _LEFT - _RIGHT, _STRIP)
    draw_strip(strip, cable, estimate.faults)
    _mark_places(strip, answer)
    lowest = strip
    if others:
        lowest = page.axes(
            _LEFT, _BOTTOM, WIDTH_INCH - _LEFT - _RIGHT, page.lanes_inch, sharex=strip
        )
        _draw_others(lowest, others, answer.cable)
        strip.tick_params(axis="x", bottom=False, labelbottom=False)
        strip.spines["bottom"].set_visible(False)
    lowest.set_xlabel(AXIS_LABEL, fontsize=TEXT)
    lowest.tick_params(axis="x", labelsize=SMALL)
    if handles:
        page.legend(handles, abreast)
    if drawn:
        assert estimate.density is not None  # what `drawn` says
        _draw_densities(page, strip, answer, estimate.density, whole)
    return page.figure


def answer_png(answer: Answer) -> bytes:
    """Draw an answer as a PNG image.

    Parameters
    ----------
    answer
        As for `answer_figure`.
    """
    return png_of(lambda: answer_figure(answer))


@dataclass(frozen=True, slots=True)
class _Page:
    """A figure whose parts are placed in inches from its lower left corner."""

    figure: Figure
    height_inch: float
    head_inch: float
    strip_inch: float
    lanes_inch: float

    @classmethod
    def of(cls, titles: int, lines: int, lanes: int, *, density: bool, legend: int) -> _Page:
        lanes_inch = _LANE * lanes + 0.25 if lanes else 0.0
        head = _TOP + _TITLE_LINE * titles + _LINE * lines
        strip = _BOTTOM + lanes_inch
        middle = _GAP + _DENSITY if density else 0.0
        entries = _LEGEND + _LINE * (legend - 1) if legend else 0.1
        height = strip + _STRIP + middle + entries + head
        figure = Figure(figsize=(WIDTH_INCH, height), dpi=DOTS_PER_INCH, facecolor="white")
        return cls(figure, height, head, strip, lanes_inch)

    def axes(
        self, left: float, bottom: float, width: float, height: float, sharex: Axes | None = None
    ) -> Axes:
        wide, high = WIDTH_INCH, self.height_inch
        return self.figure.add_axes(
            (left / wide, bottom / high, width / wide, height / high), sharex=sharex
        )

    def text(self, left: float, down: float, text: str, **how: object) -> None:
        self.figure.text(
            left / WIDTH_INCH,
            1 - down / self.height_inch,
            text,
            va="top",
            parse_math=False,
            **how,  # type: ignore[arg-type]
        )

    def head(self, title: list[str], said: list[str]) -> None:
        down = _TOP
        for line in title:
            self.text(0.25, down, line, fontsize=TITLE, fontweight="bold", color=INK)
            down += _TITLE_LINE
        for line in said:
            self.text(0.25, down, line, fontsize=TEXT, color=INK)
            down += _LINE
        self.text(0.25, self.height_inch - 0.26, FOOT, fontsize=SMALL, color=GREY)

    def legend(self, handles: list[Artist], abreast: int) -> None:
        self.figure.legend(
            handles=handles,
            loc="upper left",
            bbox_to_anchor=(0.25 / WIDTH_INCH, 1 - (self.head_inch + 0.02) / self.height_inch),
            ncols=abreast,
            frameon=False,
            fontsize=TEXT,
            borderpad=0.0,
            borderaxespad=0.0,
            handletextpad=0.6,
            columnspacing=2.0,
        )


def _abreast(labels: Sequence[str]) -> int:
    """How many entries of the legend stand in one line.

    >>> _abreast(["short", "ones", "here"]), _abreast(["x" * 50, "y" * 20, "z" * 40])
    (3, 2)
    """
    for count in range(min(len(labels), _ABREAST), 1, -1):
        # A legend fills its columns one after the other, each as wide as its longest entry.
        rows = -(-len(labels) // count)
        columns = [labels[k : k + rows] for k in range(0, len(labels), rows)]
        if sum(max(map(len, column)) for column in columns) <= _ABREAST_LETTERS:
            return count
    return 1


def _legend_handles(answer: Answer) -> list[Artist]:
    """Interval, best place and true place, with their numbers."""
    handles: list[Artist] = []
    estimate = answer.estimate
    if estimate.faults:
        fault = estimate.faults[0]
        decimals = decimals_for(fault.open_m)
        within = interval_words(fault.intervals_m, decimals)
        if len(fault.intervals_m) > _TOLD:
            within = f"{len(fault.intervals_m)} stretches"
        shaded = f"{100 * estimate.level:g} % within {within}"
        if len(by_place(estimate.faults)) > 1:
            shaded = f"{FIRST_PLACE}: {shaded}"
        handles = [Patch(facecolor=BLUE, alpha=0.5, label=shaded)]
        for other in by_place(estimate.faults)[1:]:
            told = f"the other within {within_words(other)}"
            handles.append(Patch(facecolor="none", edgecolor=BLUE, ls=OTHER, lw=1.6, label=told))
        if worth_naming(fault, answer.cable):
            best = f"best place {metres_words(fault.position_m, decimals)}"
            handles.append(Line2D([], [], color=INK, marker="v", lw=1.2, label=best))
    if answer.marked is not None:
        number = len(answer.marked.places_m)
        *most, last = answer.marked.places_m
        shown = [f"{place:.2f}" if place >= 0 else metres_words(place) for place in most]
        places = " and ".join([*shown, metres_words(last)])
        true = f"{plural(number, 'true place')} {places}"
        handles.append(Line2D([], [], color=VERMILION, marker="D", ls=":", ms=5, label=true))
    return handles


def _mark_places(strip: Axes, answer: Answer) -> None:
    """Intervals, best places and the true place on the strip."""
    faults = answer.estimate.faults
    mark_intervals(strip, faults)
    for group in by_place(faults):
        if worth_naming(group[0], answer.cable):
            top = strip.get_ylim()[1]
            strip.plot(group[0].position_m, top - 0.35, color=INK, marker="v", ms=7, zorder=7)
    for where in answer.marked.places_m if answer.marked else ():
        strip.plot(where, -0.75, color=VERMILION, marker="D", ms=6, mec="white", zorder=7)


def _draw_densities(
    page: _Page,
    strip: Axes,
    answer: Answer,
    density: Density,
    whole: tuple[float, float],
) -> None:
    fault = answer.estimate.faults[0]
    true = answer.marked.places_m if answer.marked else ()
    cell = float(np.diff(density.edges_m).max())
    windows = windows_of(fault.intervals_m, whole, cell_m=cell, also_m=true)
    enlarged = windows != [whole]
    bottom = page.strip_inch + _STRIP + (_GAP if enlarged else 0.25)
    height = _DENSITY + (0.0 if enlarged else _GAP - 0.25)
    room = WIDTH_INCH - _LEFT - _RIGHT - _BETWEEN * (len(windows) - 1)
    panels = []
    for k, window in enumerate(windows):
        width = room / len(windows)
        panel = page.axes(_LEFT + k * (width + _BETWEEN), bottom, width, height)
        draw_density(panel, density, fault, answer.cable, true)
        panel.set_xlim(window if enlarged else strip.get_xlim())
        panels.append(panel)
    top = 1.08 * max(panel.get_ylim()[1] for panel in panels)
    for k, panel in enumerate(panels):
        panel.set_ylim(0, top)
        panel.tick_params(labelleft=k == 0, labelbottom=enlarged)
        if enlarged:
            panel.locator_params(axis="x", nbins=_TICKS // len(panels))
    # Of two places only the first has a curve, and says so.
    of = f"\nof the {FIRST_PLACE}" if len(by_place(answer.estimate.faults)) > 1 else ""
    panels[0].set_ylabel(f"probability density{of} [1/m]", fontsize=TEXT)
    if enlarged:
        join_windows(page.figure, strip, panels)


def _draw_others(axes: Axes, others: list[Alternative], cable: Cable) -> None:
    """One lane for each other explanation: what it is, and where the damage would then be."""
    axes.set_ylim(len(others) - 0.3, -0.75)
    for lane, other in enumerate(others):
        for number, group in enumerate(by_place(other.faults)):
            _draw_lane(axes, lane, group[0], cable, filled=number == 0)
        told = f"otherwise {damage_words(other.faults)} ({percent_words(other.probability)})"
        axes.text(
            0.0,
            lane - 0.36,
            told,
            transform=axes.get_yaxis_transform(),
            fontsize=SMALL,
            va="bottom",
        )
    axes.set_yticks([])
    axes.spines[["left", "right", "top"]].set_visible(False)


def _draw_lane(axes: Axes, lane: int, fault: FaultEstimate, cable: Cable, *, filled: bool) -> None:
    """Where an explanation has damage: its first place filled, another one dashed around it."""
    low, high = fault.intervals_m[0][0], fault.intervals_m[-1][1]
    axes.plot([low, high], [lane, lane], color=GREY, lw=0.8, zorder=1)
    for a, b in fault.intervals_m:
        # The edge keeps a narrow interval visible.
        half = 0.11 if filled else 0.17
        look = {"fc": PALE, "ls": "-"} if filled else {"fc": "none", "ls": OTHER}
        bar = Rectangle((a, lane - half), b - a, 2 * half, ec=BLUE, lw=1.0, zorder=2, **look)
        axes.add_patch(bar)
    if worth_naming(fault, cable):
        axes.plot(fault.position_m, lane - 0.22, color=INK, marker="v", ms=5, zorder=3)
