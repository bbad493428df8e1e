"""Figures of heat: a hot spot as a film strip with its profile and its course, and a warm floor.

Warmth is drawn in cividis, whose lightness rises evenly and which colour-blind eyes read as others
do (from memory of Nunez, Anderton and Renslow, PLoS ONE 13, 2018).
"""

from __future__ import annotations

import io
import math
from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.cm import ScalarMappable
from matplotlib.colors import PowerNorm
from matplotlib.figure import Figure
from matplotlib.patches import Circle

from cablesim.cable.numbers import FloatArray
from cablesim.report.figures import DOTS_PER_INCH, WIDTH_INCH
from cablesim.report.heat import duration_words
from cablesim.report.style import (
    AXIS_LABEL,
    BLUE,
    GREY,
    INK,
    LIGHT,
    PALE,
    SMALL,
    TEXT,
    TITLE,
    VERMILION,
)
from cablesim.report.words import counted
from cablesim.site.heat import HotSpot

__all__ = [
    "above_cable_figure",
    "end_scale",
    "hot_spot_figure",
    "hot_spot_png",
    "png_of",
    "warm_floor_figure",
]

_MAP = "cividis"
_FRAMES = 5
_PIXELS = 121
# Beyond this no floor is left whose rise could be computed [K]; common practice, no source.
_GONE_KELVIN = 1000.0
# Heights, widths and places of the hot spot's figure [inch].
_HIGH_INCH, _LEFT_INCH, _FILM_INCH, _FRAME_INCH, _BETWEEN_INCH = 6.3, 0.75, 3.85, 1.36, 0.24
_WARM_TOLD = "Line: the cable; dot: its cold joint; cross: the damage."
FOOT = (
    "Mains, high voltage, a hot spot: licensed practice and local codes first. Computed for dry "
    "layers in full contact."
)


def hot_spot_figure(seen: HotSpot) -> Figure:
    """Draw a hot spot: surface maps at five moments, profiles at the same, and the whole course.

    Parameters
    ----------
    seen
        The course of the surface.

    Returns
    -------
    matplotlib.figure.Figure
        Ready to be saved; it belongs to no window.
    """
    figure = Figure(figsize=(WIDTH_INCH, _HIGH_INCH), dpi=DOTS_PER_INCH, facecolor="white")
    moments = _moments(seen)
    profiles = seen.profiles(moments)
    half_mm = _half_width_mm(seen)
    _heading(figure, *_hot_spot_words(seen))
    each = _FRAME_INCH + _BETWEEN_INCH
    frames = [
        _axes(figure, _LEFT_INCH + k * each, _FILM_INCH, _FRAME_INCH, _FRAME_INCH)
        for k in range(_FRAMES)
    ]
    bar = _axes(figure, _LEFT_INCH + _FRAMES * each - 0.05, _FILM_INCH, 0.14, _FRAME_INCH)
    _film(frames, bar, seen, moments, profiles, half_mm)
    _profiles(_axes(figure, _LEFT_INCH, 0.9, 3.7, 2.2), seen, moments, profiles, half_mm)
    _course(_axes(figure, _LEFT_INCH + 4.6, 0.9, 3.9, 2.2), seen)
    return figure


def hot_spot_png(seen: HotSpot) -> bytes:
    """Draw a hot spot as a PNG image."""
    return png_of(hot_spot_figure(seen))


