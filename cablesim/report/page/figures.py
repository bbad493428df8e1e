"""Figures for a page that is read on a phone as well: narrow, few words, no heading of their own.

They are put together from the parts of the figures that the commands draw. What is said in a
legend there stands below them as text.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from cablesim.report.density import FIRST_PLACE, draw_density, join_windows
from cablesim.report.floor_parts import (
    BESIDE,
    STRETCH,
    draw_cable,
    draw_openings,
    draw_room,
    draw_tiles,
    metre_marks,
)
from cablesim.report.strip import draw_strip, mark_intervals
from cablesim.report.style import AXIS_LABEL, BLUE, GREY, INK, PALE, SMALL, TEXT, VERMILION
from cablesim.report.warm_figures import end_scale
from cablesim.report.windows import windows_of
from cablesim.report.words import by_place

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from cablesim.cable.numbers import FloatArray
    from cablesim.report.answer import Answer
    from cablesim.report.floor import FloorAnswer
    from cablesim.report.warm import WarmAnswer
    from cablesim.site.heat import HotSpot

__all__ = ["burst_figure", "place_figure", "plan_figure", "warm_figure"]

# As wide as still leaves letters of 10 px on a phone [inch]; margins, and heights of the parts.
WIDE_INCH = 4.4
_LEFT, _RIGHT, _BELOW, _STRIP, _DENSITY, _BETWEEN = 0.66, 0.12, 0.52, 1.2, 1.5, 0.66
_CURVE_INCH = 2.2
# A plan is at most this high for its width.
_TALL = 1.5


def place_figure(answer: Answer) -> Figure:
    """The cable with its damage, and above it the probability of each place.

    Parameters
    ----------
    answer
        The estimate and its cable.
    """
    estimate, cable = answer.estimate, answer.cable
    drawn = estimate.density is not None and bool(estimate.faults)
    high = _BELOW + _STRIP + ((_BETWEEN + _DENSITY + 0.1) if drawn else 0.1)
    figure = Figure(figsize=(WIDE_INCH, high))
    strip = _axes(figure, _BELOW, _STRIP)
    draw_strip(strip, cable, estimate.faults)
    mark_intervals(strip, estimate.faults)
    _plain(strip, AXIS_LABEL, "")
    if not drawn:
        return figure
    assert estimate.density is not None  # what `drawn` says
    fault = estimate.faults[0]
    whole = (float(cable.first_m), float(cable.last_m))
    cell = float(np.diff(estimate.density.edges_m).max())
    windows = windows_of(fault.intervals_m, whole, cell_m=cell)
    enlarged = windows != [whole]
    room = WIDE_INCH - _LEFT - _RIGHT
    gap = 0.35
    each = (room - gap * (len(windows) - 1)) / len(windows)
    panels = []
    for k, window in enumerate(windows):
        panel = _axes(figure, _BELOW + _STRIP + _BETWEEN, _DENSITY, _LEFT + k * (each + gap), each)
        draw_density(panel, estimate.density, fault, cable)
        panel.set_xlim(window if enlarged else strip.get_xlim())
        panel.locator_params(axis="x", nbins=max(2, 6 // len(windows)))
        panels.append(panel)
    top = 1.08 * max(panel.get_ylim()[1] for panel in panels)
    for k, panel in enumerate(panels):
        panel.set_ylim(0, top)
        panel.tick_params(labelleft=k == 0, labelsize=SMALL)
    of = f"\nof the {FIRST_PLACE}" if len(by_place(estimate.faults)) > 1 else ""
    panels[0].set_ylabel(f"density{of} [1/m]", fontsize=TEXT)
    if enlarged:
        join_windows(figure, strip, panels)
    return figure


def plan_figure(answer: FloorAnswer) -> Figure:
    """The room with the cable, the damage and the opening.

    Parameters
    ----------
    answer
        The damage on its floor.
    """
    plan = answer.plan
    left, low, right, high = plan.room.bounds_m
    margin = 0.03 * max(right - left, high - low)
    wide, deep = right - left + 2 * margin, high - low + 2 * margin
    room = WIDE_INCH - _LEFT - _RIGHT
    tall = min(room * deep / wide, _TALL * room)
    figure = Figure(figsize=(WIDE_INCH, tall + _BELOW + 0.1))
    axes = _axes(figure, _BELOW, tall)
    axes.set_xlim(left - margin, right + margin)
    axes.set_ylim(low - margin, high + margin)
    axes.set_aspect("equal")
    draw_room(axes, plan)
    draw_tiles(axes, plan)
    draw_openings(axes, answer.ranking)
    draw_cable(axes, plan, width=0.9)
    for n in answer.neighbours:
        axes.plot(*plan.stretch(n.from_m, n.to_m).T, **BESIDE, zorder=3.5)
    for start, end, _ in answer.intervals:
        axes.plot(*plan.stretch(start, end).T, **STRETCH, zorder=6)
    for spot in plan.survey.suspects:
        axes.add_patch(
            Circle(spot.at_m, spot.radius_m, fill=False, ec=INK, lw=0.9, ls=(0, (4, 2)), zorder=5)
        )
    metre_marks(axes, plan)
    if answer.xy_m is not None and not answer.reason:
        axes.plot(*answer.xy_m, marker="o", ms=10, mfc="none", mec=INK, mew=1.6, zorder=9)
    axes.set_xlabel("x [m]", fontsize=TEXT)
    axes.set_ylabel("y [m]", fontsize=TEXT)
    axes.tick_params(labelsize=SMALL)
    return figure


def warm_figure(answer: WarmAnswer) -> Figure:
    """The rise of the surface along the cable, beside that of the healthy one.

    Parameters
    ----------
    answer
        An energised cable.
    """
    figure, axes = _curve_axes()
    at_m, rise, camera = answer.at_m, answer.rise_kelvin, answer.camera_kelvin
    warm = rise >= camera
    # A spot far hotter than the cable would press all else onto the axis.
    usual = max(float(answer.cable_kelvin.max()), float(np.median(answer.healthy_kelvin)))
    top = max(1.3 * usual, 6.0 * camera)
    axes.fill_between(at_m, 0.0, np.minimum(rise, 2 * top), where=warm.tolist(), color=PALE, lw=0)
    axes.plot(at_m, np.minimum(rise, 2 * top), color=BLUE, lw=1.6)
    axes.plot(at_m, answer.healthy_kelvin, color=GREY, lw=1.2, ls="--")
    axes.axhline(camera, color=INK, lw=1.0, ls=(0, (1, 2)))
    axes.set_xlim(float(at_m[0]), float(at_m[-1]))
    end_scale(axes, at_m, rise, top)
    _plain(axes, AXIS_LABEL, "rise of surface [K]")
    return figure


def burst_figure(seen: HotSpot) -> Figure:
    """The rise of the surface above a spot that is heated by bursts, over time.

    Parameters
    ----------
    seen
        The course of the surface.
    """
    figure, axes = _curve_axes()
    times: FloatArray = seen.times_s / 60.0
    axes.plot(times, seen.surface_kelvin, color=BLUE, lw=1.6)
    axes.axhline(seen.camera_kelvin, color=INK, lw=1.0, ls=(0, (1, 2)))
    if seen.seen_after_s is not None:
        axes.plot(seen.seen_after_s / 60.0, seen.camera_kelvin, color=VERMILION, marker="D", ms=6)
    axes.set_xlim(0.0, float(times[-1]))
    axes.set_ylim(0.0, 1.15 * max(seen.peak_kelvin, seen.camera_kelvin))
    _plain(axes, "time from the first burst [min]", "rise of surface [K]")
    return figure


def _curve_axes() -> tuple[Figure, Axes]:
    figure = Figure(figsize=(WIDE_INCH, _CURVE_INCH))
    return figure, _axes(figure, _BELOW, _CURVE_INCH - _BELOW - 0.1)


def _axes(
    figure: Figure,
    bottom: float,
    height: float,
    left: float = _LEFT,
    width: float = WIDE_INCH - _LEFT - _RIGHT,
) -> Axes:
    """Axes placed in inches from the lower left corner."""
    wide, high = figure.get_size_inches()
    return figure.add_axes((left / wide, bottom / high, width / wide, height / high))


def _plain(axes: Axes, x: str, y: str) -> None:
    axes.set_xlabel(x, fontsize=TEXT)
    if y:
        axes.set_ylabel(y, fontsize=TEXT)
    axes.tick_params(axis="x", labelsize=SMALL)
    if y:
        axes.tick_params(axis="y", labelsize=SMALL)
    axes.spines[["top", "right"]].set_visible(False)
