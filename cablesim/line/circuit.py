"""The circuit of a damaged cable as a graph: marked points, pieces between, faults, ends.

Nodes are ``(conductor, point, side)``; a break or a joint sits between the near and the far side of
its point, and without one both sides are the same node. Where faults of a batch lie in different
orders along the cable, the batch is sorted into groups of one order each, since each order is
another graph.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, fields
from itertools import combinations
from typing import Any, TypeAlias

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable, check_faults
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.numbers import Real, require
from cablesim.errors import InputError
from cablesim.line.per_metre import Frequency, per_metre
from cablesim.line.piece import Mesh, uniform_piece
from cablesim.line.reduction import Admittance, Graph, conductance, connect, keep_only, merge
from cablesim.line.terminals import Hookup, Terminal, node_of

__all__ = ["MeshMaker", "TerminalNetwork", "batch_shape", "tap", "terminal_network"]

# Stands for a dead short: below rounding beside any reading, yet finite.
_LEAST_OHM = 1e-15
# A shorter leaking stretch counts as a point.
_LEAST_STRETCH_M = 1e-9
# Scenarios worked on at a time: the arrays of one chunk stay in the processor's cache, and memory
# stays flat.
CHUNK = 4096

MeshMaker: TypeAlias = Callable[
    [list[Admittance], dict[tuple[int, int], Admittance], Admittance], Mesh
]


@dataclass(frozen=True, slots=True)
class TerminalNetwork:
    """All that a meter can find out about a cable: the conductances between its terminals.

    Parameters
    ----------
    siemens
        Conductance between every two terminals [S], arrays over the batch; complex at a frequency.
    batch_shape
        Shape of the batch, ``()`` for one scenario.
    frequency_hz
        Frequency of the measurement [Hz], a number or an array over the batch; 0 is direct current.
    cable
        The cable, which knows the terminals that are one at a joined far end.
    """

    siemens: dict[tuple[Terminal, Terminal], NDArray[Any]]
    batch_shape: tuple[int, ...]
    frequency_hz: Frequency
    cable: Cable

    def between_leads(
        self, hookup: Hookup, taps: Sequence[Terminal] = ()
    ) -> dict[tuple[int, int], Admittance]:
        """Conductances between the leads of a meter, all other terminals left open.

        Parameters
        ----------
        hookup
            What each lead touches and what is linked.
        taps
            Places inside the cable to keep beside the leads; see `tap`.

        Returns
        -------
        dict
            Conductance [S] for every two leads ``(i, j)``, i < j; zero where nothing joins them.
            Taps count on after the leads.
        """
        graph: Graph = nx.Graph()
        for (u, v), siemens in self.siemens.items():
            connect(graph, u, v, siemens)
        stands_for: dict[Terminal, Hashable] = {t: node_of(t, self.cable) for t in hookup.terminals}
        for group in (*hookup.leads, *hookup.links):
            one = merge(graph, dict.fromkeys(stands_for[t] for t in group))
            gone = {stands_for[t] for t in group}
            stands_for = {t: one if node in gone else node for t, node in stands_for.items()}
        leads = [*(stands_for[lead[0]] for lead in hookup.leads), *taps]
        keep_only(graph, leads)
        return {
            (i, j): conductance(graph, leads[i], leads[j])
            for i in range(len(leads))
            for j in range(i + 1, len(leads))
        }


def terminal_network(
    cable: Cable,
    faults: tuple[Fault, ...],
    terminals: Iterable[Terminal],
    frequency_hz: Frequency = 0.0,
    *,
    seconds: float | None = None,
    mesh_of: MeshMaker = uniform_piece,
) -> TerminalNetwork:
    """Reduce a damaged cable to its terminals.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape.
    terminals
        The terminals to keep; a `tap` keeps a place inside.
    frequency_hz
        0 for direct current; otherwise inductances and capacitances count and conductances are
        complex. An array makes the frequency one more axis of the batch, or goes along with it.
        A negative imaginary part stands for a drive that grows as ``exp(-2 pi Im(f) t)``, where
        Laplace's variable is ``s = 2j pi f``: pulses are exact so (`cablesim.line.pulse`).
    seconds
        For direct current: time since the voltage was put on [s]. What the insulation then still
        absorbs counts as leakage; without a time it has absorbed all it can.
    mesh_of
        What stands for a uniform piece: the exact solution, or a lumped ladder for comparison.

    Returns
    -------
    TerminalNetwork
        Conductances of the whole batch.

    Raises
    ------
    InputError
        If a fault does not fit the cable, or frequencies are partly zero.
    """
    check_faults(cable, faults)
    complex_hz = np.asarray(frequency_hz)
    require("frequency_hz", complex_hz.real, at_least=0.0)
    require("growth of the drive", -complex_hz.imag, at_least=0.0)
    if np.any(frequency_hz) and not np.all(frequency_hz):
        raise InputError(
            what="frequency_hz",
            got=0.0,
            allowed="all above 0, or 0 alone for direct current",
            try_this="ask for direct current by itself",
        )
    marks = _marks(cable, faults)
    shape = np.broadcast_shapes(batch_shape(cable, faults), np.shape(frequency_hz))
    size = int(np.prod(shape))
    kept = sorted({node_of(found, cable) for found in terminals})
    places = {"near": 0, "far": len(marks) - 1}
    places |= {_tap_end(m.fault): k for k, m in enumerate(marks) if m.fault >= 0 and m.rank <= 4}
    pairs = list(combinations(range(len(kept)), 2))
    found = {pair: np.zeros(size, complex if np.any(frequency_hz) else float) for pair in pairs}
    for start in range(0, size, CHUNK):
        chunk = slice(start, min(start + CHUNK, size))
        for order, members in _orders(marks, _Rows(shape, chunk)):
            ordered = [marks[k] for k in order]
            graph = _build(cable, faults, ordered, members, frequency_hz, seconds, mesh_of)
            nodes = [(t.conductor, order.index(places[t.end]), "near") for t in kept]
            keep_only(graph, nodes)
            for i, j in pairs:
                found[i, j][members.index] = conductance(graph, nodes[i], nodes[j])
    siemens = {(kept[i], kept[j]): found[i, j].reshape(shape) for i, j in pairs}
    return TerminalNetwork(siemens, shape, frequency_hz, cable)


def tap(number: int, conductor: str) -> Terminal:
    """The place of a point fault on a conductor, to be kept in a network as if it were a terminal.

    Parameters
    ----------
    number
        Number of the fault, counted from 0.
    conductor
        One of the cable's conductors.
    """
    return Terminal(conductor, _tap_end(number))


def _tap_end(number: int) -> str:
    return f"fault {number}"


@dataclass(frozen=True, slots=True)
class _Rows:
    """Some rows of the batch; picks their elements out of an array, leaves a plain number plain."""

    shape: tuple[int, ...]
    index: slice | NDArray[np.intp]

    def of(self, quantity: Any) -> Any:
        if np.ndim(quantity) == 0:
            return quantity
        picked: NDArray[Any] = np.broadcast_to(quantity, self.shape).reshape(-1)[self.index]
        return picked


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


def batch_shape(cable: Cable, faults: tuple[Fault, ...]) -> tuple[int, ...]:
    """Shape that all numbers of a cable and its faults broadcast to, ``()`` for one scenario."""
    values = [v for item in (cable, *faults) for v in (getattr(item, f.name) for f in fields(item))]
    numbers = [n for v in values for n in (v if isinstance(v, tuple) else (v,))]
    return np.broadcast_shapes(*(np.shape(n) for n in numbers if isinstance(n, float | np.ndarray)))


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


def _orders(marks: list[_Mark], rows: _Rows) -> Iterator[tuple[list[int], _Rows]]:
    """Split rows by the order of their marks along the cable; at one place rank decides."""
    positions = np.stack(np.broadcast_arrays(*(rows.of(m.position_m) for m in marks)), axis=-1)
    positions = np.atleast_2d(positions)
    order = np.argsort(positions[0], kind="stable")
    steps = np.diff(positions[:, order], axis=-1)
    if np.all((steps > 0) | ((steps == 0) & (np.diff(order) > 0))):
        yield order.tolist(), rows
        return
    orders = np.argsort(positions, axis=-1, kind="stable")
    # One opaque value a row: a number in base len(marks) would overflow with many faults.
    codes = np.ascontiguousarray(orders, np.uint16).view(f"V{2 * len(marks)}")[:, 0]
    size = int(np.prod(rows.shape))
    index = np.arange(size)[rows.index]
    for code in np.unique(codes):
        members = codes == code
        yield orders[members][0].tolist(), _Rows(rows.shape, index[members])


def _build(
    cable: Cable,
    faults: tuple[Fault, ...],
    marks: list[_Mark],
    rows: _Rows,
    frequency_hz: Frequency,
    seconds: float | None,
    mesh_of: MeshMaker,
) -> Graph:
    graph: Graph = nx.Graph()
    names = cable.conductors
    heated = per_metre(cable, rows.of, frequency_hz, seconds, heated=True)
    cold = per_metre(cable, rows.of, frequency_hz, seconds, heated=False)
    here, active = cold, set[int]()
    near = [(name, 0, "near") for name in names]
    for k, mark in enumerate(marks):
        far = list(near)
        fault = faults[mark.fault] if mark.fault >= 0 else None
        if mark.what == "cold joint":
            here = heated
        elif mark.what == "far cold joint":
            here = cold
        elif mark.what == "begin":
            active.add(mark.fault)
        elif mark.what == "end":
            active.discard(mark.fault)  # where the stretch is a point its end comes first
        elif isinstance(fault, Break | Joint):
            for name in fault.conductors:
                c = names.index(name)
                far[c] = (name, k, "far")
                connect(graph, near[c], far[c], _siemens(rows.of(fault.resistance_ohm)))
        elif fault is not None:
            a, b = (near[names.index(name)] for name in fault.between)
            connect(graph, a, b, _shunt_siemens(fault, mark.share, rows))
        if k + 1 == len(marks):
            break
        series, leak = here
        for number in active:
            leak = _with_leak(leak, names, faults[number], rows)
        near = [(name, k + 1, "near") for name in names]
        if k + 2 == len(marks) and cable.far_end == "joined":
            cores = len(cable.construction.cores)
            near[:cores] = [near[0]] * cores
        length_m = rows.of(marks[k + 1].position_m) - rows.of(mark.position_m)
        _add_piece(graph, far, near, mesh_of(series, leak, length_m))
    return graph


def _with_leak(
    leak: dict[tuple[int, int], Admittance],
    names: tuple[str, ...],
    fault: Fault,
    rows: _Rows,
) -> dict[tuple[int, int], Admittance]:
    assert isinstance(fault, Degraded)  # only stretches begin and end
    i, j = sorted(names.index(name) for name in fault.between)
    point = _is_point(fault)
    length_m = fault.to_m - fault.from_m + point  # a point leaks nothing here, over any length
    siemens_per_m = rows.of((1.0 - point) / (fault.resistance_ohm * length_m))
    return leak | {(i, j): leak[i, j] + siemens_per_m}


def _shunt_siemens(fault: Short | Degraded | Flashover, share: float, rows: _Rows) -> Real:
    siemens = _siemens(rows.of(fault.resistance_ohm)) * share
    return siemens * rows.of(_is_point(fault)) if isinstance(fault, Degraded) else siemens


def _siemens(resistance_ohm: Real) -> Real:
    return 1.0 / np.maximum(resistance_ohm, _LEAST_OHM)


def _add_piece(graph: Graph, near: Sequence[Hashable], far: Sequence[Hashable], mesh: Mesh) -> None:
    for (i, j), siemens in mesh.through.items():
        connect(graph, near[i], far[j], siemens)
        if i != j:
            connect(graph, near[j], far[i], siemens)
    for (i, j), siemens in mesh.across.items():
        connect(graph, near[i], near[j], siemens)
        connect(graph, far[i], far[j], siemens)
