"""The figure of a reflectogram: what a person at the meter sees, its echoes marked.

Above, the trace of the damaged cable over that of the healthy one; below, their difference, in
which an echo stands alone. Both share the time of the echo; a second axis tells the distance.
"""

from __future__ import annotations

import textwrap

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from numpy.typing import ArrayLike

from cablesim.instruments.echo_finding import SEEN_DEVIATIONS
from cablesim.report.quantities import across_words
from cablesim.report.reflectogram import Reflectogram, SeenEcho
from cablesim.report.saving import png_of
from cablesim.report.style import BLUE, GREY, INK, LIGHT, RUST, SMALL, TEXT, TITLE, VERMILION
from cablesim.report.words import one_line

__all__ = ["reflectogram_figure", "reflectogram_png"]

_SIZE_INCH = (9.6, 6.4)
_DOTS_PER_INCH = 150
# Parts of the height and width of the page.
_LEFT, _WIDTH, _LOWER, _UPPER = 0.095, 0.88, (0.085, 0.22), (0.36, 0.445)
_SHOWN = 1.55  # of the time to the far end and back


def reflectogram_figure(shown: Reflectogram) -> Figure:
    """Draw a reflectogram.

    Parameters
    ----------
    shown
        The traces and their echoes.

    Returns
    -------
    matplotlib.figure.Figure
        Ready to be saved; it belongs to no window.
    """
    figure = Figure(figsize=_SIZE_INCH, dpi=_DOTS_PER_INCH, facecolor="white")
    upper = figure.add_axes((_LEFT, _UPPER[0], _WIDTH, _UPPER[1]))
    lower = figure.add_axes((_LEFT, _LOWER[0], _WIDTH, _LOWER[1]), sharex=upper)
    _head(figure, shown)
    upper.set_xlim(-0.06 * shown.far_delay_ns, _SHOWN * shown.far_delay_ns)
    _draw_traces(upper, shown)
    _draw_difference(lower, shown)
    _draw_places(upper, lower, shown)
    _draw_distance(upper, shown)
    lower.set_xlabel("time of the echo, there and back [ns]", fontsize=TEXT)
    upper.tick_params(labelbottom=False)
    for axes in (upper, lower):
        axes.tick_params(labelsize=SMALL)
        axes.spines["right"].set_visible(False)
        axes.grid(visible=True, axis="y", color=LIGHT, lw=0.8)
        axes.set_axisbelow(True)
    lower.spines["top"].set_visible(False)
    figure.align_ylabels([upper, lower])
    return figure


def reflectogram_png(shown: Reflectogram) -> bytes:
    """Draw a reflectogram as a PNG image.

    Parameters
    ----------
    shown
        As for `reflectogram_figure`.
    """
    return png_of(lambda: reflectogram_figure(shown))


def _head(figure: Figure, shown: Reflectogram) -> None:
    title = textwrap.wrap(one_line(shown.title or "Pulse echo"), 85)[0]
    meter = shown.meter
    sent = "step" if np.isinf(meter.width_ns) else f"pulse of {meter.width_ns:g} ns"
    told = (
        f"{across_words(shown.hookup.across)}; a {sent}, rise time {meter.rise_ns:g} ns, from "
        f"{meter.source_ohm:g} ohm; velocity factor {float(shown.cable.velocity_factor):.3g}"
    )
    figure.text(
        0.025,
        0.975,
        title,
        fontsize=TITLE,
        fontweight="bold",
        color=INK,
        va="top",
        parse_math=False,
    )
    figure.text(0.025, 0.93, told, fontsize=TEXT, color=INK, va="top", parse_math=False)


def _draw_traces(axes: Axes, shown: Reflectogram) -> None:
    damaged_ns, healthy_ns = (1e9 * trace.time_s for trace in (shown.damaged, shown.healthy))
    same = np.array_equal(shown.damaged.volt, shown.healthy.volt)
    name = "recorded" if shown.recorded else "damaged"
    axes.plot(
        healthy_ns, 100 * shown.healthy.volt, color=BLUE, lw=1.4, ls=(0, (5, 1.5)), label="healthy"
    )
    if not same:
        axes.plot(damaged_ns, 100 * shown.damaged.volt, color=INK, lw=1.8, label=name)
    left, right = axes.get_xlim()
    inside = [
        100 * t.volt[(1e9 * t.time_s > left) & (1e9 * t.time_s < right)]
        for t in (shown.damaged, shown.healthy)
    ]
    low, high = min(v.min() for v in inside), max(v.max() for v in inside)
    # Room above for the names of places.
    axes.set_ylim(low - 0.06 * (high - low), high + 0.22 * (high - low))
    axes.set_ylabel("voltage\n[% of the step sent in]", fontsize=TEXT)
    axes.legend(loc="lower right", frameon=False, fontsize=SMALL, ncols=2)


