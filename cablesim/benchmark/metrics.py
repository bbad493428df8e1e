"""What many scores come to: a number, how many cases it is from, and how sure it is.

Means, medians and percentiles get a percentile bootstrap: cases are drawn anew with replacement,
many times, from a generator with a stated seed (B. Efron and R. J. Tibshirani, An Introduction to
the Bootstrap, 1993, chapter 13, from memory). Shares get the score interval of E. B. Wilson, J. Am.
Stat. Assoc. 22 (1927) 209-212 (from memory): a bootstrap of cases that all agree has no width, and
would call three hits out of three a certainty.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from statistics import NormalDist
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from cablesim.cable.numbers import FloatArray, finite_or_none
from cablesim.errors import InputError

__all__ = [
    "Difference",
    "Value",
    "bootstrap",
    "mean",
    "median",
    "paired",
    "percentile_95",
    "root_mean_square",
    "share",
]

RESAMPLES = 2000
SEED = 20260
LEAST_CASES = 10
"""From fewer cases than this a bootstrap has no interval: it would be far too narrow."""
_LEVEL = 0.95
# Indices drawn at a time, so that a million cases do not fill the memory.
_MOST_AT_ONCE = 4_000_000

Statistic = Callable[[FloatArray], FloatArray]


@dataclass(frozen=True, slots=True)
class Value:
    """A metric with its interval.

    Parameters
    ----------
    value
        NaN where there is no case.
    low, high
        95 % interval; NaN where there are too few cases, see `LEAST_CASES`.
    cases
        How many it is from.
    """

    value: float
    low: float
    high: float
    cases: int

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        ends = {name: finite_or_none(getattr(self, name)) for name in ("value", "low", "high")}
        return {**ends, "cases": self.cases}


@dataclass(frozen=True, slots=True)
class Difference:
    """Scores of one estimator less those of another, on the same cases.

    Parameters
    ----------
    mean
        Mean difference: negative where the first is better.
    better
        Share of the cases in which the first is better, ties counted half.
    level
        Of the interval of the mean.
    """

    mean: Value
    better: Value
    level: float

    @property
    def significant(self) -> bool:
        """Whether the interval of the mean leaves zero out."""
        return self.mean.low > 0 or self.mean.high < 0


def bootstrap(
    values: ArrayLike,
    statistic: Statistic,
    *,
    level: float = _LEVEL,
    resamples: int = RESAMPLES,
    seed: int = SEED,
) -> Value:
    """A statistic of independent values, with a percentile bootstrap interval.

    Parameters
    ----------
    values : array_like, shape (cases,)
        One for each case.
    statistic
        From values along the last axis to one number each.
    level
        Of the interval.
    resamples
        How often the cases are drawn anew.
    seed
        Of the generator that draws them.
    """
    values = np.asarray(values, float)
    count = len(values)
    if count == 0:
        return Value(np.nan, np.nan, np.nan, 0)
    value = float(statistic(values))
    if count < LEAST_CASES:
        return Value(value, np.nan, np.nan, count)
    rng = np.random.default_rng(seed)
    batch = max(1, min(resamples, _MOST_AT_ONCE // count))
    drawn = np.concatenate(
        [
            statistic(values[rng.integers(count, size=(min(batch, resamples - done), count))])
            for done in range(0, resamples, batch)
        ]
    )
    low, high = np.quantile(drawn, [(1 - level) / 2, (1 + level) / 2])
    return Value(value, float(low), float(high), count)


def _mean(values: FloatArray) -> FloatArray:
    return np.asarray(np.mean(values, axis=-1))


def mean(values: ArrayLike, *, level: float = _LEVEL, seed: int = SEED) -> Value:
    """Mean of a score."""
    return bootstrap(values, _mean, level=level, seed=seed)


def median(values: ArrayLike, *, seed: int = SEED) -> Value:
    """Median, such as of the distance between place and truth."""
    return bootstrap(values, lambda v: np.asarray(np.median(v, axis=-1)), seed=seed)


def percentile_95(values: ArrayLike, *, seed: int = SEED) -> Value:
    """What 95 % of the values do not exceed."""
    return bootstrap(values, lambda v: np.asarray(np.quantile(v, 0.95, axis=-1)), seed=seed)


def root_mean_square(values: ArrayLike, *, seed: int = SEED) -> Value:
    """Root of the mean square, such as of errors over their bound: 1 where that is reached."""
    return bootstrap(values, lambda v: np.asarray(np.sqrt(np.mean(v**2, axis=-1))), seed=seed)


def share(hits: ArrayLike, *, level: float = _LEVEL) -> Value:
    """Share of the cases in which something is so, with Wilson's score interval.

    Parameters
    ----------
    hits : array_like, shape (cases,)
        Whether it is so; a half for a tie.
    level
        Of the interval.

    Examples
    --------
    >>> found = share([True, True, True])
    >>> found.value, round(found.low, 2), round(found.high, 2)
    (1.0, 0.44, 1.0)
    """
    values = np.asarray(hits, float)
    count = len(values)
    if count == 0:
        return Value(np.nan, np.nan, np.nan, 0)
    part = float(values.mean())
    z = NormalDist().inv_cdf((1 + level) / 2)
    middle = (part + z * z / (2 * count)) / (1 + z * z / count)
    inside = part * (1 - part) / count + z * z / (4 * count * count)
    half = z / (1 + z * z / count) * math.sqrt(inside)
    return Value(part, max(middle - half, 0.0), min(middle + half, 1.0), count)


def paired(
    first: ArrayLike, second: ArrayLike, *, level: float = _LEVEL, seed: int = SEED
) -> Difference:
    """Compare two estimators on the same cases; what makes a case hard cancels.

    Parameters
    ----------
    first, second : array_like, shape (cases,)
        Their scores, case by case.
    level
        Of the interval of the mean difference.
    seed
        Of the bootstrap.

    Raises
    ------
    InputError
        If they are not of the same cases.
    """
    one, other = np.asarray(first, float), np.asarray(second, float)
    if one.shape != other.shape:
        raise InputError("scores of two estimators are not of the same cases")
    apart = one - other
    # A tail of at least 20 resamples decides at any level.
    resamples = max(RESAMPLES, math.ceil(40 / (1 - level)))
    found = bootstrap(apart, _mean, level=level, resamples=resamples, seed=seed)
    return Difference(found, share(np.where(apart < 0, 1.0, np.where(apart > 0, 0.0, 0.5))), level)
