"""Where a pulse is reflected: the time, sign and size of the first echo from each place.

The front of a pulse runs at one velocity along all conductors. It meets the wave admittance ``Yc =
v C`` (a matrix over the cores, the braid being the reference), loses strength by ``exp(-S x)`` with
``S = (R Yc + Zc G) / 2``, and is reflected where something is across or in series:

- across, with conductances ``Yf``: ``-(2 Yc + Yf)^-1 Yf``, on one pair ``-Z0 / (2 R + Z0)``;
- in series, with resistances ``Zf``: ``(2 Zc + Zf)^-1 Zf``, on one pair ``R / (R + 2 Z0)``;
- at the far end, with conductances ``Yl`` there: ``(Yc + Yl)^-1 (Yc - Yl)``;
- at a cold joint, from ``Yc`` to ``Yd``: ``(Yc + Yd)^-1 (Yc - Yd)``, where the two parts differ;
  what goes on is ``2 (Yc + Yd)^-1 Yc``.

Written for the square root of the power, ``w = K^T V`` with ``Yc = K K^T``, all of these are
symmetric; so by reciprocity the echo at the terminals is ``2 Rs w^T r w`` with the wave w that
arrives at the place: never positive from what lies across, never negative from what is in series,
whatever the leads touch. This is the front alone, for a sharp pulse. The tail that losses add comes
later; `cablesim.line.pulse` has it all.

Source: reflection at a lumped element, em.emedu.org.tw/elec_sim/5-5.html (TDR simulator); matrices
after C. R. Paul, Analysis of Multiconductor Transmission Lines (Wiley, 1994), from memory.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, Real
from cablesim.cable.placing import mirrored_fault
from cablesim.errors import InputError
from cablesim.line.guide import Line, Matrix, inverse_of, place_of
from cablesim.line.terminals import Hookup

__all__ = [
    "FROM_FAR_END",
    "FROM_JOINT",
    "Echo",
    "echo_delay_ns",
    "echo_position_m",
    "echoes",
    "end_of_leads",
    "joint_echo",
    "wave_impedance_ohm",
]

# What an echo comes from where it is no fault.
FROM_FAR_END, FROM_JOINT = -1, -2


_LEAST_SOURCE_OHM = 1e-6


@dataclass(frozen=True, slots=True)
class Echo:
    """The first echo from one place.

    Parameters
    ----------
    source
        Number of the fault; or -1, `FROM_FAR_END`, or -2, `FROM_JOINT`.
    position_m
        Where it comes from [m from the cold joint].
    delay_ns
        From the step at the terminals to its echo there [ns].
    size
        Height at the terminals, as a share of the step that enters the cable; negative where the
        echo turns the other way.
    """

    source: int
    position_m: Real
    delay_ns: Real
    size: FloatArray


def echo_delay_ns(cable: Cable, position_m: Real, *, end: str = "near") -> Real:
    """Time of a pulse from the terminals to a place and back, cold lead included [ns].

    Parameters
    ----------
    cable
        Gives velocity and cold lead; may be a batch.
    position_m
        The place [m from the cold joint].
    end
        ``"near"``, or ``"far"`` for leads at the far terminals of a cable that returns.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> round(echo_delay_ns(cable, 12.4), 2)
    154.11
    """
    if cable.cold_lead_velocity_factor is not None:
        near = end == "near"
        way = (cable.first_m, position_m) if near else (position_m, cable.last_m)
        return 2e9 * cable.travel_s(*way)
    way_m = position_m - cable.first_m if end == "near" else cable.last_m - position_m
    delay_ns: Real = 2e9 * way_m / cable.pulse_velocity_m_per_s
    return delay_ns


def echo_position_m(cable: Cable, delay_ns: Real, *, end: str = "near") -> Real:
    """The place whose echo comes after this time, if straight from there [m from the cold joint].

    Parameters
    ----------
    cable
        Gives velocities and cold lead; may be a batch.
    delay_ns
        Time of the echo [ns]; beyond the far end of the cable the place goes on as if it did.
    end
        As for `echo_delay_ns`.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> print(f"{echo_position_m(cable, echo_delay_ns(cable, 12.4)):.6f}")
    12.400000
    """
    speed = cable.pulse_velocity_m_per_s
    way_m = speed * np.asarray(delay_ns) * 1e-9 / 2
    if cable.cold_lead_velocity_factor is not None:
        # The way in the heated part's metres, then those of the cold leads put right.
        slower = cable.medium(heated=False).pulse_velocity_m_per_s / speed
        lead_m = cable.cold_lead_m / slower
        beyond_m = way_m - lead_m - cable.heated_length_m
        inside_m = np.clip(way_m - lead_m, 0.0, cable.heated_length_m)
        first_m = np.minimum(way_m, lead_m) * slower
        way_m = first_m + inside_m + np.maximum(beyond_m, 0.0) * slower
    found: Real = cable.first_m + way_m if end == "near" else cable.last_m - way_m
    return found


def wave_impedance_ohm(cable: Cable, hookup: Hookup) -> FloatArray:
    """Wave impedance that a sharp pulse meets between the two leads [ohm], that of the cold lead.

    Parameters
    ----------
    cable
        May be a batch.
    hookup
        What the leads touch; other conductors float.
    """
    line = Line(cable)
    end_of_leads(cable, hookup)
    across, tied = line.source(hookup)
    met = inverse_of(line.first.wave + tied)
    return np.asarray(np.einsum("...i,...ij,...j->...", across, met, across))


def echoes(
    cable: Cable,
    faults: tuple[Fault, ...],
    hookup: Hookup,
    source_ohm: float,
    *,
    rise_s: float = 0.0,
) -> tuple[Echo, ...]:
    """First echoes of all faults and of the far end.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape.
    hookup
        What the two leads touch, all at one end of the cable.
    source_ohm
        Resistance of the source [ohm].
    rise_s
        Rise time [s]: of a leaking stretch longer than that only as much counts at once.

    Returns
    -------
    tuple of Echo
        One for each fault, in their order, then that of the far end.

    Raises
    ------
    InputError
        If the leads are not two at one and the same end.
    """
    end = end_of_leads(cable, hookup)
    if end == "far":
        faults = tuple(mirrored_fault(cable, fault) for fault in faults)
    line, sent = Line(cable), _Sent.by(cable, hookup, source_ohm)
    places: list[Any] = [place_of(fault) for fault in faults]
    each = [line.reflection(fault, rise_s) for fault in faults]
    far = line.far_end(hookup, cable.last_m)
    found = []
    for k, place in enumerate([*places, cable.last_m]):
        wave = line.arriving(sent.start, place, places, each, faults, k)
        height = sent.height(wave, each[k] if k < len(faults) else far)
        number = k if k < len(faults) else FROM_FAR_END
        seen_from = place if end == "near" else cable.heated_length_m - place
        found.append(Echo(number, seen_from, echo_delay_ns(cable, place), height))
    return tuple(found)


def joint_echo(cable: Cable, hookup: Hookup, source_ohm: float) -> Echo | None:
    """The echo of the first cold joint, a marker that is there in every such cable.

    Parameters
    ----------
    cable, hookup, source_ohm
        As for `echoes`; what is broken in the cold lead would weaken it.

    Returns
    -------
    Echo or None
        None where the cold lead is like the heated part, and the joint sends nothing back.

    Raises
    ------
    InputError
        If the leads are not two at one and the same end.
    """
    end = end_of_leads(cable, hookup)
    if cable.cold_lead_is_alike:
        return None
    line, sent = Line(cable), _Sent.by(cable, hookup, source_ohm)
    wave = line.along(sent.start, cable.first_m, 0.0, across=False)
    seen_from = 0.0 if end == "near" else cable.heated_length_m
    height = sent.height(wave, line.joint())
    return Echo(FROM_JOINT, seen_from, echo_delay_ns(cable, 0.0), height)


@dataclass(frozen=True, slots=True)
class _Sent:
    """What enters the cable: the wave at its start, and what turns one that comes back to volts."""

    source_ohm: float
    start: FloatArray
    entered: FloatArray

    @classmethod
    def by(cls, cable: Cable, hookup: Hookup, source_ohm: float) -> _Sent:
        line, source = Line(cable), max(source_ohm, _LEAST_SOURCE_OHM)
        across, tied = line.source(hookup)
        loaded = line.first.wave + tied + across[:, None] * across[None, :] / source
        volts = np.einsum("...ij,j->...i", inverse_of(loaded), across) / source
        start = np.einsum("...ji,...j->...i", line.first.root, volts)
        return cls(source, start, volts @ across)

    def height(self, wave: FloatArray, reflection: Matrix) -> FloatArray:
        """Echo at the terminals of what turns this wave back, as a share of what entered."""
        back = np.einsum("...i,...ij,...j->...", wave, reflection, wave)
        return np.asarray(2 * self.source_ohm * back / self.entered)


def end_of_leads(cable: Cable, hookup: Hookup) -> str:
    """The end at which both leads are, ``"near"`` or ``"far"``.

    Raises
    ------
    InputError
        If they are not at one end that can be reached.
    """
    ends = {found.end for lead in hookup.leads for found in lead}
    if len(hookup.leads) != 2 or len(ends) != 1 or (ends == {"far"} and not _returns(cable)):
        raise InputError(
            what="across",
            got=list(hookup.across),
            allowed="two leads at one and the same end of the cable"
            + ("" if _returns(cable) else ", the near one"),
        )
    return ends.pop()


def _returns(cable: Cable) -> bool:
    return cable.construction.returns
