"""The warm and the cold floor above a damaged cable on its supply, as an object."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.report.energised import EnergisedAnswer, Stretch
from cablesim.report.heat import BURNS_KELVIN, BURNS_WORDS, duration_words
from cablesim.site.heat import SPOT_MM
from cablesim.site.layers import Floor
from cablesim.site.plan import Plan
from cablesim.site.point_heat import above_spots
from cablesim.site.response import spot_response
from cablesim.site.warm_floor import above_cable, cut_route, floor_image, rise_at, warm_stretches

__all__ = [
    "BURNS_KELVIN",
    "TOLD_WATT",
    "WarmAnswer",
    "WarmImage",
    "WarmSpot",
    "power_of",
    "warm_answer",
]

# Longest piece whose heat counts as even [m], and how many there are at most: losses change it
# slowly along a cable, and the slower the longer it is.
_PIECE_M, _MOST_PIECES = 0.5, 400
# Steps along the cable and over the floor [m], finer than any patch above a cable is wide.
_STEP_M, _PIXEL_M, _MOST_STEPS, _MOST_PIXELS = 0.02, 0.01, 4000, 250_000
# A spot with less power than this is not worth a word [W].
TOLD_WATT = 0.1
# Moments at which the damage's own rise is looked at: the first [s], and how many.
_SOONEST_S, _MOMENTS = 0.01, 400
_ENERGISED_FOR = (
    "Computed for dry layers in full contact, alike everywhere, and a cable at one depth; nothing "
    "is switched on by this program.",
)


@dataclass(frozen=True, slots=True)
class WarmSpot:
    """Heat in the damage itself.

    Parameters
    ----------
    fault
        The damage.
    watt
        Its power as far as it sits at a point of the heated part [W].
    surface_kelvin
        What it alone adds to the surface straight above it [K].
    spot_kelvin
        What it alone adds to itself, the mean over `SPOT_MM` of cable [K].
    burns_after_s
        When it would rise past what the damage and its surroundings bear, `BURNS_KELVIN` [s]; None
        where it does not.
    """

    fault: Fault
    watt: float
    surface_kelvin: float
    spot_kelvin: float
    burns_after_s: float | None

    @property
    def at_m(self) -> float:
        """Where [m from the cold joint]."""
        return float(self.fault.position_m)

    def to_dict(self) -> dict[str, Any]:
        """As in ``cablesim heat --energised --json``."""
        return {
            "at_m": self.at_m,
            "watt": self.watt,
            "surface_kelvin": self.surface_kelvin,
            "spot_kelvin": self.spot_kelvin,
            "burns_after_s": self.burns_after_s,
        }


@dataclass(frozen=True, slots=True)
class WarmImage:
    """The floor as a camera would show it.

    Parameters
    ----------
    x_m, y_m
        Its axes, shapes (nx,) and (ny,) [m].
    rise_kelvin
        Rise of the surface, shape (ny, nx) [K].
    """

    x_m: FloatArray
    y_m: FloatArray
    rise_kelvin: FloatArray


@dataclass(frozen=True, slots=True)
class WarmAnswer:
    """How warm the floor gets above an energised cable.

    Parameters
    ----------
    energised
        The currents.
    floor
        Layers and depth.
    plan
        Where the cable lies; None where that is not known, and neighbouring runs do not count.
    after_s
        Time since it was energised [s].
    camera_kelvin
        Smallest rise that counts as warm [K].
    at_m
        Places along the cable, shape (n,) [m]; every spot is one.
    rise_kelvin, healthy_kelvin
        Rise of the surface above them, with the damage and without, shape (n,) [K].
    cable_kelvin
        What of `rise_kelvin` comes of the heat along the cable, shape (n,) [K]; the rest is that of
        the spots.
    spots
        Heat in the damage itself, as far as it sits at points of the heated part.
    """

    energised: EnergisedAnswer
    floor: Floor
    plan: Plan | None
    after_s: float
    camera_kelvin: float
    at_m: FloatArray
    rise_kelvin: FloatArray
    healthy_kelvin: FloatArray
    cable_kelvin: FloatArray
    spots: tuple[WarmSpot, ...]

    @property
    def told(self) -> str:
        """When and at which voltage."""
        return f"After {duration_words(self.after_s)} at {self.energised.volt:g} V"

    @property
    def warm_m(self) -> list[tuple[float, float]]:
        """Stretches that a camera shows warm [m]."""
        return warm_stretches(self.at_m, self.rise_kelvin, self.camera_kelvin)

    @property
    def cold_m(self) -> list[tuple[float, float]]:
        """The stretches between [m]."""
        ends = [float(self.at_m[0]), *(e for pair in self.warm_m for e in pair)]
        ends.append(float(self.at_m[-1]))
        pairs = zip(ends[::2], ends[1::2], strict=True)
        return [(low, high) for low, high in pairs if high > low]

    @property
    def hottest(self) -> tuple[float, float]:
        """Where it is hottest [m], and how warm there [K]."""
        k = int(np.argmax(self.rise_kelvin))
        return float(self.at_m[k]), float(self.rise_kelvin[k])

    @property
    def parts(self) -> tuple[tuple[Stretch, float], ...]:
        """Stretches between two places where something changes, and the rise of each [K]."""
        told = []
        for part in self.energised.stretches():
            inside = (self.at_m >= part.from_m) & (self.at_m <= part.to_m)
            if inside.any():
                told.append((part, float(np.median(self.rise_kelvin[inside]))))
        return tuple(told)

    def image(self) -> WarmImage:
        """The whole floor.

        Raises
        ------
        InputError
            If it is not known where the cable lies, or the floor is too large to draw.
        """
        if self.plan is None:
            raise InputError("the floor is not known", try_this="add [floor] with a route")
        left, low, right, high = self.plan.room.bounds_m
        wide, deep = right - left, high - low
        pixel_m = max(_PIXEL_M, math.sqrt(wide * deep / _MOST_PIXELS))
        x_m = np.linspace(left, right, max(2, math.ceil(wide / pixel_m) + 1))
        y_m = np.linspace(low, high, max(2, math.ceil(deep / pixel_m) + 1))
        edges, power = power_of(self.energised, damaged=True)
        route = self.plan.stretch(0.0, self.plan.heated_length_m)
        points, per_m = cut_route(route, edges, power)
        rise = floor_image(points, per_m, self.floor, (x_m, y_m), self.after_s)
        places = np.stack(np.meshgrid(x_m, y_m), axis=-1)
        rise += _above_spots(self.spots, places, self.plan, self.floor, self.after_s)
        return WarmImage(x_m, y_m, rise)

    def marks(self) -> list[tuple[float, float, str]]:
        """Where on the floor the damage lies, as far as it lies in it [m], and its power."""
        if self.plan is None:
            return []
        watts: dict[float, float] = {}
        for (_, fault), watt in zip(
            self.energised.faults, self.energised.damaged.lump_watt.tolist(), strict=True
        ):
            place = float(fault.position_m)
            if 0.0 <= place <= self.plan.heated_length_m:
                watts[place] = watts.get(place, 0.0) + watt
        told = []
        for place, watt in watts.items():
            x, y = self.plan.at(place)
            told.append((float(x), float(y), f"{watt:.3g} W" if watt >= TOLD_WATT else ""))
        return told

    def cautions(self) -> tuple[str, ...]:
        """What to mind."""
        told = [*self.energised.cautions(), *_ENERGISED_FOR]
        if any(spot.burns_after_s is not None for spot in self.spots):
            told.append(BURNS_WORDS)
            if self.energised.rcd == "holds":
                told.append(
                    "The residual-current device does not see this: keep the cable switched off "
                    "until it is mended."
                )
        return tuple(told)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim heat --energised --json`` prints."""
        at_m, kelvin = self.hottest
        return {
            "supply_volt": self.energised.volt,
            "minutes": self.after_s / 60.0,
            "camera_kelvin": self.camera_kelvin,
            "depth_mm": self.floor.depth_mm,
            "neighbours_counted": self.plan is not None,
            "watt": float(self.energised.damaged.watt),
            "warm_m": [list(pair) for pair in self.warm_m],
            "cold_m": [list(pair) for pair in self.cold_m],
            "hottest": {"at_m": at_m, "kelvin": kelvin},
            "parts": [
                {
                    "from_m": part.from_m,
                    "to_m": part.to_m,
                    "watt_per_m": part.damaged,
                    "state": part.state,
                    "rise_kelvin": kelvin,
                }
                for part, kelvin in self.parts
            ],
            "spot_watt": self.energised.damaged.lump_watt.tolist(),
            "spots": [spot.to_dict() for spot in self.spots],
            "rcd": self.energised.rcd,
            "along": {
                "at_m": self.at_m.tolist(),
                "rise_kelvin": self.rise_kelvin.tolist(),
                "healthy_kelvin": self.healthy_kelvin.tolist(),
            },
            "cautions": list(self.cautions()),
        }


