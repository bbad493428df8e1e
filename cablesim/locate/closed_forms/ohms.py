"""Closed forms on resistances: two ends, three readings, fall of potential."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from cablesim.cable.numbers import Real
from cablesim.locate.closed_forms.possible import nonnegative, positive, possible

__all__ = [
    "PointFault",
    "drop",
    "three_readings",
    "two_ends",
]


class PointFault(NamedTuple):
    """Where a fault is, and its resistance.

    Parameters
    ----------
    position_m
        Place [m from the cold joint at the near end].
    resistance_ohm
        Resistance of the fault [ohm].
    """

    position_m: Real
    resistance_ohm: Real


def two_ends(
    near_ohm: Real,
    far_ohm: Real,
    path_ohm: Real,
    length_m: Real,
    *,
    cold_lead_ohm: Real = 0.0,
) -> PointFault:
    """Two-end test: one reading from each end, the other end open.

    ``x = L (1 + (near - far) / path) / 2`` and ``R = (near + far - path) / 2``. It serves a fault
    between two cores (the path is both cores) and a fault from one core to the braid (the path is
    core and braid).

    Parameters
    ----------
    near_ohm, far_ohm
        Readings across the two faulty conductors at the near and at the far end [ohm].
    path_ohm
        End-to-end resistance of the heated part of both faulty conductors together [ohm].
    length_m
        Heated length [m].
    cold_lead_ohm
        What each reading holds in series beside that path: the cold lead at its end [ohm], alike at
        both ends. It cancels in the place.

    Returns
    -------
    PointFault
        Place and fault resistance.

    Raises
    ------
    InputError
        If a reading is negative or infinite, or path or length is not above 0.

    Notes
    -----
    Assumes one fault, insulation that is otherwise perfect, and uniform conductors. Where the path
    was taken for the core alone, the place is pulled away from the middle in the proportion
    (core + braid) / core. The gain error of one meter cancels if it also read the path.

    References
    ----------
    One wire to earth, ``(L + a - b) / 2``, and two wires bridged: *Technologie der Electricität und
    des Magnetismus*, p. 472.

    Examples
    --------
    Two wires of 11 ohm/km each, 10 km long, 110 ohm from the west and 160 ohm from the east:

    >>> found = two_ends(110.0, 160.0, path_ohm=2 * 110.0, length_m=10_000.0)
    >>> round(found.position_m, 1), round(found.resistance_ohm, 3)
    (3863.6, 25.0)
    """
    near, far = nonnegative("near_ohm", near_ohm), nonnegative("far_ohm", far_ohm)
    path, length = positive("path_ohm", path_ohm), positive("length_m", length_m)
    lead = nonnegative("cold_lead_ohm", cold_lead_ohm)
    return PointFault(length * (1 + (near - far) / path) / 2, (near + far - path) / 2 - lead)


def three_readings(
    core_to_core_ohm: Real,
    faulty_to_braid_ohm: Real,
    sound_to_braid_ohm: Real,
    heated_length_m: Real,
    *,
    cold_lead_ohm: Real = 0.0,
) -> PointFault:
    """Three readings on a twin cable of which one core touches the braid.

    ``x = L (1 + (R1 - R2) / R12)`` and ``R = (R1 + R2 - R12) / 2``: the two-end test around the
    loop of both cores, which is twice as long as the cable. A cold lead goes off ``R12``, with both
    its cores; it cancels in ``R1 - R2``.

    Parameters
    ----------
    core_to_core_ohm
        Reading across the two cores, ``R12`` [ohm].
    faulty_to_braid_ohm, sound_to_braid_ohm
        Readings from the faulty core, ``R1``, and from the other core, ``R2``, to the braid [ohm].
        The faulty core gives the lower one.
    heated_length_m
        Heated length [m].
    cold_lead_ohm
        Resistance of one core of the cold lead [ohm].

    Returns
    -------
    PointFault
        Place, and resistance of the fault with that of the braid up to it.

    Raises
    ------
    InputError
        If a reading is negative or infinite, or no heated core is left in ``R12``.

    Notes
    -----
    Assumes equal, uniform cores joined at the far end, one fault, insulation that is otherwise
    perfect, and readings free of the meter's leads. The braid's resistance and the gain error of
    one meter cancel; so do the rated resistance and the temperature. Meter leads of ``m`` ohm left
    in the readings pull the place towards the far end by about ``(L - x) m / R12``. A place beyond
    the heated length says that the two cores were swapped, a negative one that the fault is in the
    cold lead. With two faults it gives a place between them. For unequal cores the ohms to the
    fault are ``(R12 + R1 - R2) / 2`` less the cold lead, and the faulty core's own ohm per metre
    turns them into metres.

    References
    ----------
    The two-end test for one wire to earth: *Technologie der Electricität und des Magnetismus*, p.
    472; around the loop of a twin cable: derived, no published source found.

    Examples
    --------
    >>> found = three_readings(88.2665, 73.5309, 125.2749, 30.0, cold_lead_ohm=0.03325)
    >>> round(found.position_m, 2)
    12.4
    """
    lead = nonnegative("cold_lead_ohm", cold_lead_ohm)
    loop = possible(
        "core_to_core_ohm",
        core_to_core_ohm,
        np.greater(core_to_core_ohm, np.multiply(2.0, lead)),
        "a finite number above twice cold_lead_ohm",
    )
    return two_ends(
        nonnegative("faulty_to_braid_ohm", faulty_to_braid_ohm),
        nonnegative("sound_to_braid_ohm", sound_to_braid_ohm),
        loop - 2 * lead,
        2 * positive("heated_length_m", heated_length_m),
        cold_lead_ohm=lead,
    )


def drop(
    fault_volt: Real,
    known_volt: Real,
    known_ohm: Real,
    core_ohm_per_m: Real,
    *,
    cold_lead_ohm: Real = 0.0,
) -> Real:
    """Fall of potential: one current through a known resistor, the faulty core and the fault.

    ``x = (R_known V_x / V_known - cold lead) / r``.

    Parameters
    ----------
    fault_volt
        Voltage along the faulty core from its near terminal to the fault [V]. The sound core,
        joined at the far end and free of current, is the second probe.
    known_volt
        Voltage across the known resistor [V], at the same current.
    known_ohm
        Known resistor [ohm].
    core_ohm_per_m
        Resistance of the faulty core [ohm/m], at the temperature of the test.
    cold_lead_ohm
        Resistance of the faulty core in the cold lead [ohm].

    Returns
    -------
    float or ndarray
        Place [m from the cold joint].

    Raises
    ------
    InputError
        If a voltage is negative or one of the others is not above 0.

    Notes
    -----
    Assumes one fault and perfect insulation elsewhere. The fault's resistance, the braid and the
    test leads do not count. It fails where the current heats the core or changes between the two
    voltages, and is off by as much as the ohm per metre is.

    References
    ----------
    Hawkins Electrical Guide No. 3 (1914), p. 483-485.

    Examples
    --------
    >>> round(drop(fault_volt=0.18228, known_volt=0.1, known_ohm=10.0, core_ohm_per_m=1.47), 3)
    12.4
    """
    volt = nonnegative("fault_volt", fault_volt)
    ratio = volt / positive("known_volt", known_volt)
    lead = nonnegative("cold_lead_ohm", cold_lead_ohm)
    per_m = positive("core_ohm_per_m", core_ohm_per_m)
    return (positive("known_ohm", known_ohm) * ratio - lead) / per_m
