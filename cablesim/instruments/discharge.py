"""The charge that a test leaves on a cable, how long it stays, and how it comes back."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.instruments.relaxation import Drive, Insulation

__all__ = ["DISCHARGE_OHM", "SAFE_VOLT", "Discharge", "discharge"]

# Direct voltage that dry hands may touch: from memory of IEC 60364-4-41, 414.4.5.
SAFE_VOLT = 60.0
# Resistor through which a tester discharges the cable; common practice, no source.
DISCHARGE_OHM = 1e6
# A short between the conductors, put on by hand and taken away; common practice, no source.
_SHORT_OHM = 1e3
_SHORTED_S = 1.0
# From a nanosecond to thirty years.
_DECADES_S = (0.0, *np.geomspace(1e-9, 1e9, 19).tolist())
# Nobody waits longer than a day to see what comes back.
_RETURNS_WITHIN_S = np.geomspace(1e-3, 86400.0, 200)


@dataclass(frozen=True, slots=True)
class Discharge:
    """What is left on a cable when a test ends.

    Parameters
    ----------
    volt
        Voltage when the test ends [V].
    stored_joule
        Energy stored, absorbed charge included [J].
    alone_seconds
        Time until it is below 60 V where nobody discharges it [s]; infinite where it takes longer
        than thirty years.
    by_tester_seconds
        The same where the tester discharges it through 1 Mohm [s].
    returned_volt
        Highest voltage that comes back within a day after the conductors were shorted for one
        second [V].
    """

    volt: float
    stored_joule: float
    alone_seconds: float
    by_tester_seconds: float
    returned_volt: float


def discharge(insulation: Insulation, volts: FloatArray) -> Discharge:
    """Follow a charged cable after the end of a test.

    Parameters
    ----------
    insulation
        The insulation.
    volts : ndarray, shape (1 + branches,)
        Its voltages when the test ends [V], as `charged` gives them.
    """
    shorted = insulation.motion(Drive.voltage(0.0, _SHORT_OHM)).volts(volts, [_SHORTED_S])[0]
    alone = insulation.motion(Drive())
    returned = alone.volts(shorted, _RETURNS_WITHIN_S)[:, 0]
    return Discharge(
        volt=float(volts[0]),
        stored_joule=insulation.energy_joule(volts),
        alone_seconds=_below(insulation, volts, Drive()),
        by_tester_seconds=_below(insulation, volts, Drive.voltage(0.0, DISCHARGE_OHM)),
        returned_volt=float(max(0.0, returned.max())),
    )


def _below(insulation: Insulation, volts: FloatArray, drive: Drive) -> float:
    """Time until the terminals are below the safe voltage [s]."""
    motion = insulation.motion(drive)

    if volts[0] <= SAFE_VOLT:
        return 0.0
    for least_s, most_s in pairwise(_DECADES_S):
        if motion.terminal_volt(volts, [most_s])[0] <= SAFE_VOLT:
            return motion.reached_after(volts, SAFE_VOLT, most_s, least_s)
    return math.inf