def power_of(answer: EnergisedAnswer, *, damaged: bool) -> tuple[FloatArray, FloatArray]:
    """Heat along the heated part, in pieces, without that of faults at a point.

    Parameters
    ----------
    answer
        A single cable on its supply.
    damaged
        Whether with its faults or without.

    Returns
    -------
    edges_m, watt_per_m
        Ends of the pieces, shape (n + 1,) [m], and the heat of each, shape (n,) [W/m].
    """
    found = answer.damaged if damaged else answer.healthy
    length_m = float(np.asarray(answer.parts[0].cable.heated_length_m))
    marks = [m for m in found.marks_m() if 0.0 < m < length_m]
    pieces = min(_MOST_PIECES, max(1, math.ceil(length_m / _PIECE_M)))
    edges = np.unique([*np.linspace(0.0, length_m, pieces + 1), *marks])
    # Edges that rounding alone keeps apart are one.
    edges = edges[np.append(True, np.diff(edges) > 1e-9)]
    power = [float(found.watt_between(a, b)) / (b - a) for a, b in pairwise(edges)]
    return edges, np.array(power)


def warm_answer(
    energised: EnergisedAnswer,
    floor: Floor,
    plan: Plan | None,
    *,
    after_s: float,
    camera_kelvin: float,
) -> WarmAnswer:
    """Warm the floor with a damaged cable on its supply.

    Parameters
    ----------
    energised
        A single cable on its supply.
    floor
        Layers and depth.
    plan
        Where the cable lies, or None.
    after_s
        Time since it was energised [s].
    camera_kelvin
        Smallest rise that counts as warm [K].

    Raises
    ------
    InputError
        If a value cannot be.
    """
    require("camera_kelvin", camera_kelvin, above=0.0)
    require("minutes", after_s / 60.0, above=0.0)
    length_m = float(np.asarray(energised.parts[0].cable.heated_length_m))
    spots = _spots(energised, floor, after_s)
    steps = min(_MOST_STEPS, max(2, math.ceil(length_m / _STEP_M)))
    at_m = np.union1d(np.linspace(0.0, length_m, steps + 1), [spot.at_m for spot in spots])
    rises = []
    for damaged in (True, False):
        edges, power = power_of(energised, damaged=damaged)
        if plan is None:
            rises.append(above_cable(edges, power, floor, at_m, after_s=after_s))
            continue
        points, per_m = cut_route(plan.stretch(0.0, plan.heated_length_m), edges, power)
        rises.append(rise_at(points, per_m, floor, plan.at(at_m), after_s))
    along, healthy = rises
    rise = along + _above_spots(spots, _places(at_m, plan), plan, floor, after_s)
    return WarmAnswer(
        energised, floor, plan, after_s, camera_kelvin, at_m, rise, healthy, along, spots
    )


