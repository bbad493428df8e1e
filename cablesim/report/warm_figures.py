"""The warm and the cold floor above a cable on its supply, from above and along the cable."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cablesim.cable.numbers import FloatArray
from cablesim.report.figures import DOTS_PER_INCH, WIDTH_INCH
from cablesim.report.heat_axes import MAP, camera_line, dress, plain_axes
from cablesim.report.style import AXIS_LABEL, BLUE, INK, PALE, SMALL, TEXT, VERMILION

__all__ = ["above_cable_figure", "end_scale", "warm_floor_figure"]

# Beyond this no floor is left whose rise could be computed [K]; common practice, no source.
_GONE_KELVIN = 1000.0
_WARM_TOLD = "Line: the cable; dot: its cold joint; cross: the damage."


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
    dress(figure, title, f"{told} {_WARM_TOLD}".strip())
    axes = figure.add_axes((0.08, 0.85 / height, 0.78, 1 - 1.75 / height))
    highest = float(rise_kelvin.max())
    most = highest if most_kelvin is None else min(highest, most_kelvin)
    image = axes.imshow(
        rise_kelvin,
        extent=(float(x_m[0]), float(x_m[-1]), float(y_m[0]), float(y_m[-1])),
        origin="lower",
        cmap=MAP,
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
    dress(figure, title, f"{told} Shaded where the camera shows it warm.".strip())
    axes = figure.add_axes((0.08, 0.24, 0.89, 0.53))
    warm = rise_kelvin >= camera_kelvin
    axes.fill_between(at_m, 0.0, rise_kelvin, where=warm.tolist(), color=PALE, lw=0)
    axes.plot(at_m, rise_kelvin, color=BLUE, lw=1.6)
    axes.set_xlim(float(at_m[0]), float(at_m[-1]))
    top = 1.15 * max(float(rise_kelvin.max()), camera_kelvin)
    end_scale(axes, at_m, rise_kelvin, top if most_kelvin is None else min(top, most_kelvin))
    camera_line(axes, camera_kelvin)
    plain_axes(axes, AXIS_LABEL, "rise of the surface [K]")
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
