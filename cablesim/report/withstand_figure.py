"""The figure of a withstand test: voltage and current against time, energy of each burst."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cablesim.instruments.withstand import WithstandTest
from cablesim.report.quantities import across_words, meter_words
from cablesim.report.saving import png_of
from cablesim.report.style import BLUE, GREY, INK, SMALL, TEXT, TITLE, VERMILION
from cablesim.report.words import fault_words, one_line

__all__ = ["withstand_figure", "withstand_png"]

_DOTS_PER_INCH = 150
_FOOT = (
    "Licensed persons only; nobody on the floor or near the ends; discharge after each burst. "
    "Local codes come first."
)


def withstand_figure(test: WithstandTest, title: str = "") -> Figure:
    """Draw one withstand test.

    Parameters
    ----------
    test
        The test.
    title
        One line above it.
    """
    figure = Figure(figsize=(9.6, 4.8), dpi=_DOTS_PER_INCH, facecolor="white")
    probe = test.probe
    named = f"{meter_words(probe)}, {across_words(probe.hookup.across)}"
    head = one_line(title) or named
    figure.text(0.02, 0.955, head, fontsize=TITLE, fontweight="bold", va="top", color=INK,
                parse_math=False)  # fmt: skip
    told = _told(test)
    figure.text(0.02, 0.89, f"{named}: {told}" if title else told, fontsize=TEXT, va="top",
                color=INK, parse_math=False)  # fmt: skip
    figure.text(0.02, 0.02, _FOOT, fontsize=SMALL, color=GREY)
    wide = 0.56 if test.bursts else 0.89
    upper = figure.add_axes((0.085, 0.5, wide, 0.3))
    lower = figure.add_axes((0.085, 0.15, wide, 0.3), sharex=upper)
    _ramp(upper, lower, test)
    if test.bursts:
        _bursts(figure.add_axes((0.74, 0.15, 0.235, 0.65)), test)
    return figure


def withstand_png(test: WithstandTest, title: str = "") -> bytes:
    """Draw one withstand test as a PNG image.

    Parameters
    ----------
    test, title
        As for `withstand_figure`.
    """
    return png_of(lambda: withstand_figure(test, title))


def _told(test: WithstandTest) -> str:
    if not test.trips:
        return "no trip"
    # A flashover is always that of a fault; without one it is the cable's own current.
    what = "by its current" if test.fault is None else f"at the {fault_words(test.fault)}"
    return f"trips at {test.trip_volt:.0f} V {what}"


def _ramp(upper: Axes, lower: Axes, test: WithstandTest) -> None:
    upper.plot(test.seconds, test.volt, color=BLUE, lw=1.8)
    upper.set_ylabel("voltage [V]", fontsize=TEXT)
    upper.tick_params(labelbottom=False)
    upper.set_ylim(0, 1.15 * float(test.volt.max()))
    milliamp = test.ampere * 1e3
    limit = test.limit_ampere * 1e3
    floor = max(float(milliamp[milliamp > 0].min(initial=limit)) / 3, limit * 1e-7)
    lower.semilogy(test.seconds, np.maximum(milliamp, floor), color=BLUE, lw=1.8)
    lower.axhline(limit, color=GREY, lw=0.9, ls="--")
    lower.text(0.01, limit * 1.2, f"trips at {limit:g} mA", fontsize=SMALL, color=GREY,
               transform=lower.get_yaxis_transform(), va="bottom")  # fmt: skip
    lower.set_ylim(floor, limit * 10)
    lower.set_ylabel("current [mA]", fontsize=TEXT)
    lower.set_xlabel("time [s]", fontsize=TEXT)
    if test.trips:
        at = float(test.seconds[test.volt == test.trip_volt][0])
        for axes in (upper, lower):
            axes.axvline(at, color=VERMILION, lw=0.8, ls=":")
        upper.plot(at, test.trip_volt, color=VERMILION, marker="D", ms=6)
        upper.annotate(f"{test.trip_volt:.0f} V", (at, test.trip_volt), xytext=(-8, 4),
                       textcoords="offset points", ha="right", fontsize=TEXT)  # fmt: skip
    for axes in (upper, lower):
        axes.grid(color="#e0e0e0", lw=0.6)
        axes.tick_params(labelsize=SMALL)
        axes.spines[["right", "top"]].set_visible(False)


def _bursts(axes: Axes, test: WithstandTest) -> None:
    names = [f"{burst.seconds:g} s" for burst in test.bursts]
    given = np.array([burst.from_cable_joule for burst in test.bursts])
    whole = np.array([burst.joule for burst in test.bursts])
    axes.bar(names, whole - given, color=VERMILION, width=0.6, label="from the tester")
    if given.any():
        axes.bar(names, given, bottom=whole - given, color=BLUE, width=0.6, hatch="///",
                 edgecolor="white", label="charge of the cable")  # fmt: skip
    axes.set_ylim(0, 1.35 * whole.max())
    axes.set_ylabel("energy in the damage [J]", fontsize=TEXT)
    axes.set_xlabel("burst", fontsize=TEXT)
    axes.tick_params(labelsize=SMALL)
    axes.spines[["right", "top"]].set_visible(False)
    axes.legend(frameon=False, fontsize=SMALL, loc="upper left")
