"""Maps as comma-separated values, one row for each cell, and back."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import fields

import numpy as np

from cablesim.benchmark.study.reach_map import MEASURES, Axes, ReachMap
from cablesim.benchmark.study.simulated import Conditions
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError

__all__ = ["from_csv", "to_csv"]

_CONDITIONS = tuple(f.name for f in fields(Conditions))
_OF_MAP = ("method", "damage", "heated_length_m", "level", "seed", "formulation", *_CONDITIONS)
_OF_CELL = ("place_m", "resistance_ohm", "meter_class", "draws")
_COLUMNS = (*_OF_MAP, *_OF_CELL, *MEASURES)


def to_csv(maps: Sequence[ReachMap]) -> str:
    """Write maps as one table.

    Every number is written so that it reads back to the same one; a cell without an answer has
    empty fields.

    Parameters
    ----------
    maps
        In any number.
    """
    page = io.StringIO()
    writer = csv.writer(page, lineterminator="\n")
    writer.writerow(_COLUMNS)
    for found in maps:
        of_map = [
            found.method,
            found.damage,
            repr(found.heated_length_m),
            repr(found.level),
            found.seed,
            found.formulation,
            *(repr(getattr(found.conditions, name)) for name in _CONDITIONS),
        ]
        measures = [getattr(found, name) for name in MEASURES]
        for where in np.ndindex(found.axes.shape):
            i, j, k = where
            of_cell = [
                repr(float(found.axes.place_m[i])),
                repr(float(found.axes.resistance_ohm[j])),
                found.axes.grades[k],
                found.axes.draws,
            ]
            told = (float(values[where]) for values in measures)
            writer.writerow(
                [*of_map, *of_cell, *("" if np.isnan(value) else repr(value) for value in told)]
            )
    return page.getvalue()


def from_csv(text: str) -> tuple[ReachMap, ...]:
    """Read the maps of a table that `to_csv` wrote.

    Parameters
    ----------
    text
        The whole table.

    Raises
    ------
    InputError
        If it is no such table.
    """
    rows = list(csv.reader(io.StringIO(text)))
    if not rows or tuple(rows[0]) != _COLUMNS:
        raise InputError("the table", rows[0] if rows else "", "a first line " + ",".join(_COLUMNS))
    of_map: dict[tuple[str, ...], list[list[str]]] = {}
    for row in rows[1:]:
        of_map.setdefault(tuple(row[: len(_OF_MAP)]), []).append(row[len(_OF_MAP) :])
    return tuple(_map_of(key, cells) for key, cells in of_map.items())


def _map_of(key: Sequence[str], cells: list[list[str]]) -> ReachMap:
    told = dict(zip(_OF_MAP, key, strict=True))
    columns = dict(zip((*_OF_CELL, *MEASURES), zip(*cells, strict=True), strict=True))
    place, ohm = (
        np.array(list(dict.fromkeys(map(float, columns[name]))))
        for name in ("place_m", "resistance_ohm")
    )
    grades = tuple(dict.fromkeys(columns["meter_class"]))
    axes = Axes(place, ohm, grades, int(columns["draws"][0]))
    if len(cells) * axes.draws != axes.cases:
        raise InputError("the table", f"{len(cells)} cells", "one for each place, ohm and class")

    def array(name: str) -> FloatArray:
        values = [float(value) if value else float("nan") for value in columns[name]]
        return np.array(values).reshape(axes.shape)

    return ReachMap(
        method=told["method"],
        damage=told["damage"],
        axes=axes,
        level=float(told["level"]),
        seed=int(told["seed"]),
        formulation=told["formulation"],
        heated_length_m=float(told["heated_length_m"]),
        conditions=Conditions(**{name: float(told[name]) for name in _CONDITIONS}),
        **{name: array(name) for name in MEASURES},
    )
