"""A hot spot as a figure: a film strip, its profile and its course."""

from __future__ import annotations

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
from cablesim.report.heat_axes import MAP, camera_line, dress, plain_axes
from cablesim.report.saving import png_of
from cablesim.report.style import (
    BLUE,
    GREY,
    INK,
    LIGHT,
    PALE,
    SMALL,
    TEXT,
    VERMILION,
)
from cablesim.report.words import counted
from cablesim.site.heat import HotSpot

__all__ = ["hot_spot_figure", "hot_spot_png"]

_FRAMES = 5
_PIXELS = 121
# Heights, widths and places of the hot spot's figure [inch].
_HIGH_INCH, _LEFT_INCH, _FILM_INCH, _FRAME_INCH, _BETWEEN_INCH = 6.3, 0.75, 3.85, 1.36, 0.24


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
    dress(figure, *_hot_spot_words(seen))
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
    return png_of(lambda: hot_spot_figure(seen))


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
        axes.imshow(warm, cmap=MAP, norm=norm, extent=extent, interpolation="bilinear")
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
    scale = bar.figure.colorbar(ScalarMappable(norm, MAP), cax=bar)
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
    plain_axes(axes, "distance from the spot [mm]", "rise of the surface [K]")


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
    camera_line(axes, seen.camera_kelvin)
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
    plain_axes(axes, "time from the first burst [s], bursts shaded", "rise [K]")


def _axes(figure: Figure, left: float, bottom: float, width: float, height: float) -> Axes:
    """Axes placed in inches from the lower left corner."""
    wide, high = figure.get_figwidth(), figure.get_figheight()
    return figure.add_axes((left / wide, bottom / high, width / wide, height / high))
