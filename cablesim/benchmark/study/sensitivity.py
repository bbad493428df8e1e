"""What disturbs a method: the cable's tolerance, its temperature, an unsteady fault."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from cablesim.benchmark.grades import GRADES
from cablesim.benchmark.study.damages import Damage, damage_of
from cablesim.benchmark.study.methods import Method, method_named
from cablesim.benchmark.study.reach_map import Axes, ReachMap, reach_map
from cablesim.benchmark.study.simulated import Conditions
from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray, finite_or_none
from cablesim.instruments.meters import Meter

__all__ = ["FACTORS", "Factor", "Sensitivity", "sensitivity"]


@dataclass(frozen=True, slots=True)
class Factor:
    """One thing that disturbs, and how much of it is tried.

    Parameters
    ----------
    name
        Field of `Conditions`.
    words, unit
        For axes and tables.
    levels
        Values to be tried, rising.
    """

    name: str
    words: str
    unit: str
    levels: tuple[float, ...]


FACTORS: Final = (
    Factor("tolerance_share", "true cable within so many times its limits", "x",
           (0.0, 0.5, 1.0, 1.5, 2.0)),
    Factor("warmer_kelvin", "heated part warmer than stated by", "K",
           (0.0, 5.0, 10.0, 20.0, 40.0)),
    Factor("drift_percent", "fault unsteady by", "%", (0.0, 1.0, 3.0, 10.0, 30.0, 100.0)),
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Sensitivity:
    """Maps of one method at each level of each factor, the others as usual.

    Parameters
    ----------
    factors
        What was varied.
    maps
        For each factor a map for each level; they share seed and axes.
    """

    factors: tuple[Factor, ...]
    maps: tuple[tuple[ReachMap, ...], ...]

    @property
    def method(self) -> str:
        """Name of the method."""
        return self.maps[0][0].method

    @property
    def axes(self) -> Axes:
        """Axes of every map."""
        return self.maps[0][0].axes

    def error_m(self, factor: int) -> FloatArray:
        """95th percentile of the error at the middling place [m].

        Returns
        -------
        ndarray, shape (levels, resistances, meter classes)
            NaN where the method declines at half of the places or more.
        """
        found = []
        for one in self.maps[factor]:
            error = np.where(one.declined < 0.5, one.p95_error_m, np.inf)
            found.append(np.median(error, axis=0))
        stacked = np.stack(found)
        return np.asarray(np.where(np.isfinite(stacked), stacked, np.nan))

    def coverage(self, factor: int) -> FloatArray:
        """Share of intervals that hold the truth, of all answers at all places.

        Returns
        -------
        ndarray, shape (levels, resistances, meter classes)
            NaN where there is no answer.
        """
        found = []
        for one in self.maps[factor]:
            held = np.nansum(one.coverage * one.n, axis=0)
            count = one.n.sum(axis=0)
            found.append(np.divide(held, count, out=np.full(held.shape, np.nan), where=count > 0))
        return np.stack(found)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim study --sensitivity --json`` holds for each method."""
        first = self.maps[0][0]
        return {
            "method": self.method,
            "damage": first.damage,
            "seed": first.seed,
            "draws": first.axes.draws,
            "resistance_ohm": self.axes.resistance_ohm.tolist(),
            "meter_class": list(self.axes.grades),
            "order": ["level", "resistance_ohm", "meter_class"],
            "factors": [
                {
                    "factor": factor.name,
                    "unit": factor.unit,
                    "levels": list(factor.levels),
                    "p95_error_m": _listed(self.error_m(number)),
                    "coverage": _listed(self.coverage(number)),
                }
                for number, factor in enumerate(self.factors)
            ],
        }


def _listed(values: FloatArray) -> list[list[list[float | None]]]:
    return [[[finite_or_none(float(v)) for v in row] for row in level] for level in values]


def sensitivity(
    cable: Cable,
    method: Method | str,
    *,
    seed: int,
    damage: Damage | str | None = None,
    resistance_ohm: Sequence[float] | None = None,
    places: int = 7,
    grades: Sequence[str] = tuple(GRADES),
    draws: int = 300,
    bags: Mapping[str, Mapping[str, Meter]] = GRADES,
) -> Sensitivity:
    """Map a method while one thing after the other departs from what it takes for granted.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    method, damage
        As for `reach_map`.
    seed
        Of the random numbers, the same at each level.
    resistance_ohm
        Resistances of the damage; a low, a middling and a high one unless given.
    places
        How many places, evenly over the heated part.
    grades, draws, bags
        As for `reach_map`.

    Raises
    ------
    InputError
        If the method or damage is unknown or does not fit the cable.
    """
    how = method_named(method) if isinstance(method, str) else method
    broken = damage_of(damage or how.damages[0])
    ohms = resistance_ohm or (
        (10.0, 1e3, 1e5) if broken.name in ("short", "cores") else (1e6, 1e7, 1e8)
    )
    middle = (np.arange(places) + 0.5) / places
    axes = Axes(float(cable.heated_length_m) * middle, np.array(ohms), tuple(grades), draws)
    factors = tuple(f for f in FACTORS if f.name != "drift_percent" or broken.drifts)
    maps = tuple(
        tuple(
            reach_map(
                cable,
                how,
                axes,
                seed=seed,
                damage=broken,
                conditions=Conditions(**{factor.name: level}),
                bags=bags,
            )
            for level in factor.levels
        )
        for factor in factors
    )
    return Sensitivity(factors, maps)
