"""Closed forms of the loop bridges: Murray and Varley, in their published variants.

Arm ``P`` lies at the sound core, arm ``Q`` at the faulty one, and the two cores are joined at the
far end. A Murray balance is given as the share ``Q / (P + Q)``, which is what a
`cablesim.instruments.meters.LoopBridge` shows. The fault's resistance, the braid and the battery
cancel at balance; leakage elsewhere does not (see `corrected_for_leakage`).
"""

from __future__ import annotations

import numpy as np

from cablesim.cable.numbers import Real
from cablesim.locate.closed_forms.possible import nonnegative, positive, possible, share_of_one

__all__ = [
    "arm_share",
    "murray",
    "murray_two_balances",
    "murray_unequal",
    "varley",
    "varley_box_at_sound_core",
    "varley_lead_corrected",
    "varley_loop_ohm",
]


def arm_share(sound_arm: Real, faulty_arm: Real) -> Real:
    """Share of the arm at the faulty core, ``Q / (P + Q)``.

    Parameters
    ----------
    sound_arm, faulty_arm
        The two ratio arms [ohm, or divisions of a slide]. For a slide of ``n`` divisions that reads
        ``A`` they are ``n - A`` and ``A``; a fixed coil in series with the sound end of the slide
        adds to ``n - A``.

    Returns
    -------
    float or ndarray
        A share from 0 to 1.

    Raises
    ------
    InputError
        If an arm is negative or both are 0.

    References
    ----------
    Slide of 1000 divisions with an equal fixed coil: Hawkins Electrical Guide No. 3 (1914), p. 516.

    Examples
    --------
    >>> arm_share(45.0, 15.0)
    0.25
    >>> arm_share(2000.0 - 124.0, 124.0)
    0.062
    """
    sound, faulty = nonnegative("sound_arm", sound_arm), nonnegative("faulty_arm", faulty_arm)
    return faulty / positive("sum of both arms", sound + faulty)


def murray(share: Real, length_m: Real, *, cold_lead_m: Real = 0.0) -> Real:
    """Murray loop on two equal cores.

    ``x = 2 L Q / (P + Q)``; with a cold lead ``x = 2 (L + c) Q / (P + Q) - c``.

    Parameters
    ----------
    share
        ``Q / (P + Q)`` at balance.
    length_m
        Heated length of each core [m].
    cold_lead_m
        Length of heated core that has the resistance of the cold lead of one core [m].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint].

    Raises
    ------
    InputError
        If the share lies outside 0..1 or the length is not above 0.

    Notes
    -----
    Assumes equal, uniform cores and one leak. Fails where the fault leaks hardly more than the rest
    of the insulation, or where there is a second one: the result is the mean of all leaks, weighted
    by conductance. Bridge leads add to the cold lead. A share above 1/2 puts the fault on the other
    core, ``2 L - x`` from the cold joint.

    References
    ----------
    V. K. Mehta and R. Mehta, *Principles of Power System*, 4th ed., p. 296; Hawkins Electrical
    Guide No. 3 (1914), p. 516.

    Examples
    --------
    >>> murray(arm_share(45.0, 15.0), length_m=300.0)
    150.0
    """
    length, lead = positive("length_m", length_m), nonnegative("cold_lead_m", cold_lead_m)
    return 2 * (length + lead) * share_of_one("share", share) - lead


def murray_unequal(
    share: Real, loop_ohm: Real, core_ohm_per_m: Real, *, cold_lead_ohm: Real = 0.0
) -> Real:
    """Murray loop on two cores of different resistance.

    ``x = (Q / (P + Q) R_loop - cold lead) / r``.

    Parameters
    ----------
    share
        ``Q / (P + Q)`` at balance.
    loop_ohm
        Resistance of the whole loop as joined, cold lead included [ohm].
    core_ohm_per_m
        Resistance of the faulty core [ohm/m].
    cold_lead_ohm
        Resistance of the faulty core in the cold lead [ohm].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint].

    Raises
    ------
    InputError
        If the share lies outside 0..1 or a resistance is not above 0.

    Notes
    -----
    Assumptions and failings are those of `murray`. In addition the place is off by as much as the
    loop resistance and the ohm per metre disagree: both at one temperature.

    References
    ----------
    V. K. Mehta and R. Mehta, *Principles of Power System*, 4th ed., p. 297; Hawkins Electrical
    Guide No. 3 (1914), p. 516.

    Examples
    --------
    500 m of 0.001 ohm/m, returned on 0.00225 ohm/m:

    >>> round(murray_unequal(arm_share(2.75, 1.0), loop_ohm=1.625, core_ohm_per_m=0.001), 1)
    433.3
    """
    loop, per_m = positive("loop_ohm", loop_ohm), positive("core_ohm_per_m", core_ohm_per_m)
    lead = nonnegative("cold_lead_ohm", cold_lead_ohm)
    return (share_of_one("share", share) * loop - lead) / per_m


