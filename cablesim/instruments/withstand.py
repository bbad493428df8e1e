"""A withstand test on one cable: the voltage raised, what trips it, what each burst does.

The capacitance of the cable is charged by the rising voltage and discharged through the arc. At the
trip the tester switches off. Repeated bursts of a few seconds, the voltage set to where it trips,
put the tester's limited current through the damage and warm it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Fault, Flashover, Short
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.absorption import insulation_of
from cablesim.instruments.breakdown import BY_CURRENT, Tripping, tripping
from cablesim.instruments.discharge import Discharge, discharge
from cablesim.instruments.readings import Probe
from cablesim.instruments.relaxation import Drive, Insulation
from cablesim.instruments.withstand_tester import WithstandTester

__all__ = ["BURSTS_S", "Burst", "WithstandTest", "withstand_test"]

# Bursts of 1 to 2 s, at most 3 s; common practice, no source.
BURSTS_S = (1.0, 2.0, 3.0)
_POINTS = 401
# Resistance over which the tester's output follows its setting in the model of what stays charged.
_STIFF_OHM = 1e3


@dataclass(frozen=True, slots=True)
class Burst:
    """What one burst puts into the damage.

    Parameters
    ----------
    seconds
        How long the tester is held on [s].
    watt
        Power in the damage while it lasts [W].
    from_cable_joule
        Energy that the cable's capacitance gives when the arc strikes [J]; 0 by current.
    joule
        All energy put into the damage [J].
    """

    seconds: float
    watt: float
    from_cable_joule: float
    joule: float


@dataclass(frozen=True, slots=True, eq=False)
class WithstandTest:
    """What a withstand tester does to one cable, and the cable to it.

    Parameters
    ----------
    probe
        The tester and its leads.
    trip_volt
        Lowest voltage at the terminals at which it trips [V]; infinite where it does not.
    by
        ``"flashover"``, ``"current"``, or ``""`` where it does not trip.
    fault
        The fault that trips it, as far as one does: a flashover, or the leak that draws most.
    fault_volt
        Voltage across that fault when it trips [V].
    limit_ampere
        Current at which it trips [A].
    seconds, volt, ampere : ndarray, shape (times,)
        The voltage raised until it trips or is at its highest, then lowered again.
    bursts
        What bursts of 1, 2 and 3 s at the lowest tripping voltage put into the damage.
    discharge
        What stays on the cable at the highest voltage of the test.
    """

    probe: Probe
    trip_volt: float
    by: str
    fault: Fault | None
    fault_volt: float
    limit_ampere: float
    seconds: FloatArray
    volt: FloatArray
    ampere: FloatArray
    bursts: tuple[Burst, ...]
    discharge: Discharge

    @property
    def trips(self) -> bool:
        """Whether the tester trips within its range."""
        return self.by != ""

    @property
    def between(self) -> tuple[str, str] | None:
        """The two conductors that gave way; None where none did or it cannot be told."""
        return None if self.fault is None else getattr(self.fault, "between", None)


def withstand_test(cable: Cable, faults: tuple[Fault, ...], probe: Probe) -> WithstandTest:
    """Raise the voltage until the tester trips or is at its highest, and lower it again.

    Parameters
    ----------
    cable, faults
        The damaged cable; plain numbers, no batch.
    probe
        A withstand tester and its leads.

    Raises
    ------
    InputError
        If the meter is no withstand tester.

    Examples
    --------
    >>> from cablesim.line.terminals import Hookup
    >>> cable = Cable.rated("twin", 30.0, 88.2)
    >>> probe = Probe(WithstandTester(name="t"), Hookup.of(cable, ("core1+core2", "braid")))
    >>> weak = Flashover(("core1", "braid"), 12.4, breakdown_volt=1400.0, arc_volt=60.0)
    >>> found = withstand_test(cable, (weak,), probe)
    >>> round(found.trip_volt), found.by, found.between
    (1400, 'flashover', ('core1', 'braid'))
    >>> round(found.bursts[1].joule, 2)  # 5 mA at 60 V for 2 s, and the charge of the cable
    0.61
    """
    tester = probe.meter
    if not isinstance(tester, WithstandTester):
        raise InputError("meter", tester.kind, "a withstand_tester")
    limit = tester.limit_ampere(probe.setting)
    insulation = insulation_of(cable, faults, probe)
    found = tripping(cable, faults, probe.hookup, limit)
    rising_s, rising_volt, rising_ampere = _rise(tester, insulation)
    volt, number = float(found.volt), int(found.fault)
    # The current that charges the cable and is absorbed comes on top of the leakage.
    over = np.flatnonzero(rising_ampere[1:] >= limit) + 1
    if over.size and rising_volt[over[0]] < volt:
        volt, number = float(rising_volt[over[0]]), BY_CURRENT
    if volt > tester.top_range:
        volt = np.inf
    fault = _culprit(faults, found, number) if np.isfinite(volt) else None
    by = "" if np.isinf(volt) else "current" if number == BY_CURRENT else "flashover"
    share = float(found.share) if by == "flashover" else 1.0
    highest = min(volt, tester.top_range)
    seconds, volts, ampere = _course(tester, (rising_s, rising_volt, rising_ampere), volt, limit)
    charged = insulation.motion(Drive.voltage(highest, _STIFF_OHM)).volts(
        insulation.at_rest(), [max(highest / tester.volt_per_second, 1e-3)]
    )[0]
    return WithstandTest(
        probe=probe,
        trip_volt=volt,
        by=by,
        fault=fault,
        fault_volt=volt * share if by else 0.0,
        limit_ampere=limit,
        seconds=seconds,
        volt=volts,
        ampere=ampere,
        bursts=_bursts(fault, by, volt, limit, insulation),
        discharge=discharge(insulation, charged),
    )


def _rise(tester: WithstandTester, insulation: Insulation) -> tuple[FloatArray, ...]:
    """Time, voltage and current while it is raised to its highest voltage and nothing trips it."""
    volt = np.linspace(0.0, tester.top_range, _POINTS)
    seconds = volt / tester.volt_per_second
    farad, law = insulation.capacitance_farad, insulation.absorption
    rest = 1.0 - float(law.exponent)
    absorbing: FloatArray = np.zeros(_POINTS)
    if float(law.factor) > 0 and rest > 0:
        # beta C r (t - s)^-n over all the past s, for a voltage that rises at the rate r.
        absorbing = float(law.factor) * farad * tester.volt_per_second / rest * seconds**rest
    ampere = insulation.leak_siemens * volt + farad * tester.volt_per_second + absorbing
    return seconds, volt, np.asarray(ampere)


def _course(
    tester: WithstandTester, rise: tuple[FloatArray, ...], trip_volt: float, limit_ampere: float
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The whole test: up, then off at the trip, or down again where nothing trips it."""
    seconds, volt, ampere = rise
    if np.isfinite(trip_volt):
        held = volt < trip_volt
        at_s = trip_volt / tester.volt_per_second
        return (
            np.concatenate([seconds[held], [at_s, at_s, at_s, at_s * 1.1 + 0.5]]),
            np.concatenate([volt[held], [trip_volt, trip_volt, 0.0, 0.0]]),
            np.concatenate([ampere[held], [ampere[held][-1:].max(), limit_ampere, 0.0, 0.0]]),
        )
    # Falling, the capacitance gives its charge back: its current turns round.
    charging = float(ampere[0])
    falling = np.maximum(ampere[::-1] - 2 * charging, 0.0)
    return (
        np.concatenate([seconds, seconds[-1] + seconds]),
        np.concatenate([volt, volt[::-1]]),
        np.concatenate([ampere, falling]),
    )


def _culprit(faults: tuple[Fault, ...], found: Tripping, number: int) -> Fault | None:
    """What trips it: the place that struck, or else the leak of least resistance."""
    if number != BY_CURRENT:
        return faults[number]
    leaks = [f for f in faults if isinstance(f, Short | Degraded | Flashover)]
    if not leaks:
        return None
    most = min(leaks, key=lambda fault: float(fault.resistance_ohm))
    # Where the leads are joined by the cable itself no leak is to blame.
    return most if float(most.resistance_ohm) * float(found.siemens) > 0.5 else None


def _bursts(
    fault: Fault | None, by: str, volt: float, limit_ampere: float, insulation: Insulation
) -> tuple[Burst, ...]:
    if not by:
        return ()
    if isinstance(fault, Flashover) and by == "flashover":
        arc, struck = float(fault.arc_volt), float(fault.breakdown_volt)
        given = insulation.capacitance_farad * (struck**2 - arc**2) / 2
        watt = arc * limit_ampere
    else:
        given, watt = 0.0, volt * limit_ampere
    return tuple(Burst(s, watt, given, watt * s + given) for s in BURSTS_S)
