"""Cells of two runs side by side, joined to a tree; the way round the tree is a serpentine.

A cell is a rectangle whose four corners are places of the cable: two neighbouring runs, two
neighbouring columns. Cells that touch may be joined. Once all cells form a tree, the closed way
round it passes every corner of every cell exactly once, turns by right angles only, and keeps runs
one spacing apart everywhere (from memory of Gabriely and Rimon, "Spanning-tree based coverage of
continuous areas by a mobile robot", 2001). Where rows are joined first and columns on one side
only, that way is the serpentine of the trade with its run back along a wall.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import FloatArray

__all__ = ["Lattice", "loops_of"]

_Cell = tuple[int, int]
_Node = tuple[int, int]
_Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Lattice:
    """Which cells of a floor are free, and which neighbours can be joined.

    Parameters
    ----------
    xs_m, ys_m
        Columns and rows of places of the cable, an even number of each [m].
    free : shape (cells along x, cells along y)
        Whether a cell may hold cable.
    beside, above
        Whether a cell may be joined with that to its right, with that above it.
    corners : shape (4, cells along x - 1, cells along y - 1)
        Between four cells: whether a bend has room at the corner near the cell at the lower left,
        lower right, upper left, upper right.
    """

    xs_m: FloatArray
    ys_m: FloatArray
    free: _Bools
    beside: _Bools
    above: _Bools
    corners: _Bools

    @classmethod
    def over(
        cls, floor: Any, spacing_m: float, radius_m: float, *, from_top: bool
    ) -> Lattice | None:
        """Lay cells over a floor.

        Parameters
        ----------
        floor
            Where cable may lie, a shapely geometry, prepared.
        spacing_m
            Distance between rows [m]; columns lie as far apart, or farther to fill the width.
        radius_m
            Radius of the bends [m].
        from_top
            Whether the rows are counted from the top edge of the floor, else from the bottom one.

        Returns
        -------
        Lattice or None
            None where no cell has room.
        """
        low_x, low_y, high_x, high_y = floor.bounds
        columns, rows = (
            2 * (int((high - low) / spacing_m + 1e-6 + 1) // 2)
            for low, high in ((low_x, high_x), (low_y, high_y))
        )
        if columns < 2 or rows < 2:
            return None
        xs = np.linspace(low_x, high_x, columns)
        first = high_y - (rows - 1) * spacing_m if from_top else low_y
        ys = first + spacing_m * np.arange(rows)
        x0, x1, y0, y1 = xs[0::2], xs[1::2], ys[0::2], ys[1::2]
        free = _covers(floor, x0, y0, x1, y1)
        beside = _covers(floor, x1[:-1], y0, x0[1:], y1) & free[:-1] & free[1:]
        above = _covers(floor, x0, y1[:-1], x1, y0[1:]) & free[:, :-1] & free[:, 1:]
        left, right, low, high = x1[:-1], x0[1:], y1[:-1], y0[1:]
        corners = np.array(
            [
                _covers(floor, left, low, left + radius_m, low + radius_m),
                _covers(floor, right - radius_m, low, right, low + radius_m),
                _covers(floor, left, high - radius_m, left + radius_m, high),
                _covers(floor, right - radius_m, high - radius_m, right, high),
            ]
        )
        return cls(xs, ys, free, beside, above, corners)

    def bends_fit(self, i: int, j: int) -> bool:
        """Whether bends have room where the cell (i, j) is joined with the one above it."""
        for column, near in ((i, (0, 2)), (i - 1, (1, 3))):
            if not 0 <= column < len(self.free) - 1:
                continue
            for row, corner in zip((j, j + 1), near, strict=True):
                if self.beside[column, row] and not self.corners[corner, column, j]:
                    return False
        return True


def _covers(
    floor: Any, left: FloatArray, low: FloatArray, right: FloatArray, high: FloatArray
) -> _Bools:
    import shapely

    boxes = shapely.box(left[:, None], low[None, :], right[:, None], high[None, :])
    return np.asarray(shapely.covers(floor, boxes))


def loops_of(lattice: Lattice, floor: Any, spacing_m: float) -> Iterator[FloatArray]:
    """Closed ways round the largest tree of cells, columns joined on the left or on the right.

    Parameters
    ----------
    lattice
        The cells.
    floor
        Where cable may lie, a shapely geometry, prepared.
    spacing_m
        Distance between runs [m].

    Yields
    ------
    ndarray, shape (corners, 2)
        Right-angled corners of a closed way [m].
    """
    for side in (1, -1):
        tree = _Tree.of(lattice, side)
        if tree is not None:
            yield _corners(tree, lattice, _reach(tree, lattice, floor, spacing_m))


@dataclass(frozen=True, slots=True)
class _Tree:
    cells: frozenset[_Cell]
    beside: frozenset[_Cell]  # a cell that is joined with the one to its right
    above: frozenset[_Cell]

    @classmethod
    def of(cls, lattice: Lattice, side: int) -> _Tree | None:
        """Join rows first, then columns from one side (1: left, -1: right)."""
        cells = [(int(i), int(j)) for i, j in np.argwhere(lattice.free)]
        if not cells:
            return None
        parent = {cell: cell for cell in cells}

        def root(cell: _Cell) -> _Cell:
            while parent[cell] != cell:
                parent[cell] = parent[parent[cell]]
                cell = parent[cell]
            return cell

        beside = {(int(i), int(j)) for i, j in np.argwhere(lattice.beside)}
        for i, j in beside:
            parent[root((i, j))] = root((i + 1, j))
        above = set()
        for i, j in sorted(
            ((int(i), int(j)) for i, j in np.argwhere(lattice.above)),
            key=lambda cell: (side * cell[0], cell[1]),
        ):
            one, other = root((i, j)), root((i, j + 1))
            if one != other and lattice.bends_fit(i, j):
                parent[one] = other
                above.add((i, j))
        members: dict[_Cell, set[_Cell]] = {}
        for cell in cells:
            members.setdefault(root(cell), set()).add(cell)
        largest = max(members.values(), key=lambda found: (len(found), sorted(found)))
        return cls(frozenset(largest), frozenset(beside & largest), frozenset(above & largest))


def _reach(
    tree: _Tree, lattice: Lattice, floor: Any, spacing_m: float
) -> dict[tuple[_Cell, int], float]:
    """How far each end of a pair of runs (-1: left, 1: right) can be led, to a wall or a neighbour.

    Cells end at whole columns; the runs need not.
    """
    import shapely

    xs, ys = lattice.xs_m, lattice.ys_m
    reach: dict[tuple[_Cell, int], float] = {}
    for j in range(len(ys) // 2):
        row = sorted(i for i, k in tree.cells if k == j)
        taken_to = -np.inf  # how far the pair of runs to the left already reaches
        for place, i in enumerate(row):
            cell = (i, j)
            upright = cell in tree.above or (i, j - 1) in tree.above
            left, right = float(xs[2 * i]), float(xs[2 * i + 1])
            if (i - 1, j) not in tree.beside and not upright:
                wall = _wall(shapely, floor, left, ys[2 * j], ys[2 * j + 1], -1)
                reach[cell, -1] = min(left, max(wall, taken_to + spacing_m))
            if cell not in tree.beside:
                taken_to = right
                if not upright:
                    wall = _wall(shapely, floor, right, ys[2 * j], ys[2 * j + 1], 1)
                    following = float(xs[2 * row[place + 1]]) if place + 1 < len(row) else np.inf
                    taken_to = max(right, min(wall, following - spacing_m))
                    reach[cell, 1] = taken_to
    return reach


def _wall(shapely: Any, floor: Any, x_m: float, low_m: float, high_m: float, way: int) -> float:
    """Where the floor ends to the left (-1) or right (1) of a pair of runs [m]."""
    bounds = floor.bounds
    end = bounds[0] - 1.0 if way < 0 else bounds[2] + 1.0
    ahead = shapely.box(min(x_m, end), low_m, max(x_m, end), high_m)
    blocked = shapely.difference(ahead, floor)
    # What lies behind or within the last digit of the end itself is no obstacle.
    near = shapely.bounds(blocked)
    return float(near[2]) if way < 0 else float(near[0])


def _corners(tree: _Tree, lattice: Lattice, reach: dict[tuple[_Cell, int], float]) -> FloatArray:
    """Walk round the tree, and keep the places where the way turns."""
    links = _links(tree)
    x_of: dict[_Node, float] = {}
    for (cell, way), x in reach.items():
        i, j = cell
        column = 2 * i + (way > 0)
        x_of[column, 2 * j] = x_of[column, 2 * j + 1] = x
    start = min(links)
    walk = [start, links[start][0]]
    while True:
        one, other = links[walk[-1]]
        following = one if one != walk[-2] else other
        if following == start:
            break
        walk.append(following)
    xy = np.array(
        [
            (x_of.get(node, float(lattice.xs_m[node[0]])), float(lattice.ys_m[node[1]]))
            for node in walk
        ]
    )
    columns_rows = np.array(walk)
    before = columns_rows - np.roll(columns_rows, 1, axis=0)
    after = np.roll(columns_rows, -1, axis=0) - columns_rows
    turns = before[:, 0] * after[:, 1] != before[:, 1] * after[:, 0]
    return np.asarray(xy[turns], float)


def _links(tree: _Tree) -> dict[_Node, list[_Node]]:
    """The two neighbours of each place of the cable."""
    links: dict[_Node, list[_Node]] = {}

    def join(one: _Node, other: _Node) -> None:
        links.setdefault(one, []).append(other)
        links.setdefault(other, []).append(one)

    for i, j in tree.cells:
        low_left, low_right = (2 * i, 2 * j), (2 * i + 1, 2 * j)
        top_left, top_right = (2 * i, 2 * j + 1), (2 * i + 1, 2 * j + 1)
        if (i, j) in tree.beside:
            join(low_right, (2 * i + 2, 2 * j))
            join(top_right, (2 * i + 2, 2 * j + 1))
        else:
            join(low_right, top_right)
        if (i, j) in tree.above:
            join(top_left, (2 * i, 2 * j + 2))
            join(top_right, (2 * i + 1, 2 * j + 2))
        else:
            join(top_left, top_right)
        if (i - 1, j) not in tree.beside:
            join(low_left, top_left)
        if (i, j - 1) not in tree.above:
            join(low_left, low_right)
    return links