def warm_floor_figure(
    x_m: FloatArray,
    y_m: FloatArray,
    rise_kelvin: FloatArray,
    points_xy_m: FloatArray,
    *,
    title: str,
    told: str = "",
    marks: Sequence[tuple[float, float, str]] = (),
    most_kelvin: float | None = None,
) -> Figure:
    """Draw the warm and the cold floor above an energised cable.

    Parameters
    ----------
    x_m, y_m
        Axes of the image, shapes (nx,) and (ny,) [m].
    rise_kelvin
        Rise of the surface, as `floor_image` gives it, shape (ny, nx) [K].
    points_xy_m
        Route of the cable, shape (n, 2) [m].
    title
        One line.
    told
        What stands first in the line below, such as after how long.
    marks
        Places to mark, such as the fault [m], and what stands beside each.
    most_kelvin
        Rise at which the colours end, where a hot spot would leave all else dark [K].
    """
    wide, high = float(np.ptp(x_m)), float(np.ptp(y_m))
    room = WIDTH_INCH - 2.2
    height = min(max(room * high / wide, 1.8), 9.0) + 1.7
    figure = Figure(figsize=(WIDTH_INCH, height), dpi=DOTS_PER_INCH, facecolor="white")
    _heading(figure, title, f"{told} {_WARM_TOLD}".strip())
    axes = figure.add_axes((0.08, 0.85 / height, 0.78, 1 - 1.75 / height))
    highest = float(rise_kelvin.max())
    most = highest if most_kelvin is None else min(highest, most_kelvin)
    image = axes.imshow(
        rise_kelvin,
        extent=(float(x_m[0]), float(x_m[-1]), float(y_m[0]), float(y_m[-1])),
        origin="lower",
        cmap=_MAP,
        interpolation="bilinear",
        vmin=0.0,
        vmax=most,
    )
    axes.plot(points_xy_m[:, 0], points_xy_m[:, 1], color="white", lw=0.6, alpha=0.8)
    axes.plot(*points_xy_m[0], color="white", mec=INK, marker="o", ms=6)
    for x, y, beside in marks:
        axes.plot(x, y, color=VERMILION, mec="white", marker="X", ms=10)
        left = x > x_m[0] + 0.7 * wide
        axes.annotate(
            beside,
            (x, y),
            xytext=(-9 if left else 9, 0),
            textcoords="offset points",
            ha="right" if left else "left",
            va="center",
            fontsize=SMALL,
            color=INK,
            bbox={"fc": "white", "ec": "none", "alpha": 0.85, "pad": 1.5},
            parse_math=False,
        ).set_visible(bool(beside))
    axes.set_aspect("equal")
    axes.set_xlabel("x [m]", fontsize=TEXT)
    axes.set_ylabel("y [m]", fontsize=TEXT)
    axes.tick_params(labelsize=SMALL)
    beyond = "max" if highest > most else "neither"
    bar_axes = axes.inset_axes((1.02, 0.0, 0.04, 1.0))  # as high as the floor
    bar = figure.colorbar(image, cax=bar_axes, extend=beyond)
    bar.set_label("rise of the surface [K]", fontsize=TEXT)
    bar.ax.tick_params(labelsize=SMALL)
    return figure


def above_cable_figure(
    at_m: FloatArray,
    rise_kelvin: FloatArray,
    camera_kelvin: float,
    *,
    title: str,
    told: str = "",
    most_kelvin: float | None = None,
) -> Figure:
    """Draw the rise of the surface along a cable: warm up to where.

    Parameters
    ----------
    at_m
        Places along the cable, shape (n,) [m].
    rise_kelvin
        Rise of the surface above it, shape (n,) [K].
    camera_kelvin
        Smallest rise that the camera shows [K].
    title
        One line.
    told
        What stands first in the line below, such as after how long.
    most_kelvin
        Where the scale ends, so that a hot spot does not press all else onto the axis [K].
    """
    figure = Figure(figsize=(WIDTH_INCH, 3.4), dpi=DOTS_PER_INCH, facecolor="white")
    _heading(figure, title, f"{told} Shaded where the camera shows it warm.".strip())
    axes = figure.add_axes((0.08, 0.24, 0.89, 0.53))
    warm = rise_kelvin >= camera_kelvin
    axes.fill_between(at_m, 0.0, rise_kelvin, where=warm.tolist(), color=PALE, lw=0)
    axes.plot(at_m, rise_kelvin, color=BLUE, lw=1.6)
    axes.set_xlim(float(at_m[0]), float(at_m[-1]))
    top = 1.15 * max(float(rise_kelvin.max()), camera_kelvin)
    end_scale(axes, at_m, rise_kelvin, top if most_kelvin is None else min(top, most_kelvin))
    _camera(axes, camera_kelvin)
    _plain(axes, AXIS_LABEL, "rise of the surface [K]")
    return figure


def end_scale(axes: Axes, at_m: FloatArray, rise_kelvin: FloatArray, top_kelvin: float) -> None:
    """End the scale of a rise along the cable, and say what the highest beyond it comes to.

    Parameters
    ----------
    axes
        With the curve; x is metres from the cold joint.
    at_m, rise_kelvin
        The curve, shapes (n,) [m, K].
    top_kelvin
        Where the scale ends [K].
    """
    axes.set_ylim(0.0, top_kelvin)
    k = int(np.argmax(rise_kelvin))
    if rise_kelvin[k] < top_kelvin:
        return
    right = at_m[k] > at_m[0] + 0.6 * (at_m[-1] - at_m[0])
    highest = f"{rise_kelvin[k]:.3g}" if rise_kelvin[k] < _GONE_KELVIN else f"over {_GONE_KELVIN:g}"
    axes.annotate(
        f"{highest} K at {at_m[k]:.2f} m",
        (float(at_m[k]), top_kelvin),
        xytext=(-8 if right else 8, -4),
        textcoords="offset points",
        ha="right" if right else "left",
        va="top",
        fontsize=SMALL,
        color=INK,
    )


