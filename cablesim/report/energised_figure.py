"""The figure of an energised cable: watt per metre along it, healthy beside damaged."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray
from cablesim.locate.estimate import FaultEstimate
from cablesim.report.energised import EnergisedAnswer
from cablesim.report.quantities import amount_words
from cablesim.report.saving import png_of
from cablesim.report.strip import draw_strip
from cablesim.report.style import AXIS_LABEL, BLUE, GREY, INK, SMALL, TEXT, TITLE, VERMILION
from cablesim.report.words import one_line

__all__ = ["energised_figure", "energised_png"]

_DOTS_PER_INCH = 150
_POINTS = 400
_FOOT = (
    "Live work only by licensed people, behind a residual-current device, never on a damaged cable "
    "left alone. Local codes come first."
)
# Where one part is this much hotter than the healthy cable, a linear scale would hide the rest.
_LOG_FROM = 30.0


def energised_figure(answer: EnergisedAnswer) -> Figure:
    """Draw the heat along a cable on its supply.

    Parameters
    ----------
    answer
        What goes on.
    """
    figure = Figure(figsize=(9.6, 5.4), dpi=_DOTS_PER_INCH, facecolor="white")
    upper = figure.add_axes((0.09, 0.40, 0.87, 0.42))
    strip = figure.add_axes((0.09, 0.14, 0.87, 0.2))
    leaks = amount_words(1e-3 * answer.residual_milliamp[1], "A")
    told = (
        f"at {answer.volt:g} V: {float(answer.damaged.watt):.0f} W instead of "
        f"{float(answer.healthy.watt):.0f} W; residual current "
        f"{leaks}, "
        f"a device of {answer.rcd_milliamp:g} mA {answer.rcd}"
    )
    figure.text(0.02, 0.965, one_line(answer.title) or "Energised cable", fontsize=TITLE,
                fontweight="bold", va="top", color=INK, parse_math=False)  # fmt: skip
    figure.text(0.02, 0.905, told, fontsize=TEXT, va="top", color=INK, parse_math=False)
    figure.text(0.02, 0.02, _FOOT, fontsize=SMALL, color=GREY)
    draw_strip(strip, answer.cable, [_drawn(fault) for fault in answer.parts[0].faults])
    _heat(upper, answer)
    upper.set_xlim(strip.get_xlim())
    strip.set_xlabel(AXIS_LABEL, fontsize=TEXT)
    for axes in (upper, strip):
        axes.tick_params(axis="x", labelsize=SMALL)
    return figure


def energised_png(answer: EnergisedAnswer) -> bytes:
    """Draw it as a PNG image."""
    return png_of(lambda: energised_figure(answer))


def _drawn(fault: Fault) -> FaultEstimate:
    """A true fault as something that the strip can draw."""
    at_m = float(fault.position_m)
    between = getattr(fault, "between", None)
    kind = "degraded" if fault.kind == "flashover" else fault.kind
    conductors = None if between else getattr(fault, "conductors", None)
    return FaultEstimate(kind, between, conductors, at_m, (at_m, at_m), ((at_m, at_m),), None)


def _heat(axes: Axes, answer: EnergisedAnswer) -> None:
    places = _places(answer)
    healthy, damaged = (e.at(places).watt_per_m for e in (answer.healthy, answer.damaged))
    axes.plot(places, healthy, color=GREY, lw=1.4, ls=(0, (5, 2)), label="healthy")
    axes.plot(places, damaged, color=BLUE, lw=1.8, label="damaged")
    axes.fill_between(places, damaged, color=BLUE, alpha=0.15, lw=0)
    wide = damaged.max() > _LOG_FROM * max(healthy.max(), 1e-12)
    if wide:
        axes.set_yscale("symlog", linthresh=max(healthy.max(), 1e-9))
        axes.set_ylim(bottom=0.0)
    else:
        axes.set_ylim(0.0, 1.25 * max(healthy.max(), damaged.max(), 1e-9))
    watts = answer.damaged.lump_watt.tolist()
    shown = False
    # The faults of the main cable, which is the one that is drawn, come first.
    for fault, watt in zip(answer.parts[0].faults, watts, strict=False):
        if watt < 1e-3:
            continue
        at_m = float(fault.position_m)
        label = None if shown else "heat at a point, in W and not on the scale"
        axes.plot(at_m, 0.5, transform=axes.get_xaxis_transform(), marker="D", ms=7, ls="none",
                  color=VERMILION, mec="white", label=label, zorder=5)  # fmt: skip
        right = at_m > 0.8 * float(answer.cable.last_m)
        axes.annotate(f"{watt:.3g} W", (at_m, 0.5), xycoords=axes.get_xaxis_transform(),
                      xytext=(-8 if right else 8, 6), textcoords="offset points",
                      ha="right" if right else "left", fontsize=SMALL, color=INK)  # fmt: skip
        shown = True
    axes.set_ylabel("heat [W/m]", fontsize=TEXT)
    axes.tick_params(labelsize=SMALL, labelbottom=False)
    axes.grid(axis="y", color="#e0e0e0", lw=0.6)
    axes.spines[["right", "top"]].set_visible(False)
    axes.legend(loc="lower right", bbox_to_anchor=(1.0, 1.0), ncols=3, fontsize=SMALL,
                frameon=False)  # fmt: skip


def _places(answer: EnergisedAnswer) -> FloatArray:
    """Evenly along the cable, and on both sides of every place where something changes."""
    marks = np.array(answer.damaged.marks_m())
    even = np.linspace(marks[0], marks[-1], _POINTS)
    inner = marks[1:-1]
    apart = 1e-9 * (marks[-1] - marks[0])
    every = np.concatenate([even, inner - apart, inner])
    return np.unique(np.clip(every, marks[0], marks[-1]))
