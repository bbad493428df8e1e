"""The voltage at every node of a circuit with given voltages at some of them.

Nodes are eliminated as in `cablesim.line.reduction`; going back, each node has the mean of its
neighbours' voltages, weighted by conductance: again nothing is subtracted, and no voltage can lie
outside those given. What counts for currents are small differences, though: across a dead short
two nodes agree in all digits. So the currents that are left over at each node are put right
twice, and the small corrections are kept apart from the voltages themselves. Differences then have
full precision down to 1e-15 ohm (iterative refinement, J. H. Wilkinson, Rounding Errors in
Algebraic Processes, 1963, from memory).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np

from cablesim.line.reduction import Admittance, Graph, Step, connect, eliminated

__all__ = ["Edge", "Potentials", "node_potentials"]

Edge: TypeAlias = tuple[Hashable, Hashable, Admittance]
# A voltage or a current: a number or an array over the batch, like the conductances it comes from.
_Value: TypeAlias = Any

# A node with no more conductance than this hangs in the air: its voltage is put at 0.
_NOTHING_SIEMENS = 1e-200
# Rounding can be put right, a node that all but hangs in the air cannot.
_LARGEST_CORRECTION = 1e-6
_CORRECTIONS = 2


@dataclass(frozen=True, slots=True)
class Potentials:
    """Voltages of the nodes of a circuit, each in two parts.

    Parameters
    ----------
    coarse, fine
        The voltage of each node [V] is the sum of both, rounded; differences are more precise.
    """

    coarse: Mapping[Hashable, _Value]
    fine: Mapping[Hashable, _Value]

    def volt(self, node: Hashable) -> _Value:
        """Voltage of a node [V]."""
        return self.coarse[node] + self.fine[node]

    def drop(self, u: Hashable, v: Hashable) -> _Value:
        """Voltage of one node above another [V]."""
        return (self.coarse[u] - self.coarse[v]) + (self.fine[u] - self.fine[v])

    def corrected(self, more: Mapping[Hashable, _Value]) -> Potentials:
        """The same with something added to every voltage, both parts parted anew."""
        coarse, fine = {}, {}
        for node, old in self.coarse.items():
            small = self.fine[node] + more[node]
            coarse[node] = old + small
            fine[node] = small - (coarse[node] - old)
        return Potentials(coarse, fine)

    def current(self, edges: Iterable[Edge], nodes: Iterable[Hashable]) -> _Value:
        """Current that flows out of some nodes, all together, along the given edges [A]."""
        inside = set(nodes)
        total: _Value = 0.0
        for u, v, siemens in edges:
            if (u in inside) != (v in inside):
                total = total + siemens * (self.drop(u, v) if u in inside else self.drop(v, u))
        return total


def node_potentials(
    edges: Iterable[Edge], fixed: Potentials | Mapping[Hashable, _Value]
) -> Potentials:
    """Solve a circuit.

    Parameters
    ----------
    edges
        Two nodes and the conductance between them [S], a number or an array over the batch.
    fixed
        Voltages that are given [V]; every other node has no source.

    Returns
    -------
    Potentials
        Of every node. Nodes that hang in the air are at 0 V.

    Examples
    --------
    >>> found = node_potentials([("in", "tap", 0.1), ("tap", "out", 0.3)], {"in": 8.0, "out": 0.0})
    >>> print(f"{found.volt('tap'):.6f}")
    2.000000
    """
    edges = list(edges)
    if not isinstance(fixed, Potentials):
        fixed = Potentials(fixed, dict.fromkeys(fixed, 0.0))
    graph: Graph = {}
    for u, v, siemens in edges:
        connect(graph, u, v, siemens)
    steps = list(eliminated(graph, fixed.coarse))
    none = dict.fromkeys(fixed.coarse, 0.0)
    coarse = _back(steps, fixed.coarse, dict.fromkeys((step.node for step in steps), 0.0), 0.0)
    found = Potentials(coarse, dict.fromkeys(coarse, 0.0) | dict(fixed.fine))
    largest = _LARGEST_CORRECTION * _largest(fixed.coarse.values())
    for _ in range(_CORRECTIONS):
        over: dict[Hashable, _Value] = dict.fromkeys(coarse, 0.0)
        for u, v, siemens in edges:
            ampere = siemens * found.drop(u, v)
            over[u] = over[u] - ampere
            over[v] = over[v] + ampere
        found = found.corrected(_back(steps, none, over, largest))
    return found


def _back(
    steps: list[Step],
    fixed: Mapping[Hashable, _Value],
    injected: Mapping[Hashable, _Value],
    largest: _Value,
) -> dict[Hashable, _Value]:
    """Voltages of all nodes from those given and the currents put into the others [A].

    What such a current would raise a node by beyond ``largest`` [V] is left out: the node all but
    hangs in the air, and the current is nothing but rounding.
    """
    ampere = dict(injected)
    for step in steps:
        here = ampere[step.node]
        for other, siemens in step.star:
            ampere[other] = ampere.get(other, 0.0) + here * (siemens / step.total)
    volt = dict(fixed)
    for step in reversed(steps):
        lone = np.abs(step.total) <= _NOTHING_SIEMENS
        total = np.where(lone, 1.0, step.total)
        raised = ampere[step.node] / total
        mean: _Value = np.where(np.abs(raised) <= largest, raised, 0.0)
        for other, siemens in step.star:
            mean = mean + volt[other] * (siemens / total)
        volt[step.node] = np.where(lone, 0.0, mean)
    return volt


def _largest(volts: Iterable[_Value]) -> _Value:
    largest: _Value = 0.0
    for volt in volts:
        largest = np.maximum(largest, np.abs(volt))
    return largest