def png_of(figure: Figure) -> bytes:
    """Save a figure as a PNG image."""
    image = io.BytesIO()
    figure.savefig(image, format="png", metadata={"Software": "cablesim"})
    return image.getvalue()


def _moments(seen: HotSpot) -> FloatArray:
    """Five moments that tell the story: from when it is seen, over the peak, to the end."""
    until = float(seen.times_s[-1])
    first = seen.seen_after_s if seen.seen_after_s is not None else 0.25 * seen.peak_at_s
    first = max(first, until / 600)
    peak = min(max(seen.peak_at_s, 1.05 * first), until)
    # The same factor from one to the next on either side of the peak.
    before = first * (peak / first) ** (np.arange(3) / 2)
    after = peak * (until / peak) ** (np.array([1, 2]) / 2)
    moments = np.concatenate([before, after])
    if peak > 0.8 * until:
        moments = first * (until / first) ** (np.arange(_FRAMES) / (_FRAMES - 1))
    return np.asarray(np.minimum(moments, until), dtype=float)


def _half_width_mm(seen: HotSpot) -> float:
    wanted = max(1.6 * seen.width_mm, 2.0 * seen.floor.depth_mm, 20.0)
    return min(float(10 * math.ceil(wanted / 10)), 1000.0 * float(seen.radii_m[-1]))


def _hot_spot_words(seen: HotSpot) -> tuple[str, str]:
    count = len(seen.bursts)
    start, stop, watt = seen.bursts[0]
    depth = seen.floor.depth_mm
    where = f"{depth:g} mm deep" if depth > 0.0 else "lying open"
    title = f"A hot spot of {watt:g} W, {where}: "
    title += f"{counted(count, 'burst')} of {stop - start:g} s"
    if seen.seen_after_s is None:
        told = f"Not seen by a camera of {seen.camera_kelvin:g} K"
    else:
        told = f"Seen by a camera of {seen.camera_kelvin:g} K "
        told += f"after {duration_words(seen.seen_after_s)}"
    told += f"; peak {seen.peak_kelvin:.3g} K after {duration_words(seen.peak_at_s)}"
    told += f", {seen.width_mm:.0f} mm wide at half of it."
    return title, told + (" Dashed: as wide as it shows." if seen.seen_after_s is not None else "")


def _heading(figure: Figure, title: str, told: str) -> None:
    high = figure.get_figheight()
    figure.text(
        0.027, 1 - 0.2 / high, title, fontsize=TITLE, fontweight="bold", color=INK, va="top",
        parse_math=False,
    )  # fmt: skip
    figure.text(0.027, 1 - 0.47 / high, told, fontsize=TEXT, color=INK, va="top", parse_math=False)
    figure.text(0.027, 0.12 / high, FOOT, fontsize=SMALL, color=GREY, va="bottom")


def _film(
    frames: Sequence[Axes],
    bar: Axes,
    seen: HotSpot,
    moments: FloatArray,
    profiles: FloatArray,
    half_mm: float,
) -> None:
    line = np.linspace(-half_mm, half_mm, _PIXELS)
    distance = np.hypot(*np.meshgrid(line, line)) / 1000.0
    most = max(float(profiles.max()), seen.camera_kelvin)
    # A square root brings out the faint early frames beside the peak.
    norm = PowerNorm(0.5, vmin=0.0, vmax=most)
    for axes, at_s, profile in zip(frames, moments, profiles, strict=True):
        warm = np.interp(distance, seen.radii_m, np.maximum(profile, 0.0))
        extent = (-half_mm, half_mm, -half_mm, half_mm)
        axes.imshow(warm, cmap=_MAP, norm=norm, extent=extent, interpolation="bilinear")
        edge_mm = _edge_mm(seen, profile)
        if 0.0 < edge_mm < half_mm:
            ring = Circle((0.0, 0.0), edge_mm, fill=False, color="white", ls="--", lw=1.0)
            axes.add_patch(ring)
        axes.set_title(f"after {duration_words(float(at_s))}", fontsize=TEXT, color=INK)
        axes.tick_params(labelsize=SMALL)
        axes.set_xlabel("x [mm]", fontsize=SMALL)
        axes.set_xticks([-half_mm / 2, 0.0, half_mm / 2])
        axes.set_yticks([-half_mm / 2, 0.0, half_mm / 2] if axes is frames[0] else [])
    frames[0].set_ylabel("y [mm]", fontsize=SMALL)
    scale = bar.figure.colorbar(ScalarMappable(norm, _MAP), cax=bar)
    bar.set_title("rise [K]", fontsize=SMALL, loc="left", pad=9)
    scale.set_ticks([0.0, most / 16, most / 4, most], labels=["0", *_short(most)])
    bar.tick_params(labelsize=SMALL)


