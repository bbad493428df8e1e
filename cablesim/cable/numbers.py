"""The one shape rule: a quantity is a number, or an array whose leading axis is the batch."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from cablesim.errors import InputError

__all__ = [
    "MOST_OVER_PERCENT",
    "FloatArray",
    "Real",
    "finite_or_none",
    "is_number",
    "require",
    "require_tolerance",
    "without_quotes",
]

_MOST = np.finfo(float).max
# The most that a value may be over the stated one.
MOST_OVER_PERCENT = 999.0
# Kinds of arrays that hold numbers: whole ones and floats.
_NUMBERS = "iuf"

FloatArray: TypeAlias = NDArray[np.float64]
Real: TypeAlias = float | FloatArray


def require(
    name: str,
    value: Real,
    *,
    at_least: float = -np.inf,
    above: float = -np.inf,
    at_most: float = np.inf,
    infinite: bool = False,
    try_this: str | None = None,
) -> None:
    """Refuse a quantity that is not a number, or outside its range.

    Parameters
    ----------
    name
        Name of the field, with its unit.
    value
        Number or array of any shape.
    at_least, above, at_most
        Closed lower, open lower and closed upper bound.
    infinite
        Whether positive infinity is a legitimate value (an open circuit).
    try_this
        What the person can do about it.

    Raises
    ------
    InputError
        Naming the field, the first offending value and what is allowed.
    """
    values = np.atleast_1d(np.asarray(value))
    if values.dtype.kind not in _NUMBERS:
        allowed = _allowed(at_least, above, at_most, infinite)
        raise InputError(name, value, allowed, try_this or without_quotes(value))
    values = values.astype(float, copy=False)
    if values.size:
        # Nearly always all is well, and two numbers tell; not a number compares as false.
        low, high = values.min(), values.max()
        if max(at_least, -_MOST) <= low and above < low and high <= min(at_most, _MOST):
            return
    good = (values >= at_least) & (values > above) & (values <= at_most)
    if infinite:
        good |= np.isposinf(values)
    else:
        good &= np.isfinite(values)
    if good.all():
        return
    allowed = _allowed(at_least, above, at_most, infinite)
    raise InputError(what=name, got=float(values[~good][0]), allowed=allowed, try_this=try_this)


def is_number(value: object) -> bool:
    """Whether a value is one number: no text that reads like one, and no truth value."""
    return np.ndim(value) == 0 and np.asarray(value).dtype.kind in _NUMBERS  # type: ignore[arg-type]


def without_quotes(value: object) -> str | None:
    """The mend of a number given as text; None where it is something else."""
    return "give the bare number, without quotes" if isinstance(value, str) else None


def require_tolerance(name: str, pair: object) -> None:
    """Refuse what is no tolerance under and over a value [%].

    Parameters
    ----------
    name
        Name of the field.
    pair
        How far under, from -99 to 0, and how far over, from 0 to 999.

    Raises
    ------
    InputError
        Naming the field, the pair and what is allowed.
    """
    if isinstance(pair, Sequence | np.ndarray) and len(pair) == 2 and all(map(is_number, pair)):
        low, high = pair
        if -99.0 <= low <= 0.0 <= high <= MOST_OVER_PERCENT:
            return
    raise InputError(
        what=name,
        got=list(pair) if isinstance(pair, tuple) else pair,
        allowed=f"[under, over] with under from -99 to 0 and over from 0 to {MOST_OVER_PERCENT:g}",
        try_this="write it like [-5.0, 10.0]",
    )


def _allowed(at_least: float, above: float, at_most: float, infinite: bool) -> str:
    bounds = []
    if above > -np.inf:
        bounds.append(f"above {above:g}")
    if at_least > -np.inf:
        bounds.append(f"at least {at_least:g}")
    if at_most < np.inf:
        bounds.append(f"at most {at_most:g}")
    allowed = "a number" + (" " + " and ".join(bounds) if bounds else "")
    return allowed + ", or infinite" if infinite else allowed


def finite_or_none(value: float) -> float | None:
    """A number as JSON can hold it: none where it is infinite or none at all."""
    return float(value) if np.isfinite(value) else None
