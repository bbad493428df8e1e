"""The circuit of a cable that was cut and spliced: sections of it in a row, joints between them.

Each section is the exact solution of a uniform piece. What is joined at a splice is one node where
the joint has no resistance, so a cable cut and mended without loss is the cable that it was.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import require
from cablesim.errors import InputError
from cablesim.line.circuit import TerminalNetwork
from cablesim.line.per_metre import per_metre
from cablesim.line.piece import uniform_piece
from cablesim.line.reduction import Graph, conductance, connect, keep_only
from cablesim.line.terminals import Terminal, node_of

__all__ = ["Section", "mended_network"]


@dataclass(frozen=True, slots=True)
class Section:
    """A uniform section of a mended cable.

    Parameters
    ----------
    length_m
        Its length [m].
    heated
        Whether it is heating cable, or cold lead.
    joint_ohm
        Resistance in each conductor of the joint before it [ohm]; 0 where nothing was cut.
    """

    length_m: float
    heated: bool
    joint_ohm: float = 0.0

    def __post_init__(self) -> None:
        require("length_m", self.length_m, at_least=0.0, at_most=1e6)
        require("joint_ohm", self.joint_ohm, at_least=0.0, at_most=1e9)


def mended_network(
    cable: Cable,
    sections: Sequence[Section],
    terminals: Iterable[Terminal],
    frequency_hz: float = 0.0,
) -> TerminalNetwork:
    """Reduce a mended cable, healthy but for its joints, to its terminals.

    Parameters
    ----------
    cable
        Gives the values per metre and how the cores end; plain numbers.
    sections
        The whole of it from the near terminals to the far end, cold leads included.
    terminals
        The terminals to keep.
    frequency_hz
        0 for direct current, the insulation charged.

    Raises
    ------
    InputError
        If there is no section.
    """
    if not sections:
        raise InputError("sections", list(sections), "at least one")
    names = cable.conductors
    graph: Graph = {}
    near: list[Hashable] = [node_of(Terminal(name), cable) for name in names]
    for k, section in enumerate(sections):
        if section.joint_ohm > 0.0:
            beyond: list[Hashable] = [(name, k, "beyond") for name in names]
            for u, v in zip(near, beyond, strict=True):
                connect(graph, u, v, 1.0 / section.joint_ohm)
            near = beyond
        far: list[Hashable] = [(name, k, "far") for name in names]
        if k + 1 == len(sections):
            far = [node_of(Terminal(name, "far"), cable) for name in names]
        series, leak = per_metre(cable, _same, frequency_hz, None, heated=section.heated)
        mesh = uniform_piece(series, leak, section.length_m)
        for u, v, siemens in mesh.edges(tuple(near), tuple(far)):
            connect(graph, u, v, siemens)
        near = far
    kept = sorted({node_of(found, cable) for found in terminals})
    keep_only(graph, kept)
    between = {(u, v): np.asarray(conductance(graph, u, v)) for u, v in combinations(kept, 2)}
    return TerminalNetwork(between, (), frequency_hz, cable)


def _same(value: float) -> float:
    """The rows of a single scenario are the value itself."""
    return value
