"""The rhythm of bursts that makes a hot spot visible soonest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from cablesim.cable.faults import Degraded, Fault, Flashover, Short
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.site.heat import CAMERA_KELVIN, SPOT_MM, HotSpot, hot_spot, pulses
from cablesim.site.layers import Floor
from cablesim.site.response import spot_response

__all__ = [
    "BURSTS_S",
    "LONGEST_BURST_S",
    "PAUSES_S",
    "BestSchedule",
    "Rhythm",
    "best_schedule",
    "burst_watt",
    "spot_watt",
]

BURSTS_S = (1.0, 1.5, 2.0, 2.5, 3.0)
"""Lengths of a burst that are tried [s]; common practice, no source."""
LONGEST_BURST_S = 3.0
"""A tester's burst is never longer than this [s]; common practice, no source."""
PAUSES_S = (2.0, 3.0, 5.0, 10.0)
"""Pauses that are tried [s]; the shortest leaves time to look; common practice, no source."""

# Every length is a multiple of this, so that all rhythms share one time grid.
_GRID_S = 0.1
# A rhythm that is seen this much later than the soonest is as good, if it needs less heat.
_AS_GOOD = 1.01
_LONGEST_SEARCH_S = 6 * 3600.0


@dataclass(frozen=True, slots=True)
class Rhythm:
    """One rhythm that was tried.

    Parameters
    ----------
    on_s, pause_s
        Burst and pause after it [s].
    count
        Number of bursts; where it is not seen, all that start within the time.
    seen_after_s
        When the camera first shows the spot [s]; None where it does not within the time.
    peak_kelvin, spot_kelvin
        Highest rise of the surface, and highest mean rise of the spot itself, within the time [K].
    """

    on_s: float
    pause_s: float
    count: int
    seen_after_s: float | None
    peak_kelvin: float
    spot_kelvin: float


@dataclass(frozen=True, slots=True)
class BestSchedule:
    """What the search found.

    Parameters
    ----------
    best
        The rhythm that is seen soonest; None where none is seen within the time.
    seen
        The course of the surface with the best rhythm's bursts; None where there is none.
    tried
        Every rhythm, in the order of the search.
    within_s
        Time that was allowed [s].
    watt
        Power in the spot during a burst [W].
    reason
        Why there is no best one; None where there is.
    """

    best: Rhythm | None
    seen: HotSpot | None
    tried: tuple[Rhythm, ...]
    within_s: float
    watt: float
    reason: str | None


def spot_watt(open_volt: float, limit_milliamp: float, resistance_ohm: float) -> float:
    """Power that a tester leaves in a fault: its voltage, or its current, is the limit.

    Parameters
    ----------
    open_volt
        Voltage without a load [V].
    limit_milliamp
        Largest current [mA].
    resistance_ohm
        Resistance of the fault [ohm].

    Returns
    -------
    float
        ``I^2 R`` with ``I`` the smaller of the limit and ``V / R`` [W].

    Examples
    --------
    >>> spot_watt(2500.0, 20.0, 50e3)
    20.0
    """
    require("open_volt", open_volt, above=0.0)
    require("limit_milliamp", limit_milliamp, above=0.0)
    require("resistance_ohm", resistance_ohm, above=0.0)
    current = min(limit_milliamp / 1000.0, open_volt / resistance_ohm)
    return current * current * resistance_ohm


def burst_watt(open_volt: float, limit_milliamp: float, fault: Fault) -> float:
    """Power that a tester leaves in a fault, be it a resistance or a gap that is to burn.

    Parameters
    ----------
    open_volt, limit_milliamp
        As for `spot_watt`. The resistance of the cores on the way is left out.
    fault
        The fault; plain numbers.

    Raises
    ------
    InputError
        If the fault takes no power from a tester: nothing conducts, or the gap does not strike.

    Examples
    --------
    >>> from cablesim.cable.faults import Flashover, Short
    >>> burst_watt(2500.0, 20.0, Short(("core1", "braid"), 12.4, 50e3))
    20.0
    >>> print(f"{burst_watt(2500.0, 5.0, Flashover(('core1', 'braid'), 12.4, 1300.0, 70.0)):.2f}")
    0.35
    """
    if isinstance(fault, Flashover):
        spot_watt(open_volt, limit_milliamp, 1.0)  # refuses what no tester can be
        if open_volt < fault.breakdown_volt:
            raise InputError(
                "tester's voltage", open_volt, f"at least {fault.breakdown_volt:g} V to strike"
            )
        return float(fault.arc_volt) * limit_milliamp / 1000.0
    if not isinstance(fault, Short | Degraded):
        raise InputError(
            f"a {fault.kind} takes no power from a tester",
            try_this="give the power in the spot instead",
        )
    return spot_watt(open_volt, limit_milliamp, float(fault.resistance_ohm))


