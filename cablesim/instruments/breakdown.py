"""At which voltage a withstand tester trips: where an arc strikes, or where a leak draws too much.

The voltage across a weak place is that of a Wheatstone bridge: with the leads ``p`` and ``q`` at
1 V and 0 V the conductors at the place, ``a`` and ``b``, float between them, and
``V_ab = (g_ap g_bq - g_bp g_aq) / det``. While the place holds, nothing but leakage flows and
nearly all of the tester's voltage is across it. Once it burns, the arc holds its own voltage and
the rest drives the tester's current through cores and braid; the tester trips when that reaches its
limit.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault, Flashover
from cablesim.cable.numbers import FloatArray
from cablesim.line.circuit import terminal_network
from cablesim.line.layout import MeshMaker, tap
from cablesim.line.piece import uniform_piece
from cablesim.line.terminals import Hookup

__all__ = ["BY_CURRENT", "Tripping", "tripping"]

# Stands where a fault's number would: no arc, the leakage alone.
BY_CURRENT = -1


@dataclass(frozen=True, slots=True, eq=False)
class Tripping:
    """The lowest voltage at which a withstand tester trips.

    Parameters
    ----------
    volt : ndarray
        Voltage at the terminals [V]; infinite where nothing ever trips it.
    fault : ndarray of int
        Number of the flashover that trips it, counted from 0, or ``BY_CURRENT``.
    share : ndarray
        Voltage across that place before it strikes, over the voltage at the terminals; 1 by
        current.
    siemens : ndarray
        Steady conductance between the leads while everything holds [S].
    """

    volt: FloatArray
    fault: NDArray[np.int64]
    share: FloatArray
    siemens: FloatArray


def tripping(
    cable: Cable,
    faults: tuple[Fault, ...],
    hookup: Hookup,
    limit_ampere: float,
    *,
    mesh_of: MeshMaker = uniform_piece,
) -> Tripping:
    """Find the lowest voltage that trips a withstand tester, raised slowly.

    Parameters
    ----------
    cable, faults
        The damaged cable; numbers may be arrays over a batch.
    hookup
        What the two leads touch.
    limit_ampere
        Current at which the tester trips [A].
    mesh_of
        As for `terminal_network`.
    """
    weak = {k: fault for k, fault in enumerate(faults) if isinstance(fault, Flashover)}
    taps = {k: tuple(tap(k, name) for name in fault.between) for k, fault in weak.items()}
    terminals = hookup.terminals.union(*taps.values())
    network = terminal_network(cable, faults, terminals, mesh_of=mesh_of)
    siemens = np.asarray(network.between_leads(hookup)[0, 1], float)
    with np.errstate(divide="ignore"):
        volt = limit_ampere / siemens
    number = np.full(volt.shape, BY_CURRENT)
    share = np.ones(volt.shape)
    for k, fault in weak.items():
        four = network.between_leads(hookup, taps[k])
        g = {pair: np.asarray(value, float) for pair, value in four.items()}
        struck, part = _struck(g, fault, limit_ampere)
        first = struck < volt
        volt, number = np.where(first, struck, volt), np.where(first, k, number)
        share = np.where(first, part, share)
    return Tripping(volt, number, share, siemens)


def _struck(
    g: dict[tuple[int, int], FloatArray], fault: Flashover, limit_ampere: float
) -> tuple[FloatArray, FloatArray]:
    """Voltage at which one place trips the tester, and its share of it.

    Leads are 0 and 1, the place is 2 and 3.
    """
    from_first, from_second = g[0, 2] + g[0, 3], g[1, 2] + g[1, 3]
    at_a, at_b = g[0, 2] + g[1, 2], g[0, 3] + g[1, 3]
    bridge = np.abs(g[0, 2] * g[1, 3] - g[0, 3] * g[1, 2])
    with np.errstate(divide="ignore", invalid="ignore"):
        share = np.nan_to_num(bridge / (at_a * at_b + g[2, 3] * (at_a + at_b)), nan=0.0)
        strikes = fault.breakdown_volt / share
        # With the arc a source of its voltage: the current into the leads is linear in both.
        both = at_a + at_b
        against = np.nan_to_num(fault.arc_volt * bridge / both, nan=0.0)
        through = g[0, 1] + np.nan_to_num(from_first * from_second / both, nan=0.0)
        enough = (limit_ampere + against) / through
    return np.maximum(strikes, enough), np.asarray(share)
