"""The circuit of a damaged cable as a graph: marked points, pieces between, faults, ends.

Nodes are ``(cable, conductor, point, side)`` or terminals; a break or a joint sits between the near
and the far side of its point, and without one both sides are the same node. Where faults of a batch
lie in different orders along the cable, the batch is sorted into groups of one order each, since
each order is another graph.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field
from typing import Any, TypeAlias

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable, check_faults
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.numbers import Real
from cablesim.line.per_metre import Frequency, per_metre
from cablesim.line.piece import Mesh, uniform_piece
from cablesim.line.reduction import Admittance, Graph, connect
from cablesim.line.several import Installation, Part, batch_shape, parts_of
from cablesim.line.terminals import Terminal, node_of

__all__ = ["CHUNK", "Circuit", "Lump", "MeshMaker", "Piece", "Rows", "circuits", "tap"]

# Stands for a dead short: below rounding beside any reading, yet finite.
_LEAST_OHM = 1e-15
# A shorter leaking stretch counts as a point.
_LEAST_STRETCH_M = 1e-9
# Scenarios worked on at a time, so that memory stays flat: many enough for the graph to cost next
# to nothing, few enough for their arrays to stay in the processor's cache. As measured, 4096 are
# half as fast and more are no faster.
CHUNK = 16384
# Scenarios sorted by the order of their marks at a time, where these orders differ.
_WINDOW = 8 * CHUNK

MeshMaker: TypeAlias = Callable[
    [list[Admittance], dict[tuple[int, int], Admittance], Admittance], Mesh
]


def circuits(
    cable: Cable | Installation,
    faults: tuple[Fault, ...],
    frequency_hz: Frequency = 0.0,
    seconds: float | None = None,
    *,
    shape: tuple[int, ...] | None = None,
    mesh_of: MeshMaker = uniform_piece,
) -> Iterator[tuple[Circuit, Rows]]:
    """Lay a batch of damaged cables out, one circuit for all rows that have the same graph.

    Parameters
    ----------
    cable, faults, frequency_hz, seconds, mesh_of
        As for `terminal_network`.
    shape
        Shape of the batch, where more than these numbers make it up.

    Yields
    ------
    circuit, rows
        The circuit, its numbers arrays over these rows of the flat batch; every row comes once.

    Raises
    ------
    InputError
        If a fault does not fit the cable.
    """
    parts = parts_of(cable, faults)
    for part in parts:
        check_faults(part.cable, part.faults)
    if shape is None:
        shape = np.broadcast_shapes(batch_shape(cable, faults), np.shape(frequency_hz))
    size = int(np.prod(shape))
    # Faults are numbered through, those of the main cable first.
    firsts = [sum(len(before.faults) for before in parts[:k]) for k in range(len(parts))]
    marks = [_marks(part.cable, part.faults) for part in parts]
    start = 0
    while start < size:
        # As a rule a chunk has one order. Where it has more, look further, so that the rows of each
        # order still fill chunks of their own.
        for wide in (CHUNK, _WINDOW):
            window = Rows(shape, slice(start, min(start + wide, size)))
            found = list(_orders_of_all(marks, window))
            if len(found) == 1:
                break
        start += wide
        for orders, members in found:
            for rows in members.chunks(CHUNK):
                circuit = Circuit()
                for part, first, of_part, order in zip(parts, firsts, marks, orders, strict=True):
                    ordered = [of_part[k] for k in order]
                    laying = _Laying(circuit, cable, part, first, rows)
                    laying.lay(ordered, frequency_hz, seconds, mesh_of)
                yield circuit, rows


@dataclass(frozen=True, slots=True)
class Rows:
    """Some rows of the batch; picks their elements out of an array, leaves a plain number plain."""

    shape: tuple[int, ...]
    index: slice | NDArray[np.intp]

    def of(self, quantity: Any) -> Any:
        """The elements of a quantity that belong to these rows."""
        if np.ndim(quantity) == 0:
            return quantity
        picked: NDArray[Any]
        if np.shape(quantity) == self.shape:
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
class Piece:
    """A uniform piece of cable in a circuit; numbers may be arrays over rows of the batch.

    Parameters
    ----------
    start_m, length_m
        Where it begins [m from the cold joint], and how long it is [m].
    near, far
        Nodes of its conductors at either end, in the cable's order.
    series_ohm_per_m, leak_siemens_per_m
        Its per-metre values, as given to the maker of its mesh.
    mesh
        Conductances between its ends.
    stretches
        For each degraded stretch that runs along it: the fault's number, the two conductors, and
        what it adds to their leak [S/m].
    part
        Name of the cable, where there are several.
    """

    start_m: Real
    length_m: Real
    near: tuple[Hashable, ...]
    far: tuple[Hashable, ...]
    series_ohm_per_m: list[Admittance]
    leak_siemens_per_m: dict[tuple[int, int], Admittance]
    mesh: Mesh
    stretches: tuple[tuple[int, tuple[int, int], Real], ...] = ()
    part: str = ""


@dataclass(frozen=True, slots=True)
class Lump:
    """A fault at one point of a circuit, or a part of one.

    Parameters
    ----------
    fault
        Number of the fault, from 0.
    u, v
        The nodes that it joins.
    siemens
        Its conductance [S].
    """

    fault: int
    u: Hashable
    v: Hashable
    siemens: Real


@dataclass(slots=True)
class Circuit:
    """The graph of one order of marks, and the pieces and lumps that it was made from."""

    graph: Graph = field(default_factory=nx.Graph)
    pieces: list[Piece] = field(default_factory=list)
    lumps: list[Lump] = field(default_factory=list)
    taps: dict[Terminal, Hashable] = field(default_factory=dict)

    def edges(self) -> Iterator[tuple[Hashable, Hashable, Admittance]]:
        """Every conductance in it, node, node and siemens; also where the graph is reduced."""
        for lump in self.lumps:
            yield lump.u, lump.v, lump.siemens
        for piece in self.pieces:
            yield from piece.mesh.edges(piece.near, piece.far)

    def add_lump(self, lump: Lump) -> None:
        """Put a fault in."""
        self.lumps.append(lump)
        connect(self.graph, lump.u, lump.v, lump.siemens)

    def add_piece(self, piece: Piece) -> None:
        """Put a piece of cable in."""
        self.pieces.append(piece)
        for u, v, siemens in piece.mesh.edges(piece.near, piece.far):
            connect(self.graph, u, v, siemens)


@dataclass(frozen=True, slots=True)
class _Mark:
    """A point on the line where something begins, ends or sits; rank orders marks at one place.

    ``share`` is the part of the fault's conductance that sits here.
    """

    rank: int
    position_m: Real
    what: str
    fault: int = -1
    share: float = 1.0


def _marks(cable: Cable, faults: tuple[Fault, ...]) -> list[_Mark]:
    marks = [_Mark(0, cable.first_m, "first"), _Mark(1, 0.0, "cold joint")]
    if cable.construction.returns:
        marks.append(_Mark(7, cable.heated_length_m, "far cold joint"))
    marks.append(_Mark(8, cable.last_m, "last"))
    # A leak at a point is half on either side of what is in series there, like a short stretch with
    # its middle there.
    sides = (3, 5) if any(isinstance(fault, Break | Joint) for fault in faults) else (3,)
    for number, fault in enumerate(faults):
        if isinstance(fault, Break | Joint):
            marks.append(_Mark(4, fault.at_m, "series", number))
        elif isinstance(fault, Short):
            marks.append(_Mark(5 if fault.side == "far" else 3, fault.at_m, "shunt", number))
        elif isinstance(fault, Flashover):
            share = 1.0 / len(sides)
            marks += [_Mark(rank, fault.at_m, "shunt", number, share) for rank in sides]
        else:
            point = _is_point(fault)
            if not np.all(point):
                marks.append(_Mark(6, fault.from_m, "begin", number))
                marks.append(_Mark(2, fault.to_m, "end", number))
            if np.any(point):
                share = 1.0 / len(sides)
                marks += [_Mark(rank, fault.position_m, "shunt", number, share) for rank in sides]
    return sorted(marks, key=lambda mark: mark.rank)


def _is_point(fault: Degraded) -> Real:
    """1 where a leaking stretch is too short to be one, else 0."""
    return np.asarray(fault.to_m - fault.from_m < _LEAST_STRETCH_M, float)


def _orders(marks: list[_Mark], rows: Rows) -> Iterator[tuple[list[int], Rows]]:
    """Split rows by the order of their marks along the cable; at one place rank decides."""
    positions = np.stack(np.broadcast_arrays(*(rows.of(m.position_m) for m in marks)), axis=-1)
    positions = np.atleast_2d(positions)
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


def tap(number: int, conductor: str) -> Terminal:
    """The place of a point fault on a conductor, to be kept in a network as if it were a terminal.

    Parameters
    ----------
    number
        Number of the fault, counted from 0.
    conductor
        One of the cable's conductors.
    """
    return Terminal(conductor, f"fault {number}")


def _orders_of_all(marks: list[list[_Mark]], rows: Rows) -> Iterator[tuple[list[list[int]], Rows]]:
    """Split rows by the orders of the marks along every cable."""
    if not marks:
        yield [], rows
        return
    for order, chosen in _orders(marks[0], rows):
        for others, members in _orders_of_all(marks[1:], chosen):
            yield [order, *others], members


@dataclass(frozen=True, slots=True)
class _Laying:
    """One damaged cable on its way into a circuit."""

    circuit: Circuit
    whole: Cable | Installation
    part: Part
    first_fault: int
    rows: Rows

    def lay(
        self,
        marks: list[_Mark],
        frequency_hz: Frequency,
        seconds: float | None,
        mesh_of: MeshMaker,
    ) -> None:
        """Go from the near terminals to the far ones."""
        cable, rows, circuit = self.part.cable, self.rows, self.circuit
        names = cable.conductors
        heated = per_metre(cable, rows.of, frequency_hz, seconds, heated=True)
        cold = per_metre(cable, rows.of, frequency_hz, seconds, heated=False)
        here, active = cold, set[int]()
        near = self._ends("near")
        for k, mark in enumerate(marks):
            far = near
            if mark.what == "cold joint":
                here = heated
            elif mark.what == "far cold joint":
                here = cold
            elif mark.what == "begin":
                active.add(mark.fault)
            elif mark.what == "end":
                active.discard(mark.fault)  # where the stretch is a point its end comes first
            elif mark.fault >= 0:
                far = self._fault(mark, near, k)
            if k + 1 == len(marks):
                break
            series, leak = here
            stretches = tuple(self._stretch(number) for number in active)
            for _, pair, siemens_per_m in stretches:
                leak = leak | {pair: leak[pair] + siemens_per_m}
            last = k + 2 == len(marks)
            near = self._ends("far") if last else [(self.part.name, n, k + 1, 0) for n in names]
            start_m = rows.of(mark.position_m)
            length_m = rows.of(marks[k + 1].position_m) - start_m
            mesh = mesh_of(series, leak, length_m)
            ends = (tuple(far), tuple(near))
            name = self.part.name
            circuit.add_piece(Piece(start_m, length_m, *ends, series, leak, mesh, stretches, name))

    def _ends(self, end: str) -> list[Hashable]:
        names = self.part.cable.conductors
        return [node_of(Terminal(name, end, self.part.name), self.whole) for name in names]

    def _fault(self, mark: _Mark, near: list[Hashable], k: int) -> list[Hashable]:
        """Put a fault in where it sits; return the nodes beyond it."""
        names, circuit = self.part.cable.conductors, self.circuit
        fault, number = self.part.faults[mark.fault], self.first_fault + mark.fault
        if mark.rank <= 4:
            circuit.taps |= {tap(number, n): node for n, node in zip(names, near, strict=True)}
        far = list(near)
        if isinstance(fault, Break | Joint):
            for name in fault.conductors:
                c = names.index(name)
                far[c] = (self.part.name, name, k, 1)
                siemens = _siemens(self.rows.of(fault.resistance_ohm))
                circuit.add_lump(Lump(number, near[c], far[c], siemens))
        else:
            u, v = (near[names.index(name)] for name in fault.between)
            circuit.add_lump(Lump(number, u, v, _shunt_siemens(fault, mark.share, self.rows)))
        return far

    def _stretch(self, fault_number: int) -> tuple[int, tuple[int, int], Real]:
        fault, names = self.part.faults[fault_number], self.part.cable.conductors
        assert isinstance(fault, Degraded)  # only stretches begin and end
        i, j = sorted(names.index(name) for name in fault.between)
        point = _is_point(fault)
        length_m = fault.to_m - fault.from_m + point  # a point leaks nothing, over any length
        siemens_per_m = self.rows.of((1.0 - point) / (fault.resistance_ohm * length_m))
        return self.first_fault + fault_number, (i, j), siemens_per_m


def _shunt_siemens(fault: Short | Degraded | Flashover, share: float, rows: Rows) -> Real:
    siemens = _siemens(rows.of(fault.resistance_ohm)) * share
    return siemens * rows.of(_is_point(fault)) if isinstance(fault, Degraded) else siemens


def _siemens(resistance_ohm: Real) -> Real:
    return 1.0 / np.maximum(resistance_ohm, _LEAST_OHM)
