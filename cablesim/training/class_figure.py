"""A class as a figure: everybody's mean by topic, and their total."""

from __future__ import annotations

import numpy as np
from matplotlib.figure import Figure

from cablesim.report.saving import png_of
from cablesim.report.style import GREY, INK, LIGHT, SMALL, TEXT, TITLE, ink_on
from cablesim.report.words import counted, one_line
from cablesim.training.class_table import ClassTable
from cablesim.training.marking import TOPICS

__all__ = ["class_figure", "class_png"]

_ROW, _COLUMN, _LEFT, _RIGHT, _TOP, _BOTTOM = 0.34, 0.85, 2.2, 2.4, 1.1, 0.65  # inch
_MOST_ROWS = 60
_NAME = 26  # characters
FOOT = (
    "Mean score of each topic, 0 to 100; dark is weak, empty never came up. Damage, place and "
    "interval are\nheld against the best answer that the readings taken allowed."
)


def class_figure(table: ClassTable) -> Figure:
    """Draw the class, the weakest first; the first sixty where there are more.

    Parameters
    ----------
    table
        At least one mark.
    """
    names = sorted(table.trainees, key=table.total)[:_MOST_ROWS]
    wide = _LEFT + _COLUMN * (len(TOPICS) + 1) + _RIGHT
    high = _TOP + _ROW * len(names) + _BOTTOM
    figure = Figure(figsize=(wide, high), dpi=150, facecolor="white")
    axes = figure.add_axes(
        (
            _LEFT / wide,
            _BOTTOM / high,
            _COLUMN * (len(TOPICS) + 1) / wide,
            _ROW * len(names) / high,
        )
    )
    scores = np.full((len(names), len(TOPICS) + 1), np.nan)
    for row, name in enumerate(names):
        means = table.by_topic(name)
        scores[row] = [*(np.nan if s is None else s for s in means.values()), table.total(name)]
    axes.set_facecolor(LIGHT)
    image = axes.imshow(scores, cmap="Blues_r", vmin=0.0, vmax=100.0, aspect="auto")
    for (row, column), score in np.ndenumerate(scores):
        if np.isfinite(score):
            axes.text(
                column,
                row,
                f"{score:.0f}",
                ha="center",
                va="center",
                fontsize=TEXT,
                color=ink_on(tuple(image.to_rgba(score))),
            )
    axes.axvline(len(TOPICS) - 0.5, color="white", linewidth=4.0)
    axes.set_xticks(range(len(TOPICS) + 1), [*TOPICS, "total"], fontsize=TEXT)
    axes.xaxis.tick_top()
    axes.set_yticks(range(len(names)), [_shortened(name) for name in names], fontsize=TEXT)
    axes.tick_params(length=0)
    for spine in axes.spines.values():
        spine.set_visible(False)
    for row, name in enumerate(names):
        proposed = table.next_case(name)
        kind = f", {proposed.kind}" if proposed.kind else ""
        axes.text(
            len(TOPICS) + 0.7,
            row,
            f"next: level {proposed.level}{kind}",
            va="center",
            fontsize=SMALL,
            color=INK,
        )
    heading = counted(len(table.marks), "marked case")
    figure.text(0.15 / wide, 1 - 0.3 / high, heading, fontsize=TITLE,
                fontweight="bold", color=INK, va="center", parse_math=False)  # fmt: skip
    figure.text(0.15 / wide, 0.3 / high, FOOT, fontsize=SMALL, color=GREY, va="center")
    return figure


def class_png(table: ClassTable) -> bytes:
    """The same as the bytes of a PNG.

    Parameters
    ----------
    table
        As for `class_figure`.
    """
    return png_of(lambda: class_figure(table))


def _shortened(name: str) -> str:
    told = one_line(name) or "somebody"
    return told if len(told) <= _NAME else told[: _NAME - 3] + "..."
