"""What is left of a damaged cable between its terminals: all that a meter can find out about it."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import require
from cablesim.errors import InputError
from cablesim.line.layout import MeshMaker, circuits, tap
from cablesim.line.per_metre import Frequency
from cablesim.line.piece import uniform_piece
from cablesim.line.reduction import Admittance, Graph, conductance, connect, keep_only, merge
from cablesim.line.several import Installation, batch_shape, one_cable_only
from cablesim.line.terminals import Hookup, Terminal, node_of

__all__ = ["TerminalNetwork", "tap", "terminal_network"]

# Stands between two names of one and the same node.
_ONE_SIEMENS = 1e30


@dataclass(frozen=True, slots=True)
class TerminalNetwork:
    """All that a meter can find out about a cable: the conductances between its terminals.

    Parameters
    ----------
    siemens
        Conductance between every two terminals [S], arrays over the batch; complex at a frequency.
    batch_shape
        Shape of the batch, ``()`` for one scenario.
    frequency_hz
        Frequency of the measurement [Hz], a number or an array over the batch; 0 is direct current.
    where
        The cable, or the installation, which knows the terminals that are one place.
    """

    siemens: dict[tuple[Terminal, Terminal], NDArray[Any]]
    batch_shape: tuple[int, ...]
    frequency_hz: Frequency
    where: Cable | Installation

    @property
    def cable(self) -> Cable:
        """The one cable.

        Raises
        ------
        InputError
            If there are several.
        """
        if not isinstance(self.where, Cable):
            raise one_cable_only("this reading")
        return self.where

    def between_leads(
        self, hookup: Hookup, taps: Sequence[Terminal] = ()
    ) -> dict[tuple[int, int], Admittance]:
        """Conductances between the leads of a meter, all other terminals left open.

        Parameters
        ----------
        hookup
            What each lead touches and what is linked.
        taps
            Places inside the cable to keep beside the leads; see `tap`.

        Returns
        -------
        dict
            Conductance [S] for every two leads ``(i, j)``, i < j; zero where nothing joins them.
            Taps count on after the leads.
        """
        graph: Graph = {}
        for (u, v), siemens in self.siemens.items():
            connect(graph, u, v, siemens)
        stands_for: dict[Terminal, Hashable] = {t: node_of(t, self.where) for t in hookup.terminals}
        for group in (*hookup.leads, *hookup.links):
            one = merge(graph, dict.fromkeys(stands_for[t] for t in group))
            gone = {stands_for[t] for t in group}
            stands_for = {t: one if node in gone else node for t, node in stands_for.items()}
        leads = [*(stands_for[lead[0]] for lead in hookup.leads), *taps]
        keep_only(graph, leads)
        return {
            (i, j): conductance(graph, leads[i], leads[j])
            for i in range(len(leads))
            for j in range(i + 1, len(leads))
        }


def terminal_network(
    cable: Cable | Installation,
    faults: tuple[Fault, ...],
    terminals: Iterable[Terminal],
    frequency_hz: Frequency = 0.0,
    *,
    seconds: float | None = None,
    mesh_of: MeshMaker = uniform_piece,
) -> TerminalNetwork:
    """Reduce a damaged cable to its terminals.

    Parameters
    ----------
    cable, faults
        Their numbers may be arrays; all broadcast to one batch shape.
    terminals
        The terminals to keep; a `tap` keeps a place inside.
    frequency_hz
        0 for direct current; otherwise inductances and capacitances count and conductances are
        complex. An array makes the frequency one more axis of the batch, or goes along with it.
        A negative imaginary part stands for a drive that grows as ``exp(-2 pi Im(f) t)``, where
        Laplace's variable is ``s = 2j pi f``: pulses are exact so (`cablesim.line.pulse`).
    seconds
        For direct current: time since the voltage was put on [s]. What the insulation then still
        absorbs counts as leakage; without a time it has absorbed all it can.
    mesh_of
        What stands for a uniform piece: the exact solution, or a lumped ladder for comparison.

    Returns
    -------
    TerminalNetwork
        Conductances of the whole batch.

    Raises
    ------
    InputError
        If a fault does not fit the cable, or frequencies are partly zero.
    """
    complex_hz = np.asarray(frequency_hz)
    require("frequency_hz", complex_hz.real, at_least=0.0)
    require("growth of the drive", -complex_hz.imag, at_least=0.0)
    if np.any(frequency_hz) and not np.all(frequency_hz):
        raise InputError(
            what="frequency_hz",
            got=0.0,
            allowed="all above 0, or 0 alone for direct current",
            try_this="ask for direct current by itself",
        )
    shape = np.broadcast_shapes(batch_shape(cable, faults), np.shape(frequency_hz))
    size = int(np.prod(shape))
    kept = sorted({node_of(found, cable) for found in terminals})
    pairs = list(combinations(kept, 2))
    found = {pair: np.zeros(size, complex if np.any(frequency_hz) else float) for pair in pairs}
    inside = any(found.end not in ("near", "far") for found in kept)
    for circuit, rows in circuits(
        cable, faults, frequency_hz, seconds, mesh_of=mesh_of, shared=not inside
    ):
        graph = circuit.graph
        node = {found: circuit.taps.get(found, found) for found in kept}
        keep_only(graph, node.values())
        # Taps of two faults at one place are one node: the first of them stands for it, the others
        # hang on it.
        first = {place: terminal for terminal, place in reversed(node.items())}
        for u, v in pairs:
            if node[u] == node[v]:
                found[u, v][rows.index] = _ONE_SIEMENS if u == first[node[u]] else 0.0
            elif u == first[node[u]] and v == first[node[v]]:
                found[u, v][rows.index] = conductance(graph, node[u], node[v])
    siemens = {pair: values.reshape(shape) for pair, values in found.items()}
    return TerminalNetwork(siemens, shape, frequency_hz, cable)
