"""The one shape rule: a quantity is a number, or an array whose leading axis is the batch."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from cablesim.errors import InputError

__all__ = ["FloatArray", "Real", "finite_or_none", "require"]

_MOST = np.finfo(float).max

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
    values = np.atleast_1d(np.asarray(value, dtype=float))
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
    bounds = []
    if above > -np.inf:
        bounds.append(f"above {above:g}")
    if at_least > -np.inf:
        bounds.append(f"at least {at_least:g}")
    if at_most < np.inf:
        bounds.append(f"at most {at_most:g}")
    allowed = "a number" + (" " + " and ".join(bounds) if bounds else "")
    if infinite:
        allowed += ", or infinite"
    raise InputError(what=name, got=float(values[~good][0]), allowed=allowed, try_this=try_this)


def finite_or_none(value: float) -> float | None:
    """A number as JSON can hold it: none where it is infinite or none at all."""
    return float(value) if np.isfinite(value) else None
