"""The posterior of every shipped scenario on one page of small figures, to be looked at.

Run it from the top of the checkout, with the tests' folder on the path::

    PYTHONPATH=tests python -m validation.posteriors docs/validation/posteriors.md docs/figures
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from textwrap import fill

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.locate import posterior
from cablesim.locate.answer import DECIDED
from cablesim.locate.prior import Hypothesis, after_breakdown, hypotheses
from cablesim.locate.summary import Places, density_of, intervals_of, weighted_quantile
from cablesim.locate.weighing import Posterior
from cablesim.report.style import BLUE, GREY, INK, LIGHT, SMALL, VERMILION
from cablesim.report.words import damage_words
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.scenario import Scenario
from cablesim.scenario.shipped import shipped_directory

FIGURE = "posteriors.png"
COLUMNS = 3
COLOURS = (BLUE, VERMILION)


@dataclass(frozen=True)
class Drawn:
    """One scenario: its likeliest hypothesis, and the places of its damages."""

    name: str
    cable: Cable
    top: Posterior
    verdict_probability: float
    values: list[FloatArray]
    places: list[Places]
    truth: tuple[float, ...]
    true_words: str

    @property
    def words(self) -> str:
        """What the likeliest hypothesis says is broken."""
        return damage_words(self.top.hypothesis.faults)

    @property
    def held(self) -> str:
        """Whether the intervals of this hypothesis hold the true places."""
        if self.words != self.true_words:
            return "another hypothesis"
        if not self.truth:
            return "-"
        inside = [
            any(low - 1e-3 <= at <= high + 1e-3 for low, high in found.intervals_m)
            for at, found in zip(self.truth, self.places, strict=True)
        ]
        return "yes" if all(inside) else "no"


def drawn(name: str, scenario: Scenario) -> Drawn:
    """Weigh the readings of a scenario."""
    table: Sequence[Hypothesis] = hypotheses(scenario.cable)
    tripped = any(r.probe.meter.kind == "withstand_tester" for r in scenario.readings)
    pairs = {f.between for f in scenario.faults if f.kind == "flashover"} if tripped else set()
    table = after_breakdown(table, sorted(pairs)) if pairs else table
    readings = tuple(r for r in scenario.readings if r.probe.meter.used_by_locate)
    answers = posterior(scenario.cable, readings, table=table)
    verdicts: dict[str, float] = {}
    for answer in answers:
        verdict = answer.hypothesis.verdict
        verdicts[verdict] = verdicts.get(verdict, 0.0) + answer.probability
    top = answers[0]
    assert top.points is not None
    values = top.unknowns.places_m(top.points.z)
    places = [intervals_of(v, top.points.weight, 0.95) for v in values]
    faults = sorted(scenario.faults, key=lambda fault: float(fault.position_m))
    own = top.hypothesis.faults
    # Named in the order of the hypothesis where both name the same damages.
    if len(own) == 2 and len(faults) == 2 and damage_words(own) != damage_words(faults):
        faults = faults[::-1]
    # Damages at one point have one place.
    truth = tuple(dict.fromkeys(float(fault.position_m) for fault in faults))
    return Drawn(
        name,
        scenario.cable,
        top,
        verdicts[top.hypothesis.verdict],
        values,
        places,
        truth,
        damage_words(faults),
    )


def draw(axes: Axes, one: Drawn) -> None:
    """The density of each place, the stretches that hold 95 %, the truth, and the whole cable."""
    length, lead = float(one.cable.heated_length_m), float(one.cable.cold_lead_m)
    returns = one.cable.construction.returns
    whole = (-lead, length + (lead if returns else 0.0))
    left, right = whole
    weight = one.top.points.weight if one.top.points is not None else np.zeros(0)
    if one.values:
        ends = [weighted_quantile(v, weight, q) for v in one.values for q in (2e-3, 1 - 2e-3)]
        low, high = min([*ends, *one.truth]), max([*ends, *one.truth])
        margin = 0.15 * (high - low) + 0.02
        left, right = max(left, low - margin), min(right, high + margin)
    top = 0.0
    for colour, line, values, found in zip(COLOURS, "-:", one.values, one.places, strict=False):
        density = density_of(values, weight)
        middle = (density.edges_m[:-1] + density.edges_m[1:]) / 2
        axes.plot(middle, density.per_m, color=colour, lw=1.2, ls=line)
        for begin, end in found.intervals_m:
            inside = (middle >= begin) & (middle <= end)
            axes.fill_between(middle[inside], density.per_m[inside], color=colour, alpha=0.35, lw=0)
        top = max(top, float(density.per_m.max()))
    for at in one.truth:
        axes.axvline(at, color=INK, lw=1.0, ls=":")
    axes.set_xlim(left, right)
    axes.set_ylim(0, 1.08 * top if top > 0 else 1)
    axes.set_yticks([])
    axes.locator_params(axis="x", nbins=5)
    axes.tick_params(labelsize=SMALL - 1)
    axes.spines[["left", "right", "top"]].set_visible(False)
    # Above: the whole cable, and the stretch that is drawn.
    scale = 1.0 / (whole[1] - whole[0])
    bar = {"transform": axes.transAxes, "clip_on": False, "solid_capstyle": "butt"}
    axes.plot([0, 1], [1.06] * 2, color=LIGHT, lw=4, **bar)
    axes.plot(
        [(left - whole[0]) * scale, (right - whole[0]) * scale], [1.06] * 2, color=GREY, lw=4, **bar
    )
    told = fill(f"{one.words} ({100 * one.verdict_probability:.0f} %)", 52)
    axes.set_title(f"{one.name}\n{told}", fontsize=SMALL - 0.5, loc="left", pad=10)
    if not one.values:
        axes.set_xticks([])
        axes.text(0.5, 0.5, "no place", ha="center", fontsize=SMALL, transform=axes.transAxes)


def figure(cases: Sequence[Drawn]) -> Figure:
    """All of them."""
    rows = -(-len(cases) // COLUMNS)
    sheet = Figure(figsize=(11.5, 1.75 * rows), dpi=120, facecolor="white", layout="constrained")
    panels = sheet.subplots(rows, COLUMNS).ravel()
    for axes, one in zip(panels, cases, strict=False):
        draw(axes, one)
    for axes in panels[len(cases) :]:
        axes.set_visible(False)
    sheet.supxlabel(
        "distance from the cold joint [m]; upright and dotted: the true places; orange, dotted: a "
        "second damage; dark bar: the part of the cable that is drawn",
        fontsize=SMALL,
    )
    return sheet


def page(cases: Sequence[Drawn], folder: str) -> str:
    """The page in Markdown."""
    lines = [
        "# The posterior of every shipped scenario",
        "",
        "Written by `python -m validation.posteriors docs/validation/posteriors.md docs/figures`",
        "with `PYTHONPATH=tests`. Each panel is the likeliest hypothesis: the density of its place",
        "(of two damages the second is red), filled where its shortest intervals hold 95 %; the",
        "true places are dotted. The bar above is the whole cable, dark where the panel looks.",
        "The prior is that of [`locate`](../locate.md).",
        "",
        f"![All posteriors]({folder}/{FIGURE})",
        "",
        "| scenario | likeliest | its verdict has | 95 % within [m] | points | truth [m] | held |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for one in cases:
        weight = one.top.points.weight if one.top.points is not None else np.ones(1)
        points = weight.sum() ** 2 / np.sum(weight**2)
        within = "; ".join(
            ", ".join(f"{low:.2f} to {high:.2f}" for low, high in found.intervals_m)
            for found in one.places
        )
        truth = ", ".join(f"{at:.2f}" for at in one.truth) or "-"
        decided = f"{100 * one.verdict_probability:.1f} %"
        if one.verdict_probability < DECIDED:
            decided += ", undecided"
        lines.append(
            f"| `{one.name}` | {one.words} | {decided} | {within or '-'} | {points:.0f} | {truth} "
            f"| {one.held} |"
        )
    lines += [
        "",
        "Points: how many of equal weight would tell as much. Held: whether these intervals hold",
        "the true place; another hypothesis: what is broken in truth is not the likeliest.",
        "",
    ]
    return "\n".join(lines)


def shipped() -> list[tuple[str, Scenario]]:
    """Shipped scenarios of one cable with readings, by name."""
    found = []
    for path in sorted(shipped_directory().glob("*.toml")):
        scenario = load_scenario(path)
        if scenario.readings and not scenario.others:
            found.append((path.stem, scenario))
    return found


def main() -> None:
    """Write the page and its figure."""
    to, figures = Path(sys.argv[1]), Path(sys.argv[2])
    cases = []
    for name, scenario in shipped():
        sys.stderr.write(f"{name}\n")
        cases.append(drawn(name, scenario))
    figure(cases).savefig(figures / FIGURE)
    to.write_text(page(cases, "../figures"), encoding="utf-8")


if __name__ == "__main__":
    main()
