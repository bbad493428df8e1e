"""A floor plan in characters: the room, the cable's way with its metres, marks and openings.

It is drawn to scale as far as characters go: one is about twice as high as it is wide. Where runs
lie too close for the room that a terminal has, there is no plan, and the runs are listed instead.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.site.opening import opening_for
from cablesim.site.plan import Plan

__all__ = ["drawn_plan", "listed_runs"]

# What a cell of the cable looks like, by the sides on which it goes on: left, right, up, down.
_CABLE = {
    (True, True, False, False): "─",
    (True, False, False, False): "─",
    (False, True, False, False): "─",
    (False, False, True, True): "│",
    (False, False, True, False): "│",
    (False, False, False, True): "│",
    (True, False, True, False): "┘",
    (True, False, False, True): "┐",
    (False, True, True, False): "└",
    (False, True, False, True): "┌",
}
_ASPECT = 2.0  # height of a character over its width
_MARGIN = 6  # columns of the scale on the left
_FINE_M = 0.005
# A label every so many metres along the cable.
_EVERY_M = 5.0


def drawn_plan(
    plan: Plan,
    columns: int,
    rows: int,
    *,
    marks_m: Sequence[float] = (),
    opened_m: Sequence[tuple[float, float]] = (),
) -> str | None:
    r"""Draw a plan.

    Parameters
    ----------
    plan
        Where the cable lies.
    columns, rows
        What the terminal has room for.
    marks_m
        Marked places [m from the cold joint].
    opened_m
        Opened intervals [m from the cold joint].

    Returns
    -------
    str or None
        Lines; None where they do not fit.

    Examples
    --------
    >>> from cablesim.site.plan import plan_of
    >>> from cablesim.site.room import Room
    >>> from cablesim.site.survey import Survey
    >>> room = Room(((0, 0), (2, 0), (2, 1), (0, 1)))
    >>> way = ((0.1, 0.3), (1.9, 0.3), (1.9, 0.7), (0.1, 0.7))
    >>> drawing = drawn_plan(plan_of(Survey(room, way), 4.0), 60, 20, marks_m=[1.0])
    >>> print("\n".join(line for line in drawing.splitlines() if "X" in line))
     0.31 █ C───────────────X────────────┘ █
    """
    left, low, right, top = plan.room.bounds_m
    across_m, along_m = right - left, top - low
    gap = _least_gap_m(plan)
    # So fine that neighbouring runs do not share a row, nor a column.
    row_m = min(gap, along_m / 8) if gap else along_m / 8
    row_m = max(row_m, along_m / (rows - 3), across_m / (columns - _MARGIN - 4) * _ASPECT)
    if gap and row_m > gap * 1.001:
        return None
    high = int(np.ceil(along_m / row_m - 1e-6))
    wide = int(np.ceil(across_m * _ASPECT / row_m - 1e-6))
    cell_m = np.array([across_m / wide, along_m / high])
    sheet = _Sheet(np.array([left, low]), cell_m, wide, high)
    sheet.room(plan)
    for interval in opened_m:
        sheet.opened(plan, interval)
    sheet.cable(plan)
    sheet.labels(plan, marks_m)
    return sheet.text()


def listed_runs(plan: Plan) -> str:
    """The runs of a cable with their ends, where a plan cannot be drawn."""
    told = []
    for run in plan.runs:
        (x0, y0), (x1, y1) = plan.at([run.from_m, run.to_m])  # type: ignore[arg-type]
        told.append(
            f"run {run.number}: {run.from_m:.2f} to {run.to_m:.2f} m, "
            f"from {x0:.2f},{y0:.2f} to {x1:.2f},{y1:.2f}"
        )
    return "\n".join(told)


def _least_gap_m(plan: Plan) -> float:
    """Distance between the nearest two runs that lie side by side [m]; 0 where there are none."""
    gaps = []
    for run in plan.runs:
        middle = (run.from_m + run.to_m) / 2
        gaps += [n.distance_m for n in plan.neighbours(middle, middle, reach_m=1.0)]
    return min((gap for gap in gaps if gap > 0.01), default=0.0)


class _Sheet:
    """Cells of characters over the room; row 0 is the top."""

    def __init__(self, corner: FloatArray, cell_m: FloatArray, wide: int, high: int) -> None:
        self.corner, self.cell_m, self.wide, self.high = corner, cell_m, wide, high
        self.cells = [[" "] * wide for _ in range(high)]

    def at(self, xy_m: FloatArray) -> tuple[int, int]:
        """Row and column of a point."""
        column, row = np.floor((np.asarray(xy_m) - self.corner) / self.cell_m + 1e-9).astype(int)
        return (
            self.high - 1 - int(np.clip(row, 0, self.high - 1)),
            int(np.clip(column, 0, self.wide - 1)),
        )

    def _middles(self) -> tuple[FloatArray, FloatArray]:
        x = self.corner[0] + self.cell_m[0] * (np.arange(self.wide) + 0.5)
        y = self.corner[1] + self.cell_m[1] * (self.high - np.arange(self.high) - 0.5)
        grid = np.meshgrid(x, y)
        return np.asarray(grid[0]), np.asarray(grid[1])

    def _fill(self, inside: np.ndarray[tuple[int, ...], np.dtype[np.bool_]], sign: str) -> None:
        for row, column in np.argwhere(inside):
            self.cells[row][column] = sign

    def room(self, plan: Plan) -> None:
        """What is outside the walls or kept out."""
        import shapely

        x, y = self._middles()
        outline = shapely.Polygon(plan.room.outline_m)
        free = plan.room.free()
        within = shapely.contains_xy(outline, x, y)
        self._fill(within & ~shapely.contains_xy(free, x, y), "░")
        self._fill(~within, "█")

    def opened(self, plan: Plan, interval: tuple[float, float]) -> None:
        """Where the floor is open."""
        import shapely

        if interval[1] < 0 or interval[0] > plan.heated_length_m:
            return
        x, y = self._middles()
        self._fill(shapely.contains_xy(opening_for(plan, interval).patch, x, y), ":")

    def cable(self, plan: Plan) -> None:
        """The way of the cable, cell by cell."""
        count = max(2, round(plan.route.length_m / _FINE_M))
        places = plan.at(np.linspace(0.0, plan.heated_length_m, count))
        way: list[tuple[int, int]] = []
        for xy in places:
            cell = self.at(xy)
            if way and way[-1] == cell:
                continue
            if way and way[-1][0] != cell[0] and way[-1][1] != cell[1]:
                way.append((cell[0], way[-1][1]))  # never from corner to corner
            way.append(cell)
        ways: dict[tuple[int, int], set[tuple[int, int]]] = {}
        for one, other in pairwise(way):
            step = (other[0] - one[0], other[1] - one[1])
            ways.setdefault(one, set()).add(step)
            ways.setdefault(other, set()).add((-step[0], -step[1]))
        for (row, column), steps in ways.items():
            sides = tuple(side in steps for side in ((0, -1), (0, 1), (-1, 0), (1, 0)))
            self.cells[row][column] = _CABLE.get(sides, "┼" if sum(sides) > 2 else "·")  # type: ignore[arg-type]

    def labels(self, plan: Plan, marks_m: Sequence[float]) -> None:
        """Every five metres, the two ends, and what was marked."""
        for metre in np.arange(_EVERY_M, plan.heated_length_m, _EVERY_M):
            self._write(plan, float(metre), f"{metre:g}")
        self._write(plan, 0.0, "C")
        self._write(plan, plan.heated_length_m, "E")
        for place in marks_m:
            if 0.0 <= place <= plan.heated_length_m:
                self._write(plan, place, "X")

    def _write(self, plan: Plan, at_m: float, sign: str) -> None:
        row, column = self.at(plan.at(at_m))
        column = max(0, min(column, self.wide - len(sign)))
        self.cells[row][column : column + len(sign)] = list(sign)

    def text(self) -> str:
        """All of it within walls, with the metres of both axes."""
        wall = " " * _MARGIN + "█" * (self.wide + 2)
        lines = [wall]
        every = max(1, round(0.3 / self.cell_m[1]))
        for row, cells in enumerate(self.cells):
            up = self.high - 1 - row
            y = self.corner[1] + self.cell_m[1] * (up + 0.5)
            scale = f"{y:5.2f} " if up % every == 0 else " " * _MARGIN
            lines.append(scale[:_MARGIN] + "█" + "".join(cells) + "█")
        lines.append(wall)
        lines.append(self._scale())
        return "\n".join(line.rstrip() for line in lines)

    def _scale(self) -> str:
        """The metres along the lower wall."""
        cells = [" "] * (_MARGIN + self.wide + 8)
        x, last = self.corner[0], -1
        step = 0.5 if self.wide * self.cell_m[0] < 6 else 1.0
        first = np.ceil(x / step) * step
        for metre in np.arange(first, x + self.wide * self.cell_m[0] + 1e-9, step):
            column = _MARGIN + 1 + int((metre - x) / self.cell_m[0])
            text = f"{metre:g}"
            if column > last:
                cells[column : column + len(text)] = list(text)
                last = column + len(text)
        return "".join(cells)