def best_schedule(
    floor: Floor,
    watt: float,
    *,
    within_s: float = 600.0,
    bursts_s: Sequence[float] = BURSTS_S,
    pauses_s: Sequence[float] = PAUSES_S,
    spot_limit_kelvin: float | None = None,
    spot_mm: float = SPOT_MM,
    camera_kelvin: float = CAMERA_KELVIN,
) -> BestSchedule:
    """Find the rhythm of short bursts that a camera sees soonest.

    More heat is never seen later, so without a limit on the spot itself the longest burst with the
    shortest pause wins; of those seen within 1 % of the soonest the one with the least heat is
    taken. A limit on the spot's own rise makes it a true choice.

    Parameters
    ----------
    floor
        Layers, depth and exchange.
    watt
        Power in the spot during a burst, as the tester's limit allows (see `spot_watt`) [W].
    within_s
        Time that may pass until it is seen [s].
    bursts_s, pauses_s
        Lengths to try, multiples of 0.1 s [s]; a burst at most 3 s.
    spot_limit_kelvin
        Mean rise of the spot that no rhythm may pass before it is seen [K]; None for no limit.
    spot_mm, camera_kelvin
        As for `hot_spot`.

    Raises
    ------
    InputError
        If a value is not a number or out of range.

    Examples
    --------
    >>> from cablesim.site.layers import usual_floor
    >>> found = best_schedule(usual_floor(), 5.0)
    >>> found.best.on_s, found.best.pause_s, found.best.count, round(found.best.seen_after_s)
    (3.0, 2.0, 2, 15)
    """
    _check(watt, within_s, bursts_s, pauses_s, spot_limit_kelvin, camera_kelvin)
    response = spot_response(floor, float(spot_mm), float(within_s))
    samples = math.floor(within_s / _GRID_S + 1e-9) + 1
    times: FloatArray = _GRID_S * np.arange(samples, dtype=np.float64)
    # The surface above the spot, and the spot itself.
    unit = response.rise(times, slice(None, None, response.radii_m.size))[0].T
    limit = math.inf if spot_limit_kelvin is None else spot_limit_kelvin
    tried: list[Rhythm] = []
    for on_s, pause_s in product(bursts_s, pauses_s):
        counts = _counts(times, watt * unit, on_s, pause_s, camera_kelvin)
        mildest = min(counts, key=lambda row: (row.seen_after_s is None, row.spot_kelvin))
        tried.append(_chosen([row for row in counts if row.spot_kelvin <= limit]) or mildest)
    best = _chosen([row for row in tried if row.spot_kelvin <= limit])
    if best is None:
        reason = _reason(tried, limit, within_s, camera_kelvin)
        return BestSchedule(None, None, tuple(tried), within_s, watt, reason)
    course = hot_spot(
        floor,
        pulses(best.on_s, best.pause_s, best.count, watt),
        until_s=within_s,
        spot_mm=spot_mm,
        camera_kelvin=camera_kelvin,
    )
    return BestSchedule(best, course, tuple(tried), within_s, watt, None)


def _counts(
    times: FloatArray, unit: FloatArray, on_s: float, pause_s: float, level: float
) -> list[Rhythm]:
    """One rhythm with one burst, two, ... until more make no difference to when it is seen."""
    on, period = (round(length / _GRID_S) for length in (on_s, on_s + pause_s))
    burst = unit.copy()
    burst[:, on:] -= unit[:, :-on]
    most = math.ceil(times.size / period)
    rows = []
    summed = np.zeros_like(burst)
    for count in range(1, most + 1):
        start = (count - 1) * period
        summed[:, start:] += burst[:, : times.size - start]
        seen = _first(times, summed[0], level)
        if seen is None and count < most:
            continue
        peaks = [float(row.max()) for row in summed]
        rows.append(Rhythm(on_s, pause_s, count, seen, *peaks))
        if seen is not None and seen <= count * period * _GRID_S:
            break
    return rows


def _first(times: FloatArray, curve: FloatArray, level: float) -> float | None:
    """First moment at a level, straight between two samples."""
    after = int(np.argmax(curve >= level))
    if curve[after] < level:
        return None
    low, high = curve[after - 1], curve[after]
    return float(times[after] - _GRID_S * (high - level) / (high - low))


def _chosen(rows: Sequence[Rhythm]) -> Rhythm | None:
    """The row with the least heat among those seen about as soon as the soonest."""
    seen = [(row.seen_after_s, row) for row in rows if row.seen_after_s is not None]
    if not seen:
        return None
    soonest = min(after for after, _ in seen)
    good = [row for after, row in seen if after <= _AS_GOOD * soonest]
    return min(good, key=lambda row: row.on_s * row.count)


def _reason(tried: Sequence[Rhythm], limit: float, within_s: float, camera_kelvin: float) -> str:
    minutes = f"{within_s / 60.0:g} minutes"
    seen = [row for row in tried if row.seen_after_s is not None]
    if seen:
        least = min(row.spot_kelvin for row in seen)
        return (
            f"no schedule within {minutes} is seen and keeps the spot's own rise below "
            f"{limit:g} K; the mildest that is seen reaches {least:.0f} K"
        )
    most = max(row.peak_kelvin for row in tried)
    return (
        f"no schedule within {minutes} warms the surface by the {camera_kelvin:g} K that the "
        f"camera shows; the strongest reaches {most:.2g} K"
    )


def _check(
    watt: float,
    within_s: float,
    bursts_s: Sequence[float],
    pauses_s: Sequence[float],
    spot_limit_kelvin: float | None,
    camera_kelvin: float,
) -> None:
    require("watt", watt, above=0.0, at_most=1e5)
    require("within_s", within_s, at_least=1.0, at_most=_LONGEST_SEARCH_S)
    require("camera_kelvin", camera_kelvin, above=0.0, at_most=1000.0)
    if spot_limit_kelvin is not None:
        require("spot_limit_kelvin", spot_limit_kelvin, above=0.0)
    for name, lengths, most in (
        ("bursts_s", bursts_s, LONGEST_BURST_S),
        ("pauses_s", pauses_s, within_s),
    ):
        if not lengths:
            raise InputError(name, allowed="one length or more")
        for length in lengths:
            require(name, length, at_least=_GRID_S, at_most=most)
            if abs(length / _GRID_S - round(length / _GRID_S)) > 1e-6:
                raise InputError(name, length, f"a multiple of {_GRID_S:g} s")
