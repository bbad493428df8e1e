"""Closed forms on capacitances: where a core is broken.

A piece of core is a capacitor as long as itself, so a break is found from ratios of capacitances
and the capacitance per metre cancels. All of them need good insulation: above 100 kohm the results
are good, from 50 to 100 kohm fair, and the two ends of the broken core should be parted by more
than 100 kohm (Hawkins Electrical Guide No. 3 (1914), p. 523-524, for bridges of its time).
Capacitances may be in any unit, the same for all.
"""

from __future__ import annotations

import numpy as np

from cablesim.cable.numbers import Real
from cablesim.locate.closed_forms.possible import nonnegative, positive, possible

__all__ = [
    "break_against_good_core",
    "break_against_unknown_core",
    "break_from_both_ends",
    "break_from_three_capacitances",
    "break_from_two_capacitances",
]


def break_from_three_capacitances(
    broken_to_rest: Real,
    other_to_rest: Real,
    both_to_braid: Real,
    heated_length_m: Real,
    *,
    cold_lead_m: Real = 0.0,
) -> Real:
    """Three capacitances of a twin cable of which one core is broken once.

    ``x = L + (L + c) (C1 - C2) / C12``; without a cold lead ``x = 2 L y / (y + w)``, where ``y``
    and ``w`` are the capacitances to the braid of the near piece and of the rest.

    Parameters
    ----------
    broken_to_rest
        Broken core against the other core and the braid, ``C1 = y + z``.
    other_to_rest
        The other core against the broken core and the braid, ``C2 = w + z``.
    both_to_braid
        Both cores together against the braid, ``C12 = y + w``.
    heated_length_m
        Heated length [m].
    cold_lead_m
        Length of heated cable that has the capacitance of the cold lead [m].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint].

    Raises
    ------
    InputError
        If a capacitance is negative, or the last or the length is not above 0.

    Notes
    -----
    The near piece is ``x`` long. The rest is the broken core's far piece, ``L - x``, and, through
    the far joint, all of the other core: ``2 L - x``. The coupling ``z`` between the two pieces
    enters ``C1`` and ``C2`` alike and is shorted out in ``C12``, so it cancels; so do the
    capacitances per metre and the gain error of a meter that stays on one range.

    Assumes equal, uniform cores joined at the far end, one clean break in one core, and insulation
    that carries no current beside the capacitances. It fails where both cores are broken (then ``C1
    = C2`` and the formula says "far end" wherever the break is) and where the break leaks. A
    result far below zero says that the two cores were swapped.

    References
    ----------
    Derived, no published source found; that ratios of capacitance place a break: Hawkins Electrical
    Guide No. 3 (1914), p. 524-525.

    Examples
    --------
    Core broken at 10 m of 30 m; 100 pF/m core to braid, 40 pF/m between the cores:

    >>> y, w, z = 10 * 100.0, (60 - 10) * 100.0, 10 * 40.0
    >>> break_from_three_capacitances(y + z, w + z, y + w, heated_length_m=30.0)
    10.0
    """
    broken = nonnegative("broken_to_rest", broken_to_rest)
    other = nonnegative("other_to_rest", other_to_rest)
    ratio = (broken - other) / positive("both_to_braid", both_to_braid)
    length = positive("heated_length_m", heated_length_m)
    return length + (length + nonnegative("cold_lead_m", cold_lead_m)) * ratio


def break_from_two_capacitances(
    broken_to_braid: Real,
    other_to_braid: Real,
    heated_length_m: Real,
    *,
    cold_lead_m: Real = 0.0,
) -> Real:
    """Two plain capacitances of a twin cable of which one core is broken; BIASED by the coupling.

    ``x = 2 (L + c) C1 / (C1 + C2) - c``, each core read against the braid while the other floats.

    Parameters
    ----------
    broken_to_braid, other_to_braid
        Broken core and other core against the braid, the other core left open.
    heated_length_m
        Heated length [m].
    cold_lead_m
        Length of heated cable that has the capacitance of the cold lead [m].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint], too far out by the bias below.

    Raises
    ------
    InputError
        If a capacitance is negative, both are 0, or the length is not above 0.

    Notes
    -----
    Exact only without capacitance between the cores, or for a break at the far end. The floating
    core lends its own path to the braid, so ``C1 = y + z w / (z + w)`` and ``C2 = w + z y / (z +
    y)``, and the result is always too large: with ``k`` the ratio of core-to-core to core-to-braid
    capacitance, by nearly the fraction ``k`` of the distance for a break close to the cold joint,
    falling to nothing at the far end. For ``k = 0.4`` it is at worst a tenth of the cable's length.
    Take the third reading: `break_from_three_capacitances`.

    References
    ----------
    Common practice, no source; bias derived.

    Examples
    --------
    The cable of `break_from_three_capacitances`, broken at 10 m:

    >>> y, w, z = 10 * 100.0, (60 - 10) * 100.0, 10 * 40.0
    >>> first, second = y + z * w / (z + w), w + z * y / (z + y)
    >>> round(break_from_two_capacitances(first, second, heated_length_m=30.0), 1)
    12.3
    """
    broken = nonnegative("broken_to_braid", broken_to_braid)
    other = nonnegative("other_to_braid", other_to_braid)
    share = broken / positive("sum of both capacitances", broken + other)
    length, lead = (
        positive("heated_length_m", heated_length_m),
        nonnegative("cold_lead_m", cold_lead_m),
    )
    return 2 * (length + lead) * share - lead