def _short(most: float) -> list[str]:
    return [
        f"{most / part:.0f}" if most / part >= 10 else f"{most / part:.2g}" for part in (16, 4, 1)
    ]


def _edge_mm(seen: HotSpot, profile: FloatArray) -> float:
    """Radius within which the camera shows the patch [mm]."""
    below = profile < seen.camera_kelvin
    if below[0] or not below.any():
        return 0.0
    k = int(np.argmax(below))
    share = (profile[k - 1] - seen.camera_kelvin) / (profile[k - 1] - profile[k])
    return 1000.0 * float(seen.radii_m[k - 1] + share * (seen.radii_m[k] - seen.radii_m[k - 1]))


def _profiles(
    axes: Axes, seen: HotSpot, moments: FloatArray, profiles: FloatArray, half_mm: float
) -> None:
    styles = (":", "-.", "-", "--", (0, (6, 2, 1, 2)))
    shades = (PALE, PALE, INK, BLUE, GREY)
    for at_s, profile, style, shade in zip(moments, profiles, styles, shades, strict=True):
        axes.plot(
            1000.0 * seen.radii_m, profile, ls=style, color=shade, lw=1.6,
            label=f"after {duration_words(float(at_s))}",
        )  # fmt: skip
    axes.axhline(seen.camera_kelvin, color=GREY, lw=1.0, ls=(0, (1, 2)))
    axes.set_xlim(0.0, half_mm)
    axes.set_ylim(0.0, 1.08 * max(float(profiles.max()), 1.5 * seen.camera_kelvin))
    axes.legend(fontsize=SMALL, framealpha=1.0, edgecolor="white", loc="upper right")
    _plain(axes, "distance from the spot [mm]", "rise of the surface [K]")


def _course(axes: Axes, seen: HotSpot) -> None:
    for start, stop, _ in seen.bursts:
        axes.axvspan(start, stop, color=LIGHT, zorder=0, lw=0)
    axes.plot(
        seen.times_s,
        seen.spot_kelvin,
        color=VERMILION,
        lw=1.2,
        ls="--",
        label="spot itself, its mean",
    )
    axes.plot(seen.times_s, seen.surface_kelvin, color=BLUE, lw=1.8, label="surface above it")
    _camera(axes, seen.camera_kelvin)
    if seen.seen_after_s is not None:
        axes.plot(
            seen.seen_after_s, seen.camera_kelvin, color=INK, marker="o", ms=6, ls="none",
            label=f"seen after {duration_words(seen.seen_after_s)}",
        )  # fmt: skip
    axes.set_yscale("log")
    low = min(seen.camera_kelvin, 0.1 * seen.peak_kelvin) / 5.0
    top = 2.0 * max(float(seen.spot_kelvin.max()), seen.camera_kelvin)
    axes.set_ylim(low, 20.0 * top)
    axes.set_xlim(0.0, float(seen.times_s[-1]))
    axes.legend(fontsize=SMALL, frameon=False, loc="upper right")
    _plain(axes, "time from the first burst [s], bursts shaded", "rise [K]")


def _axes(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """Axes placed in inches from the lower left corner."""
    wide, high = figure.get_figwidth(), figure.get_figheight()
    return figure.add_axes((left / wide, bottom / high, width / wide, height / high))


def _camera(axes: Axes, kelvin: float) -> None:
    axes.axhline(kelvin, color=GREY, lw=1.0, ls=(0, (1, 2)))
    axes.annotate(
        f"camera {kelvin:g} K", (1.0, kelvin), xycoords=axes.get_yaxis_transform(),
        xytext=(-4, 3), textcoords="offset points", ha="right", va="bottom", fontsize=SMALL,
        color=INK,
    )  # fmt: skip


def _plain(axes: Axes, x: str, y: str) -> None:
    axes.set_xlabel(x, fontsize=TEXT)
    axes.set_ylabel(y, fontsize=TEXT)
    axes.tick_params(labelsize=SMALL)
    axes.spines[["top", "right"]].set_visible(False)
