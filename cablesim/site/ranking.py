"""Which opening first, and how many tiles will have been lifted when the damage is found."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import permutations

import numpy as np

from cablesim.errors import InputError
from cablesim.site.opening import (
    SLACK_M,
    Opening,
    opening_for,
    tile_grid,
    tiles_for_splice,
)
from cablesim.site.plan import Plan
from cablesim.site.tiles import Tile, TileGrid

__all__ = ["Ranking", "ranked_openings"]

_MOST_INTERVALS = 50
# So many openings are tried in every order; more are ranked by probability for each tile.
_EVERY_ORDER = 6
_CELL_M = 0.01


@dataclass(frozen=True, slots=True)
class Ranking:
    """Openings in the order in which to make them.

    Parameters
    ----------
    openings
        The first to be made first.
    probabilities
        Of each opening: that the damage lies in its interval.
    expected_openings
        How many openings will have been made when the damage is found, if it lies in one of them.
    expected_area_m2
        The area of these [m2], each opened whole.
    lift_order
        Single tiles, likeliest first, each with the probability that the damage lies under it;
        empty where the floor has no tiles.
    expected_tiles
        How many tiles will have been lifted once the damage is found and its splice has room, where
        tiles are lifted one by one in this order; None without tiles.
    expected_tiles_whole
        The same where each opening is lifted whole before anyone looks; None without tiles.
    """

    openings: tuple[Opening, ...]
    probabilities: tuple[float, ...]
    expected_openings: float
    expected_area_m2: float
    lift_order: tuple[tuple[Tile, float], ...]
    expected_tiles: float | None
    expected_tiles_whole: float | None


def ranked_openings(
    plan: Plan,
    intervals: Iterable[Sequence[float]],
    slack_m: float = SLACK_M,
    *,
    cells: Iterable[Sequence[float]] = (),
) -> Ranking:
    """Rank the openings for several intervals.

    The order is the one with the least expected cost until the damage is found, given that it lies
    in one of the intervals; a tile that two openings share is lifted once. Tiles lifted one by one
    are best taken in order of their probability, since each costs the same.

    Parameters
    ----------
    plan
        Where the cable lies.
    intervals
        From, to [m from the cold joint] and probability of each; what lies off the heated part is
        left out.
    slack_m
        Cable to be freed beyond the damage [m].
    cells
        Where it is known better how likely each place is: from, to [m] and probability of short
        stretches. Without them all places of an interval are equally likely.

    Raises
    ------
    InputError
        If no interval lies on the heated part, or one is none.
    """
    given = _checked(plan, intervals, "intervals")
    if not given:
        raise InputError(
            "intervals",
            [],
            f"at least one on the heated part, from 0 to {plan.heated_length_m:g} m",
            "damage in the cold lead is not under this plan",
        )
    openings = [opening_for(plan, (low, high), slack_m) for low, high, _ in given]
    shares = np.array([share for *_, share in given])
    shares = shares / shares.sum() if shares.sum() > 0 else np.full(len(given), 1 / len(given))
    order = _best_order(openings, shares)
    grid = tile_grid(plan)
    area = float(
        sum(
            shares[order[k]] * _cost(openings, order[: k + 1], by_area=True)
            for k in range(len(order))
        )
    )
    lift_order: tuple[tuple[Tile, float], ...] = ()
    expected = whole = None
    if grid is not None:
        fine = _checked(plan, cells, "cells") or given
        places, weights = _places(fine)
        lift_order, expected = _one_by_one(plan, grid, places, weights, slack_m)
        whole = float(
            sum(shares[order[k]] * _cost(openings, order[: k + 1]) for k in range(len(order)))
        )
    return Ranking(
        openings=tuple(openings[k] for k in order),
        probabilities=tuple(given[k][2] for k in order),
        expected_openings=float(sum(shares[k] * (n + 1) for n, k in enumerate(order))),
        expected_area_m2=area,
        lift_order=lift_order,
        expected_tiles=expected,
        expected_tiles_whole=whole,
    )


def _checked(
    plan: Plan, intervals: Iterable[Sequence[float]], name: str
) -> list[tuple[float, float, float]]:
    """Parts of the heated part, each with its share of the probability."""
    found = []
    for number, interval in enumerate(intervals, start=1):
        try:
            low, high, share = (float(value) for value in interval)
        except (TypeError, ValueError):
            raise InputError(
                f"{name}: entry {number}", interval, "from, to and probability"
            ) from None
        if not low <= high or not 0.0 <= share <= 1.0 + 1e-9:
            raise InputError(
                f"{name}: entry {number}",
                [low, high, share],
                "from, to in this order, and a probability from 0 to 1",
            )
        a, b = max(low, 0.0), min(high, plan.heated_length_m)
        if a <= b:
            found.append((a, b, share * ((b - a) / (high - low) if high > low else 1.0)))
    if name == "intervals" and len(found) > _MOST_INTERVALS:
        raise InputError("the number of intervals", len(found), f"at most {_MOST_INTERVALS}")
    return found


def _cost(openings: Sequence[Opening], chosen: Sequence[int], *, by_area: bool = False) -> float:
    """Tiles, or square metres, that some openings take together."""
    import shapely

    tiles = {tile for k in chosen for tile in openings[k].tiles}
    if tiles and not by_area:
        return float(len(tiles))
    return float(shapely.union_all([openings[k].patch for k in chosen]).area)


def _best_order(openings: Sequence[Opening], shares: np.ndarray) -> tuple[int, ...]:
    everyone = range(len(openings))
    if len(openings) > _EVERY_ORDER:
        ratio = [shares[k] / max(_cost(openings, [k]), 1e-9) for k in everyone]
        return tuple(sorted(everyone, key=lambda k: (-ratio[k], k)))
    costs: dict[frozenset[int], float] = {}

    def cost(chosen: tuple[int, ...]) -> float:
        key = frozenset(chosen)
        if key not in costs:
            costs[key] = _cost(openings, chosen)
        return costs[key]

    def expected(order: tuple[int, ...]) -> float:
        return float(sum(shares[k] * cost(order[: n + 1]) for n, k in enumerate(order)))

    return min(permutations(everyone), key=lambda order: (round(expected(order), 9), order))


def _places(
    cells: Sequence[tuple[float, float, float]],
) -> tuple[np.ndarray, np.ndarray]:
    """Places spread over cells, each with its share of the probability."""
    places, weights = [], []
    for low, high, share in cells:
        if share <= 0:
            continue
        count = max(1, int(np.ceil((high - low) / _CELL_M)))
        places.append(low + (high - low) * (np.arange(count) + 0.5) / count)
        weights.append(np.full(count, share / count))
    if not places:
        middle = np.array([(low + high) / 2 for low, high, _ in cells])
        return middle, np.full(len(middle), 1 / len(middle))
    total = np.concatenate(weights)
    return np.concatenate(places), total / total.sum()


def _one_by_one(
    plan: Plan, grid: TileGrid, places: np.ndarray, weights: np.ndarray, slack_m: float
) -> tuple[tuple[tuple[Tile, float], ...], float]:
    """The order of single tiles, and how many are lifted on average, splice included."""
    above = grid.tile_at(plan.at(places))
    mass: dict[Tile, float] = {}
    for (column, row), weight in zip(above, weights, strict=True):
        tile = (int(column), int(row))
        mass[tile] = mass.get(tile, 0.0) + float(weight)
    order = sorted(mass, key=lambda tile: (-round(mass[tile], 12), tile))
    lifted_before = {tile: number for number, tile in enumerate(order)}
    expected = 0.0
    # Splices need the same tiles all along a stretch: a few places of each tile stand for all.
    for tile, share in mass.items():
        under = places[(above == tile).all(axis=1)]
        chosen = under[np.unique(np.linspace(0, len(under) - 1, 5).astype(int))]
        done = set(order[: lifted_before[tile] + 1])
        extra = [len(set(tiles_for_splice(plan, float(p), slack_m)) - done) for p in chosen]
        expected += share * (len(done) + float(np.mean(extra)))
    return tuple((tile, mass[tile]) for tile in order), expected
