"""The figure of an insulation test: apparent resistance, and its three currents, against time."""

from __future__ import annotations

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cablesim.instruments.absorption import READ_AT_S, InsulationTest
from cablesim.report.insulation import InsulationPair
from cablesim.report.quantities import across_words, meter_words
from cablesim.report.saving import png_of
from cablesim.report.style import BLUE, GREY, INK, SMALL, TEXT, TITLE, VERMILION
from cablesim.report.words import one_line

__all__ = ["insulation_figure", "insulation_png"]

_DOTS_PER_INCH = 150
_FOOT = (
    "Nobody on the floor or at the ends; discharge the cable afterwards. "
    "Local codes and licensed practice come first."
)


def insulation_figure(pair: InsulationPair, title: str = "") -> Figure:
    """Draw one insulation test, healthy beside damaged.

    Left, the apparent resistance against time; right, the currents of the damaged cable.

    Parameters
    ----------
    pair
        The test.
    title
        One line above it.
    """
    figure = Figure(figsize=(9.6, 4.6), dpi=_DOTS_PER_INCH, facecolor="white")
    left = figure.add_axes((0.075, 0.16, 0.4, 0.62))
    right = figure.add_axes((0.575, 0.16, 0.4, 0.62))
    probe = pair.probe
    named = f"{meter_words(probe)}, {across_words(probe.hookup.across)}"
    figure.text(0.02, 0.95, one_line(title) or named, fontsize=TITLE, fontweight="bold", va="top",
                color=INK, parse_math=False)  # fmt: skip
    told = (
        f"absorption ratio {pair.damaged.absorption_ratio:.3f}, "
        f"polarization index {pair.damaged.polarization_index:.3f} (damaged cable)"
    )
    figure.text(0.02, 0.885, f"{named}: {told}" if title else told, fontsize=TEXT, va="top",
                color=INK, parse_math=False)  # fmt: skip
    figure.text(0.02, 0.02, _FOOT, fontsize=SMALL, color=GREY)
    _resistances(left, pair)
    _currents(right, pair.damaged)
    for axes in (left, right):
        axes.set_xlabel("time since the voltage was put on [s]", fontsize=TEXT)
        axes.tick_params(labelsize=SMALL)
        axes.grid(which="major", color="#e0e0e0", lw=0.6)
        axes.spines[["right", "top"]].set_visible(False)
    return figure


def insulation_png(pair: InsulationPair, title: str = "") -> bytes:
    """Draw one insulation test as a PNG image.

    Parameters
    ----------
    pair, title
        As for `insulation_figure`.
    """
    return png_of(lambda: insulation_figure(pair, title))


def _resistances(axes: Axes, pair: InsulationPair) -> None:
    for test, colour, style, name in (
        (pair.healthy, BLUE, "--", "healthy"),
        (pair.damaged, VERMILION, "-", "damaged"),
    ):
        megohm = test.apparent_ohm / 1e6
        axes.loglog(test.seconds, megohm, color=colour, ls=style, lw=1.8, label=name)
        read = np.array(test.read_ohm) / 1e6
        axes.loglog(READ_AT_S, read, color=colour, ls="none", marker="o", ms=4.5)
    for seconds, name in zip(READ_AT_S, ("15 s", "30 s", "60 s", "10 min"), strict=True):
        axes.axvline(seconds, color=GREY, lw=0.6, ls=":")
        # Above the axes, where no curve can lie; 15 s, 30 s and 60 s are too close for one row.
        up = 1.01 if name != "30 s" else 1.06
        axes.text(seconds, up, name, transform=axes.get_xaxis_transform(), fontsize=7, color=GREY,
                  ha="center")  # fmt: skip
    axes.set_ylabel("apparent resistance [Mohm]", fontsize=TEXT)
    axes.legend(
        frameon=False, fontsize=SMALL, loc="lower left", bbox_to_anchor=(-0.02, 1.0), ncols=2,
        borderaxespad=0.2, columnspacing=1.0, handlelength=1.8,
    )  # fmt: skip


def _currents(axes: Axes, test: InsulationTest) -> None:
    law = test.insulation.absorption
    farad = test.insulation.capacitance_farad
    volt = test.volt[-1]
    absorbed = volt * farad * np.asarray(law.siemens_per_farad(test.seconds))
    axes.loglog(test.seconds, test.ampere * 1e6, color=INK, lw=1.8, label="in all")
    drawn = test.ampere[test.ampere > 0] * 1e6
    low = drawn.min() / 30
    leak = np.full_like(test.seconds, volt * test.insulation.leak_siemens)
    for ampere, colour, style, name in (
        (absorbed, BLUE, "--", "absorption"),
        (leak, VERMILION, ":", "leakage"),
    ):
        most = float(ampere.max()) * 1e6
        if most > low:
            axes.loglog(test.seconds, ampere * 1e6, color=colour, lw=1.2, ls=style, label=name)
        elif most > 0:
            # Beside the current of a bad leak: said, since it would lie below the axes.
            axes.plot([], [], ls="none", label=f"{name} up to {most:.1g} uA")
    axes.set_ylim(low, drawn.max() * 8)
    axes.set_ylabel("current, damaged cable [uA]", fontsize=TEXT)
    axes.legend(frameon=False, fontsize=TEXT, loc="upper right")