def _spots(energised: EnergisedAnswer, floor: Floor, after_s: float) -> tuple[WarmSpot, ...]:
    """What the heat of faults at points does to the surface and to themselves."""
    length_m = float(np.asarray(energised.cable.heated_length_m))
    found = []
    for (_, fault), watt in zip(
        energised.faults, energised.damaged.lump_watt.tolist(), strict=True
    ):
        if watt > 0.0 and 0.0 <= float(fault.position_m) <= length_m:
            one_watt = spot_response(floor, SPOT_MM, after_s)
            times = np.geomspace(_SOONEST_S, after_s, _MOMENTS)
            itself = watt * one_watt.rise(times, slice(-1, None))[0][:, 0]
            burns = float(times[np.argmax(itself > BURNS_KELVIN)])
            found.append(
                WarmSpot(
                    fault,
                    watt,
                    watt * float(one_watt.centre(after_s)),
                    float(itself[-1]),
                    burns if itself[-1] > BURNS_KELVIN else None,
                )
            )
    return tuple(found)


def _places(at_m: FloatArray, plan: Plan | None) -> FloatArray:
    """Places of the cable on the floor, or on a straight line where that is not known [m]."""
    return np.stack([at_m, np.zeros(at_m.size)], axis=-1) if plan is None else plan.at(at_m)


def _above_spots(
    spots: tuple[WarmSpot, ...],
    xy_m: FloatArray,
    plan: Plan | None,
    floor: Floor,
    after_s: float,
) -> FloatArray:
    """What the heat in the damage adds to the surface at some places, shape (..., 2) [K]."""
    if not spots:
        return np.zeros(xy_m.shape[:-1])
    there = _places(np.array([spot.at_m for spot in spots]), plan)
    away = np.linalg.norm(xy_m[..., np.newaxis, :] - there, axis=-1)
    return above_spots(away, [spot.watt for spot in spots], floor, after_s=after_s)
