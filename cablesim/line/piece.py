"""The exact circuit of a uniform piece of cable with any number of coupled conductors.

Between two marked points the line obeys ``dV/dx = -Z I`` and ``dI/dx = -Y V`` with ``Z`` diagonal
(series impedance per metre) and ``Y`` a Laplacian (leakage per metre between every two conductors).
Seen from its two ends A and B the piece is a mesh of conductances

    ``A_i - B_j``:  ``[ (l^2 Z Y)^(1/2) / sinh(l^2 Z Y)^(1/2) (l Z)^-1 ]_ij``
    ``A_i - A_j``:  ``-[ (l^2 Z Y)^(1/2) coth(l^2 Z Y)^(1/2) (l Z)^-1 ]_ij``   (the same at B)

Source: the multiconductor line equations, C. R. Paul, Analysis of Multiconductor Transmission Lines
(Wiley, 1994), from memory. Both functions are even in the square root, so they are power series in
``l^2 Z Y``: no eigenvectors, no square root, and what is small (the leak from one core to another)
is a sum of small terms, not a difference of large ones. Where a piece leaks so much that the series
converges slowly, it is cut in halves and the halves are joined by star-mesh reduction, which again
only adds. At a frequency such a piece is solved by its modes instead, where it attenuates little
(`cablesim.line.modes`).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import combinations
from math import comb, factorial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cablesim.line.modes import by_modes
from cablesim.line.reduction import Admittance, Graph, conductance, connect, keep_only

__all__ = ["Mesh", "stacked", "uniform_piece"]

# Norm of l^2 Z Y above which a piece is halved: the series then gains more than a digit and a half
# a term.
_LARGEST_NORM = 0.25
_TERMS = 13
# Stands for a piece of no length: so short that it is far below rounding beside any reading.
_LEAST_LENGTH_M = 1e-30


def _bernoulli(count: int) -> list[Fraction]:
    numbers = [Fraction(1)]
    for m in range(1, count):
        numbers.append(-sum(comb(m + 1, k) * numbers[k] for k in range(m)) / Fraction(m + 1))
    return numbers


def _series(terms: int) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Taylor coefficients in u^2 of u / sinh u and u coth u (Abramowitz and Stegun 4.5.65, 67)."""
    bernoulli = _bernoulli(2 * terms)
    over_sinh = [
        -2 * (2 ** (2 * k - 1) - 1) * bernoulli[2 * k] / factorial(2 * k) for k in range(1, terms)
    ]
    coth = [2 ** (2 * k) * bernoulli[2 * k] / factorial(2 * k) for k in range(1, terms)]
    return np.array([float(c) for c in over_sinh]), np.array([float(c) for c in coth])


_OVER_SINH, _COTH = _series(_TERMS)


@dataclass(frozen=True, slots=True)
class Mesh:
    """Conductances between the conductors at the two ends of a piece [S].

    Parameters
    ----------
    through
        ``through[i, j]``, i <= j: from conductor i at one end to conductor j at the other, and the
        reverse.
    across
        ``across[i, j]``, i < j: between conductors i and j at either end.
    """

    through: dict[tuple[int, int], Admittance]
    across: dict[tuple[int, int], Admittance]

    def edges(
        self, near: Sequence[Hashable], far: Sequence[Hashable]
    ) -> Iterator[tuple[Hashable, Hashable, Admittance]]:
        """The conductances as edges between given nodes.

        Parameters
        ----------
        near, far
            A node for each conductor at either end.
        """
        for (i, j), siemens in self.through.items():
            yield near[i], far[j], siemens
            if i != j:
                yield near[j], far[i], siemens
        for (i, j), siemens in self.across.items():
            yield near[i], near[j], siemens
            yield far[i], far[j], siemens


