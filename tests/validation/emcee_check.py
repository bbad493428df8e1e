"""Outside check of the intervals: the same posterior by a general sampler, emcee.

Run by hand:

    PYTHONPATH=tests python -m validation.emcee_check CASES SEED [FILE]

Cases are drawn as for the held-out check; the likeliest hypothesis of `posterior` is sampled with
emcee in its unit cube, with the same prior and the same probability of the displays (`Unknowns`,
`Displays`). Places from both go through the same `intervals_of`, so that what is compared is the
sampling alone. The page holds each case.
"""

from __future__ import annotations

import sys
import warnings
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

import emcee
import numpy as np
from emcee.autocorr import integrated_time
from validation.held_out import draw_case

from cablesim import __version__
from cablesim.cable.numbers import FloatArray
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns
from cablesim.locate.summary import intervals_of
from cablesim.locate.weighing import Posterior, posterior

LEVEL = 0.95
WALKERS, BURN = 500, 0.4
# A share of the width, beside what a sampler of finite length leaves uncertain.
AGREED = 0.05
# Only cases that are placed to this share of the heated length.
MOST_OPEN = 0.5
STEPS = 600
LEAST_DRAWS = 1000


@dataclass(frozen=True)
class Compared:
    """One case by both ways."""

    verdict: str
    unknowns: int
    mine_m: tuple[float, float]
    emcee_m: tuple[float, float]
    emcee_error_m: float
    mine_s: float
    emcee_s: float
    draws: float
    stuck: int

    @property
    def settled(self) -> bool:
        """Whether the sampler can be held against anything at this tolerance."""
        return self.stuck == 0 and self.noise <= AGREED / 2 and self.draws >= LEAST_DRAWS

    @property
    def off(self) -> float:
        """Largest difference of an end, as a share of the sampler's width."""
        width = self.emcee_m[1] - self.emcee_m[0]
        return max(abs(a - b) for a, b in zip(self.mine_m, self.emcee_m, strict=True)) / width

    @property
    def noise(self) -> float:
        """Standard error of the sampler's own ends, as a share of its width."""
        return self.emcee_error_m / (self.emcee_m[1] - self.emcee_m[0])


def log_probability(z: FloatArray, unknowns: Unknowns, displays: Displays) -> FloatArray:
    """Density in the cube before any reading, times the probability of the displays."""
    inside = ((z >= 0) & (z <= 1)).all(axis=1)
    found = np.full(len(z), -np.inf)
    if inside.any():
        chosen = z[inside]
        told = displays.probability(unknowns.indicated(chosen, unknowns.exact(chosen)))
        told = told * unknowns.density(chosen)
        with np.errstate(divide="ignore"):
            found[inside] = np.log(told)
    return found


def compare(
    answer: Posterior,
    mine_s: float,
    rng: np.random.Generator,
    steps: int = STEPS,
    walkers: int = WALKERS,
) -> Compared | None:
    """Sample one posterior; None where it has no place, or several stretches."""
    points, unknowns = answer.points, answer.unknowns
    if points is None or not unknowns.places:
        return None
    mine = intervals_of(unknowns.places_m(points.z)[0], points.weight, LEVEL)
    low, high = mine.interval_m
    # A place that is left open is the prior, which both know.
    open_m = MOST_OPEN * float(unknowns.cable.heated_length_m)
    if len(mine.intervals_m) > 1 or high - low > open_m:
        return None
    displays = Displays.of(unknowns.readings)
    share = points.weight / points.weight.sum()
    # Walkers begin as draws from the posterior under test: emcee has only to stay there or leave.
    start = np.clip(points.z[rng.choice(len(share), 20 * walkers, p=share)], 1e-9, 1 - 1e-9)
    able = np.flatnonzero(np.isfinite(log_probability(start, unknowns, displays)))
    start = start[able]
    _, first = np.unique(start, axis=0, return_index=True)
    start = start[np.sort(first)][:walkers]
    if len(start) < walkers:
        return None
    sampler = emcee.EnsembleSampler(
        walkers,
        unknowns.size,
        log_probability,
        args=(unknowns, displays),
        vectorize=True,
        moves=[
            (emcee.moves.DEMove(), 0.5),
            (emcee.moves.StretchMove(), 0.35),
            (emcee.moves.DESnookerMove(), 0.15),
        ],
    )
    sampler.random_state = np.random.RandomState(int(rng.integers(2**31))).get_state()
    begun = perf_counter()
    sampler.run_mcmc(start, steps, skip_initial_state_check=True)
    took = perf_counter() - begun
    chain = sampler.get_chain(discard=int(BURN * steps))
    places = unknowns.places_m(chain.reshape(-1, unknowns.size))[0]
    # A walker that never moves says nothing of the posterior; the sampler has then not settled.
    moved = np.ptp(chain[:, :, 0], axis=0) > 0
    with np.errstate(invalid="ignore"), warnings.catch_warnings():
        warnings.simplefilter("ignore")
        slow = float(integrated_time(chain[:, moved, 0][..., None], tol=0, quiet=True)[0])
    theirs = intervals_of(places, np.ones(len(places)), LEVEL)
    # Walkers hardly know of each other: the spread among four groups tells the sampler's error.
    parts = np.array_split(chain, 4, axis=1)
    ends = []
    for part in parts:
        spot = unknowns.places_m(part.reshape(-1, unknowns.size))[0]
        found = intervals_of(spot, np.ones(len(spot)), LEVEL)
        ends.append((found.intervals_m[0][0], found.intervals_m[-1][1]))
    error = float(np.max(np.std(ends, axis=0, ddof=1))) / len(parts) ** 0.5
    whole = (theirs.intervals_m[0][0], theirs.intervals_m[-1][1])
    return Compared(
        answer.hypothesis.verdict,
        unknowns.size,
        mine.interval_m,
        whole,
        error,
        mine_s,
        took,
        len(places) / max(slow, 1.0),
        int(np.sum(~moved)),
    )


