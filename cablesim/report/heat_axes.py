"""What figures of heat share: their colours, heading, foot, and the line of the camera.

Warmth is drawn in cividis, whose lightness rises evenly and which colour-blind eyes read as others
do (from memory of Nunez, Anderton and Renslow, PLoS ONE 13, 2018).
"""

from __future__ import annotations

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cablesim.report.style import GREY, INK, SMALL, TEXT, TITLE

__all__ = ["FOOT", "MAP", "camera_line", "dress", "plain_axes"]

MAP = "cividis"
FOOT = (
    "Mains, high voltage, a hot spot: licensed practice and local codes first. Computed for dry "
    "layers in full contact."
)


def dress(figure: Figure, title: str, told: str) -> None:
    """Put a title and the line below it at the top of a figure, the caution at its foot."""
    high = figure.get_figheight()
    figure.text(
        0.027, 1 - 0.2 / high, title, fontsize=TITLE, fontweight="bold", color=INK, va="top",
        parse_math=False,
    )  # fmt: skip
    figure.text(0.027, 1 - 0.47 / high, told, fontsize=TEXT, color=INK, va="top", parse_math=False)
    figure.text(0.027, 0.12 / high, FOOT, fontsize=SMALL, color=GREY, va="bottom")


def camera_line(axes: Axes, kelvin: float) -> None:
    """Draw the smallest rise that the camera shows [K], and say so at the right end."""
    axes.axhline(kelvin, color=GREY, lw=1.0, ls=(0, (1, 2)))
    axes.annotate(
        f"camera {kelvin:g} K", (1.0, kelvin), xycoords=axes.get_yaxis_transform(),
        xytext=(-4, 3), textcoords="offset points", ha="right", va="bottom", fontsize=SMALL,
        color=INK,
    )  # fmt: skip


def plain_axes(axes: Axes, x: str, y: str) -> None:
    """Name the axes, and leave out the frame above and at the right."""
    axes.set_xlabel(x, fontsize=TEXT)
    axes.set_ylabel(y, fontsize=TEXT)
    axes.tick_params(labelsize=SMALL)
    axes.spines[["top", "right"]].set_visible(False)
