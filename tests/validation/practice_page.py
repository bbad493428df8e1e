"""The page about practice cases and marks, from what the two long runs have written.

    PYTHONPATH=tests python -m validation.practice_page FOLDER PAGE FIGURES [EARLIER]

writes PAGE, ``docs/validation/practice.md``, and its figure into FIGURES, ``docs/figures``. FOLDER
holds ``cases.jsonl`` of `validation.practice_cases` and ``marks.jsonl`` of
`validation.practice_trainees`; EARLIER the same of an earlier and longer run, made before the
posterior was integrated as it is now.
"""

from __future__ import annotations

import json
import sys
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from scipy.stats import spearmanr

from cablesim import __version__
from cablesim.training.marking import TOPICS

Row = dict[str, Any]
TRAINEES = ("expert", "beginner", "guesser")


def rows_of(path: Path) -> list[Row]:
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def solved(row: Row) -> bool:
    """Whether `locate` named the damage and called it located, on fresh readings."""
    return bool(row["right"] and row["located"])


def level_table(rows: list[Row]) -> str:
    lines = [
        "| level | cases | half-width, median | solved | error, median | error, 90 % | "
        "within the half-width | 95 % interval holds |",
        "| --- | --- | --- | --- | --- | --- | --- | --- |",
    ]
    for level in range(1, 6):
        mine = [row for row in rows if row["level"] == level]
        if not mine:
            continue
        good = [row for row in mine if solved(row)]
        errors = np.abs([row["error_m"] for row in good])
        widths = np.array([row["half_width_m"] for row in good])
        held = sum(bool(row["inside"]) for row in good)
        lines.append(
            f"| {level} | {len(mine)} | {np.median([r['half_width_m'] for r in mine]):.2f} m "
            f"| {len(good)} ({len(good) / len(mine):.0%}) | {np.median(errors):.3f} m "
            f"| {np.quantile(errors, 0.9):.2f} m | {np.mean(errors <= widths):.0%} "
            f"| {held}/{len(good)} |"
        )
    return "\n".join(lines)


def group_table(rows: list[Row]) -> str:
    lines = [
        "| cases | number | located by the key | solved | levels 1 to 5 |",
        "| --- | --- | --- | --- | --- |",
    ]
    for group in dict.fromkeys(row["group"] for row in rows):
        mine = [row for row in rows if row["group"] == group]
        placed = [row for row in mine if row["locatable"]]
        levels = " ".join(str(sum(r["level"] == k for r in mine)) for k in range(1, 6))
        named = "may be hopeless" if group == "hopeless" else group
        lines.append(
            f"| {named} | {len(mine)} | {len(placed)} | {sum(map(solved, placed))} | {levels} |"
        )
    return "\n".join(lines)


def unsolved_words(rows: list[Row]) -> str:
    bad = [row for row in rows if not solved(row)]
    why: dict[str, int] = {}
    for row in bad:
        name = (
            "the damage named was another one"
            if not row["right"] and row["verdict"] != "undecided"
            else "the verdict stayed undecided"
            if row["verdict"] == "undecided"
            else "named right, but more was left open than counts as placed"
        )
        why[name] = why.get(name, 0) + 1
    return "; ".join(f"{name}: {count}" for name, count in sorted(why.items())) or "none"


def ordered_words(rows: list[Row]) -> str:
    medians, counts = [], []
    for level in range(1, 6):
        errors = [abs(r["error_m"]) for r in rows if r["level"] == level and solved(r)]
        if errors:
            medians.append(float(np.median(errors)))
            counts.append(len(errors))
    rising = all(a < b for a, b in pairwise(medians))
    told = ", ".join(f"{m:.3f}" for m in medians)
    few = f" (with as few as {min(counts)} cases a level this says little)" * (min(counts) < 30)
    order = f"{told} m: they {'rise' if rising else 'do NOT all rise'} from level to level{few}"
    if len(counts) < 2:
        return order
    good = [row for row in rows if solved(row)]
    ranks = spearmanr([r["level"] for r in good], [abs(r["error_m"]) for r in good]).statistic
    return (
        f"{order}; the rank correlation of level and error over all {len(good)} cases is "
        f"{ranks:.2f}"
    )


def trainee_table(marks: list[Row]) -> str:
    lines = [
        "| trainee | cases | total | " + " | ".join(TOPICS) + " | damage right | error, median |",
        "| --- | --- | --- |" + " --- |" * (len(TOPICS) + 2),
    ]
    for name in TRAINEES:
        mine = [row for row in marks if row["trainee"] == name]
        totals = np.array([row["total"] for row in mine])
        error = totals.std(ddof=1) / len(totals) ** 0.5
        topics = []
        for topic in TOPICS:
            scores = [s for row in mine if (s := row["topics"][topic]) is not None]
            topics.append(f"{100 * np.mean(scores):.0f}" if scores else "-")
        off = [row["error_m"] for row in mine if row["error_m"] is not None]
        lines.append(
            f"| {name} | {len(mine)} | {totals.mean():.1f} +- {error:.1f} | {' | '.join(topics)} "
            f"| {np.mean([row['right'] for row in mine]):.0%} "
            f"| {np.median(off):.2f} m |"
        )
    return "\n".join(lines)


