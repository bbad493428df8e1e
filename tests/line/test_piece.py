"""The exact piece on its own: pieces add up, batches do not mix, limits are what they must be."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from line.electrics import ROUNDING
from line.strategies import decades

from cablesim.line.piece import Mesh, uniform_piece
from cablesim.line.reduction import Graph, conductance, connect, keep_only


@st.composite
def lines(draw, *, at_frequency: bool = False):
    """Series and leak per metre of two to four conductors."""
    count = draw(st.integers(2, 4))
    series = [draw(decades(-3, 2)) for _ in range(count)]
    leak = {pair: draw(decades(-12, 0)) for pair in combinations(range(count), 2)}
    if at_frequency:
        leak = {pair: complex(g, draw(decades(-12, 0))) for pair, g in leak.items()}
    return series, leak


def in_a_row(first: Mesh, second: Mesh, count: int) -> Mesh:
    """Two meshes end to end."""
    graph: Graph = {}
    for start, mesh in enumerate((first, second)):
        for (i, j), siemens in mesh.through.items():
            connect(graph, (i, start), (j, start + 1), siemens)
            if i != j:
                connect(graph, (j, start), (i, start + 1), siemens)
        for (i, j), siemens in mesh.across.items():
            connect(graph, (i, start), (j, start), siemens)
            connect(graph, (i, start + 1), (j, start + 1), siemens)
    keep_only(graph, [(i, end) for i in range(count) for end in (0, 2)])
    through = {(i, j): conductance(graph, (i, 0), (j, 2)) for i, j in first.through}
    across = {(i, j): conductance(graph, (i, 0), (j, 0)) for i, j in first.across}
    return Mesh(through, across)


def assert_same(found: Mesh, wanted: Mesh, tolerance: float = ROUNDING) -> None:
    for part in ("through", "across"):
        for pair, siemens in getattr(wanted, part).items():
            # Beyond some hundred neper what passes is next to nothing, in the end an underflow.
            np.testing.assert_allclose(
                getattr(found, part)[pair], siemens, rtol=tolerance, atol=1e-250
            )


@given(lines(), decades(-3, 3), decades(-3, 3))
def test_two_pieces_in_a_row_are_one_of_both_lengths(line, first_m, second_m):
    series, leak = line
    whole = uniform_piece(series, leak, first_m + second_m)
    parts = [uniform_piece(series, leak, length_m) for length_m in (first_m, second_m)]
    nepers = float((first_m + second_m) * np.sqrt(2 * max(series) * sum(leak.values())))
    # What n neper attenuate changes by n times a rounding of the length.
    assert_same(in_a_row(*parts, len(series)), whole, ROUNDING * max(1.0, nepers))


@given(lines(at_frequency=True), decades(-3, 1), decades(-3, 1))
def test_two_pieces_in_a_row_at_a_frequency(line, first_m, second_m):
    """Beside the largest admittance: at a frequency smaller ones may nearly cancel."""
    series, leak = line
    whole = uniform_piece(series, leak, first_m + second_m)
    parts = [uniform_piece(series, leak, length_m) for length_m in (first_m, second_m)]
    found = in_a_row(*parts, len(series))
    scale = max(abs(siemens) for part in (whole.through, whole.across) for siemens in part.values())
    for part in ("through", "across"):
        for pair, siemens in getattr(whole, part).items():
            assert abs(getattr(found, part)[pair] - siemens) <= ROUNDING * scale


@given(lines(), st.lists(decades(-9, 3), min_size=2, max_size=5))
def test_a_batch_of_lengths_equals_its_loop(line, lengths_m):
    """One long piece of a batch makes all of them be cut in halves: this must not be seen."""
    series, leak = line
    batch = uniform_piece(series, leak, np.array(lengths_m))
    loop = [uniform_piece(series, leak, length_m) for length_m in lengths_m]
    for part in ("through", "across"):
        for pair, siemens in getattr(batch, part).items():
            wanted = np.array([getattr(mesh, part)[pair] for mesh in loop])
            nepers = max(lengths_m) * np.sqrt(2 * max(series) * sum(leak.values()))
            np.testing.assert_allclose(
                siemens, wanted, rtol=ROUNDING * max(1.0, nepers), atol=1e-250
            )


@given(lines(), st.data())
def test_numbers_and_arrays_go_together(line, data):
    """Whichever of the values are arrays: each row is the piece of its own numbers."""
    series, leak = line
    rows = data.draw(st.integers(2, 5))

    def varied(value: float) -> float | np.ndarray:
        return value * data.draw(st.sampled_from((1.0, np.linspace(1.0, 2.0, rows))))

    batch = [varied(ohm) for ohm in series], {pair: varied(s) for pair, s in leak.items()}
    length_m = varied(data.draw(decades(-3, 1)))
    found = uniform_piece(*batch, length_m)
    nepers = 10 * np.sqrt(2 * max(series) * sum(leak.values()))
    series_of_all, leak_of_all = batch
    for k in range(rows):

        def row(value, k=k):
            return np.broadcast_to(value, rows)[k]

        def each(values, row=row):
            return {pair: row(value) for pair, value in values.items()}

        numbers = [row(ohm) for ohm in series_of_all]
        wanted = uniform_piece(numbers, each(leak_of_all), row(length_m))
        mesh = Mesh(each(found.through), each(found.across))
        assert_same(mesh, wanted, ROUNDING * max(1.0, nepers))


@given(lines())
def test_every_conductance_of_a_piece_is_positive(line):
    series, leak = line
    for length_m in (0.0, 1e-6, 1.0, 1e3):
        mesh = uniform_piece(series, leak, length_m)
        for part in (mesh.through, mesh.across):
            assert min(part.values()) >= 0


@given(lines())
def test_a_piece_of_no_length_is_a_link(line):
    series, leak = line
    mesh = uniform_piece(series, leak, 0.0)
    for (i, j), siemens in mesh.through.items():
        assert siemens > 1e15 if i == j else siemens < 1e-15
    assert max(mesh.across.values()) < 1e-15


@pytest.mark.parametrize("at_frequency", [False, True])
def test_without_leakage_a_piece_is_its_resistors(at_frequency):
    leak = 0j if at_frequency else 0.0
    mesh = uniform_piece([2.0, 0.5], {(0, 1): leak}, 4.0)
    assert (mesh.through[0, 0], mesh.through[1, 1]) == (1 / 8, 1 / 2)
    assert mesh.through[0, 1] == 0
    assert mesh.across[0, 1] == 0


def test_a_short_piece_leaks_half_at_either_end():
    mesh = uniform_piece([1.0, 1.0], {(0, 1): 1e-6}, 1e-3)
    # Of the 1e-9 S in all a sixth each crosses over, twice, and a third lies at either end.
    assert mesh.through[0, 1] == pytest.approx(1e-9 / 6, rel=1e-8)
    assert mesh.across[0, 1] == pytest.approx(1e-9 / 3, rel=1e-8)


def test_a_piece_of_thousands_of_neper_stays_a_number():
    mesh = uniform_piece([30.0, 30.0], {(0, 1): 10.0}, 200.0)
    # Of the even and the odd mode only the even one passes: all of the cable as one conductor.
    even = 1 / (30.0 * 200.0) / 2
    for pair in ((0, 0), (0, 1), (1, 1)):
        assert mesh.through[pair] == pytest.approx(even, rel=1e-12)
    # Over 4899 neper an end is the wave conductance of two such lines back to back.
    assert mesh.across[0, 1] + even == pytest.approx(np.sqrt(10.0 / 60.0), rel=1e-3)