def run(cases: int, seed: int, steps: int = STEPS) -> Iterator[Compared]:
    """Compare the likeliest hypothesis of drawn cases until so many were fit for it."""
    done = 0
    for k in range(40 * cases):
        rng = np.random.default_rng((seed, k))
        case = draw_case(rng)
        begun = perf_counter()
        answer = posterior(case.cable, case.readings)[0]
        mine_s = perf_counter() - begun
        compared = compare(answer, mine_s, rng, steps)
        if compared is not None:
            yield compared
            done += 1
        if done == cases:
            break


def page(found: list[Compared], seed: int, steps: int) -> str:
    """All cases, as Markdown."""
    settled = [c for c in found if c.settled]
    agreed = sum(c.off <= AGREED for c in settled)
    off = np.array([c.off for c in settled] or [np.nan])
    ratio = np.array([c.emcee_s / c.mine_s for c in found])
    first_cut, discarded = 100 * AGREED, 100 * BURN
    head = f"""# The intervals against a general sampler

Written by `python -m validation.emcee_check {len(found)} {seed}`; cablesim {__version__},
emcee {emcee.__version__} (Foreman-Mackey and others, Publ. Astron. Soc. Pac. 125, 2013, p. 306,
from memory).

{len(found)} posteriors, each of the likeliest hypothesis of a case drawn as for
[the held-out check](held-out.md), sampled in the same unit cube with the same prior and the same
probability of the displays: {steps} steps of differential evolution and stretch moves, {WALKERS}
walkers, the first {discarded:.0f} % discarded. Both sets of places go through the same
`intervals_of`. "Off" is the larger difference of an end over the width; "sampler's error" the
standard error of the sampler's own ends, from four groups of its walkers. Left out are cases with
several separate stretches, and those left open over more than half of the cable, where both know no
more than the prior.

- **Ends within {first_cut:.0f} % of the width: {agreed} of {len(settled)}** where the sampler
  settled; median {np.median(off):.1%}, largest {off.max():.1%}. In {len(found) - len(settled)}
  more it did not: a walker never moved, its own error is above {first_cut / 2:.1f} %, or it has
  fewer than {LEAST_DRAWS} independent draws. They are listed, and count for nothing either way.
- **Time**: emcee takes {np.median(ratio):.0f} times as long (median; {ratio.min():.0f} to
  {ratio.max():.0f}), for one hypothesis where `posterior` weighs all of them. The machine was
  shared, so take it as a magnitude.
- emcee begins at points of the posterior under test, which spares it a search that it would often
  fail; a stretch that both miss would not be seen here. The held-out check looks for those.

"""
    columns = "# kind unknowns posterior_[m] emcee_[m] off sampler's_error draws stuck s emcee_s"
    names = [name.replace("_", " ") for name in columns.split()]
    head += "\n".join(["| " + " | ".join(names) + " |", "|" + " --- |" * len(names), ""])
    rows = [
        f"| {k} | {c.verdict} | {c.unknowns} | {c.mine_m[0]:.3f} to {c.mine_m[1]:.3f} "
        f"| {c.emcee_m[0]:.3f} to {c.emcee_m[1]:.3f} | {c.off:.1%} | {c.noise:.1%} "
        f"| {c.draws:.0f} | {c.stuck} | {c.mine_s:.2f} | {c.emcee_s:.1f} |"
        for k, c in enumerate(found, start=1)
    ]
    return head + "\n".join(rows) + "\n"


if __name__ == "__main__":
    cases, seed = int(sys.argv[1]), int(sys.argv[2])
    found: list[Compared] = []
    for each in run(cases, seed):
        found.append(each)
        # Written after each case: a run that is cut short still has its page.
        text = page(found, seed, STEPS)
        if len(sys.argv) > 3:
            Path(sys.argv[3]).write_text(text, encoding="utf-8")
        sys.stderr.write(f"{len(found)}: off {each.off:.1%}, emcee {each.emcee_s:.0f} s\n")
    sys.stdout.write(text)