def break_from_both_ends(near: Real, far: Real, length_m: Real, *, cold_lead_m: Real = 0.0) -> Real:
    """Capacitance of one broken core to the braid, read from both its ends.

    ``x = (L + 2 c) C_near / (C_near + C_far) - c``.

    Parameters
    ----------
    near, far
        Core against the braid at the near and at the far end.
    length_m
        Heated length [m].
    cold_lead_m
        Length of heated cable that has the capacitance of the cold lead at one end [m]; alike at
        both.

    Returns
    -------
    float or ndarray
        Place [m from the near cold joint].

    Raises
    ------
    InputError
        If a capacitance is negative, both are 0, or the length is not above 0.

    Notes
    -----
    Assumes a uniform single-conductor cable, one clean break, and insulation that carries no
    current beside the capacitances. Capacitance per metre and the gain error of one range cancel.
    It fails where there are two breaks: the piece between them is not seen.

    References
    ----------
    The comparison with a good core, Hawkins Electrical Guide No. 3 (1914), p. 524-525, taken on the
    two pieces of one core.

    Examples
    --------
    >>> break_from_both_ends(2.0, 6.0, length_m=40.0)
    10.0
    """
    begin, end = nonnegative("near", near), nonnegative("far", far)
    share = begin / positive("sum of both capacitances", begin + end)
    length, lead = positive("length_m", length_m), nonnegative("cold_lead_m", cold_lead_m)
    return (length + 2 * lead) * share - lead


def break_against_good_core(
    broken: Real, good: Real, length_m: Real, *, cold_lead_m: Real = 0.0
) -> Real:
    """Capacitance of a broken core against that of a good core of known length.

    ``x = L C_broken / C_good``; with a cold lead ``(L + c) C_broken / C_good - c``.

    Parameters
    ----------
    broken, good
        The two capacitances to the return, or a bridge's arms at the broken and at the good core
        [any unit]. A slide of 1000 divisions that reads ``A`` gives ``A`` and ``1000 - A``.
    length_m
        Length of the good core [m].
    cold_lead_m
        Length of heated cable that has the capacitance of the cold lead [m].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint].

    Raises
    ------
    InputError
        If the ratio is negative or the good core or the length is not above 0.

    Notes
    -----
    Assumes that both cores have the same capacitance per metre and that both are open at the far
    end: on a twin cable with a joined far end the good core carries the broken one's far piece, and
    `break_from_three_capacitances` is the formula. A capacitance between the two cores makes the
    result too large with two plain readings. With a bridge, which holds both at one potential, it
    makes it too small, since the floating far piece still lends the good core its path to the
    braid. Both biases vanish for a break at the far end.

    References
    ----------
    Hawkins Electrical Guide No. 3 (1914), p. 524-525.

    Examples
    --------
    Good pair of 1.45 miles, slide at 476 of 1000:

    >>> round(break_against_good_core(476.0, 1000.0 - 476.0, length_m=1.45), 3)  # in miles
    1.317
    """
    ratio = nonnegative("broken", broken) / positive("good", good)
    length, lead = positive("length_m", length_m), nonnegative("cold_lead_m", cold_lead_m)
    return (length + lead) * ratio - lead


def break_against_unknown_core(
    good_over_broken: Real, joined_over_broken: Real, length_m: Real
) -> Real:
    """Capacitance of a broken core against a good core of another cable, in two balances.

    ``x = L / (1 + b - a)``, where ``a`` and ``b`` are the good core's capacitance over that of the
    broken core's near piece, first alone and then with the broken core's far end joined to it.

    Parameters
    ----------
    good_over_broken, joined_over_broken
        The two ratios. A slide of 1000 divisions that reads ``A`` gives ``(1000 - A) / A``.
    length_m
        Length of the broken core [m].

    Returns
    -------
    float or ndarray
        Place [m from the near end].

    Raises
    ------
    InputError
        If a ratio is negative, or joining the far piece lowered it.

    Notes
    -----
    Assumes a uniform broken core, one break and no coupling between the two cores. The good core's
    capacitance cancels. It needs the far end within reach.

    References
    ----------
    Hawkins Electrical Guide No. 3 (1914), p. 526, printed as ``A A' L / (1000 (A - A') + A A')``.

    Examples
    --------
    Broken at 0.6 of 1.7 miles, against a core as good as 1.2 miles:

    >>> round(break_against_unknown_core(1.2 / 0.6, (1.2 + 1.1) / 0.6, length_m=1.7), 6)
    0.6
    """
    alone = nonnegative("good_over_broken", good_over_broken)
    joined = possible(
        "joined_over_broken",
        joined_over_broken,
        np.greater_equal(joined_over_broken, alone),
        "at least good_over_broken",
        "joining the far piece can only add to it: exchange the two balances",
    )
    return positive("length_m", length_m) / (1 + joined - alone)