def level_marks(marks: list[Row]) -> str:
    lines = [
        "| level | cases | " + " | ".join(TRAINEES) + " |",
        "| --- | --- |" + " --- |" * len(TRAINEES),
    ]
    for level in range(1, 6):
        means, count = [], 0
        for name in TRAINEES:
            totals = [r["total"] for r in marks if r["trainee"] == name and r["level"] == level]
            count = len(totals)
            means.append(f"{np.mean(totals):.0f}" if totals else "-")
        if count:
            lines.append(f"| {level} | {count} | {' | '.join(means)} |")
    return "\n".join(lines)


def beats(marks: list[Row], better: str, worse: str) -> tuple[int, int, int]:
    """In how many cases one got more than another, as much to half a point, and of how many."""
    by_case: dict[str, dict[str, float]] = {}
    for row in marks:
        by_case.setdefault(row["case"], {})[row["trainee"]] = row["total"]
    both = [found for found in by_case.values() if better in found and worse in found]
    more = sum(found[better] > found[worse] + 0.5 for found in both)
    same = sum(abs(found[better] - found[worse]) <= 0.5 for found in both)
    return more, same, len(both)


def luck_words(marks: list[Row]) -> str:
    """Whether the expert's score of the place knows how far off the place was."""
    mine = [
        r for r in marks if r["trainee"] == "expert" and r["error_m"] is not None and r["right"]
    ]
    mine.sort(key=lambda row: row["error_m"])
    quarter = len(mine) // 4
    if not quarter:
        return "too few cases"
    near, far = mine[:quarter], mine[-quarter:]
    told = [
        f"{np.mean([r['error_m'] for r in some]):.2f} m off on average, place "
        f"{100 * np.mean([r['topics']['place'] for r in some]):.0f}"
        for some in (near, far)
    ]
    return f"the quarter of the cases with the least error: {told[0]}; with the most: {told[1]}"


def figure_of(rows: list[Row], before: list[Row], path: Path) -> None:
    """Half-widths and measured errors of each level, every case a mark; an earlier run faint."""
    from matplotlib.figure import Figure

    from cablesim.report.style import BLUE, GREY, INK, SMALL, TEXT, TITLE, VERMILION

    figure = Figure(figsize=(8.2, 4.8), dpi=150, facecolor="white")
    axes = figure.add_axes((0.09, 0.17, 0.88, 0.7))
    rng = np.random.default_rng(1)
    for some, size, alpha in ((before, 2.0, 0.2), (rows, 3.5, 0.9)):
        for level in range(1, 6):
            mine = [row for row in some if row["level"] == level and solved(row)]
            if not mine:
                continue
            spread = rng.uniform(-0.14, 0.14, len(mine))
            widths = np.array([row["half_width_m"] for row in mine])
            errors = np.maximum(np.abs([row["error_m"] for row in mine]), 1e-3)
            for at, values, mark, color in (
                (-0.2, widths, "s", BLUE),
                (0.2, errors, "o", VERMILION),
            ):
                style = {"color": color, "markersize": size, "alpha": alpha}
                axes.plot(level + at + spread, values, mark, markeredgewidth=0, **style)
                if some is rows:
                    ends = [level + at - 0.17, level + at + 0.17]
                    axes.plot(ends, [np.median(values)] * 2, color=INK)
    axes.set_yscale("log")
    axes.set_xticks(range(1, 6), [f"level {k}" for k in range(1, 6)], fontsize=TEXT)
    axes.set_ylabel("metres", fontsize=TEXT)
    axes.grid(axis="y", color="#dddddd", linewidth=0.6)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    handles = [
        axes.plot([], [], "s", color=BLUE, label="half-width of the bound, as stated")[0],
        axes.plot([], [], "o", color=VERMILION, label="measured error of locate")[0],
        axes.plot([], [], color=INK, label="median")[0],
    ]
    axes.legend(handles=handles, fontsize=SMALL, frameon=False, loc="upper left")
    count = sum(map(solved, rows))
    figure.text(0.02, 0.94, f"How hard {count} practice cases are", fontsize=TITLE, color=INK)
    faint = f" Faint: {sum(map(solved, before))} cases of the longer run." if before else ""
    figure.text(
        0.02,
        0.02,
        "Every case that locate solved on fresh readings with the fewest that its key counts; "
        f"errors under 1 mm are drawn at 1 mm.\n{faint.strip()}",
        fontsize=SMALL,
        color=GREY,
    )
    figure.savefig(path)


