"""Star-mesh reduction on graphs whose answer is known, and its corner cases."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from line.strategies import decades

from cablesim.line.reduction import Graph, conductance, connect, keep_only, merge


def graph_of(edges):
    graph: Graph = {}
    for u, v, siemens in edges:
        connect(graph, u, v, siemens)
    return graph


@given(st.lists(decades(-15, 3), min_size=1, max_size=20))
def test_conductances_in_a_row(values):
    graph = graph_of((k, k + 1, siemens) for k, siemens in enumerate(values))
    keep_only(graph, [0, len(values)])
    wanted = 1 / sum(1 / siemens for siemens in values)
    # At most 20 quotients, each rounded to 1e-16, on either side.
    assert conductance(graph, 0, len(values)) == pytest.approx(wanted, rel=1e-14)


@given(decades(-15, 3), decades(-15, 3), decades(-15, 3))
def test_a_star_of_three_is_its_triangle(a, b, c):
    graph = graph_of([(0, 1, a), (0, 2, b), (0, 3, c)])
    keep_only(graph, [1, 2, 3])
    for (u, v), wanted in {(1, 2): a * b, (1, 3): a * c, (2, 3): b * c}.items():
        assert conductance(graph, u, v) == pytest.approx(wanted / (a + b + c), rel=1e-14)


@given(st.permutations(range(1, 6)), st.data())
def test_which_node_goes_first_does_not_matter(order, data):
    edges = [
        (u, v, data.draw(decades(-15, 3))) for u in range(7) for v in range(u) if u - v in (1, 3)
    ]
    at_once, one_by_one = graph_of(edges), graph_of(edges)
    keep_only(at_once, [0, 6])
    for count in range(1, 6):
        keep_only(one_by_one, {*range(7)} - set(order[:count]))
    # Each order rounds anew, some fifty times.
    assert conductance(one_by_one, 0, 6) == pytest.approx(conductance(at_once, 0, 6), rel=1e-13)


def test_parallel_conductances_add_and_a_loop_at_one_node_is_none():
    graph = graph_of([(0, 1, 2.0), (1, 0, 3.0), (0, 0, 7.0)])
    assert conductance(graph, 0, 1) == 5.0


def test_nodes_that_nothing_joins():
    graph = graph_of([(0, 1, 0.0), (1, 2, 0.0), (2, 3, 1.0)])
    keep_only(graph, [0, 3])
    assert conductance(graph, 0, 3) == 0.0
    assert conductance(graph, 0, "elsewhere") == 0.0


def test_a_dangling_node_leaves_nothing_behind():
    graph = graph_of([(0, 1, 2.0), (1, 2, 9.0)])
    keep_only(graph, [0, 1])
    assert (conductance(graph, 0, 1), set(graph)) == (2.0, {0, 1})


def test_merged_nodes_keep_what_hangs_on_each():
    graph = graph_of([(0, 1, 2.0), (2, 1, 3.0), (0, 2, 9.0), (2, 4, 5.0)])
    assert merge(graph, [0, 2, "absent", 0]) == 0
    assert conductance(graph, 0, 1) == 5.0
    assert conductance(graph, 0, 4) == 5.0
    assert 2 not in graph


def test_batches_of_unlike_shapes_broadcast():
    graph = graph_of([(0, 1, np.array([[1.0], [2.0]])), (1, 2, np.array([1.0, 3.0, 6.0]))])
    keep_only(graph, [0, 2])
    wanted = [[0.5, 0.75, 6 / 7], [2 / 3, 1.2, 1.5]]
    np.testing.assert_allclose(conductance(graph, 0, 2), wanted, rtol=1e-15)
