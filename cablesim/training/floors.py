"""Invented rooms in which a cable of a given length can lie."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cablesim.errors import InputError
from cablesim.site.plan import plan_of
from cablesim.site.room import Room
from cablesim.site.survey import FloorLayer, Rule, Survey

__all__ = ["invented_floor"]

_GRID_M = 0.05
_MARGIN_M = 0.06
# A serpentine leaves this much of a room to its margins and turns; one that is too small grows.
_FREE, _GROWTH, _TRIES = 0.8, 1.06, 30
_SPACINGS_M = (0.08, 0.10, 0.12, 0.15)
_TILES_M: Sequence[tuple[float, float]] = ((0.2, 0.2), (0.3, 0.3), (0.45, 0.45), (0.6, 0.3))
# Top first; the cable lies in the layer under the tile.
_LAYERS = (
    (("tile", 9.0), ("adhesive", 12.0)),
    (("tile", 10.0), ("screed", 45.0)),
    (("tile", 8.0), ("gypsum", 20.0)),
)


def invented_floor(length_m: float, covered: bool, rng: np.random.Generator) -> Survey:
    """A room, something fixed in a corner of it, and the cable laid by rule.

    Parameters
    ----------
    length_m
        Heated length of the cable [m].
    covered
        Whether there are tiles over it.
    rng
        Source of the room.

    Raises
    ------
    InputError
        If no room was found, which no usual length brings about.

    Examples
    --------
    >>> survey = invented_floor(30.0, True, np.random.default_rng(3))
    >>> survey.has_route, survey.tile_m is not None
    (True, True)
    """
    spacing_m = float(rng.choice(_SPACINGS_M))
    aspect = float(rng.uniform(1.0, 1.8))
    fixed_m = _on_grid(rng.uniform(0.4, 0.9)), _on_grid(rng.uniform(0.4, 0.9))
    corner = bool(rng.random() < 0.6)
    tile_m = _TILES_M[int(rng.integers(len(_TILES_M)))]
    layers = _LAYERS[int(rng.integers(len(_LAYERS)))]
    area_m2 = length_m * spacing_m / _FREE
    for _ in range(_TRIES):
        whole_m2 = area_m2 + (fixed_m[0] * fixed_m[1] if corner else 0.0)
        wide_m = _on_grid((whole_m2 * aspect) ** 0.5)
        deep_m = _on_grid(whole_m2 / wide_m)
        area_m2 *= _GROWTH
        if corner and (fixed_m[0] > wide_m / 2 or fixed_m[1] > deep_m / 2):
            corner = False
            continue
        walls = ((0.0, 0.0), (wide_m, 0.0), (wide_m, deep_m), (0.0, deep_m))
        kept = (_far_corner(wide_m, deep_m, *fixed_m),) if corner else ()
        survey = Survey(
            room=Room(walls, kept),
            rule=Rule(spacing_m, _MARGIN_M, (0.0, 0.0)),
            layers=tuple(FloorLayer(*layer) for layer in layers) if covered else (),
            tile_m=tile_m if covered else None,
        )
        try:
            plan_of(survey, length_m)
        except InputError:
            continue
        return survey
    raise InputError("heated_length_m", length_m, "a length that a room can take")


def _far_corner(
    wide_m: float, deep_m: float, long_m: float, short_m: float
) -> tuple[tuple[float, float], ...]:
    left, low = _on_grid(wide_m - long_m), _on_grid(deep_m - short_m)
    return ((left, low), (wide_m, low), (wide_m, deep_m), (left, deep_m))


def _on_grid(length_m: float) -> float:
    return round(round(float(length_m) / _GRID_M) * _GRID_M, 2)