def murray_two_balances(share: Real, far_end_share: Real, length_m: Real) -> Real:
    """Murray loop through auxiliary wires of unknown resistance, where no core is sound.

    ``x = L A / A'``. The first balance is taken on the fault, the second on the far end of the
    faulty core, over one and the same loop.

    Parameters
    ----------
    share
        ``Q / (P + Q)``, or the slide's reading, on the fault.
    far_end_share
        The same on the far end of the faulty core.
    length_m
        Length of the faulty core [m].

    Returns
    -------
    float or ndarray
        Place [m from the near end].

    Raises
    ------
    InputError
        If a share is negative, or the second or the length is not above 0.

    Notes
    -----
    Assumes a uniform core and the same loop in both balances; the auxiliary wires and the fault
    cancel. Needs the far end within reach, which a floor-heating cable rarely offers.

    References
    ----------
    Hawkins Electrical Guide No. 3 (1914), p. 519-520.

    Examples
    --------
    >>> round(murray_two_balances(307.0, 610.0, length_m=10_852.0))  # in feet
    5462
    """
    ratio = nonnegative("share", share) / positive("far_end_share", far_end_share)
    return positive("length_m", length_m) * ratio


def varley(
    box_ohm: Real,
    loop_ohm: Real,
    core_ohm_per_m: Real,
    *,
    arms_ohm: tuple[Real, Real] = (1.0, 1.0),
    cold_lead_ohm: Real = 0.0,
) -> Real:
    """Varley loop: fixed arms, a box in series with the faulty core.

    ``X = (Q R_loop - P S) / (P + Q)`` ohm to the fault; with equal arms ``(R_loop - S) / 2``. The
    cores need not be equal.

    Parameters
    ----------
    box_ohm
        Box at balance, ``S`` [ohm].
    loop_ohm
        Resistance of the whole loop, cold lead included [ohm]; see `varley_loop_ohm`.
    core_ohm_per_m
        Resistance of the faulty core [ohm/m].
    arms_ohm
        The arms ``(P, Q)`` at the sound core and at the box [ohm, or any unit].
    cold_lead_ohm
        Resistance of the faulty core in the cold lead, and of the wire to the box [ohm].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint].

    Raises
    ------
    InputError
        If the box is negative, or loop, arms or ohm per metre are not above 0.

    Notes
    -----
    Assumes uniform cores and one leak; a second leak draws the balance to itself, as in `murray`.
    It hangs on the difference of two resistances, so an error of the box or of the loop weighs more
    the nearer the fault. Where no box balances, it belongs to the sound core: see
    `varley_box_at_sound_core`.

    References
    ----------
    Hawkins Electrical Guide No. 3 (1914), p. 518; V. K. Mehta and R. Mehta, *Principles of Power
    System*, 4th ed., p. 297.

    Examples
    --------
    20 km of 20 ohm/km and back, equal arms, balance at 200 ohm:

    >>> varley(200.0, loop_ohm=800.0, core_ohm_per_m=0.020)
    15000.0
    """
    p, q = (positive(f"arms_ohm[{k}]", arm) for k, arm in enumerate(arms_ohm))
    loop, box = positive("loop_ohm", loop_ohm), nonnegative("box_ohm", box_ohm)
    lead = nonnegative("cold_lead_ohm", cold_lead_ohm)
    per_m = positive("core_ohm_per_m", core_ohm_per_m)
    return ((q * loop - p * box) / (p + q) - lead) / per_m