def uniform_piece(
    series_ohm_per_m: list[Admittance],
    leak_siemens_per_m: dict[tuple[int, int], Admittance],
    length_m: Admittance,
) -> Mesh:
    """Exact mesh of a uniform piece.

    Parameters
    ----------
    series_ohm_per_m
        Series impedance of each conductor [ohm/m], numbers or arrays over the batch, real or
        complex.
    leak_siemens_per_m
        Shunt admittance between conductors i < j [S/m].
    length_m
        Length of the piece [m], zero allowed.

    Returns
    -------
    Mesh
        Arrays over the batch, broadcast from the inputs.

    Examples
    --------
    One core of 1 ohm/m leaking to a return of 1 nohm/m, far end open: the handbooks' coth line.

    >>> mesh = uniform_piece([1.0, 1e-9], {(0, 1): 1e-4}, 100.0)
    >>> shunt = mesh.across[0, 1] + mesh.through[0, 1]
    >>> far_open = shunt + 1 / (1 / shunt + 1 / mesh.through[0, 0])
    >>> print(f"{1 / far_open:.4f} {100 / np.tanh(1.0):.4f}")
    131.3035 131.3035
    """
    count = len(series_ohm_per_m)
    length = np.maximum(length_m, _LEAST_LENGTH_M)
    weak = _laplacian(leak_siemens_per_m, count)
    norm = _norm(series_ohm_per_m, weak)
    largest = float(np.max(length**2 * norm))
    if largest > _LARGEST_NORM and any(np.iscomplexobj(ohm) for ohm in series_ohm_per_m):
        found = by_modes(series_ohm_per_m, weak, length, _OVER_SINH, _COTH)
        if found is not None:
            return _mesh(series_ohm_per_m, length, *found)
    halvings = max(0, int(np.ceil(np.log2(largest / _LARGEST_NORM) / 2))) if largest > 0 else 0
    length = length / 2**halvings
    mesh = _short_piece(series_ohm_per_m, weak, length, largest / 4**halvings)
    for _ in range(halvings):
        mesh = _doubled(mesh, count)
    return mesh


def _laplacian(leak: dict[tuple[int, int], Admittance], count: int) -> list[list[Admittance]]:
    rows: list[list[Admittance]] = [[0.0] * count for _ in range(count)]
    for (i, j), siemens in leak.items():
        rows[i][j] = rows[i][j] - siemens
        rows[j][i] = rows[j][i] - siemens
        rows[i][i] = rows[i][i] + siemens
        rows[j][j] = rows[j][j] + siemens
    return rows


def _norm(series: list[Admittance], weak: list[list[Admittance]]) -> Admittance:
    sums = [np.abs(series[i]) * sum(np.abs(y) for y in weak[i]) for i in range(len(series))]
    norm: Admittance = sums[0]
    for other in sums[1:]:
        norm = np.maximum(norm, other)
    return norm


def _short_piece(
    series: list[Admittance], weak: list[list[Admittance]], length: Admittance, largest: float
) -> Mesh:
    """The power series, to rounding: term k is Y (Z Y)^(k-1) l^(2k-1).

    Every term is symmetric and its rows sum to zero, as those of Y do: what stands beside the
    diagonal is all there is to it. Values per metre may have fewer axes than the length: pieces of
    one medium then share its powers.
    """
    count = len(series)
    pairs = list(combinations(range(count), 2))
    powers = _powers(series, weak, pairs, _terms(weak, largest))
    # The axis of the pairs comes before those of the length.
    more = (1,) * max(0, np.ndim(length) - (powers[0].ndim - 1))
    powers = [one.reshape(one.shape[:1] + more + one.shape[1:]) for one in powers]
    square = length**2
    passing, leaving = (
        dict(zip(pairs, _polynomial(coefficients, powers, square) * length, strict=True))
        for coefficients in (_OVER_SINH, _COTH)
    )
    for i in range(count):
        passing[i, i] = -sum(passing[_pair(i, j)] for j in range(count) if j != i)
    return _mesh(series, length, passing, leaving)


