"""What goes on within a uniform piece whose ends have known voltages.

Any place parts the piece in two exact pieces; the voltages there follow like those of any other
node, and the current is what the farther of the two pieces takes in.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from typing import Any

import numpy as np

from cablesim.cable.numbers import FloatArray, Real
from cablesim.line.layout import MeshMaker, Piece
from cablesim.line.piece import Mesh
from cablesim.line.potentials import Potentials, node_potentials
from cablesim.line.reduction import Admittance

__all__ = ["inside", "not_too_short", "panels"]

# A shorter piece counts as this long: so little copper is below rounding beside any supply, and its
# conductance is one beside which the currents of all others keep their digits.
_LEAST_LENGTH_M = 1e-15

# Heat is integrated over panels no longer than this in units of the decay length, with so many
# Gauss-Legendre points each: to rounding.
_PANEL = 4.0
_POINTS, _WEIGHTS = np.polynomial.legendre.leggauss(24)


def inside(
    piece: Piece, potentials: Potentials, inside_m: FloatArray, mesh_of: MeshMaker
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Voltages, currents and heat per metre at places in a piece.

    Parameters
    ----------
    piece
        The piece.
    potentials
        Voltages at its ends.
    inside_m : ndarray, shape (rows, places)
        Places, measured from its start [m].
    mesh_of
        What stands for a uniform piece.

    Returns
    -------
    volt, ampere : ndarray, shape (rows, places, conductors)
        Voltage of each conductor [V], and the current in it away from the start [A].
    watt_per_m : ndarray, shape (rows, places)
        Heat [W/m].
    """
    count = len(piece.near)
    series = [_column(value) for value in piece.series_ohm_per_m]
    leak = {pair: _column(value) for pair, value in piece.leak_siemens_per_m.items()}
    ends: list[list[Hashable]] = [[(k, i) for i in range(count)] for k in range(3)]
    fixed = Potentials(
        *(
            {
                mine: _column(part[theirs])
                for end, nodes in ((0, piece.near), (2, piece.far))
                for mine, theirs in zip(ends[end], nodes, strict=True)
            }
            for part in (potentials.coarse, potentials.fine)
        )
    )
    before = list(mesh_of(series, leak, inside_m).edges(ends[0], ends[1]))
    onward = list(mesh_of(series, leak, _column(piece.length_m) - inside_m).edges(ends[1], ends[2]))
    found = node_potentials([*before, *onward], fixed)
    middle = ends[1]
    volts = [found.volt(node) for node in middle]
    amperes = [found.current(onward, [node]) for node in middle]
    heats = [r * i**2 for r, i in zip(series, amperes, strict=True)]
    heats += [g * found.drop(middle[i], middle[j]) ** 2 for (i, j), g in leak.items()]
    shape = np.broadcast_shapes(inside_m.shape, *(np.shape(value) for value in (*volts, *heats)))
    volt, ampere = (
        np.stack([np.broadcast_to(value, shape) for value in values], axis=-1)
        for values in (volts, amperes)
    )
    return volt, ampere, np.broadcast_to(sum(heats), shape)


def not_too_short(mesh_of: MeshMaker) -> MeshMaker:
    """The same maker of pieces, none shorter than that."""

    def mesh(series: Any, leak: Any, length_m: Admittance) -> Mesh:
        return mesh_of(series, leak, np.maximum(length_m, _LEAST_LENGTH_M))

    return mesh


def _column(value: Admittance) -> Any:
    """An array over rows with one more axis for places; a plain number stays plain."""
    return value if np.ndim(value) == 0 else np.reshape(value, (-1, 1))


def panels(piece: Piece, from_m: Real, to_m: Real) -> Iterator[tuple[FloatArray, FloatArray]]:
    """Cut the part of a piece between two positions into panels for an integral.

    Parameters
    ----------
    piece
        The piece.
    from_m, to_m
        Positions from the cold joint, numbers or arrays over the rows [m].

    Yields
    ------
    inside_m, weight_m : ndarray, shape (rows, places)
        Places, measured from the piece's start, and the length that each stands for [m].
    """
    start = np.atleast_1d(np.asarray(piece.start_m, float))
    length = np.asarray(piece.length_m, float)
    low = np.clip(from_m - start, 0.0, length)
    high = np.maximum(np.clip(to_m - start, 0.0, length), low)
    if not np.any(high > low):
        return
    leaving = sum(np.asarray(leak) for leak in piece.leak_siemens_per_m.values())
    decays = 2 * sum(np.asarray(ohm) for ohm in piece.series_ohm_per_m) * leaving
    panels = int(np.ceil(np.max(np.sqrt(decays) * (high - low)) / _PANEL)) or 1
    step = ((high - low) / panels)[:, None]
    for k in range(panels):
        yield low[:, None] + step * (k + (1 + _POINTS) / 2), step * _WEIGHTS / 2
