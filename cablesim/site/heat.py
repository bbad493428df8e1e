"""A hot spot seen from above: when, how warm, how wide."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq, minimize_scalar

from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.site.layers import Floor
from cablesim.site.response import spot_response

__all__ = [
    "CAMERA_KELVIN",
    "CAUTIONS",
    "SPOT_MM",
    "Burst",
    "HotSpot",
    "hot_spot",
    "pulses",
    "switches_of",
]

Burst: TypeAlias = tuple[float, float, float]
"""Start [s], stop [s] and power in the spot [W]."""

CAMERA_KELVIN = 0.1
"""Smallest rise that a thermal camera shows; common practice, no source."""
SPOT_MM = 5.0
"""Length of the hot spot, about a cable's diameter; common practice, no source."""

CAUTIONS = (
    "A hot spot in the floor is made with high voltage: a licensed and instructed person only, "
    "nobody on the floor or at the ends, the cable disconnected on all poles, discharged "
    "afterwards.",
    "The spot itself becomes far hotter than the surface: short bursts with pauses, stop as soon "
    "as it is seen, nothing that can burn on or in the floor.",
    "Local codes, the instructions of tester and cable, and licensed practice come first.",
    "The rise is computed for dry layers in full contact; gaps and moisture change it. Confirm the "
    "place by a second method before opening the floor.",
)

_MOST_BURSTS = 1000
# Moments that a course is sampled at, besides the switchings.
_SAMPLES = 601


@dataclass(frozen=True, slots=True)
class HotSpot:
    """What a hot spot does to the surface above it.

    Parameters
    ----------
    floor
        The floor.
    bursts
        Start [s], stop [s] and power [W] of each burst.
    spot_mm
        Length of the hot spot [mm].
    camera_kelvin
        Smallest rise that the camera shows [K].
    times_s
        Moments [s], shape (n,); every start and stop of a burst is one.
    surface_kelvin, spot_kelvin
        Rise of the surface straight above the spot, and mean rise of the spot itself, shape (n,)
        [K].
    radii_m
        Distances from the point above the spot for `profiles` [m], shape (m,).
    peak_kelvin, peak_at_s
        Highest rise of the surface within the time looked at, and when.
    seen_after_s, seen_until_s
        When the camera first and last shows the spot [s]; None where it never does.
    width_mm
        Width of the warm patch at half its peak, at the time of the peak [mm].
    error_kelvin
        What mesh and steps may have the peak off by [K].
    """

    floor: Floor
    bursts: tuple[Burst, ...]
    spot_mm: float
    camera_kelvin: float
    times_s: FloatArray
    surface_kelvin: FloatArray
    spot_kelvin: FloatArray
    radii_m: FloatArray
    peak_kelvin: float
    peak_at_s: float
    seen_after_s: float | None
    seen_until_s: float | None
    width_mm: float
    error_kelvin: float

    @property
    def energy_j(self) -> float:
        """Heat of all bursts [J]."""
        return sum((stop - start) * watt for start, stop, watt in self.bursts)

    def profiles(self, times_s: FloatArray) -> FloatArray:
        """Rise of the surface over time and radius.

        Parameters
        ----------
        times_s
            Moments up to the last of the result's own, shape (n,) [s].

        Returns
        -------
        ndarray
            Rise at each of `radii_m`, shape (n, m) [K].

        Raises
        ------
        InputError
            If a moment is not within the time that was followed.
        """
        until_s = float(self.times_s[-1])
        require("times_s", times_s, at_least=0.0, at_most=until_s)
        response = spot_response(self.floor, self.spot_mm, until_s)
        switches = switches_of(self.bursts)
        return response.after(switches, np.asarray(times_s, dtype=float), slice(None, -1))[0]


