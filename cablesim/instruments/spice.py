"""A scenario as a netlist that ngspice runs unchanged and that prints each predicted reading.

The cable is a subcircuit (`cablesim.line.netlist`), one for direct current and one for each other
frequency. Each reading calls it once, with its leads on a source of 1 V, and the control block
works out of the currents what an ideal meter shows.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import networkx as nx

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import require
from cablesim.instruments.insulation_tester import InsulationTester
from cablesim.instruments.loop_bridge import LoopBridge
from cablesim.instruments.meters import CapacitanceMeter, Ohmmeter
from cablesim.instruments.readings import Probe, predict
from cablesim.line.netlist import HOLDING_OHM, Subcircuit, pin, subcircuit
from cablesim.line.per_metre import HIGHEST_HZ
from cablesim.line.terminals import Terminal

__all__ = ["spice_netlist"]

_HEAD = """\
What the rungs leave out is about {error:.1g} of a reading. What a simulator loses by subtracting is
  up to {loss:.1g} of a reading for each ohm of it, up to {least:.1g} of one of 1e9 ohm.
Nodes of a subcircuit: pins are the terminals, core1 at the near end, core1_far at the far one;
  p2_core1 lies behind what is in series at place p2, s3_17_core1 behind rung 17 of piece s3.
A resistor below 1 mohm, which ngspice would raise, is a pair V, H: a voltage that follows its
current; a dead short is one of 1e-12 ohm.
Run it with: ngspice -b FILE"""


def spice_netlist(
    cable: Cable,
    faults: tuple[Fault, ...],
    probes: Sequence[Probe],
    *,
    rungs: int | None = None,
    frequency_hz: float | None = None,
    title: str = "",
) -> str:
    """Write a damaged cable with its readings as a SPICE netlist.

    Parameters
    ----------
    cable, faults
        Plain numbers, no batch.
    probes
        The readings to print, each as ``reading_1``, ``reading_2`` and so on, in its meter's unit.
    rungs
        Rungs on the whole length of the cable; None for as many as a relative error of 1e-7 takes.
    frequency_hz
        Instead of what the meters show, print the impedance between the first lead and the last of
        each at this frequency [ohm], 0 for direct current; a real and an imaginary part.
    title
        First line of the netlist.

    Returns
    -------
    str
        The netlist, with a control block.

    Raises
    ------
    InputError
        If a fault does not fit the cable, or a number is out of range.

    Examples
    --------
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> text = spice_netlist(cable, (), standard_probes(cable)[:1])
    >>> [line for line in text.splitlines() if line.startswith("print")]
    ['print reading_1']
    """
    used: list[tuple[float, float | None]]
    if frequency_hz is not None:
        require("frequency_hz", frequency_hz, at_least=0.0, at_most=HIGHEST_HZ)
        used = [(frequency_hz, None)] * len(probes)
    else:
        used = [(p.meter.frequency_hz(p.setting), p.meter.seconds(p.setting)) for p in probes]
        for p, (own_hz, _) in zip(probes, used, strict=True):
            name = f"frequency_hz of the {p.meter.name}"
            require(name, own_hz, at_least=0.0, at_most=HIGHEST_HZ)
    circuits = {
        each: subcircuit(
            cable, faults, _name(*each), rungs=rungs, frequency_hz=each[0], seconds=each[1]
        )
        for each in dict.fromkeys(used)
    }
    error = max((circuit.lumping_error for circuit in circuits.values()), default=0.0)
    loss = max((circuit.loss_per_ohm for circuit in circuits.values()), default=0.0)
    lines = [f"* {_plain(title) or 'A floor-heating cable'}"]
    lines += [
        f"* {line}" for line in _HEAD.format(error=error, loss=loss, least=1e9 * loss).splitlines()
    ]
    # Parts held by a large resistor have a small pivot.
    lines += ["", ".options pivtol=1e-30"]
    for each, circuit in circuits.items():
        kind = f"at {each[0]:g} Hz" if each[0] else "for direct current"
        kind += f", {each[1]:g} s after it was put on" if each[1] is not None else ""
        lines += ["", f"* The cable {kind}.", *circuit.lines]
    said: dict[float, list[str]] = {each: [] for each, _ in circuits}
    exact = predict(cable, faults, probes) if probes and frequency_hz is None else None
    for number, (probe, each) in enumerate(zip(probes, used, strict=True), start=1):
        leads = list(probe.hookup.leads)
        if frequency_hz is not None:
            leads = [leads[0], leads[-1]]
        one = _Reading(number, probe, leads, cable, circuits[each], each[0])
        lines += ["", *one.elements()]
        said[each[0]] += one.impedance() if exact is None else one.shown(float(exact[number - 1]))
    lines += ["", ".control", "set numdgt=12", "set width=200"]
    for hertz, commands in said.items():
        lines += [f"ac lin 1 {hertz:.16g} {hertz:.16g}" if hertz else "op", *commands]
    lines += ["quit", ".endc", ".end"]
    return "\n".join(lines) + "\n"


def _name(frequency_hz: float, seconds: float | None) -> str:
    name = f"cable_{frequency_hz:.10g}_hz" if frequency_hz else "cable_dc"
    return name if seconds is None else f"{name}_{seconds:.10g}_s"


def _plain(text: str) -> str:
    """One line of plain characters: what else a title holds could end the comment."""
    return "".join(c if " " <= c <= "~" else "?" for c in " ".join(text.split()))


class _Reading:
    """The lines of one reading."""

    def __init__(
        self,
        number: int,
        probe: Probe,
        leads: Sequence[tuple[Terminal, ...]],
        cable: Cable,
        circuit: Subcircuit,
        frequency_hz: float,
    ) -> None:
        self.number, self.probe, self.circuit = number, probe, circuit
        self.frequency_hz = frequency_hz
        hookup = probe.hookup
        graph: nx.Graph[str] = nx.Graph()
        graph.add_nodes_from(circuit.pins)
        for group in (*hookup.leads, *hookup.links):
            nx.add_path(graph, [pin(found, cable) for found in group])
        firsts = [pin(lead[0], cable) for lead in leads]
        # What is joined outside the cable is one node; the last lead is ground.
        self.node: dict[str, str] = {}
        for part in nx.connected_components(graph):
            held = [k for k, first in enumerate(firsts) if first in part]
            name = f"r{number}_{min(part)}"
            if held:
                name = f"r{number}_lead{held[0] + 1}" if held[0] + 1 < len(firsts) else "0"
            self.node |= dict.fromkeys(part, name)
        self.leads = [self.node[first] for first in firsts]
        # A Varley bridge needs the cable twice: both cores on 1 V, and the first alone.
        varley = probe.setting.method == "varley" and len(leads) > 2
        self.runs = ("", "b") if varley else ("",)

    def elements(self) -> Iterator[str]:
        """The call of the cable, the sources, and what holds the parts that no lead reaches."""
        meter = self.probe.meter
        yield f"* Reading {self.number}: {meter.kind}, {' to '.join(self.probe.hookup.across)}"
        for run in self.runs:
            nodes = {"0": "0"} | {
                name: f"{name}{run}" for name in self.node.values() if name != "0"
            }
            called = " ".join(nodes[self.node[name]] for name in self.circuit.pins)
            yield f"X{self.number}{run} {called} {self.circuit.name}"
            for k, lead in enumerate(self.leads[:-1]):
                volt = 0 if run and k else 1
                yield f"V{self.number}{run}_{k + 1} {nodes[lead]} 0 DC {volt} AC {volt}"
            for name in self._floating():
                yield f"Rheld{nodes[name]} {nodes[name]} 0 {HOLDING_OHM:g}"

    def _floating(self) -> list[str]:
        """One node of each part that no lead reaches."""
        graph = self._reached(self.circuit.conducting)
        graph.add_edges_from((lead, "0") for lead in self.leads)
        return [min(part) for part in nx.connected_components(graph) if "0" not in part]

    def _reached(self, groups: tuple[frozenset[str], ...]) -> nx.Graph[str]:
        graph: nx.Graph[str] = nx.Graph()
        graph.add_nodes_from(self.node.values())
        for group in groups:
            nx.add_path(graph, [self.node[name] for name in sorted(group)])
        return graph

    def _joined(self, k: int) -> bool:
        """Whether lead k and the last one are joined at all, at this frequency."""
        groups = self.circuit.coupled if self.frequency_hz else self.circuit.conducting
        graph = self._reached(groups)
        return bool(nx.has_path(graph, self.leads[k], self.leads[-1]))

    def _named(self, unit: str) -> str:
        return f"* reading_{self.number}: {' to '.join(self.probe.hookup.across)} [{unit}]"

    def shown(self, exact: float) -> list[str]:
        """Commands that print what an ideal meter shows."""
        meter, name, k = self.probe.meter, f"reading_{self.number}", self.number
        unit = meter.unit or ("ohm" if self.probe.setting.method == "varley" else "share of 1")
        lines = [f"{self._named(unit)}; the exact line gives {exact:.12g}"]
        omega = 2 * math.pi * self.frequency_hz
        if isinstance(meter, Ohmmeter | InsulationTester):
            if not self._joined(0):
                return [*lines, f"echo {name} = infinite"]
            lines.append(f"let {name} = -1/(i(v{k}_1)*{meter.unit_size:g})")
        elif isinstance(meter, CapacitanceMeter):
            lines.append(f"let {name} = imag(-i(v{k}_1))/{omega * meter.unit_size:.16g}")
        elif isinstance(meter, LoopBridge):
            if not (self._joined(0) or self._joined(1)):
                return [*lines, f"echo {name} = no balance"]
            lines += _balance(k, name, self.probe)
        elif meter.sees_places:
            return [f"* {name}: what a {meter.kind} shows is a time, no impedance"]
        else:
            return [f"* {name}: what a {meter.kind} shows is more than one number"]
        return [*lines, f"print {name}"]

    def impedance(self) -> list[str]:
        """Commands that print the impedance between the first lead and the last [ohm]."""
        name = f"reading_{self.number}"
        if not self._joined(0):
            return [self._named("ohm"), f"echo {name} = infinite"]
        return [self._named("ohm"), f"let {name} = -1/i(v{self.number}_1)", f"print {name}"]


def _balance(k: int, name: str, probe: Probe) -> list[str]:
    """A bridge's balance out of the currents into its first two leads, see `LoopBridge`."""
    method, arms = probe.setting.method, probe.setting.arms
    part = "imag" if method == "capacitance" else "real"
    first, second = f"{part}(-i(v{k}_1))", f"{part}(-i(v{k}_2))"
    if method != "varley":
        return [f"let {name} = {first}/({first} + {second})"]
    assert arms is not None  # a Varley bridge has no reading without its arms
    ratio = arms[1] / arms[0]
    # Second run: the first lead on 1 V, the second on 0: what enters there came from the first.
    return [
        f"let cores = i(v{k}b_2)*{1 + ratio:.16g}",
        f"let whole = {ratio:.16g}*{second} + cores",
        f"let share = ({first} + cores)/whole",
        f"let rest = ({ratio:.16g}*{second} - {first})/whole",
        f"let {name} = rest/({second}*share - i(v{k}b_2)*rest)",
    ]
