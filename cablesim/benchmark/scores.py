r"""How good one answer is, as pure functions of the answer and the truth.

Scores are losses: less is better. The proper ones are least on average for who states what he
believes. With the forecast's distribution function :math:`F` and the truth :math:`y`,

.. math:: CRPS(F, y) = \int (F(x) - 1\{x \ge y\})^2 dx

in metres; of a certain place it is the distance. Source: T. Gneiting and A. E. Raftery, Strictly
proper scoring rules, prediction, and estimation, J. Am. Stat. Assoc. 102 (2007) 359-378, for the
CRPS (and its closed form of a normal, section 4.2), the logarithmic score, the interval score
(equation 43) and the Brier score, which is from G. W. Brier, Mon. Weather Rev. 78 (1950) 1-3; both
from memory.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from statistics import NormalDist

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.locate.estimate import Density

__all__ = [
    "brier_score",
    "crps_of_density",
    "crps_of_normal",
    "interval_score",
    "log_score",
    "normal_of",
    "tiles_opened",
]

TILE_M = 0.3
"""Side of a tile [m]; common practice, no source."""
EVEN_SHARE = 0.001
"""Share of an even density along the cable that the logarithmic score mixes into every forecast, so
that one place held impossible does not cost infinitely much."""


def crps_of_density(density: Density, place_m: float) -> float:
    """Continuous ranked probability score of a density that is even in each cell [m].

    Parameters
    ----------
    density
        Of the place.
    place_m
        The truth.

    Examples
    --------
    Of an even density the score at its middle is a twelfth of its width:

    >>> even = Density(np.array([0.0, 6.0]), np.array([1 / 6]))
    >>> crps_of_density(even, 3.0)
    0.5
    """
    edges, mass = density.edges_m, density.mass / density.mass.sum()
    upper = np.cumsum(mass)
    lower = upper - mass
    widths = np.diff(edges)
    # Where the truth cuts a cell, either part is a cell of its own.
    share = np.clip((place_m - edges[:-1]) / np.where(widths > 0, widths, 1.0), 0.0, 1.0)
    cut = lower + share * mass
    below = _square(lower, cut) * share * widths
    above = _square(1 - cut, 1 - upper) * (1 - share) * widths
    outside = max(float(edges[0]) - place_m, 0.0) + max(place_m - float(edges[-1]), 0.0)
    return float(np.sum(below + above)) + outside


def _square(begin: FloatArray, end: FloatArray) -> FloatArray:
    """Mean square of what goes straight from one value to another."""
    return np.asarray((begin**2 + begin * end + end**2) / 3)


def crps_of_normal(middle_m: float, deviation_m: float, place_m: float) -> float:
    """Continuous ranked probability score of a normal density [m].

    Parameters
    ----------
    middle_m, deviation_m
        Of the density; a deviation of 0 is a certain place.
    place_m
        The truth.
    """
    if deviation_m <= 0:
        return abs(place_m - middle_m)
    z = (place_m - middle_m) / deviation_m
    standard = NormalDist()
    found = z * (2 * standard.cdf(z) - 1) + 2 * standard.pdf(z) - 1 / math.sqrt(math.pi)
    return deviation_m * found


def normal_of(low_m: float, high_m: float, level: float) -> tuple[float, float]:
    """Middle and standard deviation of the normal density that has this interval [m].

    Parameters
    ----------
    low_m, high_m
        Its ends.
    level
        Probability that it holds.
    """
    factor = NormalDist().inv_cdf((1 + level) / 2)
    return (low_m + high_m) / 2, (high_m - low_m) / 2 / factor


def log_score(per_m: float, along_m: float) -> float:
    """Logarithmic score: minus the logarithm of the density at the truth, in 1/m.

    Parameters
    ----------
    per_m
        Density at the truth [1/m].
    along_m
        Length of the cable [m], see `EVEN_SHARE`.
    """
    return -math.log((1 - EVEN_SHARE) * per_m + EVEN_SHARE / along_m)


def interval_score(
    intervals_m: Sequence[tuple[float, float]], level: float, place_m: float
) -> float:
    """Width of an interval, and what is added for missing the truth [m].

    Of several intervals their length together, and the distance to the nearest of them.

    Parameters
    ----------
    intervals_m
        At least one.
    level
        Probability that they hold.
    place_m
        The truth.
    """
    width = sum(high - low for low, high in intervals_m)
    missed = min(max(low - place_m, place_m - high, 0.0) for low, high in intervals_m)
    return width + 2 / (1 - level) * missed


def brier_score(probabilities: Mapping[str, float], kind: str) -> float:
    """Brier score of the probabilities of kinds of damage, from 0 to 2.

    Parameters
    ----------
    probabilities
        By kind; what is not named has none.
    kind
        The truth.

    Examples
    --------
    >>> round(brier_score({"short": 0.7, "break": 0.3}, "short"), 2)
    0.18
    """
    kinds = {kind: 0.0, **probabilities}
    return sum((share - (name == kind)) ** 2 for name, share in kinds.items())


def tiles_opened(position_m: float, place_m: float, tile_m: float = TILE_M) -> int:
    """Tiles to lift along the cable until the damage lies bare, from the best place outwards.

    The tile with the place in its middle first, then the next on either side in turn: one, or an
    odd number. On a straight run; where runs lie side by side a tile bares several.

    Parameters
    ----------
    position_m
        Where one begins.
    place_m
        The truth.
    tile_m
        Side of a tile [m].
    """
    return 2 * math.floor(abs(position_m - place_m) / tile_m + 0.5) + 1
