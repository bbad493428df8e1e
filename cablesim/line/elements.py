"""What the circuit of a damaged cable is made of: uniform pieces, and faults at points."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.numbers import Real
from cablesim.line.piece import Mesh, stacked
from cablesim.line.reduction import Admittance, Graph, connect
from cablesim.line.terminals import Terminal

__all__ = ["NO_MESH", "Circuit", "Lump", "MeshMaker", "Piece", "tap", "with_meshes"]

MeshMaker: TypeAlias = Callable[
    [list[Admittance], dict[tuple[int, int], Admittance], Admittance], Mesh
]
NO_MESH = Mesh({}, {})
# Numbers in an array below which all pieces of a graph are worked on at once: for so few what a
# call costs counts for more than what it does.
_STACKED = 8192


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

    graph: Graph = field(default_factory=dict)
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


def with_meshes(pieces: list[Piece], mesh_of: MeshMaker, rows: int) -> Iterator[Piece]:
    """Give each piece its mesh; all in one call where they are small, else those of one medium."""
    if not _is_batch(pieces):
        groups = [[piece] for piece in pieces]
    elif rows * len(pieces) <= _STACKED:
        groups = [pieces]
    else:
        media: dict[tuple[int, int], list[Piece]] = {}
        for piece in pieces:
            media.setdefault(_medium(piece), []).append(piece)
        groups = list(media.values())
    for group in groups:
        if len(group) == 1:
            piece = group[0]
            mesh = mesh_of(piece.series_ohm_per_m, piece.leak_siemens_per_m, piece.length_m)
            yield replace(piece, mesh=mesh)
        else:
            yield from _meshed(group, mesh_of)


def _meshed(pieces: list[Piece], mesh_of: MeshMaker) -> Iterator[Piece]:
    """Give pieces their meshes in one call."""
    series, leak = pieces[0].series_ohm_per_m, pieces[0].leak_siemens_per_m
    if len({_medium(piece) for piece in pieces}) > 1:
        series = [
            _stacked([piece.series_ohm_per_m[i] for piece in pieces]) for i in range(len(series))
        ]
        leak = {pair: _stacked([p.leak_siemens_per_m[pair] for p in pieces]) for pair in leak}
    mesh = mesh_of(series, leak, _stacked([piece.length_m for piece in pieces]))
    for k, piece in enumerate(pieces):
        through, across = (
            {pair: np.asarray(siemens)[k] for pair, siemens in part.items()}
            for part in (mesh.through, mesh.across)
        )
        yield replace(piece, mesh=Mesh(through, across))


def _medium(piece: Piece) -> tuple[int, int]:
    """The same for pieces that were given one and the same values per metre."""
    return id(piece.series_ohm_per_m), id(piece.leak_siemens_per_m)


def _is_batch(pieces: list[Piece]) -> bool:
    return any(np.ndim(piece.length_m) for piece in pieces) or any(
        np.ndim(value)
        for piece in pieces
        for value in (*piece.series_ohm_per_m, *piece.leak_siemens_per_m.values())
    )


def _stacked(values: list[Any]) -> NDArray[Any]:
    """Numbers and arrays over the rows, one below the other; a column where all are numbers."""
    many = max((len(value) for value in values if np.ndim(value)), default=1)
    return stacked(values, (many,))
