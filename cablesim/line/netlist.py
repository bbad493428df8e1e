"""A damaged cable as lumps in the language of circuit simulators (SPICE).

The cable becomes one subcircuit whose pins are its terminals. Each uniform piece is cut into equal
rungs, each a resistance (and inductance) in series with half its leakage and capacitance at either
end; faults sit between the pieces, near-side shunts first, then what is in series, then far-side
shunts. This is text for other programs: what cablesim itself predicts comes from the exact pieces
of `cablesim.line.circuit`.

Two habits of simulators are met here. ngspice raises a resistor below 1 mohm to 1 mohm without a
word, so such a one is written as a voltage that follows its current. And a part of the circuit that
nothing joins to the rest has no potential, which stops a simulator: one resistor of 1e15 ohm holds
each such part, and carries no direct current since it is the only way there.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, isfinite, pi, sqrt

import networkx as nx

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint, Short
from cablesim.cable.numbers import require
from cablesim.cable.placing import check_faults
from cablesim.line.per_metre import HIGHEST_HZ, per_metre
from cablesim.line.terminals import Terminal, node_of

__all__ = ["HOLDING_OHM", "Subcircuit", "pin", "pins", "subcircuit"]

_MOST_RUNGS = 100_000
# Relative error that a piece's rungs may make where their number is not given. No more of them than
# that: every rung adds a large conductance, beside which a simulator loses a small one.
_LUMPING_ERROR = 1e-7
_MOST_CHOSEN = 300
# ngspice raises a smaller resistor to 1 mohm.
_LEAST_RESISTOR_OHM = 1e-3
# What a nodal matrix may lose of the sum of the conductances in it: a few roundings of 1e-16.
_ROUNDING = 1e-15
# A dead short: far below any reading, yet two of them side by side still share a current.
_DEAD_OHM = 1e-12
# An arc goes out where the voltage falls below this share of its own, has this resistance beside
# its voltage, and the gap before it strikes that one: all so that a simulator finds a solution.
_GOES_OUT, _ARC_OHM, _GAP_OHM = 0.9, 0.1, 1e30
# Holds a part of the circuit that nothing else joins to the rest.
HOLDING_OHM = 1e15


@dataclass(frozen=True, slots=True)
class Subcircuit:
    """A cable as a SPICE subcircuit.

    Parameters
    ----------
    name
        Name of the subcircuit.
    pins
        Its pins, in the order of a call.
    lines
        The whole text, from ``.subckt`` to ``.ends``.
    lumping_error
        Estimate of the relative error that the rungs make, from the coarsest piece.
    loss_per_ohm
        Upper estimate of the relative error by which a simulator that subtracts gets a reading
        wrong, for each ohm of the reading.
    conducting
        Groups of pins that a direct current can pass between.
    coupled
        The same for an alternating current, which capacitances pass too.
    """

    name: str
    pins: tuple[str, ...]
    lines: tuple[str, ...]
    lumping_error: float
    loss_per_ohm: float
    conducting: tuple[frozenset[str], ...]
    coupled: tuple[frozenset[str], ...]


def pin(found: Terminal, cable: Cable) -> str:
    """Name of the pin of a terminal; cores joined at the far end share one."""
    node = node_of(found, cable)
    return node.conductor if node.end == "near" else f"{node.conductor}_far"


def pins(cable: Cable) -> tuple[str, ...]:
    """Every pin of a cable's subcircuit: near ends first."""
    every = [Terminal(name, end) for end in ("near", "far") for name in cable.conductors]
    return tuple(dict.fromkeys(pin(terminal, cable) for terminal in every))


