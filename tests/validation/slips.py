"""Slips check: cases drawn at random, one slip in each, and whether it is asked about.

Run by hand:

    PYTHONPATH=tests python -m validation.slips CASES SEED [FILE [SLIP ...]]

writes a table of slips: how many lead to a conflict, how many only damage at two places explains,
and how many of both are asked about. A slip after which other damage at one place explains the
readings is no conflict, and nothing at the terminals can show it. The last row has no slip at all
but damage at two places: there a question is put in vain.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.instruments.readings import Reading, measure
from cablesim.instruments.standard import standard_probes
from cablesim.locate.prior import heated_part, hypotheses, place_prior
from cablesim.locate.questions import questions
from cablesim.locate.weighing import posterior

SLIPS = {
    "leads": "two readings of one meter exchanged",
    "unit": "one reading in another unit",
    "units": "all readings of a meter in another unit",
    "range": "one reading with its decimal point moved",
    "point": "a label with its decimal point moved",
    "rating": "a label of 1.4 to 2 times the resistance, or as much less",
    "length": "a label of 1.4 to 2 times the length, or as much less",
    "none": "no slip, but damage at two places",
}
# What a question about each is called.
_CALLED = {"units": "unit", "point": "rating"}
_FACTORS = {"unit": (1e3, 1e-3), "range": (10.0, 0.1)}
_MOST_DRAWN = 20
_TOLD = """\
Twin cables of 10 to 80 m with damage drawn at random are read by the usual meters: three ohm
readings and the insulation, or three capacitances besides, evenly. One slip is made in each. Cases
are drawn until so many conflict, or only damage at two places explains them; the rest of the drawn
cases are explained by other damage at one place, or by none, and nothing at the terminals shows the
slip. Counted: how many of those that two places explain are doubted, so that no opening is advised
before the question is answered; and how many of all are asked about, with the slip among the
questions, and with it as the first."""


@dataclass(frozen=True)
class Slipped:
    """One drawn case with its slip."""

    cable: Cable
    readings: tuple[Reading, ...]
    numbers: tuple[int, ...]


def draw(rng: np.random.Generator, places: int = 1) -> tuple[Cable, tuple[Fault, ...]]:
    """A twin cable whose make is known well, and damage of it at one place, or at two."""
    length_m = round(float(np.exp(rng.uniform(np.log(10), np.log(80)))), 1)
    loop_ohm = round(230.0**2 / (rng.uniform(8, 20) * length_m), 1)
    cable = Cable.rated("twin", length_m, loop_ohm, capacitance_tolerance_percent=(-10.0, 10.0))
    table = [h for h in hypotheses(cable) if h.places == places and h.verdict != "degraded"]
    kinds = sorted({h.verdict for h in table})
    kind = kinds[rng.integers(len(kinds))]
    of_kind = [h for h in table if h.verdict == kind]
    hypothesis = of_kind[rng.integers(len(of_kind))]
    prior = place_prior(cable) if places == 1 else heated_part(cable)
    at_m = prior.place_m(rng.random(places))
    ohms = [low * (high / low) ** rng.random() for low, high in hypothesis.resistances]
    return cable, hypothesis.at([float(at) for at in at_m], ohms)


def slipped(slip: str, rng: np.random.Generator) -> Slipped | None:
    """Readings of a drawn case with one slip; None where it has no room for this one."""
    cable, faults = draw(rng, 2 if slip == "none" else 1)
    # The three ohm readings and the insulation, or all that is usual.
    probes = standard_probes(cable)[: int(rng.choice([4, 7]))]
    true, told = cable, cable
    factor = float(rng.uniform(1.4, 2.0)) ** float(rng.choice([-1, 1]))
    if slip == "rating":
        told = replace(cable, **cable.core_fields(factor))
    if slip == "point":
        told = replace(cable, **cable.core_fields(float(rng.choice([10.0, 0.1, 100.0, 1000.0]))))
    if slip == "length":
        told = replace(
            cable, heated_length_m=cable.heated_length_m * factor, **cable.core_fields(1 / factor)
        )
    shown = measure(true, faults, probes, rng=rng)
    readings = [Reading(p, float(v)) for p, v in zip(probes, shown, strict=True)]
    numbers: tuple[int, ...] = ()
    if slip == "leads":
        pairs = [(0, 1), (0, 2), (1, 2)]
        i, k = pairs[rng.integers(len(pairs))]
        if readings[i].shown == readings[k].shown:
            return None
        one, other = readings[i].shown, readings[k].shown
        readings[i], readings[k] = (
            replace(readings[i], shown=other),
            replace(readings[k], shown=one),
        )
        numbers = (i, k)
    if slip == "units":
        numbers = tuple(k for k in range(3) if 0 < readings[k].shown < np.inf)
        if len(numbers) < 2:
            return None
        factor = float(rng.choice([1e3, 1e-3]))
        for k in numbers:
            value = float(f"{readings[k].shown * factor:.12g}")
            if not value < readings[k].probe.meter.over_range_from(readings[k].probe.setting):
                return None
            readings[k] = replace(readings[k], shown=value)
    if slip in _FACTORS:
        choice = [
            k for k, r in enumerate(readings) if 0 < r.shown < np.inf and r.probe.meter.unit != ""
        ]
        if not choice:
            return None
        k = int(rng.choice(choice))
        value = float(f"{readings[k].shown * rng.choice(_FACTORS[slip]):.12g}")
        meter = readings[k].probe.meter
        if not meter.resolution <= value < meter.over_range_from(readings[k].probe.setting):
            return None
        readings[k], numbers = replace(readings[k], shown=value), (k,)
    return Slipped(told, tuple(readings), numbers)


@dataclass
class Tally:
    """What became of the drawn cases of one slip."""

    drawn: int = 0
    conflicts: int = 0
    doubles: int = 0
    asked: int = 0
    doubted: int = 0
    recognised: int = 0
    first: int = 0


def judged(slip: str, cases: int, seed: int, drawn: int | None = None) -> Tally:
    """Draw until so many cases conflict, or are explained by two places only, and ask about them.

    Parameters
    ----------
    slip
        One of `SLIPS`.
    cases
        How many to ask about.
    seed
        Of all chance.
    drawn
        Most cases to draw; 20 for each that is asked about unless given.
    """
    rng = np.random.default_rng(seed)
    tally = Tally()
    most = _MOST_DRAWN * cases if drawn is None else drawn
    while tally.conflicts + tally.doubles < cases and tally.drawn < most:
        case = slipped(slip, rng)
        if case is None:
            continue
        tally.drawn += 1
        answers = posterior(case.cable, case.readings)
        at_two = sum(a.probability for a in answers if a.hypothesis.places == 2) > 0.5
        if answers[0].probability > 0 and not at_two:
            continue
        tally.conflicts += not at_two
        tally.doubles += at_two
        put = questions(case.cable, case.readings, answers)
        asked = tuple(p for p in put.proposals if p.change != "display")
        right = [
            p.change == _CALLED.get(slip, slip)
            and (not case.numbers or p.reading == case.numbers[0] + 1)
            and (slip != "leads" or p.other_reading == case.numbers[1] + 1)
            for p in asked
        ]
        tally.asked += bool(asked)
        tally.doubted += bool(put.doubt)
        tally.recognised += any(right)
        tally.first += bool(right) and right[0]
        if not any(right):
            shown = [f"{r.shown:g}" for r in case.readings]
            sys.stderr.write(f"{slip} {case.numbers} {shown} {[p.told for p in asked]}\n")
    return tally


def row(slip: str, tally: Tally) -> str:
    """One row of the table."""
    right = ("", "") if slip == "none" else (tally.recognised, tally.first)
    values = (tally.drawn, tally.conflicts, tally.doubles, tally.doubted, tally.asked, *right)
    return f"| {SLIPS[slip]} | {' | '.join(str(value) for value in values)} |"


def page(rows: Sequence[str], cases: int, seed: int) -> str:
    """The page around the rows."""
    head = "| slip | drawn | conflict | two places explain | doubted | asked | rightly | first |"
    return "\n".join(
        [
            "# Slips in what was written: are they asked about?",
            "",
            f"This page is written by `PYTHONPATH=tests python -m validation.slips {cases} {seed} "
            "docs/validation/slips.md`.",
            _TOLD,
            "",
            head,
            "| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |",
            *rows,
            "",
            "The last row says how often true damage at two places is doubted, or asked about.",
            "",
        ]
    )


def main() -> None:
    """Print the rows, and write the page where a file is named."""
    cases, seed = int(sys.argv[1]), int(sys.argv[2])
    rows = []
    for slip in sys.argv[4:] or SLIPS:
        rows.append(row(slip, judged(slip, cases, seed)))
        sys.stdout.write(f"{rows[-1]}\n")
        sys.stdout.flush()
    if len(sys.argv) > 3 and sys.argv[3] != "-":
        Path(sys.argv[3]).write_text(page(rows, cases, seed), encoding="utf-8")


if __name__ == "__main__":
    main()