def earlier_section(rows: list[Row], marks: list[Row]) -> str:
    """The longer run of an earlier posterior."""
    made = [row for row in rows if "failed" not in row]
    placed = [row for row in made if row["locatable"]]
    hopeless = [row for row in made if not row["locatable"]]
    more, same, of = beats(marks, "expert", "beginner")
    more_b, same_b, of_b = beats(marks, "beginner", "guesser")
    return f"""
## A longer run, with the earlier posterior

The integration of the posterior was replaced after the same scripts had run on the same seed for
longer: {len(rows)} cases, {of} of them marked. How cases are made and marked has not changed; what
`locate` answers, and so which draws become cases, has. These figures do not speak of `locate` as it
is, and stand here because they are many.

Of the {len(placed)} cases that can be located {sum(map(solved, placed))} were solved; of the
{len(hopeless)} hopeless ones {sum(not row["located"] for row in hopeless)} were called not
locatable. The others: {unsolved_words(placed)}.

{level_table(placed)}

Median errors of the levels: {ordered_words(placed)}.

{trainee_table(marks)}

{level_marks(marks)}

The expert got more than the beginner in {more} of {of} cases and as much in {same}; the beginner
more than the guesser in {more_b} of {of_b} and as much in {same_b}. Luck:
{luck_words(marks)}.
"""


def page(
    rows: list[Row],
    marks: list[Row],
    asked: int,
    earlier: tuple[list[Row], list[Row]] | None = None,
) -> str:
    """The page, as Markdown."""
    made = [row for row in rows if "failed" not in row]
    failed = [row for row in rows if "failed" in row]
    placed = [row for row in made if row["locatable"]]
    hopeless = [row for row in made if not row["locatable"]]
    steady = [row for row in placed if row["group"] in ("full", "usual")]
    more, same, of = beats(marks, "expert", "beginner")
    more_b, same_b, of_b = beats(marks, "beginner", "guesser")
    seconds = np.mean([row["making_s"] for row in made])
    return f"""# Practice cases and marks

Written by `PYTHONPATH=tests python -m validation.practice_page FOLDER PAGE FIGURES [EARLIER]` from
what `validation.practice_cases` and `validation.practice_trainees` left in FOLDER; cablesim
{__version__}. What a level and a mark are says [cases and marks](../practice.md).

## Are the cases what they say?

{len(rows)} cases of the {asked} that this check is meant for; the runs go on where they were
stopped. Of ten cases five have the full bag (levels 1 to 5 in turn), three the usual one (levels 1
to 4), one is unsteady, and one has two faults or may be hopeless. {len(failed)} of them could not
be made. Making took {seconds:.1f} s of one core a case on a machine that was shared.

{group_table(made)}

Each case was answered by `locate` on fresh readings: the same meters, every display drawn anew, and
only the readings that the key counts. *Solved*: the right damage with the right conductors, called
locatable. Of the {len(placed)} cases that can be located {sum(map(solved, placed))} were solved, of
those with one steady fault {sum(map(solved, steady))} of {len(steady)}. The others:
{unsolved_words(placed)}. Of the {len(hopeless)} hopeless ones
{sum(not row["located"] for row in hopeless)} were called not locatable.

{level_table(placed)}

- **Order.** Median errors of the levels: {ordered_words(placed)}.
- **Within the half-width.** A bound is the least that any estimator can have, and the readings
  counted come within 1.5 times of it only: fewer than 95 % is to be expected.
- Two displays of one case differ by their counts only, gains and leads stay. A case that was solved
  once can fail the next time where it stands near the limit of what counts as placed.

![Half-width and measured error of every case, by level](../figures/practice-levels.png)

## Do the marks tell trainees apart?

Three scripted trainees answered the same cases, {of} of the 200 that this check is meant for; their
logs were written, read again and marked.

- The **expert** zeroes the leads, takes the three ohm readings and then what `plan_next` recommends
  while it pays (at most 8 readings), and states the best answer under the posterior.
- The **beginner** takes the three ohm readings, never zeroes, puts them into the three-reading
  formula whatever they are, and states 10 cm either way.
- The **guesser** takes one reading and guesses damage, place and interval.

Each opens what its own interval asks for. Totals are means with their standard errors; topics go
from 0 to 100.

{trainee_table(marks)}

{level_marks(marks)}

- The expert got more than the beginner in {more} of {of} cases and as much (to half a point) in
  {same}; the beginner more than the guesser in {more_b} of {of_b} and as much in {same_b}.
- **Luck.** Of the expert's answers with the right damage,
  {luck_words(marks)}.
  The error of an answer that was the best possible costs nothing.
- Where the three-reading formula is the right tool (a short to the braid of few ohms) the beginner
  does nearly as well, and should: what is lacking there is the interval.
{earlier_section(*earlier) if earlier else ""}"""


def written(folder: Path) -> tuple[list[Row], list[Row]]:
    """What the two runs left in a folder: cases and marks."""
    return rows_of(folder / "cases.jsonl"), rows_of(folder / "marks.jsonl")


if __name__ == "__main__":
    folder, target, figures, *others = (Path(name) for name in sys.argv[1:])
    rows, marks = written(folder)
    earlier = written(others[0]) if others else None
    target.write_text(page(rows, marks, 1000, earlier), encoding="utf-8")
    placed = [row for row in rows if "failed" not in row and row["locatable"]]
    before = [row for row in earlier[0] if row.get("locatable")] if earlier else []
    figure_of(placed, before, figures / "practice-levels.png")
