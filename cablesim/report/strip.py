"""The cable drawn as a strip: cold lead, joints, conductors, and the damage on them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from matplotlib.patches import Rectangle

from cablesim.cable.cable import Cable
from cablesim.locate.estimate import FaultEstimate
from cablesim.report.style import GREY, INK, LIGHT, SMALL
from cablesim.report.words import worth_naming

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_strip"]

# Heights are in conductors' spacings, the lowest conductor at 0.
_COVER = 0.75
_LEAD_COVER = 0.55
# A cold lead shorter than this share of the drawing has no room for its name.
_NAMED = 0.07


def draw_strip(axes: Axes, cable: Cable, faults: Iterable[FaultEstimate] = ()) -> None:
    """Draw a cable along the x axis, with the symbols of its damage at their best places.

    Parameters
    ----------
    axes
        Empty axes; afterwards x is metres from the cold joint.
    cable
        As rated.
    faults
        Damage to draw where its place is known well enough: a link for a short, a dotted link for a
        leak, a broken one with stars for a flashover, a gap for a break, a square for a bad joint.
    """
    heights = {name: float(k) for k, name in enumerate(reversed(cable.conductors))}
    top = max(heights.values())
    first, length, last = float(cable.first_m), float(cable.heated_length_m), float(cable.last_m)
    margin = 0.02 * (last - first)
    axes.patch.set_visible(False)
    axes.set_xlim(first - margin, last + margin)
    axes.set_ylim(-2.0, top + 1.6)
    _covers(axes, cable, top)
    for name, height in heights.items():
        style = (0, (5, 1.2)) if name == "braid" else "solid"
        axes.plot([first, last], [height, height], color=GREY, lw=1.3, ls=style, zorder=2)
    if cable.far_end == "joined":
        ends = [heights[core] for core in cable.construction.cores]
        axes.plot([last, last], [min(ends), max(ends)], color=GREY, lw=1.3, zorder=2)
    far = "far cold joint" if cable.construction.returns else f"far end ({cable.far_end})"
    for position, name, side in ((0.0, "cold joint", "left"), (length, far, "right")):
        width = 0.006 * (last - first)
        axes.add_patch(
            Rectangle(
                (position - width / 2, -_COVER), width, top + 2 * _COVER, color=GREY, zorder=3
            )
        )
        axes.text(position, -1.0, name, ha=side, va="top", fontsize=SMALL, color=INK)
    beside = 0.012 * (last - first)
    for low, high, where, side in (
        (first, 0.0, -beside, "right"),
        (length, last, length + beside, "left"),
    ):
        if high - low > _NAMED * (last - first):
            axes.text(where, -1.0, "cold lead", ha=side, va="top", fontsize=SMALL, color=GREY)
    axes.set_yticks(list(heights.values()), list(heights), fontsize=SMALL, color=INK)
    axes.tick_params(axis="y", length=0)
    axes.spines[["left", "right", "top"]].set_visible(False)
    drawn = [fault for fault in faults if worth_naming(fault, cable)]
    links = {fault.position_m for fault in drawn if fault.between is not None}
    half = 0.008 * (last - first)
    for fault in drawn:
        # A break beside a short at one place is drawn beyond it, so that both can be seen.
        beyond = 2 * half if fault.between is None and fault.position_m in links else 0.0
        _symbol(axes, fault, fault.position_m + beyond, heights, half)


def _covers(axes: Axes, cable: Cable, top: float) -> None:
    first, length, last = float(cable.first_m), float(cable.heated_length_m), float(cable.last_m)
    for low, high, cover in [
        (first, 0.0, _LEAD_COVER),
        (0.0, length, _COVER),
        (length, last, _LEAD_COVER),
    ]:
        heated = (low, high) == (0.0, length)
        axes.add_patch(
            Rectangle(
                (low, -cover),
                high - low,
                top + 2 * cover,
                facecolor=LIGHT if heated else "white",
                edgecolor=GREY,
                lw=0.8,
                zorder=1,
            )
        )


def _symbol(
    axes: Axes, fault: FaultEstimate, x: float, heights: dict[str, float], half_width_m: float
) -> None:
    if fault.between is not None:
        ends = [heights[name] for name in fault.between]
        style = {"degraded": (0, (1, 1)), "flashover": (0, (3, 1, 1, 1))}.get(fault.kind, "solid")
        axes.plot([x, x], ends, color=INK, lw=2.2, ls=style, zorder=5)
        mark = "*" if fault.kind == "flashover" else "o"
        axes.plot([x, x], ends, color=INK, ls="none", marker=mark, ms=5.5 if mark == "o" else 9,
                  zorder=6)  # fmt: skip
        return
    for name in fault.conductors or ():
        y = heights[name]
        if fault.kind == "break":
            gap = [x - half_width_m, x + half_width_m]
            axes.plot(gap, [y, y], color="white", lw=4, solid_capstyle="butt", zorder=4)
            axes.plot(x, y, color=INK, marker="x", ms=7, mew=2.2, zorder=6)
        else:
            axes.plot(x, y, color=INK, marker="s", ms=7, mfc="white", mew=1.8, zorder=6)