def subcircuit(
    cable: Cable,
    faults: tuple[Fault, ...],
    name: str = "cable",
    *,
    rungs: int | None = None,
    frequency_hz: float = 0.0,
    seconds: float | None = None,
) -> Subcircuit:
    """Write a damaged cable as a subcircuit of lumps.

    Parameters
    ----------
    cable, faults
        Plain numbers, no batch.
    name
        Name of the subcircuit.
    rungs
        Rungs on the whole length, shared among its pieces by their length; each has at least one.
        None for as many in each piece as keep its error below 1e-7, at most 300.
    frequency_hz
        0 for resistances alone; otherwise inductances and capacitances too, with the capacitance
        and the losses of the insulation as they are at this frequency.
    seconds
        For direct current: time since the voltage was put on [s], at which the insulation's
        absorption counts as leakage; None where it has absorbed all it can.

    Raises
    ------
    InputError
        If a fault does not fit the cable, or the number of rungs or the frequency is out of range.

    Examples
    --------
    >>> cable = Cable.rated("single", heated_length_m=30.0, loop_resistance_ohm=44.1)
    >>> found = subcircuit(cable, (Break(("core1",), 12.0),), rungs=10)
    >>> found.lines[0]
    '.subckt cable core1 braid core1_far braid_far'
    """
    check_faults(cable, faults)
    if rungs is not None:
        require("rungs", rungs, at_least=1, at_most=_MOST_RUNGS)
    require("frequency_hz", frequency_hz, at_least=0.0, at_most=HIGHEST_HZ)
    writer = _Writer(cable, faults, frequency_hz, seconds)
    places = _places_m(cable, faults)
    whole_m = places[-1] - places[0]
    at = {conductor: conductor for conductor in cable.conductors}
    for number, (begin_m, end_m) in enumerate(pairwise(places), start=1):
        at = writer.lumps(f"p{number}", at, begin_m)
        share = rungs and max(1, ceil(rungs * (end_m - begin_m) / whole_m - 1e-9))
        at = writer.piece(f"s{number}", at, (begin_m, end_m), share)
    at = writer.lumps(f"p{len(places)}", at, places[-1])
    # The last nodes get the names of the pins.
    far = {node: pin(Terminal(conductor, "far"), cable) for conductor, node in at.items()}
    names = pins(cable)
    body = [_renamed(line, far) for line in writer.lines]
    conducting, lost = _groups(body, names, "RVHL")
    if lost:
        body.append("* parts that nothing joins to a terminal: held at some potential")
        body += [f"Rheld{k} {node} 0 {HOLDING_OHM:g}" for k, node in enumerate(lost)]
    lines = (f".subckt {name} {' '.join(names)}", *body, f".ends {name}")
    coupled, _ = _groups(body, names, "RVHLC")
    errors = (writer.lumping_error, _ROUNDING * writer.siemens)
    return Subcircuit(name, names, lines, *errors, conducting, coupled)


def _renamed(line: str, names: dict[str, str]) -> str:
    if line.startswith("*"):
        return line
    return re.sub(r"\w+", lambda found: names.get(found[0], found[0]), line)


def _groups(
    lines: Iterable[str], names: tuple[str, ...], letters: str
) -> tuple[tuple[frozenset[str], ...], list[str]]:
    """Pins that such elements join, and one node of each part that has no pin."""
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(names)
    for line in lines:
        _, *nodes = line.split()[:3]
        if line[0] in letters and "0" not in nodes:
            graph.add_edge(*nodes)
        elif line[0] in "CS":
            graph.add_nodes_from(nodes)
    parts = list(nx.connected_components(graph))
    groups = [frozenset(names) & part for part in parts]
    lost = [min(part) for part, group in zip(parts, groups, strict=True) if not group]
    return tuple(group for group in groups if group), lost


def _places_m(cable: Cable, faults: tuple[Fault, ...]) -> list[float]:
    """Where something begins, ends or sits, each place once."""
    ends = {cable.first_m, 0.0, cable.heated_length_m, cable.last_m}
    for fault in faults:
        ends |= {fault.from_m, fault.to_m} if isinstance(fault, Degraded) else {fault.at_m}
    return sorted(float(end) for end in ends)


