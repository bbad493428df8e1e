"""Star-mesh reduction of a weighted graph (Kron reduction) that only ever adds positive numbers.

Nodes are places in the circuit; a graph says for each node its neighbours and the conductance to
each (complex admittance for alternating current). The diagonal of the nodal matrix is never stored,
so a leak of 1e-13 S keeps its full relative precision beside 10 S of copper, where an ordinary LU
factorisation loses it.

A graph is a plain dictionary of dictionaries: a circuit is built and taken apart for every few
thousand scenarios, and what a graph library adds to each step would cost more than the arithmetic
of a small batch.

Source of the rule: the star-mesh transform, A. Rosen, "A new network theorem", Journal of the
Institution of Electrical Engineers 62 (1924) 916-918 (from memory).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Admittance",
    "Graph",
    "Step",
    "conductance",
    "connect",
    "eliminated",
    "keep_only",
    "merge",
]

Admittance: TypeAlias = float | complex | NDArray[Any]
# Both ways: graph[u][v] is graph[v][u].
Graph: TypeAlias = dict[Hashable, dict[Hashable, Admittance]]

# Added to the sum at a node, so that one with nothing attached divides zero by this instead of by
# zero.
_NOTHING_SIEMENS = 1e-300


def connect(graph: Graph, u: Hashable, v: Hashable, siemens: Admittance) -> None:
    """Put a conductance between two nodes, in parallel to what is there.

    Parameters
    ----------
    graph
        Changed in place.
    u, v
        The nodes; nothing happens where they are one and the same.
    siemens
        Conductance [S], a number or an array over the batch.
    """
    if u == v:
        return
    of_u, of_v = graph.setdefault(u, {}), graph.setdefault(v, {})
    of_u[v] = of_v[u] = of_u[v] + siemens if v in of_u else siemens


@dataclass(frozen=True, slots=True)
class Step:
    """A node as it was when it was eliminated.

    Parameters
    ----------
    node
        The node.
    star
        Its neighbours at that time, and the conductance to each [S].
    total
        Sum of these conductances [S].
    """

    node: Hashable
    star: list[tuple[Hashable, Admittance]]
    total: Admittance


def keep_only(graph: Graph, keep: Iterable[Hashable]) -> None:
    """Eliminate every node but the given ones, fewest neighbours first.

    Parameters
    ----------
    graph
        Changed in place: the conductances left between the kept nodes are those of the whole
        circuit.
    keep
        Nodes to keep.
    """
    for _ in eliminated(graph, keep):
        pass


def eliminated(graph: Graph, keep: Iterable[Hashable]) -> Iterator[Step]:
    """Eliminate as `keep_only` does, and tell each step.

    Parameters
    ----------
    graph
        Changed in place: the conductances left between the kept nodes are those of the whole
        circuit.
    keep
        Nodes to keep.

    Yields
    ------
    Step
        Each node as it was, in order; going back through them gives their voltages.
    """
    kept = set(keep)
    # Ordered, unlike a set of names: the same bits in every process.
    rest = dict.fromkeys(node for node in graph if node not in kept)
    while rest:
        node = min(rest, key=lambda found: len(graph[found]))
        del rest[node]
        yield _eliminate(graph, node)


def _eliminate(graph: Graph, node: Hashable) -> Step:
    star = list(graph.pop(node).items())
    for other, _ in star:
        del graph[other][node]
    total = sum(siemens for _, siemens in star) + _NOTHING_SIEMENS
    shares = [(other, siemens / total) for other, siemens in star[1:]]
    for k, (u, siemens) in enumerate(star):
        of_u = graph[u]
        for v, share in shares[k:]:
            passing = siemens * share
            of_u[v] = graph[v][u] = of_u[v] + passing if v in of_u else passing
    return Step(node, star, total)


def merge(graph: Graph, nodes: Iterable[Hashable]) -> Hashable:
    """Join nodes by an ideal link and return the one that stands for them all."""
    first, *others = nodes
    for other in others:
        if other == first or other not in graph:
            continue
        for neighbour, siemens in graph.pop(other).items():
            del graph[neighbour][other]
            connect(graph, first, neighbour, siemens)
    return first


def conductance(graph: Graph, u: Hashable, v: Hashable) -> Admittance:
    """Conductance between two nodes [S] once all others are gone; zero where nothing joins them."""
    return graph.get(u, {}).get(v, np.float64(0.0))
