"""The figures of the calibration check."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import NullFormatter
from validation.calibration import Record
from validation.calibration_groups import classical, efficiency, held, kind_of, placed, ranks
from validation.calibration_measures import BINS, coverage, rank_histogram, reliability

from cablesim.report.style import BLUE, GREY, INK, LIGHT, SMALL, TEXT, VERMILION


def figure(records: Sequence[Record]) -> Figure:
    """Intervals by kind, ranks with those of an overconfident answer, reliability."""
    drawn = Figure(figsize=(11.5, 4.0), dpi=130, facecolor="white", layout="constrained")
    left, middle, right = drawn.subplots(1, 3)
    cases = placed(records)
    kinds = sorted({kind_of(r) for r in cases})
    groups = [("all", cases), *((k, [r for r in cases if kind_of(r) == k]) for k in kinds)]
    for row, (_, group) in enumerate(groups):
        for k, check in enumerate(coverage(held(group))):
            at = row + 0.12 * (-1) ** k
            left.plot([check.wanted] * 2, [row - 0.35, row + 0.35], color=GREY, lw=1)
            # A share beyond 0 or 1 is none.
            ends = [[min(check.spread, check.found)], [min(check.spread, 1.0 - check.found)]]
            left.errorbar(check.found, at, xerr=ends, fmt="o", ms=3.5, color=BLUE, lw=1.2)
    left.set_yticks(range(len(groups)), [f"{name} ({len(group)})" for name, group in groups])
    left.invert_yaxis()
    left.set_xlim(0.2, 1.03)
    _dressed(left, "Intervals that hold the truth", "share of the intervals; grey: as stated")
    counts = rank_histogram(ranks(cases))
    even = counts.sum() / BINS
    edges = np.linspace(0, 1, BINS + 1)
    middle.axhspan(even - 2 * even**0.5, even + 2 * even**0.5, color=LIGHT, lw=0)
    middle.stairs(counts, edges, color=BLUE, lw=1.6, label="as answered")
    narrow = rank_histogram(ranks(cases, "narrow_rank"))
    middle.stairs(narrow, edges, color=VERMILION, lw=1.2, ls="--", label="overconfident")
    middle.set_ylim(0, 1.3 * max(counts.max(), narrow.max(), 1))
    middle.set_ylabel("cases", fontsize=SMALL)
    middle.legend(fontsize=SMALL, frameon=False, loc="upper center")
    _dressed(middle, "Rank of the true place", "share of the posterior below it; grey: two sigma")
    chances = [r.chances for r in records if r.chances]
    right.plot([0, 1], [0, 1], color=GREY, lw=1)
    for check in reliability(chances):
        right.errorbar(
            check.wanted, check.found, yerr=check.spread, fmt="o", ms=4, color=BLUE, capsize=2
        )
        right.annotate(
            f"{check.n}",
            (check.wanted, check.found),
            (7, -4) if check.wanted < 0.5 else (-7, -4),
            ha="left" if check.wanted < 0.5 else "right",
            textcoords="offset points",
            fontsize=SMALL - 1,
            color=GREY,
        )
    right.set_ylim(-0.03, 1.03)
    _dressed(right, "Verdicts that are true", "probability stated; small: how many")
    right.set_ylabel("share that is true", fontsize=SMALL)
    return drawn


def error_figure(records: Sequence[Record]) -> Figure:
    """RMS error of classes of cases beside their bound, and beside classical formulas."""
    drawn = Figure(figsize=(9.5, 4.2), dpi=130, facecolor="white", layout="constrained")
    left, right = drawn.subplots(1, 2)
    for axes, rows, other, named in (
        (
            left,
            [(r.name, r.n, r.error_m, r.bound_m) for r in efficiency(records)],
            "bound",
            "RMS error",
        ),
        (right, [(r[0], r[1], r[5], r[4]) for r in classical(records)], "formula", "Median error"),
    ):
        for k, (_, _, ours, theirs) in enumerate(rows):
            axes.plot([ours, theirs], [k, k], color=LIGHT, lw=3, zorder=0)
            first = k == 0
            axes.plot(ours, k, "o", color=BLUE, label="locate" if first else None)
            axes.plot(theirs, k, "D", ms=5, color=VERMILION, label=other if first else None)
        axes.set_yticks(
            range(len(rows)), [f"{name.replace('_', ' ')} ({n})" for name, n, *_ in rows]
        )
        axes.set_ylim(len(rows) + 0.2, -0.6)  # room for the legend
        axes.set_xscale("log")
        if rows:
            axes.legend(fontsize=SMALL, frameon=False, loc="lower left", ncols=2)
        axes.xaxis.set_major_formatter(lambda metres, _: f"{metres:g}")
        axes.xaxis.set_minor_formatter(NullFormatter())
        ends = [metres for _, _, *pair in rows for metres in pair if metres > 0] or [1.0]
        low, high = min(ends), max(ends)
        # Whole decades, so that there are ticks to read.
        axes.set_xlim(10.0 ** np.floor(np.log10(low)), 10.0 ** np.ceil(np.log10(high) + 1e-9))
        _dressed(axes, f"{named}: locate and {other}", "distance from the true place [m]")
    return drawn


def _dressed(axes: Axes, title: str, below: str) -> None:
    axes.set_title(title, fontsize=TEXT, color=INK, loc="left")
    axes.set_xlabel(below, fontsize=SMALL)
    axes.tick_params(labelsize=SMALL)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
