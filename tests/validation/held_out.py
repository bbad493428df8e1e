"""Held-out check: cases drawn at random, readings made by the ladder, answers by `locate`.

Run by hand or from the test beside it:

    python tests/validation/held_out.py CASES SEED [FILE]

prints a table of verdicts and interval coverage, and writes it as a page. The readings come from
the lumped ladder with the meters' errors drawn at random, the answers from the exact line: two
formulations, so that neither flatters the other. What is unknown to `locate` (tolerance of the
cores, capacitances, braid, insulation, gains, leads) is drawn within the limits that its prior
states.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

import numpy as np

from cablesim import __version__
from cablesim.benchmark.meter_classes import probes_of
from cablesim.benchmark.true_cable import Deviation
from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.instruments.readings import Probe, Reading, measure
from cablesim.line.ladder import ladder
from cablesim.locate import locate
from cablesim.locate.estimate import Estimate
from cablesim.locate.prior import Hypothesis, heated_part, hypotheses, place_prior

RUNGS = 48
GRADES = ("cheap", "good", "bench")


@dataclass(frozen=True)
class Case:
    """One drawn case: what is broken, what was read, what is known about the cable."""

    cable: Cable
    hypothesis: Hypothesis
    faults: tuple[Fault, ...]
    readings: tuple[Reading, ...]

    @property
    def position_m(self) -> float | None:
        return float(self.faults[0].position_m) if self.faults else None


def draw_case(rng: np.random.Generator) -> Case:
    """Draw a cable, a hypothesis with equal chance for each kind, and readings of a random bag."""
    construction = "twin" if rng.random() < 0.7 else "single"
    length_m = float(np.exp(rng.uniform(np.log(8), np.log(120))))
    watt_per_m = rng.uniform(8, 20)
    loop_ohm = 230.0**2 / (watt_per_m * length_m)
    cable = Cable.rated(
        construction,
        round(length_m, 1),
        round(loop_ohm, 1),
        cold_lead_m=round(rng.uniform(1.5, 4), 1),
        capacitance_tolerance_percent=(-20.0, 25.0),
    )
    table = hypotheses(cable)
    verdicts = sorted({h.verdict for h in table})
    verdict = verdicts[rng.integers(len(verdicts))]
    of_kind = [h for h in table if h.verdict == verdict]
    hypothesis = of_kind[rng.integers(len(of_kind))]
    where = place_prior(cable) if hypothesis.places < 2 else heated_part(cable)
    place = where.place_m(rng.random(hypothesis.places))
    ohms = [low * (high / low) ** rng.random() for low, high in hypothesis.resistances]
    faults = hypothesis.at([float(p) for p in place], ohms)
    probes = bag(cable, rng)
    true = Deviation.drawn(cable, rng).of(cable)
    shown = measure(true, faults, probes, rng=rng, mesh_of=ladder(RUNGS))
    readings = tuple(Reading(p, float(s)) for p, s in zip(probes, shown, strict=True))
    return Case(cable, hypothesis, faults, readings)


def bag(cable: Cable, rng: np.random.Generator) -> tuple[Probe, ...]:
    """The usual readings with meters of one of three classes."""
    return probes_of(cable, GRADES[rng.integers(len(GRADES))])


@dataclass
class Tally:
    cases: int = 0
    right: int = 0
    undecided: int = 0
    wrong: int = 0
    expected_wrong: float = 0.0
    placed: int = 0
    held: int = 0
    locatable: int = 0
    within: int = 0


def holds(estimate: Estimate, position_m: float) -> bool:
    """Whether the reported intervals hold the true place."""
    return any(low <= position_m <= high for low, high in estimate.faults[0].intervals_m)


def run(cases: int, seed: int, **options: object) -> dict[str, Tally]:
    """Answer many cases; one tally for each true kind and one for all."""
    tallies: dict[str, Tally] = defaultdict(Tally)
    for k in range(cases):
        case = draw_case(np.random.default_rng((seed, k)))
        estimate = locate(case.cable, case.readings, **options)
        likeliest = estimate.verdict
        for name in (case.hypothesis.verdict, "all"):
            tally = tallies[name]
            tally.cases += 1
            tally.right += likeliest == case.hypothesis.verdict
            tally.undecided += likeliest == "undecided"
            tally.wrong += likeliest not in (case.hypothesis.verdict, "undecided")
            tally.expected_wrong += (1 - estimate.probability) * (likeliest != "undecided")
            if case.position_m is None or likeliest != case.hypothesis.verdict:
                continue
            tally.placed += 1
            tally.held += holds(estimate, case.position_m)
            tally.locatable += estimate.locatable
            tally.within += estimate.locatable and holds(estimate, case.position_m)
    return tallies


def table(tallies: dict[str, Tally]) -> str:
    """The tallies as a Markdown table."""
    lines = [
        "| true kind | cases | verdict right | undecided | wrong | 95 % interval holds "
        "| called locatable, and held |",
        "| --- | --- | --- | --- | --- | --- | --- |",
    ]
    for name in sorted(tallies, key=lambda n: (n == "all", n)):
        t = tallies[name]
        share = f"{t.held}/{t.placed} ({t.held / t.placed:.1%})" if t.placed else "-"
        placed = f"{t.within}/{t.locatable}" if t.placed else "-"
        lines.append(
            f"| {name} | {t.cases} | {t.right} | {t.undecided} | {t.wrong} | {share} | {placed} |"
        )
    return "\n".join(lines)


def page(tallies: dict[str, Tally], cases: int, seed: int, seconds: float) -> str:
    """The table with what it means, as Markdown."""
    every = tallies["all"]
    spread = 100 * np.sqrt(0.95 * 0.05 / max(every.placed, 1))
    return f"""# Held-out check of `locate`

Written by `python tests/validation/held_out.py {cases} {seed}`; cablesim {__version__}.

{cases} cases are drawn at random: twin and single cables of 8 to 120 m, each kind of damage equally
often, three grades of meters, the usual readings. The readings are made by the lumped ladder of
{RUNGS} rungs a piece with the meters' errors drawn at random; the answers come from the exact line.
What `locate` does not know (tolerance of the cores, capacitances, braid, insulation, gains, leads)
is drawn within the limits that its prior states, and so is the place.

{table(tallies)}

- **Verdict.** Undecided is an answer: no kind of damage has 80 %. The decided verdicts should by
  their own probabilities be wrong {every.expected_wrong:.1f} times, were every kind as frequent as
  the prior says (here all are equally frequent, which makes what looks healthy less often healthy:
  a bad joint of an ohm hides in the tolerance of the cable, and so does a path of a kilohm between
  the cores).
- **Interval.** Counted where the verdict is right. The statistical spread of the total is
  {spread:.1f} percentage points (one standard deviation).
- **Time.** {seconds / cases:.2f} s a case on one core, readings and answer.
"""


if __name__ == "__main__":
    cases, seed = int(sys.argv[1]), int(sys.argv[2])
    start = perf_counter()
    tallies = run(cases, seed)
    text = page(tallies, cases, seed, perf_counter() - start)
    sys.stdout.write(text)
    if len(sys.argv) > 3:
        Path(sys.argv[3]).write_text(text, encoding="utf-8")