def _draw_difference(axes: Axes, shown: Reflectogram) -> None:
    time_s = shown.damaged.time_s
    inside = np.clip(time_s, shown.healthy.time_s[0], shown.healthy.time_s[-1])
    change = 100 * (shown.damaged.volt - shown.healthy.at(inside))
    hidden = SEEN_DEVIATIONS * shown.meter.noise_percent
    axes.axhspan(-hidden, hidden, color=LIGHT, zorder=0)
    axes.plot(1e9 * time_s, change, color=INK, lw=1.4)
    left, right = axes.get_xlim()
    seen = change[(1e9 * time_s > left) & (1e9 * time_s < right)]
    high = 1.35 * max(float(np.abs(seen).max()), 1.5 * hidden, 1.0)
    axes.set_ylim(-high, high)
    axes.set_ylabel("damaged less\nhealthy [%]", fontsize=TEXT)
    if hidden > 0:
        axes.text(
            right,
            -hidden,
            "in this band noise hides an echo ",
            ha="right",
            va="top",
            fontsize=SMALL,
            color=GREY,
        )
    for echo in shown.echoes:
        if echo.from_fault and left < echo.found.delay_ns < right:
            _mark(axes, echo)


def _mark(axes: Axes, echo: SeenEcho) -> None:
    """A triangle that points the way the echo goes, with its place."""
    up = echo.found.size > 0
    top = axes.get_ylim()[1]
    y = -0.28 * top if up else 0.28 * top
    axes.plot(echo.found.delay_ns, y, color=VERMILION, marker="^" if up else "v", ms=8, zorder=6)
    axes.annotate(
        f"{echo.found.delay_ns:.0f} ns, {echo.position_m:.1f} m: {echo.likely}",
        (echo.found.delay_ns, y),
        xytext=(8, 0),
        textcoords="offset points",
        va="center",
        fontsize=SMALL,
        color=RUST,
        zorder=7,
        bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.8, "pad": 1.0},
    )


def _draw_places(upper: Axes, lower: Axes, shown: Reflectogram) -> None:
    """Cold joint, stated faults and far end as lines through both; intervals as bands."""
    top = upper.get_ylim()[1]
    named = [("cold joint", shown.joint_delay_ns, GREY)]
    named += [(name, float(e.delay_ns), RUST) for name, e in shown.expected[:-1]]
    named.append(("far end", shown.far_delay_ns, GREY))
    left, right = upper.get_xlim()
    taken: list[tuple[float, float]] = []
    for name, delay_ns, color in named:
        for axes in (upper, lower):
            axes.axvline(delay_ns, color=color, lw=1.0, ls=(0, (5, 3)), zorder=2)
        row = sum(abs(delay_ns - other) < width for other, width in taken)
        # Wide enough for the name at this size of letters.
        taken.append((delay_ns, (0.0085 * len(name) + 0.02) * (right - left)))
        upper.text(
            delay_ns,
            top - (0.02 + 0.06 * row) * (top - upper.get_ylim()[0]),
            f" {name}",
            fontsize=SMALL,
            color=color,
            va="top",
            ha="left",
            zorder=5,
            parse_math=False,
            bbox={"facecolor": "white", "edgecolor": "none", "alpha": 0.75, "pad": 0.8},
        )
    speed = 1e9 * 2 / float(shown.cable.pulse_velocity_m_per_s)
    for echo in shown.echoes:
        if echo.from_fault:
            offs = [abs(end - echo.position_m) * speed for end in echo.interval_m]
            near = (echo.found.delay_ns - offs[0], echo.found.delay_ns + offs[1])
            for axes in (upper, lower):
                axes.axvspan(*near, color=VERMILION, alpha=0.12, lw=0, zorder=1)


def _draw_distance(axes: Axes, shown: Reflectogram) -> None:
    first = float(shown.position_m(0.0))
    slope = float(shown.position_m(1.0)) - first

    def place(delay_ns: ArrayLike) -> ArrayLike:
        return first + slope * np.asarray(delay_ns)

    def delay(position_m: ArrayLike) -> ArrayLike:
        return (np.asarray(position_m) - first) / slope

    distance = axes.secondary_xaxis("top", functions=(place, delay))
    distance.set_xlabel("distance from the cold joint at this velocity factor [m]", fontsize=TEXT)
    distance.tick_params(labelsize=SMALL)
