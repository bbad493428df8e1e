"""Slips check: cases drawn at random, one slip in each, and whether the conflict names it.

Run by hand:

    python tests/validation/slips.py CASES SEED [FILE [SLIP ...]]

prints a table of slips, how many lead to a conflict at all, and how many of these are recognised:
among the slips that are asked about, and as the first of them. A slip after which another damage
explains the readings is no conflict, and nothing at the terminals can show it.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path
from time import perf_counter

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.instruments.readings import Reading, measure
from cablesim.instruments.standard import standard_probes
from cablesim.locate.conflict import proposals_for
from cablesim.locate.prior import hypotheses, place_prior
from cablesim.locate.weighing import posterior

SLIPS = ("leads", "unit", "range", "rating", "length")
_FACTORS = {"unit": (1e3, 1e-3), "range": (10.0, 0.1)}
_HEAD = "| slip | cases | in conflict | among those asked about | asked about first |"


@dataclass(frozen=True)
class Slipped:
    """One drawn case with its slip."""

    cable: Cable
    readings: tuple[Reading, ...]
    numbers: tuple[int, ...]


def draw(rng: np.random.Generator) -> tuple[Cable, tuple[Fault, ...]]:
    """A twin cable whose make is known well, and one damage of it."""
    length_m = round(float(np.exp(rng.uniform(np.log(10), np.log(80)))), 1)
    loop_ohm = round(230.0**2 / (rng.uniform(8, 20) * length_m), 1)
    cable = Cable.rated("twin", length_m, loop_ohm, capacitance_tolerance_percent=(-10.0, 10.0))
    table = [h for h in hypotheses(cable) if h.places == 1 and h.verdict != "degraded"]
    kinds = sorted({h.verdict for h in table})
    kind = kinds[rng.integers(len(kinds))]
    of_kind = [h for h in table if h.verdict == kind]
    hypothesis = of_kind[rng.integers(len(of_kind))]
    at_m = place_prior(cable).place_m(rng.random(1))[0]
    ohms = [low * (high / low) ** rng.random() for low, high in hypothesis.resistances]
    return cable, hypothesis.at([float(at_m)], ohms)


def slipped(slip: str, rng: np.random.Generator) -> Slipped | None:
    """Readings of a drawn case with one slip; None where it has no room for this one."""
    cable, faults = draw(rng)
    probes = standard_probes(cable)
    true, told = cable, cable
    factor = float(rng.uniform(1.4, 2.0)) ** float(rng.choice([-1, 1]))
    if slip == "rating":
        told = replace(cable, **cable.core_fields(factor))
    if slip == "length":
        told = replace(
            cable, heated_length_m=cable.heated_length_m * factor, **cable.core_fields(1 / factor)
        )
    shown = measure(true, faults, probes, rng=rng)
    readings = [Reading(p, float(v)) for p, v in zip(probes, shown, strict=True)]
    numbers: tuple[int, ...] = ()
    if slip == "leads":
        pairs = [(1, 2), (4, 5)]
        i, k = pairs[rng.integers(len(pairs))]
        if readings[i].shown == readings[k].shown:
            return None
        one, other = readings[i].shown, readings[k].shown
        readings[i], readings[k] = (
            replace(readings[i], shown=other),
            replace(readings[k], shown=one),
        )
        numbers = (i, k)
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


def judged(slip: str, cases: int, seed: int) -> tuple[int, int, int, int, float]:
    """Cases, conflicts, recognised, recognised first, seconds for the proposals of a conflict."""
    rng = np.random.default_rng(seed)
    drawn = conflicts = recognised = first = 0
    seconds = 0.0
    while conflicts < cases and drawn < 20 * cases:
        case = slipped(slip, rng)
        if case is None:
            continue
        drawn += 1
        if posterior(case.cable, case.readings)[0].probability > 0:
            continue
        conflicts += 1
        began = perf_counter()
        asked = proposals_for(case.cable, case.readings)
        seconds += perf_counter() - began
        right = [
            p.change == slip
            and (not case.numbers or p.reading == case.numbers[0] + 1)
            and (len(case.numbers) < 2 or p.other_reading == case.numbers[1] + 1)
            for p in asked
        ]
        recognised += any(right)
        first += bool(right) and right[0]
        if not any(right):
            shown = [r.shown for r in case.readings]
            sys.stderr.write(f"{slip} {case.numbers} {shown} {[p.told for p in asked]}\n")
    return drawn, conflicts, recognised, first, seconds / max(conflicts, 1)


def main() -> None:
    """Print the table, and write it where a file is named."""
    cases, seed = int(sys.argv[1]), int(sys.argv[2])
    rows = []
    for slip in sys.argv[4:] or SLIPS:
        drawn, conflicts, recognised, first, seconds = judged(slip, cases, seed)
        rows.append(f"| {slip} | {drawn} | {conflicts} | {recognised} | {first} |")
        sys.stdout.write(f"{rows[-1]} {seconds:.1f} s\n")
        sys.stdout.flush()
    page = "\n".join([_HEAD, "| --- | --- | --- | --- | --- |", *rows]) + "\n"
    if len(sys.argv) > 3 and sys.argv[3] != "-":
        Path(sys.argv[3]).write_text(page, encoding="utf-8")


if __name__ == "__main__":
    main()
