r"""Propagation of uncertainty: any measurement function, any covariance of its inputs.

``u^2(y) = c V c'`` with sensitivity coefficients ``c_i = dy / dx_i`` and the covariance ``V`` of
the inputs, correlated or not; type A evaluation of simultaneous observations; effective degrees
of freedom after Welch and Satterthwaite, and the coverage factor that goes with them. All after
JCGM 100:2008 (the GUM), clauses 4.2, 5.1, 5.2, annexes G and H, from memory but for the worked
example H.2, on which the tests check it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError

__all__ = [
    "STEP",
    "Propagated",
    "correlation_of",
    "coverage_factor",
    "effective_degrees",
    "judged_degrees",
    "propagate",
    "type_a",
]

# Step of the central differences, in standard uncertainties.
STEP = 1e-3


@dataclass(frozen=True, slots=True)
class Propagated:
    """Results with their covariance.

    Parameters
    ----------
    values : ndarray, shape (results,)
        Results at the best estimates of the inputs.
    covariance : ndarray, shape (results, results)
        Of the results, in the products of their units.
    sensitivity : ndarray, shape (results, inputs)
        Sensitivity coefficients: result per unit of input.
    """

    values: FloatArray
    covariance: FloatArray
    sensitivity: FloatArray

    @property
    def uncertainty(self) -> FloatArray:
        """Combined standard uncertainty of each result, in its unit."""
        return np.sqrt(np.diag(self.covariance))

    @property
    def correlation(self) -> FloatArray:
        """Correlation coefficients between the results, shape (results, results)."""
        return correlation_of(self.covariance)


def correlation_of(covariance: FloatArray) -> FloatArray:
    """Correlation coefficients of a covariance matrix; 0 beside what has no uncertainty."""
    deviation = np.sqrt(np.diag(covariance))
    size = np.outer(deviation, deviation)
    return np.asarray(np.divide(covariance, size, out=np.eye(len(covariance)), where=size > 0))


def propagate(
    function: Callable[[FloatArray], FloatArray | Sequence[float] | float],
    inputs: FloatArray | Sequence[float],
    covariance: FloatArray,
) -> Propagated:
    """Propagate the covariance of inputs through a measurement function.

    Parameters
    ----------
    function
        Takes the inputs, shape (inputs,), and gives one result or several.
    inputs : array_like, shape (inputs,)
        Best estimates.
    covariance : ndarray, shape (inputs, inputs)
        Of the inputs, in the products of their units.

    Raises
    ------
    InputError
        If the covariance is not symmetric, or not that of so many inputs.

    Examples
    --------
    A resistance from 5 V +- 1 % and 20 mA +- 1 %, of one and the same gain: it cancels.

    >>> together = np.outer([0.05, 2e-4], [0.05, 2e-4])
    >>> found = propagate(lambda x: x[0] / x[1], [5.0, 0.020], together)
    >>> round(float(found.values[0]), 6), round(float(found.uncertainty[0]), 6)
    (250.0, 0.0)
    """
    best = np.asarray(inputs, float)
    matrix = np.asarray(covariance, float)
    if matrix.shape != (len(best), len(best)) or not np.allclose(matrix, matrix.T, atol=0.0):
        raise InputError(
            "covariance",
            list(matrix.shape),
            f"a symmetric matrix of {len(best)} by {len(best)}, one row for each input",
        )
    values = np.atleast_1d(np.asarray(function(best), float))
    steps = STEP * np.sqrt(np.diag(matrix))
    steps = np.where(steps > 0, steps, 1e-6 * np.maximum(np.abs(best), 1e-12))
    columns = []
    for k, step in enumerate(steps):
        ends = []
        for sign in (1.0, -1.0):
            moved = best.copy()
            moved[k] += sign * step
            ends.append(np.atleast_1d(np.asarray(function(moved), float)))
        columns.append((ends[0] - ends[1]) / (2 * step))
    sensitivity = np.stack(columns, axis=1)
    return Propagated(values, sensitivity @ matrix @ sensitivity.T, sensitivity)


def type_a(observations: FloatArray | Sequence[Sequence[float]]) -> tuple[FloatArray, FloatArray]:
    """Means of simultaneous observations and the covariance of the means.

    Parameters
    ----------
    observations : array_like, shape (observations, inputs)
        Each row was taken at one time.

    Returns
    -------
    means : ndarray, shape (inputs,)
        Best estimates.
    covariance : ndarray, shape (inputs, inputs)
        Of the means, with one degree of freedom less than there are observations.

    Raises
    ------
    InputError
        If there are fewer than two observations.
    """
    table = np.asarray(observations, float)
    if table.ndim != 2 or len(table) < 2:
        raise InputError("observations", list(table.shape), "at least two rows, one per time")
    return table.mean(axis=0), np.atleast_2d(np.cov(table, rowvar=False)) / len(table)


def effective_degrees(contributions: FloatArray, degrees: FloatArray) -> float:
    """Effective degrees of freedom of a sum, after Welch and Satterthwaite.

    ``v = u^4 / sum(u_i^4 / v_i)``, from memory of JCGM 100, G.4.1. For contributions that do not
    depend on one another.

    Parameters
    ----------
    contributions : ndarray, shape (inputs,)
        Each input's share of the combined standard uncertainty, ``|c_i| u_i``.
    degrees : ndarray, shape (inputs,)
        Degrees of freedom of each; infinite where a limit is taken as it is stated.
    """
    combined = float(np.sum(np.square(contributions)))
    spent = float(np.sum(np.asarray(contributions) ** 4 / np.asarray(degrees)))
    return combined**2 / spent if spent > 0 else float("inf")


def judged_degrees(reliability: float) -> float:
    """Degrees of freedom of an uncertainty that is itself right within this share.

    ``v = 1 / (2 (du / u)^2)``, from memory of JCGM 100, G.4.2.

    >>> judged_degrees(0.25)
    8.0
    """
    return 0.5 / reliability**2


def coverage_factor(level: float, degrees: float = float("inf")) -> float:
    """Factor from a combined to an expanded uncertainty: Student's t, or the normal one.

    Parameters
    ----------
    level
        Probability to be held, between 0 and 1.
    degrees
        Effective degrees of freedom; a fraction is cut off, after JCGM 100, G.4.1.

    Examples
    --------
    >>> round(coverage_factor(0.95), 2), round(coverage_factor(0.95, 10.9), 2)
    (1.96, 2.23)
    """
    from scipy.special import ndtri, stdtrit

    share = (1 + level) / 2
    if np.isinf(degrees):
        return float(ndtri(share))
    return float(stdtrit(max(1.0, np.floor(degrees)), share))
