"""Pulses on a damaged cable: what an echo meter at the terminals sees against time.

A source of resistance ``Rs`` sends a step (or a pulse, a step and a later step back) of smooth
shape; its terminals show ``V(s) = Vs(s) / (1 + Rs Y(s))``, where ``Y`` is the admittance between
the leads from the exact line solution, losses and all. The trace is the inverse Laplace transform
along ``s = a + jw``, done as one fast Fourier transform and a multiplication by ``exp(a t)``. What
is periodic in the transform then comes back weakened by ``exp(-a period)``, so echoes from beyond
the end of the window do not fold into it: a and the period are chosen for a stated error. The
smooth step is an error function, whose spectrum falls as a Gaussian: where the band ends it is
below the same error.

Source of the shifted transform: the numerical Laplace transform, D. J. Wilcox, International
Journal of Electrical Engineering Education 15 (1978) 247-265, from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.line.circuit import terminal_network
from cablesim.line.layout import MeshMaker
from cablesim.line.piece import uniform_piece
from cablesim.line.terminals import Hookup

__all__ = ["Incident", "Trace", "echo_trace", "travel_s"]

# 10 % to 90 % of an error function, in its standard deviations.
_RISE_DEVIATIONS = 2.5631031310892007
# Part of the period that is kept: rounding grows as exp(a t), so its end is thrown away.
_KEPT = 0.4
# A shift beyond this makes rounding grow larger than what it removes.
_LARGEST_SHIFT = 26.0

_Item = TypeVar("_Item", bound="Cable | Fault")


@dataclass(frozen=True, slots=True)
class Incident:
    """What the source sends.

    Parameters
    ----------
    rise_s
        Rise time, 10 % to 90 % [s].
    width_s
        Width of the pulse at half height [s]; infinite for a step.
    source_ohm
        Resistance of the source [ohm].
    volt
        Height of the step with nothing connected [V].
    """

    rise_s: float
    width_s: float = np.inf
    source_ohm: float = 50.0
    volt: float = 1.0

    def __post_init__(self) -> None:
        require("rise_s", self.rise_s, at_least=1e-12, at_most=1.0)
        require("width_s", self.width_s, above=0.0, infinite=True)
        require("source_ohm", self.source_ohm, at_least=0.0, at_most=1e6)
        require("volt", self.volt)

    @property
    def deviation_s(self) -> float:
        """Standard deviation of the Gaussian whose integral the step is [s]."""
        return self.rise_s / _RISE_DEVIATIONS

    def against_time(self, time_s: FloatArray) -> FloatArray:
        """Voltage of the source with nothing connected [V]; half of the step at time 0."""
        from scipy.special import ndtr

        shape = ndtr(time_s / self.deviation_s)
        if np.isfinite(self.width_s):
            shape = shape - ndtr((time_s - self.width_s) / self.deviation_s)
        return np.asarray(self.volt * shape)

    def transform(self, s: NDArray[np.complex128]) -> NDArray[np.complex128]:
        """Laplace transform of the same [V s]."""
        found = self.volt * np.exp((s * self.deviation_s) ** 2 / 2) / s
        if np.isfinite(self.width_s):
            found = found * -np.expm1(-s * self.width_s)
        return np.asarray(found)


@dataclass(frozen=True, slots=True)
class Trace:
    """Voltage at the leads against time.

    Parameters
    ----------
    time_s : ndarray, shape (times,)
        Evenly spaced [s]; 0 is when the step of the source is half up.
    volt : ndarray, shape (..., times)
        Voltage between the leads [V].
    """

    time_s: FloatArray
    volt: FloatArray

    def at(self, time_s: FloatArray | float) -> FloatArray:
        """Voltage at other times [V], by cubic spline; the last axis holds the times."""
        from scipy.interpolate import CubicSpline

        return np.asarray(CubicSpline(self.time_s, self.volt, axis=-1)(time_s))


def travel_s(cable: Cable, from_m: Any, to_m: Any) -> Any:
    """Time that a pulse takes from one position to another [s], one way."""
    return cable.travel_s(from_m, to_m)


def echo_trace(
    cable: Cable,
    faults: tuple[Fault, ...],
    hookup: Hookup,
    incident: Incident,
    *,
    until_s: float | None = None,
    points: int = 512,
    error: float = 1e-9,
    mesh_of: MeshMaker = uniform_piece,
) -> Trace:
    """Trace of an echo meter on a damaged cable.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape, which leads in the result.
    hookup
        What the two leads touch.
    incident
        What the source sends.
    until_s
        End of the trace [s]; two and a half times there and back, and the pulse itself, unless
        given.
    points
        Number of times in the trace. The line is solved at as many frequencies as the rise time
        and the window need, whatever their number.
    error
        Largest error allowed, as a share of the source's step; 1e-10 or more. Rounding adds some
        1e-9 where the line itself loses next to nothing.
    mesh_of
        What stands for a uniform piece: the exact solution, or a lumped ladder for comparison.

    Returns
    -------
    Trace
        Voltages, shape (..., points).

    Raises
    ------
    InputError
        If a fault does not fit the cable, or a number is out of range.

    Examples
    --------
    A short halfway along a cable of 30 m turns the echo negative after 157 ns.

    >>> from cablesim.cable.faults import Short
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> leads = Hookup.of(cable, ("core1", "braid"))
    >>> source = Incident(rise_s=2e-9)
    >>> whole = echo_trace(cable, (), leads, source, until_s=3e-7)
    >>> broken = echo_trace(cable, (Short(("core1", "braid"), 15.0, 20.0),), leads, source,
    ...                     until_s=3e-7)
    >>> change = broken.volt - whole.volt
    >>> print(f"{1e9 * 2 * travel_s(cable, cable.first_m, 15.0):.0f} ns")
    181 ns
    >>> print(f"{change[np.searchsorted(whole.time_s, 1.7e-7)]:.6f}")
    0.000000
    >>> bool(change[np.searchsorted(whole.time_s, 1.9e-7)] < -0.1)
    True
    """
    require("points", points, at_least=2, at_most=1e6)
    require("error", error, at_least=1e-10, at_most=0.1)
    if until_s is None:
        there = float(np.max(travel_s(cable, cable.first_m, cable.last_m)))
        width = incident.width_s if np.isfinite(incident.width_s) else 0.0
        until_s = 5.0 * there + width + 4.0 * incident.rise_s
    require("until_s", until_s, above=0.0, at_most=1.0)
    # The step is never zero: the trace starts where it is below the error.
    start_s = -incident.deviation_s * float(np.sqrt(2 * np.log(1 / error)))
    step_s = (until_s - start_s) / (points - 1)
    period_s = step_s * np.ceil((points - 1) / _KEPT)
    shift = min(np.log(1 / error) + 3.0, _LARGEST_SHIFT) / period_s
    band = np.sqrt(2 * np.log(1 / error)) / incident.deviation_s  # [rad/s]
    count = int(np.ceil(band * period_s / (2 * np.pi))) + 1
    s = shift + 2j * np.pi * np.arange(count) / period_s
    siemens = _admittance(cable, faults, hookup, s, mesh_of)
    sent = incident.transform(s) * np.exp(s * start_s)
    shown = sent / (1.0 + incident.source_ohm * siemens)
    # Steps fine enough for the band, of which every so many are kept.
    times = round(period_s / step_s)
    finer = int(np.ceil(2 * count / times))
    volt = np.fft.irfft(shown, finer * times, axis=-1) * (finer * times / period_s)
    kept_s = step_s * np.arange(points)
    shown_volt = volt[..., : finer * points : finer] * np.exp(shift * kept_s)
    return Trace(np.asarray(start_s + kept_s), np.asarray(shown_volt))


def _admittance(
    cable: Cable,
    faults: tuple[Fault, ...],
    hookup: Hookup,
    s: NDArray[np.complex128],
    mesh_of: MeshMaker,
) -> NDArray[np.complex128]:
    """Admittance between the leads [S], shape (..., frequencies)."""
    network = terminal_network(
        _with_last_axis(cable),
        tuple(_with_last_axis(fault) for fault in faults),
        hookup.terminals,
        s / (2j * np.pi),
        mesh_of=mesh_of,
    )
    return np.asarray(network.between_leads(hookup)[0, 1], complex)


def _with_last_axis(item: _Item) -> _Item:
    """Give every array of a batch one more axis, for the frequencies."""

    def longer(value: Any) -> Any:
        if isinstance(value, tuple):
            return tuple(longer(v) for v in value)
        return value[..., None] if isinstance(value, np.ndarray) and value.ndim else value

    values = {f.name: getattr(item, f.name) for f in fields(item)}
    return replace(item, **{k: longer(v) for k, v in values.items() if longer(v) is not v})
