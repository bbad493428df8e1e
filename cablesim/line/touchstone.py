"""Scattering parameters of a damaged cable, and their Touchstone file.

A port is a pair of terminals. With a reference resistance R across every port, a wave into port k
is a source of 2 V behind R there; then ``S_ik = V_i - delta_ik``, V being the voltages at the
ports. This holds for any ports, with or without a common conductor, and needs no impedance matrix,
which a cable of open ends does not always have.

Sources: the definition of scattering parameters, K. Kurokawa, IEEE Transactions on Microwave Theory
and Techniques 13 (1965) 194-202 (from memory); the file, Touchstone File Format Specification,
version 1.1 (EIA/IBIS Open Forum; from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import networkx as nx
import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.line.circuit import terminal_network
from cablesim.line.per_metre import HIGHEST_HZ
from cablesim.line.terminals import Terminal, node_of, terminal

__all__ = ["Port", "port", "scattering", "touchstone", "usual_ports"]

REFERENCE_OHM = 50.0  # what instruments have and readers assume; common practice, no source
_MOST_PORTS = 8
_PAIRS_A_LINE = 4


@dataclass(frozen=True, slots=True)
class Port:
    """Two terminals between which a wave enters.

    Parameters
    ----------
    plus, minus
        The terminals; a voltage counts from minus to plus.
    """

    plus: Terminal
    minus: Terminal

    def __str__(self) -> str:
        return f"{self.plus}:{self.minus}"


def port(text: str, cable: Cable) -> Port:
    """Read ``"core1:braid"``; the braid may be left out.

    Raises
    ------
    InputError
        If the cable has no such terminal, or both are one place.
    """
    plus, _, minus = text.partition(":")
    first = terminal(plus, cable)
    second = terminal(minus if minus else f"braid{'@far' * (first.end == 'far')}", cable)
    if node_of(first, cable) == node_of(second, cable):
        raise InputError(
            "port", text, "two terminals that are not one place", 'write it like "core1:braid"'
        )
    return Port(first, second)


def usual_ports(cable: Cable) -> tuple[Port, ...]:
    """Each core that can be reached against the braid beside it: the far ends where they return."""
    names = list(cable.construction.cores)
    if cable.construction.returns:
        names += [f"{name}@far" for name in names]
    return tuple(port(name, cable) for name in names)


def scattering(
    cable: Cable,
    faults: tuple[Fault, ...],
    ports: Sequence[Port],
    frequencies_hz: FloatArray,
    reference_ohm: float = REFERENCE_OHM,
) -> NDArray[np.complex128]:
    """Scattering parameters between ports of a cable.

    Parameters
    ----------
    cable, faults
        Plain numbers, no batch.
    ports
        The ports.
    frequencies_hz : ndarray, shape (frequencies,)
        Frequencies [Hz], above 0, up to `HIGHEST_HZ`.
    reference_ohm
        Reference resistance of every port [ohm].

    Returns
    -------
    ndarray, shape (frequencies, ports, ports)
        ``S[f, i, k]``: wave out of port i for a wave into port k.

    Raises
    ------
    InputError
        If there is no port or too many, two ports are the same, or a number is out of range.

    Examples
    --------
    Far ends open and next to no losses: all of a wave comes back.

    >>> cable = Cable.rated("single", 10.0, 0.1, loss_tangent=0.0)
    >>> s = scattering(cable, (), [port("core1:braid", cable)], np.array([1e6]))
    >>> round(float(abs(s[0, 0, 0])), 2)
    1.0
    """
    require("frequency_hz", frequencies_hz, above=0.0, at_most=HIGHEST_HZ)
    require("reference_ohm", reference_ohm, above=0.0)
    if not 1 <= len(ports) <= _MOST_PORTS:
        raise InputError("ports", len(ports), f"from 1 to {_MOST_PORTS} of them")
    if len({frozenset((p.plus, p.minus)) for p in ports}) < len(ports):
        raise InputError("ports", [str(p) for p in ports], "different from each other")
    places = [tuple(node_of(t, cable) for t in (p.plus, p.minus)) for p in ports]
    frequencies: FloatArray = np.asarray(frequencies_hz, float)
    network = terminal_network(cable, faults, [t for pair in places for t in pair], frequencies)
    nodes = sorted({t for pair in places for t in pair})
    row = {node: k for k, node in enumerate(nodes)}
    matrix = np.zeros((*frequencies.shape, len(nodes), len(nodes)), complex)
    for (u, v), siemens in network.siemens.items():
        _stamp(matrix, row[u], row[v], siemens)
    source = np.zeros((len(nodes), len(ports)), complex)
    for k, (u, v) in enumerate(places):
        _stamp(matrix, row[u], row[v], 1.0 / reference_ohm)
        source[row[u], k] += 1.0
        source[row[v], k] -= 1.0
    free = _free_rows(matrix)
    reduced = matrix[..., free, :][..., :, free]
    incidence = source[free]
    volts = incidence.T @ np.linalg.solve(reduced, incidence)
    return np.asarray(2.0 / reference_ohm * volts - np.eye(len(ports)), complex)


def _stamp(matrix: NDArray[Any], i: int, j: int, siemens: NDArray[Any] | float) -> None:
    matrix[..., i, i] += siemens
    matrix[..., j, j] += siemens
    matrix[..., i, j] -= siemens
    matrix[..., j, i] -= siemens


def _free_rows(matrix: NDArray[np.complex128]) -> list[int]:
    """All nodes but one of each part that hangs together: that one is its ground."""
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(range(matrix.shape[-1]))
    graph.add_edges_from(np.argwhere(np.any(matrix != 0, axis=0)).tolist())
    grounds = {max(part) for part in nx.connected_components(graph)}
    return [k for k in range(matrix.shape[-1]) if k not in grounds]


def touchstone(
    parameters: NDArray[np.complex128],
    frequencies_hz: FloatArray,
    ports: Sequence[Port],
    reference_ohm: float = REFERENCE_OHM,
    comments: Sequence[str] = (),
) -> str:
    """Write scattering parameters as the text of a Touchstone file, version 1.

    Parameters
    ----------
    parameters : ndarray, shape (frequencies, ports, ports)
        Scattering parameters.
    frequencies_hz : ndarray, shape (frequencies,)
        Frequencies [Hz], rising.
    ports
        The ports, named in comments.
    reference_ohm
        Reference resistance of every port [ohm].
    comments
        Lines for the head of the file.
    """
    if np.any(np.diff(frequencies_hz) <= 0):
        raise InputError("frequencies", frequencies_hz, "rising")
    lines = [f"! {_plain(line)}" for line in comments]
    lines += [f"! Port[{k}] = {each.plus} - {each.minus}" for k, each in enumerate(ports, start=1)]
    lines.append(f"# Hz S RI R {reference_ohm:.12g}")
    count = len(ports)
    for frequency, matrix in zip(frequencies_hz, parameters, strict=True):
        # Two ports come column by column, all others row by row, each row on lines of its own.
        rows = [matrix.T.reshape(-1)] if count <= 2 else list(matrix)
        wrapped = [
            row[start : start + _PAIRS_A_LINE]
            for row in rows
            for start in range(0, len(row), _PAIRS_A_LINE)
        ]
        texts = [" ".join(f"{z.real:.16e} {z.imag:.16e}" for z in part) for part in wrapped]
        lines += [f"{frequency:.17g} {texts[0]}", *(f"  {text}" for text in texts[1:])]
    return "\n".join(lines) + "\n"


def _plain(text: str) -> str:
    return "".join(c if " " <= c <= "~" else "?" for c in " ".join(text.split()))
