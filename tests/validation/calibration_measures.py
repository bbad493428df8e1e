"""Measures of calibration: each says how far a count is from what it should be, as a p value.

Rank histograms of the truth in the posterior: S. Talts et al., Validating Bayesian Inference
Algorithms with Simulation-Based Calibration, arXiv:1804.06788 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from scipy.stats import binomtest, chisquare, norm

LEVELS = (0.5, 0.8, 0.95, 0.99)
BINS = 20
# An answer passes where the least of its k p values is at least this over k (Bonferroni).
SIGNIFICANT = 0.01
# Probability below which a hypothesis counts as ruled out by the log score.
_LEAST_CHANCE = 1e-9
RELIABILITY_EDGES = (0.0, 0.01, 0.05, 0.2, 0.4, 0.6, 0.8, 0.95, 0.99, 1.0)

# Verdict, probability, and whether it is the true hypothesis.
Chances = Sequence[tuple[str, float, bool]]


@dataclass(frozen=True)
class Check:
    """One measure: what it should be, what it is, and how likely so far off or farther."""

    name: str
    n: int
    wanted: float
    found: float
    spread: float
    p: float


def passes(checks: Sequence[Check]) -> bool:
    """Whether no measure is farther off than chance allows among so many."""
    return min(check.p for check in checks) >= SIGNIFICANT / len(checks)


def coverage(held: Sequence[Sequence[bool]]) -> list[Check]:
    """Share of intervals of each level that hold the truth, with its binomial spread."""
    checks = []
    for k, level in enumerate(LEVELS):
        n = len(held)
        count = sum(row[k] for row in held)
        p = float(binomtest(count, n, level).pvalue) if n else 1.0
        spread = float(np.sqrt(level * (1 - level) / max(n, 1)))
        checks.append(Check(f"{level:.0%} interval", n, level, count / max(n, 1), spread, p))
    return checks


def rank_histogram(ranks: Sequence[float]) -> np.ndarray:
    """Counts of the truth's rank in so many bins."""
    return np.histogram(ranks, BINS, (0.0, 1.0))[0]


def uniform(ranks: Sequence[float], name: str) -> Check:
    """Whether the ranks are even: chi square over the bins."""
    n = len(ranks)
    if not n:
        return Check(name, 0, BINS - 1.0, 0.0, 0.0, 1.0)
    found = chisquare(rank_histogram(ranks))
    return Check(name, n, BINS - 1.0, float(found.statistic), (2 * (BINS - 1)) ** 0.5, found.pvalue)


def ruled_out(lost: Sequence[bool]) -> Check:
    """Truths that had no probability at all: an answer that is calibrated has none."""
    share = sum(lost) / max(len(lost), 1)
    return Check("truth ruled out", len(lost), 0.0, share, 0.0, 0.0 if any(lost) else 1.0)


def log_score(cases: Sequence[Chances]) -> Check:
    """Mean logarithm of the true hypothesis's probability, beside what it promises: -entropy."""
    found, wanted, variance = 0.0, 0.0, 0.0
    for chances in cases:
        p = np.array([max(chance, _LEAST_CHANCE) for _, chance, _ in chances])
        entropy = -float(np.sum(p * np.log(p)))
        found += float(np.log(next(q for q, row in zip(p, chances, strict=True) if row[2])))
        wanted -= entropy
        variance += float(np.sum(p * (np.log(p) + entropy) ** 2))
    n = max(len(cases), 1)
    z = (found - wanted) / max(variance, 1e-300) ** 0.5
    return Check(
        "log score [nat]", len(cases), wanted / n, found / n, variance**0.5 / n, 2 * norm.sf(abs(z))
    )


def by_verdict(chances: Chances) -> dict[str, tuple[float, bool]]:
    """Probability of each verdict, and whether it is the true one."""
    found: dict[str, tuple[float, bool]] = {}
    for verdict, chance, true in chances:
        before = found.get(verdict, (0.0, False))
        found[verdict] = (min(before[0] + chance, 1.0), before[1] or true)
    return found


def likeliest(cases: Sequence[Chances]) -> Check:
    """How often the likeliest verdict is true, beside its probabilities."""
    tops = [max(by_verdict(chances).values()) for chances in cases]
    return _of_promises(tops, "likeliest verdict true")


def _of_promises(rows: Sequence[tuple[float, bool]], name: str) -> Check:
    p = np.array([row[0] for row in rows])
    hits = sum(row[1] for row in rows)
    n = max(len(rows), 1)
    spread = max(float(np.sum(p * (1 - p))), 1e-12) ** 0.5
    off = abs(hits - float(p.sum()))
    return Check(
        name, len(rows), float(p.sum()) / n, hits / n, spread / n, 2 * norm.sf(off / spread)
    )


def verdict_checks(cases: Sequence[Chances]) -> list[Check]:
    """For each verdict how often it is true, beside the sum of its probabilities."""
    rows: dict[str, list[tuple[float, bool]]] = {}
    for chances in cases:
        for verdict, row in by_verdict(chances).items():
            rows.setdefault(verdict, []).append(row)
    return [_of_promises(rows[name], name) for name in sorted(rows)]


def reliability(cases: Sequence[Chances]) -> list[Check]:
    """Probabilities of verdicts in bins: how many, what they promise, how many are true."""
    rows = [row for chances in cases for row in by_verdict(chances).values()]
    checks = []
    for low, high in pairwise(RELIABILITY_EDGES):
        last = high == RELIABILITY_EDGES[-1]
        inside = [row for row in rows if low <= row[0] < high or (last and row[0] >= high)]
        if inside:
            checks.append(_of_promises(inside, f"{low:g} to {high:g}"))
    return checks


def sharpened(chances: Chances) -> Chances:
    """What an overconfident answer would say: probabilities squared, and made to sum to 1."""
    total = max(sum(chance**2 for _, chance, _ in chances), 1e-300)
    return [(verdict, chance**2 / total, true) for verdict, chance, true in chances]


def rms(errors: Sequence[float]) -> float:
    """Root of the mean square."""
    return float(np.sqrt(np.mean(np.square(errors)))) if len(errors) else float("nan")
