"""Where along a cable something begins, ends or sits, and in which order, row by row of a batch."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.numbers import FloatArray, Real

__all__ = ["Mark", "Point", "Rows", "any_order", "is_point", "marks_of", "orders_of_all"]

# A shorter leaking stretch counts as a point.
_LEAST_STRETCH_M = 1e-9


@dataclass(frozen=True, slots=True)
class Rows:
    """Some rows of the batch; picks their elements out of an array, leaves a plain number plain."""

    shape: tuple[int, ...]
    index: slice | NDArray[np.intp]

    def __len__(self) -> int:
        if isinstance(self.index, slice):
            return int(self.index.stop - self.index.start)
        return len(self.index)

    def of(self, quantity: Any) -> Any:
        """The elements of a quantity that belong to these rows."""
        if not isinstance(quantity, np.ndarray) or quantity.ndim == 0:
            return quantity
        picked: NDArray[Any]
        if quantity.shape == self.shape:
            picked = np.reshape(quantity, -1)[self.index]
        else:  # by its flat view: reshaping would copy the whole batch for each few rows of it
            picked = np.broadcast_to(quantity, self.shape).flat[self.index]
        return picked

    def chunks(self, most: int) -> Iterator[Rows]:
        """These rows in parts of at most so many."""
        if isinstance(self.index, slice):
            start, stop = self.index.start, self.index.stop
            for k in range(start, stop, most):
                yield Rows(self.shape, slice(k, min(k + most, stop)))
        else:
            for k in range(0, len(self.index), most):
                yield Rows(self.shape, self.index[k : k + most])


@dataclass(frozen=True, slots=True)
class Mark:
    """A point on the line where something begins, ends or sits; rank orders marks at one place.

    ``share`` is the part of the fault's conductance that sits here.
    """

    rank: int
    position_m: Real
    what: str
    fault: int = -1
    share: float = 1.0


def marks_of(cable: Cable, faults: tuple[Fault, ...]) -> list[Mark]:
    """Every mark of a damaged cable, by rank.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays.
    """
    marks = [Mark(0, cable.first_m, "first"), Mark(1, 0.0, "cold joint")]
    if cable.construction.returns:
        marks.append(Mark(7, cable.heated_length_m, "far cold joint"))
    marks.append(Mark(8, cable.last_m, "last"))
    # A leak at a point is half on either side of what is in series there, like a short stretch with
    # its middle there.
    sides = (3, 5) if any(isinstance(fault, Break | Joint) for fault in faults) else (3,)
    for number, fault in enumerate(faults):
        if isinstance(fault, Break | Joint):
            marks.append(Mark(4, fault.at_m, "series", number))
        elif isinstance(fault, Short):
            marks.append(Mark(5 if fault.side == "far" else 3, fault.at_m, "shunt", number))
        elif isinstance(fault, Flashover):
            share = 1.0 / len(sides)
            marks += [Mark(rank, fault.at_m, "shunt", number, share) for rank in sides]
        else:
            point = is_point(fault)
            if not np.all(point):
                marks.append(Mark(6, fault.from_m, "begin", number))
                marks.append(Mark(2, fault.to_m, "end", number))
            if np.any(point):
                share = 1.0 / len(sides)
                marks += [Mark(rank, fault.position_m, "shunt", number, share) for rank in sides]
    return sorted(marks, key=lambda mark: mark.rank)


def is_point(fault: Degraded) -> Real:
    """1 where a leaking stretch is too short to be one, else 0."""
    return np.asarray(fault.to_m - fault.from_m < _LEAST_STRETCH_M, float)


@dataclass(frozen=True, slots=True)
class Point:
    """A point along a cable in some rows, and the marks that are there.

    Each mark goes with the rows that have it there, None where all have.
    """

    position_m: Real
    marks: tuple[tuple[Mark, NDArray[np.bool_] | None], ...]

    @classmethod
    def of(cls, mark: Mark, rows: Rows) -> Point:
        """A point that is one and the same mark in all rows."""
        return cls(rows.of(mark.position_m), ((mark, None),))


def _positions(marks: list[Mark], rows: Rows) -> FloatArray:
    """Positions of all marks, shape (rows, marks)."""
    picked = [rows.of(mark.position_m) for mark in marks]
    many = next((len(one) for one in picked if np.ndim(one)), 1)
    positions = np.empty((many, len(marks)))
    for k, one in enumerate(picked):
        positions[:, k] = one
    return positions


def _orders(marks: list[Mark], rows: Rows) -> Iterator[tuple[list[int], Rows]]:
    """Split rows by the order of their marks along the cable; at one place rank decides."""
    positions = _positions(marks, rows)
    order = np.argsort(positions[0], kind="stable")
    steps = np.diff(positions[:, order], axis=-1)
    if np.all((steps > 0) | ((steps == 0) & (np.diff(order) > 0))):
        yield order.tolist(), rows
        return
    orders = np.argsort(positions, axis=-1, kind="stable")
    # One value a row. A number in base len(marks) is quick to sort, but overflows with many marks;
    # then the row itself is one, opaque.
    base = len(marks)
    codes: NDArray[Any]
    if base**base < 2**63:
        codes = orders @ (base ** np.arange(base, dtype=np.int64))
    else:
        codes = np.ascontiguousarray(orders, np.uint16).view(f"V{2 * base}")[:, 0]
    size = int(np.prod(rows.shape))
    index = np.arange(size)[rows.index]
    for code in np.unique(codes):
        members = np.flatnonzero(codes == code)
        yield orders[members[0]].tolist(), Rows(rows.shape, index[members])


def any_order(marks: list[Mark], rows: Rows) -> list[Point]:
    """Points along the cable, at each of which different rows may have different marks."""
    positions = _positions(marks, rows)
    orders = np.argsort(positions, axis=-1, kind="stable")
    ordered = np.take_along_axis(positions, orders, axis=-1)
    points = []
    for k in range(len(marks)):
        numbers = orders[:, k]
        present = np.flatnonzero(np.bincount(numbers, minlength=len(marks)))
        if len(present) == 1:
            points.append(Point.of(marks[present[0]], rows))
        else:
            here = tuple((marks[number], numbers == number) for number in present)
            points.append(Point(np.ascontiguousarray(ordered[:, k]), here))
    return points


def orders_of_all(marks: list[list[Mark]], rows: Rows) -> Iterator[tuple[list[list[int]], Rows]]:
    """Split rows by the orders of the marks along every cable."""
    if not marks:
        yield [], rows
        return
    for order, chosen in _orders(marks[0], rows):
        for others, members in orders_of_all(marks[1:], chosen):
            yield [order, *others], members