def varley_box_at_sound_core(
    box_ohm: Real,
    loop_ohm: Real,
    core_ohm_per_m: Real,
    *,
    arms_ohm: tuple[Real, Real] = (1.0, 1.0),
    cold_lead_ohm: Real = 0.0,
) -> Real:
    """Varley loop with the box moved into the sound core, where no balance is found otherwise.

    ``X = Q (R_loop + S) / (P + Q)`` ohm to the fault; with equal arms ``(R_loop + S) / 2``.

    Parameters
    ----------
    box_ohm, loop_ohm, core_ohm_per_m, arms_ohm, cold_lead_ohm
        As for `varley`, the box now in series with the sound core; returns and raises as it does.

    Notes
    -----
    Assumptions and failings are those of `varley`. With equal arms it is needed where more than
    half of the loop's resistance lies before the fault.

    References
    ----------
    Hawkins Electrical Guide No. 3 (1914), p. 518.

    Examples
    --------
    >>> varley_box_at_sound_core(10.0, loop_ohm=50.0, core_ohm_per_m=0.75)
    40.0
    """
    p, q = (positive(f"arms_ohm[{k}]", arm) for k, arm in enumerate(arms_ohm))
    loop, box = positive("loop_ohm", loop_ohm), nonnegative("box_ohm", box_ohm)
    lead = nonnegative("cold_lead_ohm", cold_lead_ohm)
    per_m = positive("core_ohm_per_m", core_ohm_per_m)
    return (q * (loop + box) / (p + q) - lead) / per_m


def varley_loop_ohm(box_ohm: Real, *, arms_ohm: tuple[Real, Real] = (1.0, 1.0)) -> Real:
    """Loop resistance read with the same bridge: the return moved from the braid to the sound core.

    ``R_loop = S P / Q``.

    Parameters
    ----------
    box_ohm
        Box at balance [ohm].
    arms_ohm
        The arms ``(P, Q)``, the second at the box [ohm, or any unit].

    Returns
    -------
    float or ndarray
        Resistance of the loop [ohm].

    Raises
    ------
    InputError
        If the box is negative or an arm is not above 0.

    Notes
    -----
    Read with the arms and the box of the fault reading, an error common to both boxes scales the
    place but does not shift it.

    References
    ----------
    M. L. Anand, *Electrical Power-I*, p. 225.

    Examples
    --------
    >>> varley_loop_ohm(3400.0, arms_ohm=(10.0, 80.0))
    425.0
    """
    p, q = (positive(f"arms_ohm[{k}]", arm) for k, arm in enumerate(arms_ohm))
    return nonnegative("box_ohm", box_ohm) * p / q


def varley_lead_corrected(
    fault_box_ohm: Real, loop_box_ohm: Real, core_ohm: Real, lead_ohm: Real, length_m: Real
) -> Real:
    """Varley loop with equal arms, corrected for two equal leads, without trust in the box.

    ``X = (S_loop - S_fault) / S_loop R_core - S_fault / S_loop R_lead`` ohm to the fault, over the
    core's own resistance.

    Parameters
    ----------
    fault_box_ohm, loop_box_ohm
        Box at balance on the fault, and on the loop with both leads in it [ohm].
    core_ohm
        Resistance of the faulty core; the other is equal [ohm].
    lead_ohm
        Resistance of each lead between bridge and core, such as the cold lead [ohm].
    length_m
        Heated length [m].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint].

    Raises
    ------
    InputError
        If a resistance is negative, or core, loop or length is not above 0.

    Notes
    -----
    Assumptions and failings are those of `varley`. The box enters as a ratio only, so an error of
    its scale cancels; the ratio of lead to core must be known.

    References
    ----------
    The two balances, ``2 X = 2 R_core - S_fault`` and ``S_loop = 2 R_core + 2 R_lead``: discussion
    967729 at physicsforums.com.

    Examples
    --------
    >>> round(varley_lead_corrected(60.0, 102.0, core_ohm=50.0, lead_ohm=1.0, length_m=100.0), 6)
    40.0
    """
    box, loop = nonnegative("fault_box_ohm", fault_box_ohm), positive("loop_box_ohm", loop_box_ohm)
    core, lead = positive("core_ohm", core_ohm), nonnegative("lead_ohm", lead_ohm)
    box = possible(
        "fault_box_ohm",
        box,
        np.less_equal(box, loop),
        "at most loop_box_ohm",
        "exchange the two balances, or move the box to the sound core",
    )
    return positive("length_m", length_m) * (1 - box / loop * (1 + lead / core))
