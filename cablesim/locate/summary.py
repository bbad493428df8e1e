"""From weighted places to what a person reads: best place, shortest intervals, density."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.locate.estimate import Density

__all__ = ["Places", "density_of", "intervals_of", "told_between", "weighted_quantile"]

_BINS = 160
# Stretches whose gap is on average denser than this share of the threshold are one.
_SAME = 0.5
# So are those between which so few of the heaviest points would hold what is missing there: their
# absence is chance. So is a stretch that no more of them would hold.
_CHANCE = 4.0
# An end is not told that lies nearer to the last value held possible than this share of the rest.
_TO_THE_END = 0.1


@dataclass(frozen=True, slots=True)
class Places:
    """Intervals that together hold the level, and the best place.

    Parameters
    ----------
    intervals_m
        Separate intervals in order of their place [m].
    main
        Number of the interval with the most probability.
    position_m
        Median inside that interval [m].
    """

    intervals_m: tuple[tuple[float, float], ...]
    main: int
    position_m: float

    @property
    def interval_m(self) -> tuple[float, float]:
        """The interval with the most probability [m]."""
        return self.intervals_m[self.main]


def weighted_quantile(values: FloatArray, weights: FloatArray, share: float) -> float:
    """Value below which this share of the weight lies.

    Parameters
    ----------
    values, weights : ndarray, shape (points,)
        Points and their weights, not all zero.
    share
        From 0 to 1.
    """
    order = np.argsort(values)
    below = np.cumsum(weights[order])
    return float(np.interp(share * below[-1], below - weights[order] / 2, values[order]))


def told_between(
    values: FloatArray, weights: FloatArray, limits: tuple[float, float], level: float
) -> tuple[float | None, float | None]:
    """Interval that holds a share of the weight, each end None where it is not told.

    An end is not told where it is that of what was held possible beforehand. The share is left out
    on both sides in equal parts, or all of it on the one side that is told.

    Parameters
    ----------
    values, weights : ndarray, shape (points,)
        Points and their weights, even within the limits beforehand.
    limits
        The least and the most that was held possible.
    level
        Share to hold, from 0 to 1.

    Examples
    --------
    >>> even = np.linspace(0.0, 10.0, 1001)
    >>> told_between(even, np.ones(1001), (0.0, 10.0), 0.95)
    (None, None)
    >>> told_between(even, (even < 4.0).astype(float), (0.0, 10.0), 0.95)
    (None, 3.8)
    """
    outside = (1.0 - level) / 2
    low, high = (weighted_quantile(values, weights, share) for share in (outside, 1.0 - outside))
    near = _TO_THE_END * (high - low)
    from_low, to_high = low - limits[0] > near, limits[1] - high > near
    if from_low and to_high:
        return low, high
    if to_high:
        return None, weighted_quantile(values, weights, level)
    return (weighted_quantile(values, weights, 1.0 - level) if from_low else None), None


def density_of(values: FloatArray, weights: FloatArray) -> Density:
    """Smoothed histogram of weighted places over the stretch that holds nearly all of them.

    Parameters
    ----------
    values : ndarray, shape (points,)
        Places [m].
    weights : ndarray, shape (points,)
        Their weights.
    """
    low = weighted_quantile(values, weights, 1e-4)
    high = weighted_quantile(values, weights, 1 - 1e-4)
    margin = max((high - low) * 0.05, 1e-9)
    edges = np.linspace(low - margin, high + margin, _BINS + 1)
    mass, _ = np.histogram(values, edges, weights=weights)
    for _ in range(2):
        mass = np.convolve(np.pad(mass, 1, mode="edge"), [0.25, 0.5, 0.25], mode="valid")
    return Density(edges, mass / (mass.sum() * np.diff(edges)))


def intervals_of(values: FloatArray, weights: FloatArray, level: float) -> Places:
    """Shortest intervals that hold a share of the weight.

    The density decides how many there are and what is left out on either side of each.

    Parameters
    ----------
    values, weights : ndarray, shape (points,)
        Places [m] and their weights.
    level
        Share to hold, from 0 to 1.
    """
    order = np.argsort(values)
    values, weights = values[order], weights[order] / weights.sum()
    spots = _spots(density_of(values, weights), level, float(weights.max()))
    cuts = [(left[1] + right[0]) / 2 for left, right in itertools.pairwise(spots)]
    region = np.searchsorted(cuts, values)
    held = np.array([_held(values, weights, spot) for spot in spots])
    intervals = []
    for k, (low, high) in enumerate(spots):
        mine, mass = values[region == k], weights[region == k]
        # The share inside is scaled so that all spots together hold exactly the level; what is
        # left out is split as the density says. No stretch is picked for being short by chance.
        inside = min(held[k] / max(mass.sum(), 1e-300) * level / max(held.sum(), 1e-300), 1.0)
        below, above = mass[mine < low].sum(), mass[mine > high].sum()
        start = (1.0 - inside) * (below / (below + above) if below + above > 0 else 0.5)
        ends = (weighted_quantile(mine, mass, share) for share in (start, start + inside))
        intervals.append((next(ends), next(ends)))
    main = int(np.argmax(held))
    low, high = intervals[main]
    inside = (values >= low) & (values <= high)
    position = weighted_quantile(values[inside], weights[inside], 0.5)
    return Places(tuple(intervals), main, position)


def _held(values: FloatArray, weights: FloatArray, spot: tuple[float, float]) -> float:
    return float(weights[(values >= spot[0]) & (values <= spot[1])].sum())


def _spots(density: Density, level: float, heaviest: float) -> list[tuple[float, float]]:
    """Stretches where the density is among the highest that hold the level; near ones are one.

    No point that told the density holds more of it than the heaviest, and a few of these are no
    stretch of their own.
    """
    order = np.argsort(density.per_m)[::-1]
    count = int(np.searchsorted(np.cumsum(density.mass[order]), level)) + 1
    inside = np.zeros(len(order), bool)
    inside[order[:count]] = True
    threshold = density.per_m[order[min(count, len(order)) - 1]]
    starts = np.flatnonzero(inside & ~np.append(False, inside[:-1]))
    stops = np.flatnonzero(inside & ~np.append(inside[1:], False)) + 1
    spots: list[tuple[int, int]] = []
    for start, stop in zip(starts.tolist(), stops.tolist(), strict=True):
        gap = slice(spots[-1][1], start) if spots else slice(0, 0)
        missing = threshold * np.diff(density.edges_m)[gap].sum() / heaviest
        if spots and (missing < _CHANCE or density.per_m[gap].mean() > _SAME * threshold):
            spots[-1] = (spots[-1][0], stop)
        else:
            spots.append((start, stop))
    held = [float(density.mass[start:stop].sum()) for start, stop in spots]
    least = min(_CHANCE * heaviest, max(held))
    edges = density.edges_m
    return [
        (float(edges[start]), float(edges[stop]))
        for (start, stop), mass in zip(spots, held, strict=True)
        if mass >= least
    ]
