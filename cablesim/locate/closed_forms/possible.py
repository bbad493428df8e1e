"""What the closed forms do with an impossible input: one rule for numbers and for arrays."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import Real
from cablesim.errors import InputError

__all__ = ["bounds_text", "nonnegative", "positive", "possible", "share_of_one"]

_OVER_RANGE = "an over-range reading has no place in this formula"


def possible(
    what: str,
    value: Real,
    good: bool | np.bool | NDArray[np.bool],
    allowed: str,
    try_this: str | None = None,
) -> Real:
    """Refuse an impossible plain number; put NaN in the impossible places of an array.

    Parameters
    ----------
    what
        Name of the quantity, with its unit.
    value
        The quantity.
    good
        Where it is possible. An array as soon as anything that it was compared with is one.
    allowed
        Completes "must be ...".
    try_this
        What the person can do about it.

    Returns
    -------
    float or ndarray
        `value`, with NaN in the places of an array where it is infinite or not `good`.

    Raises
    ------
    InputError
        If `value` and `good` are single and the value is infinite, not a number or not good.
    """
    fine = np.isfinite(value) & good
    if np.all(fine):
        return value
    if np.ndim(fine) == 0:
        infinite = np.isposinf(value)
        raise InputError(what, value, allowed, _OVER_RANGE if infinite else try_this)
    return np.where(fine, value, np.nan)


def positive(what: str, value: Real) -> Real:
    """Allow finite numbers above 0."""
    return possible(what, value, np.greater(value, 0.0), "a finite number above 0")


def nonnegative(what: str, value: Real) -> Real:
    """Allow 0 and finite numbers above it."""
    return possible(what, value, np.greater_equal(value, 0.0), "a finite number, at least 0")


def share_of_one(what: str, value: Real) -> Real:
    """Allow numbers from 0 to 1."""
    inside = np.greater_equal(value, 0.0) & np.less_equal(value, 1.0)
    return possible(what, value, inside, "a share from 0 to 1")


def bounds_text(*bounds: Real) -> str:
    """Show what a quantity was compared with, where that is single numbers."""
    if any(np.ndim(bound) for bound in bounds):
        return ""
    return " (" + " and ".join(f"{bound:g}" for bound in bounds) + ")"
