"""Which method first: for each damage and resistance the one that tells most for its minutes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.benchmark.grades import GRADES
from cablesim.benchmark.study.damages import DAMAGES, Damage
from cablesim.benchmark.study.methods import methods_for
from cablesim.benchmark.study.reach_map import ReachMap, reach_map, usual_axes
from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray, finite_or_none
from cablesim.instruments.meters import Meter
from cablesim.locate.effort import RISKS

__all__ = ["ENOUGH_M", "Candidate", "FirstChart", "first_chart"]

# No floor is opened more closely than this, so a smaller error is no gain [m]; common practice, no
# source.
ENOUGH_M = 0.1
# Gains for the minute from this share of the best on count as equal: then the safer one is first.
_EQUAL = 0.8
# A method that tells less, or declines at half of the places, does not locate.
_LEAST_BITS = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Candidate:
    """A method for one damage, over the resistance.

    Parameters
    ----------
    found
        Its map, with one meter class.
    minutes
        Of work that its readings cost.
    risk
        One of `cablesim.locate.effort.RISKS`.
    """

    found: ReachMap
    minutes: float
    risk: str

    @property
    def error_m(self) -> FloatArray:
        """95th percentile of the error at the middling place [m], shape (resistances,).

        NaN where the method declines at most places.
        """
        placed = self.found.declined[..., 0] < 0.5
        error = np.where(placed, self.found.p95_error_m[..., 0], np.inf)
        middle = np.median(error, axis=0)
        return np.asarray(np.where(np.isfinite(middle), middle, np.nan))

    @property
    def bits(self) -> FloatArray:
        """How many times it halves what is open [bit], mean over places, shape (resistances,).

        From half of the cable to the 95th percentile of the error, less the share declined.
        """
        start_m = self.found.heated_length_m / 2
        error = np.nan_to_num(self.found.p95_error_m[..., 0], nan=np.inf)
        halved = np.log2(start_m / np.clip(error, min(ENOUGH_M, start_m), start_m))
        return np.asarray(np.mean(halved * (1 - self.found.declined[..., 0]), axis=0))

    @property
    def bits_per_minute(self) -> FloatArray:
        """The same for each minute of work, shape (resistances,)."""
        return self.bits / self.minutes


@dataclass(frozen=True, slots=True, eq=False)
class FirstChart:
    """For each damage the methods that serve it, and which of them is first.

    Parameters
    ----------
    grade
        The meter class.
    candidates
        For each damage its methods.
    """

    grade: str
    candidates: Mapping[str, tuple[Candidate, ...]]

    def resistance_ohm(self, damage: str) -> FloatArray:
        """Resistances of a damage's maps [ohm], shape (resistances,)."""
        return self.candidates[damage][0].found.axes.resistance_ohm

    def first(self, damage: str) -> tuple[Candidate | None, ...]:
        """The method to take first at each resistance; None where none locates.

        Most halvings of what is open for each minute; of methods that come within a fifth of the
        best the least dangerous one.
        """
        rows = self.candidates[damage]
        rates = np.stack([row.bits_per_minute for row in rows])
        enough = np.stack([(row.bits >= _LEAST_BITS) & np.isfinite(row.error_m) for row in rows])
        rates = np.where(enough, rates, 0.0)
        chosen: list[Candidate | None] = []
        for column in range(rates.shape[1]):
            best = float(rates[:, column].max())
            if best <= 0.0:
                chosen.append(None)
                continue
            equal = np.flatnonzero(rates[:, column] >= _EQUAL * best)
            safest = min(equal, key=lambda k: (RISKS.index(rows[k].risk), -float(rates[k, column])))
            chosen.append(rows[safest])
        return tuple(chosen)

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim study --first --json`` prints."""
        told = []
        for damage, rows in self.candidates.items():
            told.append(
                {
                    "damage": damage,
                    "resistance_ohm": self.resistance_ohm(damage).tolist(),
                    "first": [c.found.method if c else None for c in self.first(damage)],
                    "methods": [
                        {
                            "method": row.found.method,
                            "minutes": row.minutes,
                            "risk": row.risk,
                            "p95_error_m": [finite_or_none(float(e)) for e in row.error_m],
                            "bits_per_minute": row.bits_per_minute.tolist(),
                        }
                        for row in rows
                    ],
                }
            )
        found = next(iter(self.candidates.values()))[0].found
        return {
            "meter_class": self.grade,
            "seed": found.seed,
            "draws": found.axes.draws,
            "damages": told,
        }


def first_chart(
    cable: Cable,
    grade: str = "good",
    *,
    seed: int,
    places: int = 9,
    resistances: int = 28,
    draws: int = 100,
    damages: Mapping[str, Damage] = DAMAGES,
    bags: Mapping[str, Mapping[str, Meter]] = GRADES,
) -> FirstChart:
    """Map every classical method for every damage of a cable, with one class of meters.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    grade
        The meter class.
    seed
        Of the random numbers.
    places, resistances, draws
        As for `usual_axes`.
    damages
        What may be broken.
    bags
        For each meter class its meters by kind.
    """
    found: dict[str, tuple[Candidate, ...]] = {}
    for name, damage in damages.items():
        if not damage.fits(cable):
            continue
        axes = usual_axes(
            cable, damage, places=places, resistances=resistances, grades=(grade,), draws=draws
        )
        rows = []
        for method in methods_for(cable, damage):
            mapped = reach_map(cable, method, axes, seed=seed, damage=damage, bags=bags)
            probes = method.probes(cable, damage)
            rows.append(Candidate(mapped, method.minutes(probes), method.risk(probes)))
        if rows:
            found[name] = tuple(rows)
    return FirstChart(grade, found)
