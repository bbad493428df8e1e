"""A tester's source charging a cable: what the display says before the voltage is up.

The source is a voltage behind a resistance whose current is limited. It first gives its whole
current, then the voltage creeps up to its end. All formulas work on arrays, since the search for a
fault asks for thousands of cables at once; `cablesim.instruments.relaxation` solves the same
circuit exactly for one.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cablesim.cable.numbers import FloatArray, Real, require
from cablesim.instruments.relaxation import Drive, Insulation

__all__ = ["Source", "apparent_ohm", "charged"]

_LEAST_SIEMENS = 1e-30


@dataclass(frozen=True, slots=True)
class Source:
    """The source of an insulation or withstand tester.

    Parameters
    ----------
    open_volt
        Voltage without a load [V].
    source_ohm
        Resistance in series [ohm].
    limit_ampere
        Largest current [A].
    """

    open_volt: float
    source_ohm: float
    limit_ampere: float

    def __post_init__(self) -> None:
        require("open_volt", self.open_volt, above=0.0)
        require("source_ohm", self.source_ohm, above=0.0)
        require("limit_milliamp", self.limit_ampere * 1e3, above=0.0)

    @property
    def knee_volt(self) -> float:
        """Voltage at the terminals up to which the limit holds the current down [V]."""
        return max(0.0, self.open_volt - self.limit_ampere * self.source_ohm)

    @property
    def limited_ampere(self) -> float:
        """Largest current that really flows: into a short [A]."""
        return min(self.limit_ampere, self.open_volt / self.source_ohm)

    def charge_seconds(self, farad: float) -> float:
        """Time in which it charges a capacitance but for a few per cent [s]."""
        return self.knee_volt * farad / self.limited_ampere + 3 * self.source_ohm * farad


def apparent_ohm(
    seconds: float,
    leak_siemens: Real,
    capacitance_farad: Real,
    absorbing_siemens: Real,
    exponent: Real,
    source: Source,
) -> FloatArray:
    """Voltage over current at the terminals, some time after the tester was switched on.

    Parameters
    ----------
    seconds
        Time since it was switched on [s].
    leak_siemens
        Steady leakage [S].
    capacitance_farad
        Capacitance to be charged [F].
    absorbing_siemens
        Absorption current over voltage at that time, had all of the voltage come at once [S].
    exponent
        Exponent of the absorption current.
    source
        The tester's source.

    Returns
    -------
    ndarray
        Resistance [ohm]. The absorbed charge is taken not to slow the charging, and the voltage to
        have come at once at its mean delay: both are far below 1 % once it is charged.
    """
    require("seconds", seconds, above=0.0)
    farad = np.maximum(capacitance_farad, 1e-30)
    leak = np.maximum(leak_siemens, _LEAST_SIEMENS)
    limit, knee = source.limited_ampere, source.knee_volt
    # While the limit holds: V = I / G (1 - exp(-G t / C)); it ends at the knee, or never.
    with np.errstate(divide="ignore"):
        full = -np.log1p(-np.minimum(knee * leak / limit, 1.0)) * farad / leak
    ramp_s = np.minimum(full, seconds)
    ramp_volt = np.where(full < seconds, knee, limit / leak * -np.expm1(-leak * ramp_s / farad))
    ramp_area = (limit * ramp_s - farad * ramp_volt) / leak
    # The two terms cancel where little leaks: there the ramp is straight.
    ramp_area = np.where(leak * ramp_s < 1e-6 * farad, ramp_volt * ramp_s / 2, ramp_area)
    # Then it creeps towards what the leak leaves of the open voltage.
    rest_s = seconds - ramp_s
    rate = (leak + 1.0 / source.source_ohm) / farad
    end = source.open_volt / (1.0 + source.source_ohm * leak)
    creep = (knee - end) * np.exp(-rate * rest_s)
    volt = np.where(full < seconds, end + creep, ramp_volt)
    charging = np.where(full < seconds, -creep * rate * farad, limit - leak * ramp_volt)
    area = ramp_area + np.where(
        full < seconds, end * rest_s - (knee - end) * np.expm1(-rate * rest_s) / rate, 0.0
    )
    held_s = np.minimum(area / volt, seconds)
    absorbing = absorbing_siemens * (seconds / held_s) ** exponent
    with np.errstate(divide="ignore"):
        return np.asarray(volt / (volt * (np.asarray(leak_siemens) + absorbing) + charging))


def charged(
    insulation: Insulation, source: Source, seconds: FloatArray
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Charge one insulation from rest, exactly.

    Parameters
    ----------
    insulation
        What is charged.
    source
        The tester's source.
    seconds : ndarray, shape (times,)
        Times since it was switched on, rising [s].

    Returns
    -------
    volt, ampere : ndarray, shape (times,)
        At the terminals.
    last : ndarray, shape (1 + branches,)
        All voltages at the last time, from which a discharge may start.
    """
    seconds = np.asarray(seconds, float)
    start, knee_s = insulation.at_rest(), 0.0
    if source.knee_volt > 0:
        motion = insulation.motion(Drive(source.limited_ampere))
        knee_s = motion.reached_after(start, source.knee_volt, float(seconds[-1]))
        early = motion.volts(start, np.append(seconds[seconds <= knee_s], knee_s))
    else:
        early = start[None]
    creeping = insulation.motion(Drive.voltage(source.open_volt, source.source_ohm))
    late = creeping.volts(early[-1], seconds[seconds > knee_s] - knee_s)
    volts = np.concatenate([early[:-1], late])
    limited = np.full(len(early) - 1, source.limited_ampere)
    return volts[:, 0], np.concatenate([limited, creeping.ampere(late)]), volts[-1]