def hot_spot(
    floor: Floor,
    bursts: Sequence[Burst],
    *,
    until_s: float = 600.0,
    spot_mm: float = SPOT_MM,
    camera_kelvin: float = CAMERA_KELVIN,
) -> HotSpot:
    """Follow the surface above a hot spot.

    Parameters
    ----------
    floor
        Layers, depth and exchange.
    bursts
        Start [s], stop [s] and power in the spot [W] of each; those that overlap add up.
    until_s
        How long to follow it [s].
    spot_mm
        Length of the hot spot [mm].
    camera_kelvin
        Smallest rise that the camera shows [K].

    Raises
    ------
    InputError
        If a value is not a number or out of range.

    Examples
    --------
    >>> from cablesim.site.layers import usual_floor
    >>> seen = hot_spot(usual_floor(), pulses(3.0, 2.0, 20, 40.0))
    >>> round(seen.seen_after_s), round(seen.peak_kelvin)
    (10, 58)
    """
    bursts = tuple((float(start), float(stop), float(watt)) for start, stop, watt in bursts)
    check_bursts(bursts)
    require("camera_kelvin", camera_kelvin, above=0.0, at_most=1000.0)
    response = spot_response(floor, float(spot_mm), float(until_s))
    switches = switches_of(bursts)
    turns = np.unique(switches[:, 0])
    times = np.union1d(np.linspace(0.0, until_s, _SAMPLES), turns[turns <= until_s])
    surface = response.after(switches, times, slice(0, 1))[0][:, 0]
    spot = response.after(switches, times, slice(-1, None))[0][:, 0]

    def centre(at_s: float) -> float:
        return float(response.after(switches, np.array([at_s]), slice(0, 1))[0][0, 0])

    peak_at_s, peak = _summit(times, surface, centre)
    # The summit may lie between two samples and be the only moment that shows.
    place = int(np.searchsorted(times, peak_at_s))
    sampled = np.insert(times, place, peak_at_s), np.insert(surface, place, peak)
    seen = _seen(*sampled, camera_kelvin, centre)
    shape, off = response.after(switches, np.array([peak_at_s]), slice(None, -1))
    return HotSpot(
        floor,
        bursts,
        float(spot_mm),
        camera_kelvin,
        times,
        surface,
        spot,
        response.radii_m,
        peak,
        peak_at_s,
        *seen,
        1000.0 * width_m(response.radii_m, shape[0]),
        float(off[0, 0]),
    )


def pulses(on_s: float, pause_s: float, count: int, watt: float) -> tuple[Burst, ...]:
    """Lay out equal bursts, the first at time 0.

    Parameters
    ----------
    on_s, pause_s
        Length of a burst and of the pause after it [s].
    count
        How many.
    watt
        Power in the spot during a burst [W].

    Raises
    ------
    InputError
        If a value is out of range.

    Examples
    --------
    >>> pulses(2.0, 3.0, 2, 40.0)
    ((0.0, 2.0, 40.0), (5.0, 7.0, 40.0))
    """
    require("on_s", on_s, above=0.0)
    require("pause_s", pause_s, at_least=0.0)
    require("count", count, at_least=1, at_most=_MOST_BURSTS)
    period = on_s + pause_s
    return tuple((k * period, k * period + on_s, float(watt)) for k in range(int(count)))


def check_bursts(bursts: Sequence[Burst]) -> None:
    """Refuse bursts that are none, or end before they start.

    Raises
    ------
    InputError
        Naming the first burst that cannot be.
    """
    if not 1 <= len(bursts) <= _MOST_BURSTS:
        raise InputError("number of bursts", len(bursts), f"1 to {_MOST_BURSTS}")
    for start, stop, watt in bursts:
        require("start of a burst in s", start, at_least=0.0)
        require("stop of a burst in s", stop, above=start, try_this="let it end after its start")
        require("watt", watt, at_least=0.0, at_most=1e5)


def switches_of(bursts: Sequence[Burst]) -> FloatArray:
    """Moments [s] and changes of power [W] of bursts, in order, shape (k, 2)."""
    changes: dict[float, float] = {}
    for start, stop, watt in bursts:
        changes[start] = changes.get(start, 0.0) + watt
        changes[stop] = changes.get(stop, 0.0) - watt
    return np.array(sorted(changes.items()))


def width_m(radii_m: FloatArray, profile: FloatArray) -> float:
    """Width of a patch at half its height in the middle [m]."""
    half = profile[0] / 2.0
    if not half > 0.0:
        return 0.0
    below = int(np.argmax(profile < half))
    if below == 0:
        return float(2.0 * radii_m[-1])
    curve = CubicSpline(radii_m, profile - half)
    return float(2.0 * brentq(curve, radii_m[below - 1], radii_m[below]))


def _summit(
    times: FloatArray, curve: FloatArray, centre: Callable[[float], float]
) -> tuple[float, float]:
    """Moment and height of the highest point."""
    top = int(np.argmax(curve))
    low, high = times[max(top - 1, 0)], times[min(top + 1, times.size - 1)]
    found = minimize_scalar(
        lambda at_s: -centre(at_s), bounds=(low, high), method="bounded", options={"xatol": 1e-3}
    )
    if -found.fun > curve[top]:
        return float(found.x), float(-found.fun)
    return float(times[top]), float(curve[top])


def _seen(
    times: FloatArray, curve: FloatArray, level: float, centre: Callable[[float], float]
) -> tuple[float | None, float | None]:
    """First and last moment at which the curve is at a level or above it."""
    (above,) = np.nonzero(curve >= level)
    if above.size == 0:
        return None, None
    first, last = int(above[0]), int(above[-1])
    start = brentq(lambda at_s: centre(at_s) - level, times[first - 1], times[first])
    end = times[-1]
    if last < times.size - 1:
        end = brentq(lambda at_s: centre(at_s) - level, times[last], times[last + 1])
    return float(start), float(end)
