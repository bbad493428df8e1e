"""Blavier's test: the far end open, then closed, and the one root that is physical."""

from __future__ import annotations

import numpy as np

from cablesim.cable.numbers import Real
from cablesim.locate.closed_forms.ohms import PointFault
from cablesim.locate.closed_forms.possible import bounds_text, nonnegative, positive, possible

__all__ = ["blavier", "blavier_unknown_length"]


def blavier(
    open_ohm: Real,
    closed_ohm: Real,
    path_ohm: Real,
    length_m: Real,
    *,
    cold_lead_ohm: Real = 0.0,
) -> PointFault:
    """Blavier's test: two readings from one end, the far end open and then closed.

    ``x = r2 - sqrt((r - r2) (r1 - r2))`` in ohms and ``R = r1 - x``. Only this root is physical:
    the other would put more than ``r2`` before the fault.

    Parameters
    ----------
    open_ohm, closed_ohm
        Readings across the two faulty conductors with the far end open, ``r1``, and with the two
        joined there, ``r2`` [ohm].
    path_ohm
        End-to-end resistance of both faulty conductors when sound, ``r`` [ohm].
    length_m
        Heated length [m].
    cold_lead_ohm
        Resistance of the cold lead in the same path [ohm]; contained in all three above.

    Returns
    -------
    PointFault
        Place and fault resistance.

    Raises
    ------
    InputError
        If the closed reading is above the open one or above the path: the root has no value.

    Notes
    -----
    Assumes one fault whose resistance is the same in both readings, uniform conductors, and
    insulation that is otherwise perfect. It fails where the fault resistance is large: then the two
    readings hold the place only in a small difference, and a gain error or a warmer cable shifts
    it. The gain error of one meter cancels only if it also read the path when it was sound.

    References
    ----------
    HELM Workbook 3.2, Engineering Example 1, undersea cable fault location.

    Examples
    --------
    4 km of two wires, 5 ohm each; 15 V drive 1 A with the far end open, 1.8 A with it closed:

    >>> found = blavier(15.0, 15.0 / 1.8, path_ohm=10.0, length_m=4000.0)
    >>> round(found.position_m, 3), round(found.resistance_ohm, 3)
    (2000.0, 10.0)
    """
    length, lead = positive("length_m", length_m), nonnegative("cold_lead_ohm", cold_lead_ohm)
    path = possible(
        "path_ohm", path_ohm, np.greater(path_ohm, lead), "a finite number above cold_lead_ohm"
    )
    opened = nonnegative("open_ohm", open_ohm)
    closed = nonnegative("closed_ohm", closed_ohm)
    below = np.less_equal(closed, opened) & np.less_equal(closed, path)
    closed = possible(
        "closed_ohm",
        closed,
        below,
        f"at most open_ohm and path_ohm{bounds_text(opened, path)}",
        "joining the far ends can only lower a reading: check the link and the path",
    )
    to_fault = closed - lead - np.sqrt((path - closed) * (opened - closed))
    found = PointFault(length * to_fault / (path - lead), opened - lead - to_fault)
    return found if np.ndim(to_fault) else PointFault(*map(float, found))


def blavier_unknown_length(
    near_open_ohm: Real, near_closed_ohm: Real, far_open_ohm: Real, path_ohm_per_m: Real
) -> PointFault:
    """Blavier's test with an open reading from the far end in place of the length.

    ``R = sqrt(far_open (near_open - near_closed))`` and ``x = near_open - R`` in ohms.

    Parameters
    ----------
    near_open_ohm, near_closed_ohm
        Readings at the near end with the far end open and closed [ohm].
    far_open_ohm
        Reading at the far end with the near end open [ohm].
    path_ohm_per_m
        Resistance of both faulty conductors together [ohm/m].

    Returns
    -------
    PointFault
        Place and fault resistance.

    Raises
    ------
    InputError
        If the closed reading is above the open one.

    Notes
    -----
    Assumptions and failings are those of `blavier`, and the readings are free of cold lead.

    References
    ----------
    Derived from the three loop equations; they are those of problem 2513 of the collection pho.rs.

    Examples
    --------
    >>> found = blavier_unknown_length(4.0, 3.5, 8.0, path_ohm_per_m=2 * 5.0e-4)
    >>> round(found.position_m, 3), round(found.resistance_ohm, 3)
    (2000.0, 2.0)
    """
    opened = nonnegative("near_open_ohm", near_open_ohm)
    closed = nonnegative("near_closed_ohm", near_closed_ohm)
    closed = possible(
        "near_closed_ohm",
        closed,
        np.less_equal(closed, opened),
        f"at most near_open_ohm{bounds_text(opened)}",
        "joining the far ends can only lower a reading: check the link",
    )
    per_m = positive("path_ohm_per_m", path_ohm_per_m)
    fault = np.sqrt(nonnegative("far_open_ohm", far_open_ohm) * (opened - closed))
    found = PointFault((opened - fault) / per_m, fault)
    return found if np.ndim(found.position_m) else PointFault(*map(float, found))
