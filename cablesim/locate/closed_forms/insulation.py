"""Closed forms on insulation: loss of charge, and the leakage that a cable always had."""

from __future__ import annotations

import numpy as np

from cablesim.cable.numbers import Real
from cablesim.locate.closed_forms.possible import bounds_text, positive, possible

__all__ = ["corrected_for_leakage", "loss_of_charge"]


def corrected_for_leakage(observed: Real, natural: Real, before_ohm: Real, after_ohm: Real) -> Real:
    """Correct an observed place for the leakage that the whole cable always had.

    ``true = observed + (observed - natural) / (n - 1)`` with ``n = before / after``: the observed
    place is the mean of the fault and of the natural leakage, weighted by their conductances.

    Parameters
    ----------
    observed
        Place that the test gave, in metres or in ohms.
    natural
        Place that the same test gives for the healthy cable's leakage alone, in the same unit. For
        a loop test on a twin cable with evenly leaking cores it is the far end.
    before_ohm, after_ohm
        Insulation resistance of the conductors under test before and after the fault [ohm].

    Returns
    -------
    float or ndarray
        Place of the fault, in the unit of `observed`.

    Raises
    ------
    InputError
        If the insulation is not lower after the fault than before.

    Notes
    -----
    Assumes a test whose result is a mean weighted by conductance: a loop bridge on leaks that are
    large beside the core. It fails where the natural leakage has changed since, by moisture or
    temperature; a fault that hardly lowers the insulation cannot be corrected for.

    References
    ----------
    H. D. Wilkinson (author and date from memory), *Submarine Cable Laying and Repairing*, p. 451.

    Examples
    --------
    >>> round(corrected_for_leakage(2700.0, 3200.0, before_ohm=1.185e6, after_ohm=0.1e6), 1)
    2653.9
    """
    before, after = positive("before_ohm", before_ohm), positive("after_ohm", after_ohm)
    after = possible(
        "after_ohm",
        after,
        np.less(after, before),
        f"below before_ohm{bounds_text(before)}",
        "a leak can only lower the insulation: check that both readings are of one hook-up",
    )
    seen = possible("observed", observed, np.isfinite(observed), "a finite number")
    centre = possible("natural", natural, np.isfinite(natural), "a finite number")
    return seen + (seen - centre) * after / (before - after)


def loss_of_charge(
    seconds: Real, capacitance_farad: Real, start_volt: Real, end_volt: Real
) -> Real:
    """Insulation resistance from how fast a charged cable loses its voltage.

    ``R = t / (C ln(V1 / V2))``.

    Parameters
    ----------
    seconds
        Time between the two voltages [s].
    capacitance_farad
        Capacitance that was charged [F].
    start_volt, end_volt
        Voltage at the beginning and at the end of that time [V].

    Returns
    -------
    float or ndarray
        Insulation resistance [ohm].

    Raises
    ------
    InputError
        If time or capacitance is not above 0, or the voltage did not fall.

    Notes
    -----
    Assumes a constant resistance and a voltmeter that draws nothing; otherwise the result is the
    insulation with the voltmeter in parallel. Fails where the insulation absorbs charge: the first
    fall is then too fast and the result too low. It gives no place.

    References
    ----------
    N. V. Suryanarayana, *Electrical Measurements and Measuring Instruments* (2001), p. 121.

    Examples
    --------
    >>> round(loss_of_charge(20.0, 8e-10, 200.0, 150.0) / 1e6, 1)
    86901.5
    """
    start, end = positive("start_volt", start_volt), positive("end_volt", end_volt)
    end = possible("end_volt", end, np.less(end, start), f"below start_volt{bounds_text(start)}")
    seconds = positive("seconds", seconds)
    resistance = seconds / (positive("capacitance_farad", capacitance_farad) * np.log(start / end))
    return resistance if np.ndim(resistance) else float(resistance)
