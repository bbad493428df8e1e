"""The exact circuit of a uniform piece by its one or two modes, where a power series would be long.

Two conductors have one mode, three have two: ``A = l^2 Z Y`` has the eigenvalue 0, of all
conductors together, and as many others. By Cayley and Hamilton a function of A is a polynomial in
it: with ``f(A) = 1 + A g(A)`` and eigenvalues ``a`` and ``b`` the mesh of `cablesim.line.piece` is

    ``f(A) (l Z)^-1 = (l Z)^-1 + g(m) l Y + d (l^3 Y Z Y - m l Y)``

where ``m`` is the mean of both, ``g(m)`` stands for the mean of ``g(a)`` and ``g(b)``, and ``d``
for their difference over ``a - b``. No eigenvector is needed, and nothing is lost where both are
nearly one, as in a homogeneous insulation: ``d`` is then worth few digits, but what it multiplies
is as small.

What is weaker than the rest by many nepers is a difference here, and loses digits; there the power
series and its halvings serve.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from cablesim.line.reduction import Admittance

__all__ = ["by_modes"]

# Attenuation of a piece beyond which its weakest conductances would lose more than two digits [Np].
_MOST_NEPER = 4.0
# Below it the quotients lose digits, and a short power series does not.
_SMALL = 0.25

_Pairs = dict[tuple[int, int], Admittance]


def by_modes(
    series: list[Admittance],
    weak: list[list[Admittance]],
    length: Admittance,
    over_sinh: NDArray[np.float64],
    coth: NDArray[np.float64],
) -> tuple[_Pairs, _Pairs] | None:
    """What a piece lets through, and what leaves it at either end, beyond its bare conductors [S].

    Parameters
    ----------
    series
        Series impedance of each conductor [ohm/m].
    weak
        Laplacian of the shunt admittances [S/m].
    length
        Length of the piece [m].
    over_sinh, coth
        Taylor coefficients of both functions, the constant left out.

    Returns
    -------
    passing, leaving
        For every pair i <= j: that part of the power series whose first term is l Y. None where the
        piece has another number of modes, or attenuates too much.
    """
    count = len(series)
    if count not in (2, 3):
        return None
    pairs = [(i, j) for i in range(count) for j in range(i, count)]
    square = length**2
    trace = sum(series[i] * weak[i][i] for i in range(count))
    if count == 2:
        one = trace * square
        found = _functions(one, over_sinh, coth)
        if found is None:
            return None
        return tuple({p: g * length * weak[p[0]][p[1]] for p in pairs} for g in found)  # type: ignore[return-value]
    z, y = series, weak
    # All principal minors of a Laplacian of three rows are one number.
    minor = y[0][1] * y[0][2] + y[0][1] * y[1][2] + y[0][2] * y[1][2]
    both = minor * (z[0] * z[1] + z[0] * z[2] + z[1] * z[2])
    half = trace / 2
    root = np.sqrt(half * half - both)
    found_a = _functions((half + root) * square, over_sinh, coth)
    found_b = _functions((half - root) * square, over_sinh, coth)
    if found_a is None or found_b is None:
        return None
    apart = 2 * root * square
    apart = np.where(apart == 0, 1.0, apart)
    zy = [[z[i] * y[i][j] for j in range(3)] for i in range(3)]
    # Y Z Y - (trace / 2) Y, both small where the modes are nearly one.
    bent = {
        (i, j): y[i][0] * zy[0][j] + y[i][1] * zy[1][j] + y[i][2] * zy[2][j] - half * y[i][j]
        for i, j in pairs
    }
    cube = square * length
    results = []
    for of_a, of_b in zip(found_a, found_b, strict=True):
        mean = (of_a + of_b) / 2 * length
        slope = (of_a - of_b) / apart * cube
        results.append({(i, j): mean * y[i][j] + slope * bent[i, j] for i, j in pairs})
    return results[0], results[1]


def _functions(
    a: Any, over_sinh: NDArray[np.float64], coth: NDArray[np.float64]
) -> tuple[Any, Any] | None:
    """``(u / sinh u - 1) / u^2`` and ``(u coth u - 1) / u^2`` for ``u^2 = a``."""
    shape = np.shape(a)
    a = np.atleast_1d(a)
    u = np.sqrt(a)
    if np.any(u.real > _MOST_NEPER):
        return None
    small = np.abs(a) < _SMALL
    beyond = np.where(small, 1.0, a) if small.any() else a
    if small.any():
        u = np.where(small, 1.0, u)
    once = np.exp(-u)
    twice = once * once
    scale = u / (1.0 - twice)
    through = (2.0 * scale * once - 1.0) / beyond
    leaving = (scale * (1.0 + twice) - 1.0) / beyond
    if small.any():
        few = a[small]
        for values, coefficients in ((through, over_sinh), (leaving, coth)):
            sums = np.zeros_like(few)
            for coefficient in coefficients[::-1]:
                sums = sums * few + coefficient
            values[small] = sums
    return through.reshape(shape), leaving.reshape(shape)
