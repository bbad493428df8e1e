"""What a residual-current device and a fuse in front of a cable do with its currents."""

from __future__ import annotations

from cablesim.cable.numbers import require

__all__ = ["USUAL_RCD_MILLIAMP", "rcd_limits_milliamp", "rcd_words"]

# At most 30 mA for floor heating: IEC 60364-7-753.
USUAL_RCD_MILLIAMP = 30.0
# Class A, 5 mA nominal, 4 to 6 mA: NEC 424.44(G).
_CLASS_A_MILLIAMP = {5.0: (4.0, 6.0)}


def rcd_limits_milliamp(rating_milliamp: float) -> tuple[float, float]:
    """Currents below which a residual-current device holds and from which it trips [mA].

    Parameters
    ----------
    rating_milliamp
        Its rated residual current [mA]. One of 5 mA is of class A, 4 to 6 mA (NEC 424.44(G));
        all others may trip from half of their rating (from memory of IEC 61008-1).

    Examples
    --------
    >>> rcd_limits_milliamp(30.0), rcd_limits_milliamp(5.0)
    ((15.0, 30.0), (4.0, 6.0))
    """
    require("rcd_milliamp", rating_milliamp, above=0.0, at_most=1e5)
    return _CLASS_A_MILLIAMP.get(rating_milliamp, (0.5 * rating_milliamp, rating_milliamp))


def rcd_words(residual_milliamp: float, rating_milliamp: float) -> str:
    """What the device does: ``holds``, ``may trip`` or ``trips``.

    Parameters
    ----------
    residual_milliamp
        Residual current [mA].
    rating_milliamp
        Rating of the device [mA].

    Examples
    --------
    >>> [rcd_words(current, 30.0) for current in (0.3, 20.0, 1200.0)]
    ['holds', 'may trip', 'trips']
    """
    holds, trips = rcd_limits_milliamp(rating_milliamp)
    if residual_milliamp < holds:
        return "holds"
    return "trips" if residual_milliamp >= trips else "may trip"
