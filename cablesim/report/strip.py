"""The cable drawn as a strip: cold lead, joints, conductors, and the damage on them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from matplotlib.patches import Rectangle

from cablesim.cable.cable import Cable
from cablesim.locate.estimate import FaultEstimate
from cablesim.report.style import BLUE, GREY, INK, LIGHT, SMALL
from cablesim.report.words import by_place, worth_naming

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["OTHER", "draw_strip", "mark_intervals"]

# Heights are in conductors' spacings, the lowest conductor at 0.
_COVER = 0.75
_LEAD_COVER = 0.55
# A cold lead shorter than this share of the drawing has no room for its name, which then shares a
# line with that of the joint.
_NAMED = 0.07
# From a joint to the name of the lead beyond it, so that it does not run into the joint's [points].
_BESIDE = 8.0
# How the outline of a second place is dashed.
OTHER = (0, (3, 1.5))


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
    short_before, short_after = (
        0.0 < lead <= _NAMED * (last - first) for lead in (-first, last - length)
    )
    for position, name, side, at in (
        (
            0.0,
            "cold lead, cold joint" if short_before else "cold joint",
            "left",
            first if short_before else 0.0,
        ),
        (
            length,
            f"{far}, cold lead" if short_after else far,
            "right",
            last if short_after else length,
        ),
    ):
        width = 0.006 * (last - first)
        axes.add_patch(
            Rectangle(
                (position - width / 2, -_COVER), width, top + 2 * _COVER, color=GREY, zorder=3
            )
        )
        axes.text(at, -1.0, name, ha=side, va="top", fontsize=SMALL, color=INK)
    for low, high, joint, side, beside in (
        (first, 0.0, 0.0, "right", -_BESIDE),
        (length, last, length, "left", _BESIDE),
    ):
        if high - low > _NAMED * (last - first):
            axes.annotate(
                "cold lead",
                (joint, -1.0),
                (beside, 0.0),
                textcoords="offset points",
                ha=side,
                va="top",
                fontsize=SMALL,
                color=GREY,
            )
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


def mark_intervals(axes: Axes, faults: Sequence[FaultEstimate]) -> None:
    """Mark on a strip where damage may lie: the first place filled, any other one outlined.

    Parameters
    ----------
    axes
        From `draw_strip`.
    faults
        Damage as located.
    """
    bottom, top = axes.get_ylim()
    span = ((-_COVER - bottom) / (top - bottom), 1 - 0.85 / (top - bottom))
    for number, group in enumerate(by_place(faults)):
        for low, high in group[0].intervals_m:
            # The edge keeps a narrow interval visible.
            if number == 0:
                axes.axvspan(low, high, *span, fc=BLUE, ec=BLUE, alpha=0.4, lw=1.2, zorder=4)
            else:
                axes.axvspan(low, high, *span, fc="none", ec=BLUE, ls=OTHER, lw=1.6, zorder=4.5)


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
