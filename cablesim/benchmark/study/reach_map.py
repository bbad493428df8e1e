"""A map of a method's reach: error, bias, coverage and refusals over place, resistance, meters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cablesim.benchmark.grades import GRADES
from cablesim.benchmark.study.damages import Damage, damage_of
from cablesim.benchmark.study.methods import Method, method_named
from cablesim.benchmark.study.simulated import FORMULATIONS, Conditions, displays
from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError, looked_up
from cablesim.instruments.meters import Meter

__all__ = ["MEASURES", "Axes", "ReachMap", "reach_map", "usual_axes"]

# Arrays of a map, over places, resistances and meter classes.
MEASURES = (
    "declined",
    "median_error_m",
    "p95_error_m",
    "bias_m",
    "spread_m",
    "coverage",
    "half_width_m",
)
_MOST_CASES, _MOST_OF_A_ROW = 50_000_000, 2_000_000
# Measurements simulated at once: enough to forget what a call costs, few enough for a cache.
_BLOCK_CASES = 20_000


@dataclass(frozen=True, slots=True, eq=False)
class Axes:
    """What a map is drawn over.

    Parameters
    ----------
    place_m : ndarray, shape (places,)
        Places of the damage [m from the cold joint], rising.
    resistance_ohm : ndarray, shape (resistances,)
        Its resistance [ohm], rising.
    grades
        Meter classes by name.
    draws
        Simulated measurements in each cell.
    """

    place_m: FloatArray
    resistance_ohm: FloatArray
    grades: tuple[str, ...] = tuple(GRADES)
    draws: int = 100

    def __post_init__(self) -> None:
        for name in ("place_m", "resistance_ohm"):
            values = _row_of(getattr(self, name))
            object.__setattr__(self, name, values)
            if values.ndim != 1 or not len(values) or np.any(np.diff(values) <= 0):
                raise InputError(name, values.tolist(), "one row of rising numbers")
        require("resistance_ohm", self.resistance_ohm, above=0.0)
        require("draws", self.draws, at_least=2)
        if not self.grades or len(set(self.grades)) < len(self.grades):
            raise InputError("meter classes", list(self.grades), "at least one, each once")
        row = len(self.place_m) * self.draws
        if self.cases > _MOST_CASES or row > _MOST_OF_A_ROW:
            raise InputError(
                "the map",
                f"{self.cases} simulated measurements, {row} for each resistance and class",
                f"at most {_MOST_CASES}, and {_MOST_OF_A_ROW} for each",
                "ask for fewer places, resistances or draws",
            )

    @property
    def shape(self) -> tuple[int, int, int]:
        """Places, resistances, meter classes."""
        return len(self.place_m), len(self.resistance_ohm), len(self.grades)

    @property
    def cases(self) -> int:
        """Simulated measurements in all."""
        return int(np.prod(self.shape)) * self.draws


@dataclass(frozen=True, slots=True, eq=False)
class ReachMap:
    """A method's reach; every array has the shape (places, resistances, meter classes).

    Errors, bias, spread, coverage and width are those of the answers given; where a method declines
    every time they are NaN.

    Parameters
    ----------
    method, damage
        Their names.
    axes
        Of the arrays.
    level
        Probability that the stated intervals are meant to hold.
    seed
        Of the random numbers.
    formulation
        What made the readings: ``"exact"`` or ``"ladder"``.
    heated_length_m
        Of the cable [m].
    conditions
        What else was true.
    declined
        Share of the measurements that gave no answer.
    median_error_m, p95_error_m
        Median and 95th percentile of the distance from answer to truth [m].
    bias_m
        Mean of answer minus truth [m]; positive is too far out.
    spread_m
        Standard deviation of the answers [m].
    coverage
        Share of the stated intervals that hold the truth.
    half_width_m
        Median of their half-widths [m].
    """

    method: str
    damage: str
    axes: Axes
    level: float
    seed: int
    formulation: str
    heated_length_m: float
    declined: FloatArray
    median_error_m: FloatArray
    p95_error_m: FloatArray
    bias_m: FloatArray
    spread_m: FloatArray
    coverage: FloatArray
    half_width_m: FloatArray
    conditions: Conditions = field(default_factory=Conditions)

    @property
    def n(self) -> FloatArray:
        """Answers in each cell, shape (places, resistances, meter classes)."""
        return np.rint((1 - self.declined) * self.axes.draws)

    def to_dict(self) -> dict[str, Any]:
        """The map as JSON can hold it: nested lists, none where there is no answer."""
        told: dict[str, Any] = {
            "method": self.method,
            "damage": self.damage,
            "level": self.level,
            "seed": self.seed,
            "formulation": self.formulation,
            "heated_length_m": self.heated_length_m,
            "conditions": {
                f.name: getattr(self.conditions, f.name) for f in fields(self.conditions)
            },
            "place_m": self.axes.place_m.tolist(),
            "resistance_ohm": self.axes.resistance_ohm.tolist(),
            "meter_class": list(self.axes.grades),
            "draws": self.axes.draws,
            "order": ["place_m", "resistance_ohm", "meter_class"],
        }
        for name in MEASURES:
            values = getattr(self, name)
            listed: list[Any] = np.ma.masked_invalid(values).tolist()
            told[name] = listed
        return told


def usual_axes(
    cable: Cable,
    damage: Damage,
    *,
    places: int = 15,
    resistances: int = 28,
    grades: Sequence[str] = tuple(GRADES),
    draws: int = 100,
) -> Axes:
    """Places evenly over the heated part, off its ends, and resistances evenly in the logarithm.

    Parameters
    ----------
    cable, damage
        Give the ranges.
    places, resistances
        How many, at least 2.
    grades, draws
        As for `Axes`.
    """
    require("places", places, at_least=2, at_most=10_000)
    require("resistances", resistances, at_least=2, at_most=10_000)
    middle = (np.arange(places) + 0.5) / places
    return Axes(
        float(cable.heated_length_m) * middle,
        np.geomspace(damage.least_ohm, damage.most_ohm, resistances),
        tuple(grades),
        draws,
    )


def reach_map(
    cable: Cable,
    method: Method | str,
    axes: Axes,
    *,
    seed: int,
    damage: Damage | str | None = None,
    conditions: Conditions | None = None,
    level: float = 0.95,
    formulation: str | None = None,
    bags: Mapping[str, Mapping[str, Meter]] = GRADES,
) -> ReachMap:
    """Map a method's reach by simulated measurements.

    In each cell as many cables as there are draws deviate from the rated one within its tolerance,
    are damaged and read with the meters' gains, leads, counts and rounding; the method answers from
    the displays and the rated cable.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    method, damage
        What is mapped, for which damage; by default the damage that the method is mainly for.
    axes
        Of the map.
    seed
        Of the random numbers: the same seed gives the same map, bit for bit. The draws of a cell do
        not depend on the other meter classes.
    conditions
        What else is true of cable and fault; by default the cable is within its stated limits.
    level
        Probability that the intervals are meant to hold.
    formulation
        ``"exact"`` or ``"ladder"``; by default the ladder for the posterior, which inverts the
        exact circuit, and the exact circuit for closed forms, which do not.
    bags
        For each meter class its meters by kind.

    Raises
    ------
    InputError
        If the method or damage is unknown or does not fit the cable, or a place lies off it.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> axes = Axes(np.array([10.0, 20.0]), np.array([10.0, 1e6]), ("cheap",), draws=200)
    >>> found = reach_map(cable, "three_readings", axes, seed=1)
    >>> found.p95_error_m[:, 0, 0].round(1).tolist()
    [0.2, 0.2]
    >>> found = reach_map(cable, "murray", axes, seed=1)
    >>> bool(found.p95_error_m[:, 1, 0].max() < 3.0)
    True
    """
    how = method_named(method) if isinstance(method, str) else method
    broken = damage_of(damage or how.damages[0])
    if reason := how.unfit(cable, broken):
        raise InputError(f"method {how.name} {reason}", try_this="choose another method or damage")
    require("seed", seed, at_least=0)
    require("level", level, above=0.0, at_most=0.9999)
    first, last = float(cable.first_m), float(cable.last_m)
    require("place_m", axes.place_m, at_least=first, at_most=last)
    given = conditions or Conditions()
    made_by = formulation or how.formulation
    looked_up("formulation", made_by, FORMULATIONS)
    found = {name: np.full(axes.shape, np.nan) for name in MEASURES}
    for column, grade in enumerate(axes.grades):
        probes = how.probes(cable, broken, looked_up("meter class", grade, bags))
        for rows in _blocks(axes):
            shown = displays(
                cable,
                broken,
                axes.place_m,
                axes.resistance_ohm[rows],
                probes,
                draws=axes.draws,
                seed=(seed, rows.start),
                conditions=given,
                formulation=made_by,
            )
            truth_m = axes.place_m[:, None]
            said = how.said(cable, probes, shown, truth_m, level=level)
            told = _summary(said.place_m - truth_m, said.half_width_m, said.held)
            for name, values in told.items():
                found[name][:, rows, column] = values.T
    return ReachMap(
        method=how.name,
        damage=broken.name,
        axes=axes,
        level=level,
        seed=seed,
        formulation=made_by,
        heated_length_m=float(cable.heated_length_m),
        conditions=given,
        **found,
    )


def _row_of(values: FloatArray) -> FloatArray:
    return np.atleast_1d(np.asarray(values, float))


def _blocks(axes: Axes) -> Iterator[slice]:
    """Resistances to be simulated together; they depend on the axes alone."""
    per_row = len(axes.place_m) * axes.draws
    rows = max(1, _BLOCK_CASES // per_row)
    for start in range(0, len(axes.resistance_ohm), rows):
        yield slice(start, min(start + rows, len(axes.resistance_ohm)))


def _summary(
    error_m: FloatArray, half_m: FloatArray, is_held: NDArray[np.bool]
) -> dict[str, FloatArray]:
    """Measures from errors and half-widths, taken over the last axis, the draws."""
    answered = np.isfinite(error_m)
    count = answered.sum(axis=-1)
    size = np.sort(np.where(answered, np.abs(error_m), np.inf), axis=-1)
    widths = np.sort(np.where(answered, half_m, np.inf), axis=-1)
    some = np.maximum(count, 1)
    bias = np.where(answered, error_m, 0.0).sum(axis=-1) / some
    apart = np.where(answered, error_m - bias[..., None], 0.0)
    spread = np.sqrt(np.square(apart).sum(axis=-1) / np.maximum(count - 1, 1))
    held = is_held.sum(axis=-1) / some
    told = {
        "median_error_m": _quantile(size, count, 0.5),
        "p95_error_m": _quantile(size, count, 0.95),
        "bias_m": bias,
        "spread_m": np.where(count > 1, spread, np.nan),
        "coverage": held,
        "half_width_m": _quantile(widths, count, 0.5),
    }
    none = count == 0
    return {
        "declined": 1 - count / error_m.shape[-1],
        **{name: np.where(none, np.nan, values) for name, values in told.items()},
    }


def _quantile(rising: FloatArray, count: FloatArray, share: float) -> FloatArray:
    """Quantile of the first so many along the last axis, straight between neighbours."""
    where = share * np.maximum(count - 1, 0)
    below = np.floor(where).astype(int)
    above = np.minimum(below + 1, np.maximum(count.astype(int) - 1, 0))
    low, high = (np.take_along_axis(rising, k[..., None], axis=-1)[..., 0] for k in (below, above))
    with np.errstate(invalid="ignore"):
        return np.asarray(low + (where - below) * (high - low))
