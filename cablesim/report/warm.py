"""The warm and the cold floor above a damaged cable on its supply: as an object and as a table."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from rich import box
from rich.console import Group
from rich.padding import Padding
from rich.panel import Panel
from rich.text import Text

from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.report.energised import EnergisedAnswer, Stretch
from cablesim.report.heat import duration_words
from cablesim.report.tables import labelled, stacked
from cablesim.report.words import interval_words, one_line
from cablesim.site.layers import Floor
from cablesim.site.plan import Plan
from cablesim.site.warm_floor import above_cable, cut_route, floor_image, rise_at, warm_stretches

__all__ = ["WarmAnswer", "WarmImage", "power_of", "warm_answer", "warm_view"]

# Longest piece whose heat counts as even [m]: losses change it slowly along a cable.
_PIECE_M = 0.5
# Steps along the cable and over the floor [m], finer than any patch above a cable is wide.
_STEP_M, _PIXEL_M, _MOST_STEPS = 0.02, 0.02, 4000
# A spot with less power than this is not worth a line [W].
_TOLD_WATT = 0.1
_ENERGISED_FOR = (
    "Computed for dry layers in full contact, alike everywhere, and a cable at one depth; nothing "
    "is switched on by this program.",
)


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
        Places along the cable, shape (n,) [m].
    rise_kelvin, healthy_kelvin
        Rise of the surface above them, with the damage and without, shape (n,) [K].
    """

    energised: EnergisedAnswer
    floor: Floor
    plan: Plan | None
    after_s: float
    camera_kelvin: float
    at_m: FloatArray
    rise_kelvin: FloatArray
    healthy_kelvin: FloatArray

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
        x_m = np.linspace(left, right, max(2, math.ceil((right - left) / _PIXEL_M) + 1))
        y_m = np.linspace(low, high, max(2, math.ceil((high - low) / _PIXEL_M) + 1))
        edges, power = power_of(self.energised, damaged=True)
        route = self.plan.stretch(0.0, self.plan.heated_length_m)
        points, per_m = cut_route(route, edges, power)
        return WarmImage(x_m, y_m, floor_image(points, per_m, self.floor, (x_m, y_m), self.after_s))

    def marks_xy_m(self) -> list[tuple[float, float]]:
        """Where on the floor the damage lies, as far as it lies in it [m]."""
        if self.plan is None:
            return []
        places = [float(fault.position_m) for _, fault in self.energised.faults]
        inside = [p for p in places if 0.0 <= p <= self.plan.heated_length_m]
        return [(float(x), float(y)) for x, y in (self.plan.at(place) for place in inside)]

    def cautions(self) -> tuple[str, ...]:
        """What to mind."""
        return (*self.energised.cautions(), *_ENERGISED_FOR)

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
    pieces = max(1, math.ceil(length_m / _PIECE_M))
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
    steps = min(_MOST_STEPS, max(2, math.ceil(length_m / _STEP_M)))
    at_m = np.linspace(0.0, length_m, steps + 1)
    rises = []
    for damaged in (True, False):
        edges, power = power_of(energised, damaged=damaged)
        if plan is None:
            rises.append(above_cable(edges, power, floor, at_m, after_s=after_s))
            continue
        points, per_m = cut_route(plan.stretch(0.0, plan.heated_length_m), edges, power)
        rises.append(rise_at(points, per_m, floor, plan.at(at_m), after_s))
    return WarmAnswer(energised, floor, plan, after_s, camera_kelvin, at_m, *rises)


def warm_view(answer: WarmAnswer, title: str) -> Group:
    """Where the floor is warm and where cold; below it what to mind.

    Parameters
    ----------
    answer
        As computed.
    title
        One line.
    """
    length_m = float(answer.at_m[-1])
    warm, cold = answer.warm_m, answer.cold_m
    if not warm:
        told = "nowhere: a camera sees nothing of the cable"
    elif not cold:
        told = "all along"
    elif len(warm) == 1 and warm[0][0] <= 0.0:
        told = f"from the cold joint up to {warm[0][1]:.2f} m"
    else:
        told = interval_words(warm)
    rows = stacked("Energised", [answer.told])
    rows += stacked("Warm", [told])
    if cold and warm:
        rows += stacked("Cold", [f"{interval_words(cold)} of {length_m:g} m"])
    if warm:
        at_m, kelvin = answer.hottest
        usual = float(np.median(answer.healthy_kelvin))
        rows += stacked(
            "Hottest",
            [f"{kelvin:.1f} K at {at_m:.2f} m; the healthy cable warms by about {usual:.1f} K"],
        )
    rows += stacked(
        "Parts",
        [
            f"{part.from_m:.2f} to {part.to_m:.2f} m: {kelvin:.1f} K, {part.damaged:.1f} W/m, "
            f"{part.state}"
            for part, kelvin in answer.parts
        ],
    )
    for (_, fault), spot in zip(
        answer.energised.faults, answer.energised.damaged.lump_watt.tolist(), strict=True
    ):
        if spot >= _TOLD_WATT:
            told = (
                f"{spot:.3g} W in the damage at {float(fault.position_m):.2f} m itself, not counted"
            )
            rows += stacked("Spot", [f"{told} here: a hot spot, see cablesim heat --watt"])
    watt = float(answer.energised.damaged.watt)
    whole = float(answer.energised.healthy.watt)
    rows += stacked("Power", [f"{watt:.0f} W, healthy {whole:.0f} W"])
    rows += stacked("Device", [f"residual-current device {answer.energised.rcd}"])
    if answer.plan is None:
        rows += stacked("Route", ["not known: neighbouring runs are left out"])
    rows += stacked("Counts", [f"as warm from a rise of {answer.camera_kelvin:g} K"])
    panel = Panel(
        labelled(rows),
        title=Text(one_line(title)),
        title_align="left",
        box=box.HORIZONTALS,
        padding=(0, 1),
    )
    return Group(panel, Padding(labelled(stacked("Mind", answer.cautions()), dashed=True), (0, 2)))
