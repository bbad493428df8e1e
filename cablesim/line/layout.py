"""The circuit of a damaged cable as a graph: marked points, pieces between, faults, ends.

Nodes are ``(cable, conductor, point, side)`` or terminals; a break or a joint sits between the near
and the far side of its point, and without one both sides are the same node. Where faults of a batch
lie in different orders along the cable, each order is another graph. Many rows of a few orders are
sorted into groups of one order each. A few rows of many orders share one graph instead: at each
point along it any of the faults may sit, and those that do not in a row are nothing there, shunts
of no conductance and joints of no resistance.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.numbers import Real
from cablesim.cable.placing import check_faults
from cablesim.line.elements import NO_MESH, Circuit, Lump, MeshMaker, Piece, tap, with_meshes
from cablesim.line.marks import Point, Rows, any_order, is_point, marks_of, orders_of_all
from cablesim.line.per_metre import Frequency, per_metre
from cablesim.line.piece import uniform_piece
from cablesim.line.reduction import Admittance
from cablesim.line.several import Installation, Part, batch_shape, parts_of
from cablesim.line.terminals import Terminal, node_of

__all__ = ["CHUNK", "Circuit", "Lump", "MeshMaker", "Piece", "Rows", "circuits", "tap"]

# Stands for a dead short: below rounding beside any reading, yet finite.
_LEAST_OHM = 1e-15
# Scenarios worked on at a time, so that memory stays flat: many enough for the graph to cost next
# to nothing, few enough for their arrays to stay in the processor's cache. As measured, 4096 are
# half as fast and more are no faster.
CHUNK = 16384
# Scenarios sorted by the order of their marks at a time, where these orders differ.
_WINDOW = 8 * CHUNK
# Rows of one order, on average, below which the orders share a graph: as measured, a graph costs
# about as much as the additional arithmetic of so many rows.
_FEW = 3000
# Stands for a joint of no resistance that is there only in other rows.
_JOINED_SIEMENS = 1e30

_Medium: TypeAlias = tuple[list[Admittance], dict[tuple[int, int], Admittance]]
# Whether something holds in all rows, or in which.
_Here: TypeAlias = bool | NDArray[np.bool_]


def circuits(
    cable: Cable | Installation,
    faults: tuple[Fault, ...],
    frequency_hz: Frequency = 0.0,
    seconds: float | None = None,
    *,
    shape: tuple[int, ...] | None = None,
    mesh_of: MeshMaker = uniform_piece,
    shared: bool = False,
) -> Iterator[tuple[Circuit, Rows]]:
    """Lay a batch of damaged cables out, one circuit for all rows that have the same graph.

    Parameters
    ----------
    cable, faults, frequency_hz, seconds, mesh_of
        As for `terminal_network`.
    shape
        Shape of the batch, where more than these numbers make it up.
    shared
        Whether rows of different orders of faults may share a circuit where that is quicker. Its
        lumps then belong to other faults in other rows, and it has no taps.

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
    marks = [marks_of(part.cable, part.faults) for part in parts]
    start = 0
    while start < size:
        # As a rule a chunk has one order. Where it has more, look further, so that the rows of each
        # order still fill chunks of their own.
        for wide in (CHUNK, _WINDOW):
            window = Rows(shape, slice(start, min(start + wide, size)))
            found = list(orders_of_all(marks, window))
            if len(found) == 1 or start + wide >= size:
                break
        start += wide
        together = shared and len(found) > 1 and len(window) < _FEW * len(found)
        groups: list[tuple[list[list[int]] | None, Rows]] = [*found]
        for orders, members in [(None, window)] if together else groups:
            for rows in members.chunks(CHUNK):
                circuit = Circuit()
                for k, (part, first, of_part) in enumerate(zip(parts, firsts, marks, strict=True)):
                    if orders is None:
                        points = any_order(of_part, rows)
                    else:
                        points = [Point.of(of_part[number], rows) for number in orders[k]]
                    laying = _Laying(circuit, cable, part, first, rows)
                    laying.lay(points, frequency_hz, seconds, mesh_of)
                yield circuit, rows


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
        points: list[Point],
        frequency_hz: Frequency,
        seconds: float | None,
        mesh_of: MeshMaker,
    ) -> None:
        """Go from the near terminals to the far ones."""
        cable, rows, circuit = self.part.cable, self.rows, self.circuit
        name, conductors = self.part.name, cable.conductors
        media = [
            per_metre(cable, rows.of, frequency_hz, seconds, heated=heated)
            for heated in (False, True)
        ]
        warm: _Here = False
        active: dict[int, _Here] = {}
        pieces: list[Piece] = []
        near = self._ends("near")
        for k, point in enumerate(points):
            for mark, here in point.marks:
                now: _Here = True if here is None else here
                if mark.what == "cold joint":
                    warm = now | warm
                elif mark.what == "far cold joint":
                    warm = warm & ~now if isinstance(now, np.ndarray) else False
                elif mark.what == "begin":
                    active[mark.fault] = now | active.get(mark.fault, False)
                elif mark.what == "end":  # before it begins where the stretch is a point
                    before = active.pop(mark.fault, False)
                    if isinstance(now, np.ndarray):
                        active[mark.fault] = before & ~now
            far = self._faults(point, near, k)
            if k + 1 == len(points):
                break
            series, leak = _medium(media, warm)
            stretches = tuple(
                self._stretch(number, now) for number, now in active.items() if np.any(now)
            )
            for _, pair, siemens_per_m in stretches:
                leak = leak | {pair: leak[pair] + siemens_per_m}
            last = k + 2 == len(points)
            near = self._ends("far") if last else [(name, n, k + 1, 0) for n in conductors]
            length_m = points[k + 1].position_m - point.position_m
            ends = (tuple(far), tuple(near))
            pieces.append(
                Piece(point.position_m, length_m, *ends, series, leak, NO_MESH, stretches, name)
            )
        for piece in with_meshes(pieces, mesh_of, len(rows)):
            circuit.add_piece(piece)

    def _ends(self, end: str) -> list[Hashable]:
        names = self.part.cable.conductors
        return [node_of(Terminal(name, end, self.part.name), self.whole) for name in names]

    def _faults(self, point: Point, near: list[Hashable], k: int) -> list[Hashable]:
        """Put the faults of a point in; return the nodes beyond it."""
        names, circuit = self.part.cable.conductors, self.circuit
        far = list(near)
        for mark, here in point.marks:
            if mark.fault < 0 or mark.what in ("begin", "end"):
                continue
            fault, number = self.part.faults[mark.fault], self.first_fault + mark.fault
            if mark.rank <= 4 and here is None:
                circuit.taps |= {tap(number, n): node for n, node in zip(names, near, strict=True)}
            if isinstance(fault, Break | Joint):
                siemens = _siemens(self.rows.of(fault.resistance_ohm))
                for name in fault.conductors:
                    c = names.index(name)
                    # Where another row's fault is in series here too, one goes behind the other.
                    before, far[c] = far[c], (self.part.name, name, k, 1 + mark.fault)
                    if here is None:
                        circuit.add_lump(Lump(number, before, far[c], siemens))
                    else:
                        joined = np.where(here, siemens, _JOINED_SIEMENS)
                        circuit.add_lump(Lump(number, before, far[c], joined))
            else:
                u, v = (near[names.index(name)] for name in fault.between)
                siemens = _shunt_siemens(fault, mark.share, self.rows)
                shown = siemens if here is None else np.where(here, siemens, 0.0)
                circuit.add_lump(Lump(number, u, v, shown))
        return far

    def _stretch(self, fault_number: int, now: _Here) -> tuple[int, tuple[int, int], Real]:
        fault, names = self.part.faults[fault_number], self.part.cable.conductors
        assert isinstance(fault, Degraded)  # only stretches begin and end
        i, j = sorted(names.index(name) for name in fault.between)
        point = is_point(fault)
        length_m = fault.to_m - fault.from_m + point  # a point leaks nothing, over any length
        siemens_per_m = self.rows.of((1.0 - point) / (fault.resistance_ohm * length_m))
        return self.first_fault + fault_number, (i, j), siemens_per_m * now


def _medium(media: list[_Medium], warm: _Here) -> _Medium:
    """Cold, heated, or here this and there that."""
    if not isinstance(warm, np.ndarray):
        return media[warm]
    (cold_series, cold_leak), (warm_series, warm_leak) = media
    series: list[Admittance] = [
        np.where(warm, *two) for two in zip(warm_series, cold_series, strict=True)
    ]
    return series, {pair: np.where(warm, warm_leak[pair], cold_leak[pair]) for pair in cold_leak}


def _shunt_siemens(fault: Short | Degraded | Flashover, share: float, rows: Rows) -> Real:
    siemens = _siemens(rows.of(fault.resistance_ohm)) * share
    return siemens * rows.of(is_point(fault)) if isinstance(fault, Degraded) else siemens


def _siemens(resistance_ohm: Real) -> Real:
    return 1.0 / np.maximum(resistance_ohm, _LEAST_OHM)
