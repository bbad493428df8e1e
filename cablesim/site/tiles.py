"""Tiles: a grid of equal rectangles over the room, named by column and row."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.site.room import Point, Room

__all__ = ["Tile", "TileGrid"]

Tile: TypeAlias = tuple[int, int]

# Of a tile that only touches the room in its last digit nothing is to be seen.
_EDGE_M = 1e-6


@dataclass(frozen=True, slots=True)
class TileGrid:
    """The tiles of a room.

    A tile is named by its column and row, counted from 1 at the left and at the bottom of the
    room; tiles that are cut at a wall count too.

    Parameters
    ----------
    tile_m
        Width and height of a tile with its joint [m].
    origin_m
        A corner where four tiles meet [m].
    room
        The room that they cover.
    """

    tile_m: Point
    origin_m: Point
    room: Room

    @property
    def _first(self) -> tuple[int, int]:
        left, low, _, _ = self.room.bounds_m
        return (
            int(np.floor((left - self.origin_m[0]) / self.tile_m[0] + _EDGE_M)),
            int(np.floor((low - self.origin_m[1]) / self.tile_m[1] + _EDGE_M)),
        )

    @property
    def counts(self) -> tuple[int, int]:
        """How many columns and rows there are."""
        _, _, right, top = self.room.bounds_m
        first = self._first
        return (
            int(np.ceil((right - self.origin_m[0]) / self.tile_m[0] - _EDGE_M)) - first[0],
            int(np.ceil((top - self.origin_m[1]) / self.tile_m[1] - _EDGE_M)) - first[1],
        )

    def edges_m(self) -> tuple[FloatArray, FloatArray]:
        """The joints: all x where columns meet, all y where rows meet [m]."""
        x, y = (
            self.origin_m[k] + self.tile_m[k] * (self._first[k] + np.arange(self.counts[k] + 1))
            for k in (0, 1)
        )
        return np.asarray(x, float), np.asarray(y, float)

    def tile_at(self, xy_m: FloatArray) -> NDTiles:
        """Names of the tiles above points, shape (..., 2)."""
        offset = (np.asarray(xy_m) - np.array(self.origin_m)) / np.array(self.tile_m)
        return np.asarray(np.floor(offset).astype(int) - np.array(self._first) + 1)

    def box(self, tile: Tile) -> Any:
        """A tile as a shapely rectangle, whole even where a wall cuts it."""
        import shapely

        left, low = (
            self.origin_m[k] + self.tile_m[k] * (self._first[k] + tile[k] - 1) for k in (0, 1)
        )
        return shapely.box(left, low, left + self.tile_m[0], low + self.tile_m[1])

    def under(self, area: Any) -> tuple[Tile, ...]:
        """Names of all tiles of which an area covers a part, in order of rows and columns.

        Parameters
        ----------
        area
            A shapely geometry with an area.
        """
        if area.is_empty:
            return ()
        left, low, right, high = area.bounds
        (c0, r0), (c1, r1) = self.tile_at(np.array([[left, low], [right, high]]))
        found = []
        for row in range(r0, r1 + 1):
            for column in range(c0, c1 + 1):
                box = self.box((column, row))
                if area.intersects(box) and area.intersection(box).area > _EDGE_M**2:
                    found.append((int(column), int(row)))
        return tuple(found)

    def area(self, tiles: Iterable[Tile]) -> Any:
        """The part of the room that some tiles cover, as a shapely geometry."""
        import shapely

        boxes = shapely.union_all([self.box(tile) for tile in tiles])
        return shapely.intersection(boxes, self.room.free())


NDTiles: TypeAlias = np.ndarray[Any, np.dtype[np.int_]]