class _Writer:
    """Collects the lines of one subcircuit."""

    def __init__(
        self,
        cable: Cable,
        faults: tuple[Fault, ...],
        frequency_hz: float,
        seconds: float | None,
    ) -> None:
        self.cable, self.faults = cable, faults
        self.frequency_hz, self.seconds = frequency_hz, seconds
        self.lines: list[str] = []
        self.lumping_error = 0.0
        self.siemens = 0.0
        self._count = 0

    def _number(self) -> int:
        self._count += 1
        return self._count

    def note(self, text: str) -> None:
        self.lines.append(f"* {text}")

    def resistor(self, u: str, v: str, ohm: float) -> None:
        if not isfinite(ohm):
            return
        k = self._number()
        if ohm >= _LEAST_RESISTOR_OHM:
            self.lines.append(f"R{k} {u} {v} {ohm:.16g}")
            return
        self.lines.append(f"V{k} {u} i{k} 0")
        self.lines.append(f"H{k} i{k} {v} V{k} {max(ohm, _DEAD_OHM):.16g}")

    def lumps(self, prefix: str, at: dict[str, str], at_m: float) -> dict[str, str]:
        """What sits at a place, and the nodes behind it."""
        here = [fault for fault in self.faults if _sits(fault, at_m)]
        if here:
            self.note(f"place {prefix} at {at_m:g} m: {', '.join(fault.kind for fault in here)}")
        cuts = [fault for fault in here if isinstance(fault, Break | Joint)]
        self._shunts(at, here, "near")
        after = dict(at)
        for conductor in dict.fromkeys(name for cut in cuts for name in cut.conductors):
            ohm = sum(float(cut.resistance_ohm) for cut in cuts if conductor in cut.conductors)
            after[conductor] = f"{prefix}_{conductor}"
            self.resistor(at[conductor], after[conductor], ohm)
        self._shunts(after, here, "far")
        return after

    def _shunts(self, at: dict[str, str], here: list[Fault], side: str) -> None:
        for fault in here:
            if isinstance(fault, Break | Joint):
                continue
            u, v = (at[name] for name in fault.between)
            # A leak at a point is half on either side of what is in series there.
            sides = (fault.side,) if isinstance(fault, Short) else ("near", "far")
            if side in sides:
                self.resistor(u, v, len(sides) * float(fault.resistance_ohm))
            if side == "near" and isinstance(fault, Flashover):
                self._gap(u, v, fault)

    def _gap(self, u: str, v: str, fault: Flashover) -> None:
        """A switch that strikes at the breakdown voltage and holds while the arc burns."""
        k = self._number()
        strikes, arc = float(fault.breakdown_volt), float(fault.arc_volt)
        out = _GOES_OUT * arc
        self.note(f"gap {k}: strikes at {strikes:g} V, then burns at {arc:g} V, either way round")
        self.lines += [
            f"Babs{k} abs{k} 0 V=abs(V({u},{v}))",
            f"S{k} {u} arc{k} abs{k} 0 gap{k}",
            f"Barc{k} arc{k} {v} V={arc:.16g}*tanh(V({u},{v}))",
            f".model gap{k} sw(vt={(strikes + out) / 2:.16g} vh={(strikes - out) / 2:.16g}"
            f" ron={_ARC_OHM:g} roff={_GAP_OHM:g})",
        ]

    def piece(
        self, prefix: str, at: dict[str, str], ends_m: tuple[float, float], rungs: int | None
    ) -> dict[str, str]:
        """A uniform piece as rungs, and the nodes at its far end."""
        begin_m, end_m = ends_m
        heated = 0.0 <= begin_m < float(self.cable.heated_length_m)
        series, leak = self._per_metre(begin_m, end_m, heated)
        strongest = max(abs(series[c] * y) for pair, y in leak.items() for c in pair)
        # A rung of length h is off by (gamma h)^2 / 12, with two conductors there and back.
        whole = (end_m - begin_m) ** 2 * strongest / 6
        if rungs is None:
            rungs = min(_MOST_CHOSEN, max(1, ceil(sqrt(whole / _LUMPING_ERROR))))
        step_m = (end_m - begin_m) / rungs
        self.lumping_error = max(self.lumping_error, whole / rungs**2)
        self.siemens += sum(rungs / (step_m * abs(z)) for z in series.values())
        part = "heated part" if heated else "cold lead"
        self.note(
            f"piece {prefix}, {part}, {begin_m:g} to {end_m:g} m, {rungs} rung{'s' * (rungs > 1)}"
        )
        names = self.cable.conductors
        self._leaks(at, leak, step_m / 2)
        for rung in range(1, rungs + 1):
            further = {name: f"{prefix}_{rung}_{name}" for name in names}
            for name in names:
                self._series(at[name], further[name], series[name] * step_m)
            at = further
            self._leaks(at, leak, step_m if rung < rungs else step_m / 2)
        return at

    def _per_metre(
        self, begin_m: float, end_m: float, heated: bool
    ) -> tuple[dict[str, complex], dict[tuple[str, str], complex]]:
        names = self.cable.conductors
        found = per_metre(
            self.cable, lambda quantity: quantity, self.frequency_hz, self.seconds, heated=heated
        )
        series = {name: complex(z) for name, z in zip(names, found[0], strict=True)}
        leak = {(names[i], names[j]): complex(y) for (i, j), y in found[1].items()}
        for fault in self.faults:
            if isinstance(fault, Degraded) and fault.from_m <= begin_m and end_m <= fault.to_m:
                first, second = sorted(fault.between, key=names.index)
                leak[first, second] += float(
                    1.0 / (fault.resistance_ohm * (fault.to_m - fault.from_m))
                )
        return series, leak

    def _series(self, u: str, v: str, ohm: complex) -> None:
        if ohm.imag == 0.0:
            self.resistor(u, v, ohm.real)
            return
        self.resistor(u, f"{v}_l", ohm.real)
        henry = ohm.imag / (2 * pi * self.frequency_hz)
        self.lines.append(f"L{self._number()} {v}_l {v} {henry:.16g}")

    def _leaks(
        self, at: dict[str, str], leak: dict[tuple[str, str], complex], length_m: float
    ) -> None:
        for (first, second), siemens_per_m in leak.items():
            siemens = siemens_per_m * length_m
            if siemens.real > 0:
                self.resistor(at[first], at[second], 1.0 / siemens.real)
            if siemens.imag > 0:
                farad = siemens.imag / (2 * pi * self.frequency_hz)
                self.lines.append(f"C{self._number()} {at[first]} {at[second]} {farad:.16g}")


def _sits(fault: Fault, at_m: float) -> bool:
    if isinstance(fault, Degraded):
        return bool(fault.from_m == fault.to_m == at_m)
    return bool(fault.at_m == at_m)
