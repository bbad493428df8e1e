r"""How well readings can place a fault at all: Fisher information and the Cramer-Rao bound.

Around one state of cable and meters each indication is a straight line in the unknowns,
``y = y0 + S t + e`` (`cablesim.locate.linear`). With errors ``e`` of variances ``s_i^2`` the
information on the unknowns is

    F = S^T diag(1 / s_i^2) S + diag(0, ..., 0, 1 / u_k^2)

and no unbiased estimator has a smaller variance than the diagonal of ``F^-1`` (Cramer and Rao). The
second term is what is known beforehand of tolerance, capacitances, leads, gains and of the fault's
resistance, by the standard deviations ``u_k`` of their limits; places have none. With it the bound
is that of van Trees, in the form that mixes unknowns with and without a prior; without it nothing
but the readings speaks.

What is meant by a bound here: limits of accuracy are rectangular, and a rectangular error has no
Fisher information of its own, since what it allows ends abruptly. The bound puts normal errors of
the same variance in their place, which of all errors with that variance carry the least information
(S. Kullback, Information Theory and Statistics, 1959, from memory). It is the least variance of any
estimator that is linear in the readings; a posterior that uses the abrupt ends may do better.

Sources: H. Cramer, Mathematical Methods of Statistics (1946), C. R. Rao, Bull. Calcutta Math. Soc.
37 (1945), p. 81, and H. L. van Trees, Detection, Estimation, and Modulation Theory, part I (1968),
section 2.4, all from memory.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.linear import Given, Linear, Unknown, linearised
from cablesim.locate.prior import PlacePrior
from cablesim.locate.summary import intervals_of

if TYPE_CHECKING:
    from cablesim.locate.weighing import Posterior

__all__ = [
    "NORMAL_95",
    "Bound",
    "Placeable",
    "bound",
    "bound_of",
    "even_open_m",
    "information",
    "placeable",
    "readings_place",
    "standing_out",
    "whitened",
]

NORMAL_95 = 1.959964
"""Half of a 95 % interval in standard deviations of a normal distribution."""

# A column of which less than this share stands out of all others is lost among them.
_LOST = 1e-7
# An unknown of which a million standard deviations (or metres) do not move a reading by its noise
# has nothing to do with it.
_MOVES = 1e-6


@dataclass(frozen=True, slots=True)
class Bound:
    """Least standard deviations.

    Parameters
    ----------
    unknowns
        What each one belongs to.
    places, resistances
        How many of the first are places, and how many come next that are resistances.
    deviation : ndarray, shape (batch, unknowns)
        Least standard deviation of each unknown in its unit; infinite where the readings do not
        tell it from the others.
    """

    unknowns: tuple[Unknown, ...]
    places: int
    resistances: int
    deviation: FloatArray

    @property
    def place_m(self) -> FloatArray:
        """Of each place [m], shape (batch, places)."""
        return self.deviation[:, : self.places]

    @property
    def resistance_ohm(self) -> FloatArray:
        """Of each resistance [ohm], shape (batch, resistances)."""
        return self.deviation[:, self.places : self.places + self.resistances]


@dataclass(frozen=True, slots=True)
class Placeable:
    """Whether readings can place a fault by themselves.

    Parameters
    ----------
    half_width_m
        Half of the narrowest 95 % interval that they allow, of the worst place [m].
    limit_m
        What counts as placed [m].
    """

    half_width_m: float
    limit_m: float

    def __bool__(self) -> bool:
        return self.half_width_m <= self.limit_m


def bound(
    cable: Cable,
    faults: tuple[Fault, ...],
    probes: Sequence[Probe],
    *,
    prior: bool = True,
    given: Given | None = None,
) -> Bound:
    """Least standard deviation of places, resistances and all that is uncertain besides.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    faults
        The truth; places and resistances may be arrays over a batch.
    probes
        The readings.
    prior
        Whether what is known beforehand of cable, meters and resistances counts. Places have no
        prior either way.
    given
        Limits of what is otherwise taken as given.

    Raises
    ------
    InputError
        If there is no fault or no probe, or a fault does not fit the cable.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> short = Short(("core1", "braid"), 12.4, 55.0)
    >>> least = bound(cable, (short,), standard_probes(cable)[:3])
    >>> round(NORMAL_95 * float(least.place_m[0, 0]), 2)
    0.18
    """
    return bound_of(linearised(cable, faults, probes, given=given), prior=prior)


def information(linear: Linear, *, prior: bool = True) -> FloatArray:
    """Fisher information on the unknowns.

    Parameters
    ----------
    linear
        From `linearised`.
    prior
        As for `bound`.

    Returns
    -------
    ndarray, shape (batch, unknowns, unknowns)
        In one over the product of the unknowns' units.
    """
    rows = whitened(linear, prior=prior)
    return np.asarray(np.swapaxes(rows, -1, -2) @ rows)


def whitened(linear: Linear, *, prior: bool = True) -> FloatArray:
    """Slopes in standard deviations, one row for each reading and one for each limit known.

    Parameters
    ----------
    linear
        From `linearised`.
    prior
        As for `bound`.

    Returns
    -------
    ndarray, shape (batch, readings + limits, unknowns)
        The rows of the limits are in the order of the unknowns that have one.
    """
    spread = linear.spread
    rows = linear.slopes / linear.noise[..., None]
    rows = np.where(np.abs(rows) * np.where(np.isfinite(spread), spread, 1.0) > _MOVES, rows, 0.0)
    known = np.flatnonzero(np.isfinite(spread)) if prior else np.zeros(0, int)
    limits = np.zeros((len(known), len(spread)))
    limits[np.arange(len(known)), known] = 1 / spread[known]
    return np.concatenate([rows, np.broadcast_to(limits, (len(rows), *limits.shape))], axis=1)


def bound_of(linear: Linear, *, prior: bool = True) -> Bound:
    """The bound of readings that are linear already.

    The variance of one unknown is one over the square of what is left of its column once all other
    columns are taken off it: no inverse, so that unknowns which the readings cannot tell apart give
    an infinite bound and no noise.

    Parameters
    ----------
    linear
        From `linearised`.
    prior
        As for `bound`.
    """
    rows = whitened(linear, prior=prior)
    norms = np.linalg.norm(rows, axis=-2, keepdims=True)
    columns = rows / np.where(norms > 0, norms, 1.0)
    count = rows.shape[-1]
    deviation = np.full((len(rows), count), np.inf)
    for k in range(count):
        left = np.linalg.norm(standing_out(columns, k), axis=-1)
        seen = (left > _LOST) & (norms[:, 0, k] > 0)
        deviation[seen, k] = 1 / (left[seen] * norms[seen, 0, k])
    return Bound(linear.unknowns, linear.places, linear.resistances, deviation)


def standing_out(columns: FloatArray, k: int) -> FloatArray:
    """What stands out of one column once all that lies in the others is taken off it.

    Parameters
    ----------
    columns : ndarray, shape (batch, rows, unknowns)
        Each of length 1, or of nothing but zeros.
    k
        Number of the column.

    Returns
    -------
    ndarray, shape (batch, rows)
        At right angles to all other columns.
    """
    mine, others = columns[..., k], np.delete(columns, k, axis=-1)
    if others.shape[-1] == 0:
        return np.asarray(mine)
    axes, sizes, _ = np.linalg.svd(others, full_matrices=False)
    axes = np.where((sizes > _LOST * np.maximum(sizes[..., :1], 1e-300))[..., None, :], axes, 0.0)
    shares = np.einsum("brc,br->bc", axes, mine)
    return np.asarray(mine - np.einsum("brc,bc->br", axes, shares))


def readings_place(
    answer: Posterior,
    faults: tuple[Fault, ...],
    readings: Sequence[Reading],
    limit_m: float,
    *,
    level: float = 0.95,
) -> bool:
    """Whether it is the readings that place damage, and not what was held likely beforehand.

    So it is where their bound is narrow enough, or where the posterior stays so once every metre of
    the cable is held equally likely: a bound knows nothing of places that over range or an end of
    the cable rules out.

    Parameters
    ----------
    answer
        The posterior of the hypothesis that holds.
    faults
        The damage as located.
    readings
        Those taken.
    limit_m
        Length of the intervals together up to which damage counts as placed [m].
    level
        Probability that the intervals hold.
    """
    if placeable(answer.unknowns.cable, faults, readings, limit_m / 2):
        return True
    if answer.points is None:
        return False
    weight = answer.points.weight
    places = answer.unknowns.places_m(answer.points.z)
    return all(
        even_open_m(place, weight, answer.unknowns.place, level) <= limit_m for place in places
    )


def even_open_m(
    places_m: FloatArray, weights: FloatArray, prior: PlacePrior, level: float
) -> float:
    """Length of the intervals of a place [m], had every metre been equally likely beforehand.

    Parameters
    ----------
    places_m, weights : ndarray, shape (points,)
        Points of a posterior and their weights.
    prior
        Density of the place that is in the weights.
    level
        Share to hold, from 0 to 1.
    """
    density = prior.weights / np.diff(prior.edges_m)
    zone = np.searchsorted(prior.edges_m, places_m, side="right") - 1
    even = weights / density[np.clip(zone, 0, len(density) - 1)]
    intervals = intervals_of(places_m, even, level).intervals_m
    return float(sum(high - low for low, high in intervals))


def placeable(
    cable: Cable, faults: tuple[Fault, ...], readings: Sequence[Reading], limit_m: float
) -> Placeable:
    """Whether readings place a fault by themselves, whatever was held likely beforehand.

    A posterior may be narrow because damage gathers at the joints, or because all else is off the
    cable. This asks the readings alone: their bound at the place that was found, without any prior
    of the place.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    faults
        As located, plain numbers.
    readings
        Those taken.
    limit_m
        Half of a 95 % interval up to which damage counts as placed [m].
    """
    probes = [reading.probe for reading in readings]
    shown = [np.inf if reading.at_least else reading.shown for reading in readings]
    least = bound_of(linearised(cable, faults, probes, shown=shown))
    return Placeable(NORMAL_95 * float(least.place_m.max()), limit_m)