def _powers(
    series: list[Admittance],
    weak: list[list[Admittance]],
    pairs: list[tuple[int, int]],
    terms: int,
) -> list[NDArray[Any]]:
    """Y (Z Y)^(k-1) beside its diagonal, for each term k, the pairs first."""
    count = len(series)
    factor = [[ohm * y for y in row] for ohm, row in zip(series, weak, strict=True)]
    values = [value for row in (*weak, *factor) for value in row]
    shape = np.broadcast_shapes(*(np.shape(value) for value in values))
    power = stacked([weak[i][j] for i, j in pairs], shape)
    # The diagonal of a row is what its others sum to: it goes into what each of them is taken by.
    steps = [
        (
            [pairs.index(_pair(i, other[i])) for i, _ in pairs],
            stacked([factor[other[i]][j] - factor[i][j] for i, j in pairs], shape),
        )
        for other in ([m + (m >= i) for i in range(count)] for m in range(count - 1))
    ]
    powers = [power]
    for _ in range(terms - 1):
        (which, by), *others = steps
        product = power[which] * by
        for which, by in others:
            product += power[which] * by
        power = product
        powers.append(power)
    return powers


def _pair(i: int, j: int) -> tuple[int, int]:
    return min(i, j), max(i, j)


def _terms(weak: list[list[Admittance]], largest: float) -> int:
    """How many terms the series needs: they fall by largest / pi^2 each, to below rounding."""
    if largest <= 0:
        return 1
    count = len(weak)
    falling = -np.log(largest / np.pi**2)
    needed = 17 * np.log(10) / falling
    # Conductors that see each other little, or only through others, have small first terms.
    sizes = [np.abs(weak[i][j]) for i in range(count) for j in range(i)]
    least, most = min(np.min(size) for size in sizes), max(np.max(size) for size in sizes)
    fewer = (np.log(most) - np.log(least)) / falling if least > 0 else np.inf
    needed += min(fewer, max(0, count - 2))
    return min(_TERMS - 1, max(2, int(np.ceil(needed))))


def stacked(values: list[Admittance], shape: tuple[int, ...]) -> NDArray[Any]:
    """Numbers and arrays as one array, one behind the other, each of this shape.

    Parameters
    ----------
    values
        Each fits the shape.
    shape
        Of one of them.
    """
    found = np.empty((len(values), *shape), np.result_type(*values))
    for k, value in enumerate(values):
        found[k] = value
    return found


def _polynomial(
    coefficients: NDArray[np.float64], powers: list[NDArray[Any]], square: Admittance
) -> NDArray[Any]:
    """Sum of the powers with their coefficients, by Horner's rule."""
    shape = np.broadcast_shapes(powers[-1].shape, np.shape(square))
    total = np.empty(shape, powers[-1].dtype)
    total[...] = coefficients[len(powers) - 1] * powers[-1]
    for k in reversed(range(len(powers) - 1)):
        total *= square
        total += coefficients[k] * powers[k]
    return total


def _mesh(
    series: list[Admittance],
    length: Admittance,
    passing: dict[tuple[int, int], Admittance],
    leaving: dict[tuple[int, int], Admittance],
) -> Mesh:
    """The mesh of bare conductors, and what both functions add to it."""
    through = dict(passing)
    for i, ohm_per_m in enumerate(series):
        through[i, i] = 1.0 / (ohm_per_m * length) + passing[i, i]
    return Mesh(through, {pair: -value for pair, value in leaving.items() if pair[0] != pair[1]})


def _doubled(mesh: Mesh, count: int) -> Mesh:
    """Two equal pieces end to end: the three sets of nodes are near (0), middle (1) and far (2)."""
    graph: Graph = {}
    ends = [[(i, place) for i in range(count)] for place in (0, 1, 2)]
    for near, far in (ends[:2], ends[1:]):
        for u, v, siemens in mesh.edges(near, far):
            connect(graph, u, v, siemens)
    keep_only(graph, [(i, end) for i in range(count) for end in (0, 2)])
    through = {(i, j): conductance(graph, (i, 0), (j, 2)) for i, j in mesh.through}
    across = {(i, j): conductance(graph, (i, 0), (j, 0)) for i, j in mesh.across}
    return Mesh(through, across)
