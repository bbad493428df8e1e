"""A damaged cable as a netlist of lumps, and ngspice run on many of them at once.

Nothing here comes from `cablesim.line`: places, rungs and faults are walked anew. All cables and
all their readings lie side by side in one netlist: each reading has its own current source, and one
voltage source a reading number switches all of these on together, so that one process with as many
analyses as readings does the whole comparison.
"""

from __future__ import annotations

import re
import subprocess
import tempfile
from dataclasses import dataclass, field, fields, replace
from itertools import combinations
from math import atan, ceil, inf, pi, sqrt
from pathlib import Path

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short

# ngspice raises a smaller resistor to 1 mohm without a word in the result.
LEAST_OHM = 1e-3


@dataclass
class Netlist:
    """Lines of one netlist; each cable has a prefix of its own."""

    rung_error: float  # relative error that the lumps of one piece may make
    frequency_hz: float = 0.0
    refined: int = 1  # times as many rungs as that error asks for
    lines: list[str] = field(default_factory=list)
    probes: list[list[tuple[str, str]]] = field(default_factory=list)

    def _element(self, letter: str, u: str, v: str, value: float) -> None:
        if letter == "R" and value < LEAST_OHM:
            raise ValueError(f"a resistor of {value} ohm would be raised to 1 mohm")
        self.lines.append(f"{letter}{len(self.lines)} {u} {v} {value:.17g}")

    def add(self, cable: Cable, faults: tuple[Fault, ...], pairs: list[tuple[str, str]]) -> None:
        """Add a cable; each reading lies between two terminals, such as ``core1@far``."""
        prefix = f"k{len(self.probes)}"
        points = marked_points_m(cable, faults)
        at = {name: f"{prefix}{name}" for name in cable.conductors}
        ends = dict(at)
        # One conductor is ground to the simulator; a floating cable does not mind.
        self.lines.append(f"V{prefix} {at['braid']} 0 0")
        for k, point_m in enumerate(points):
            at = self._lumps(f"{prefix}p{k}", at, [f for f in faults if _lies(f, point_m)])
            if k + 1 < len(points):
                at = self._piece(cable, faults, f"{prefix}p{k}", at, (point_m, points[k + 1]))
        ends |= {f"{name}@far": node for name, node in at.items()}
        if cable.far_end == "joined":
            self.lines.append(f"V{prefix}far {at['core1']} {at['core2']} 0")
        self.probes.append([(ends[u], ends[v]) for u, v in pairs])

    def _lumps(self, prefix: str, at: dict[str, str], faults: list[Fault]) -> dict[str, str]:
        """Shunts of the near side, what is in series, shunts of the far side."""
        self._shunts(at, faults, "near")
        after = dict(at)
        for name in at:
            cuts = [f for f in faults if isinstance(f, Break | Joint) and name in f.conductors]
            if cuts:
                after[name] = f"{prefix}{name}x"
                ohm = sum(f.resistance_ohm for f in cuts)
                if ohm < inf:
                    self._element("R", at[name], after[name], ohm)
        self._shunts(after, faults, "far")
        return after

    def _shunts(self, at: dict[str, str], faults: list[Fault], side: str) -> None:
        for fault in faults:
            if isinstance(fault, Break | Joint) or getattr(fault, "side", side) != side:
                continue
            halves = 1 if isinstance(fault, Short) else 2  # a point leaks half on either side
            if fault.resistance_ohm < inf:
                u, v = (at[name] for name in fault.between)
                self._element("R", u, v, halves * fault.resistance_ohm)

    def _piece(self, cable, faults, prefix, at, ends_m) -> dict[str, str]:
        begin_m, end_m = ends_m
        heated = 0.0 <= begin_m < cable.heated_length_m
        names = cable.conductors
        cores = cable.core_ohm_per_m if heated else [cable.cold_lead_ohm_per_m] * (len(names) - 1)
        series = dict(zip(names, (*cores, cable.braid_ohm_per_m), strict=True))
        if heated:
            medium = cable
        else:  # values of its own stand for those of the heated part
            own = {f.name: getattr(cable, f"cold_lead_{f.name}", None) for f in fields(Cable)}
            shared = ("cold_lead_m", "cold_lead_ohm_per_m", "insulation")
            own = {k: v for k, v in own.items() if v is not None and k not in shared}
            medium = replace(cable, **own)
        leak = {pair: 1e-9 / medium.insulation_gigaohm_m for pair in combinations(names, 2)}
        for fault in faults:
            if not isinstance(fault, Degraded) or fault.from_m == fault.to_m:
                continue
            if fault.from_m <= begin_m and end_m <= fault.to_m:
                pair = tuple(sorted(fault.between, key=names.index))
                leak[pair] += 1 / (fault.resistance_ohm * (fault.to_m - fault.from_m))
        if heated and cable.construction.heats_between:
            leak["core1", "core2"] += 1 / cable.heating_ohm_m
        farad = dict.fromkeys(leak, 0.0)
        henry = dict.fromkeys(names, 0.0)
        if self.frequency_hz:
            # At one frequency a loss angle is a conductance beside the capacitance.
            falls = (self.frequency_hz / 1e3) ** (-2 / pi * atan(medium.loss_tangent))
            for pair in farad:
                kind = "core_braid" if "braid" in pair else "core_core"
                farad[pair] = getattr(medium, f"capacitance_{kind}_pf_per_m") * 1e-12 * falls
                leak[pair] += 2 * pi * self.frequency_hz * farad[pair] * medium.loss_tangent
            henry = dict(zip(names, medium.inductance_henry_per_m, strict=True))
        length_m = end_m - begin_m
        squared = length_m**2 * max(
            abs(complex(series[u], 2 * pi * self.frequency_hz * henry[u]))
            * 2
            * abs(complex(leak[pair], 2 * pi * self.frequency_hz * farad[pair]))
            for pair in leak
            for u in pair
        )
        # A rung of length h is off by (gamma h)^2 / 12 of what it leaks.
        rungs = self.refined * max(1, ceil(sqrt(squared / (12 * self.rung_error))))
        step_m = length_m / rungs
        for rung in range(rungs):
            further = {name: f"{prefix}{name}r{rung}" for name in names}
            for name in names:
                inner = further[name] if not henry[name] else f"{further[name]}l"
                self._element("R", at[name], inner, series[name] * step_m)
                if henry[name]:
                    self._element("L", inner, further[name], henry[name] * step_m)
            for (u, v), siemens_per_m in leak.items():
                for nodes in (at, further):
                    self._element("R", nodes[u], nodes[v], 2 / (siemens_per_m * step_m))
                    if farad[u, v]:
                        self._element("C", nodes[u], nodes[v], farad[u, v] * step_m / 2)
            at = further
        return at

    def solve(self) -> list[list[complex]]:
        """Impedance of every reading of every cable [ohm], by one run of ngspice."""
        most = max(len(probes) for probes in self.probes)
        deck = ["* damaged cables side by side", *self.lines]
        commands = ["set numdgt=16", "set width=200", "set nomoremode"]
        kind = "ac" if self.frequency_hz else "dc"
        for number in range(most):
            deck.append(f"Vs{number} s{number} 0 DC 0 AC 0")
            commands += [
                f"alter {'@' if kind == 'ac' else ''}Vs{k}{'[acmag]' if kind == 'ac' else ' dc'}"
                f" = {int(k == number)}"
                for k in range(most)
            ]
            commands.append(f"ac lin 1 {self.frequency_hz} {self.frequency_hz}" * (kind == "ac"))
            commands.append("op" * (kind == "dc"))
            for k, probes in enumerate(self.probes):
                if number < len(probes):
                    u, v = probes[number]
                    # One ampere out of v and into u.
                    deck.append(f"Gk{k}n{number} {v} {u} s{number} 0 1")
                    commands += [f"let z = v({u}) - v({v})", "print z"]
        deck += [".control", *filter(None, commands), "quit", ".endc", ".end"]
        values = iter(values_printed(deck))
        found = [[0j] * len(probes) for probes in self.probes]
        for number in range(most):
            for k, probes in enumerate(self.probes):
                if number < len(probes):
                    found[k][number] = next(values)
        assert next(values, None) is None
        return found


def marked_points_m(cable: Cable, faults: tuple[Fault, ...]) -> list[float]:
    """Where something begins, ends or sits, each place once."""
    ends = {cable.first_m, 0.0, cable.heated_length_m, cable.last_m}
    for fault in faults:
        ends |= {fault.from_m, fault.to_m} if isinstance(fault, Degraded) else {fault.at_m}
    return sorted(ends)


def _lies(fault: Fault, at_m: float) -> bool:
    if isinstance(fault, Degraded):
        return fault.from_m == fault.to_m == at_m
    return fault.at_m == at_m


def values_printed(deck: list[str]) -> list[complex]:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cables.cir"
        path.write_text("\n".join(deck) + "\n")
        done = subprocess.run(
            ["ngspice", "-b", str(path)], capture_output=True, text=True, check=False
        )
    lines = re.findall(r"^z = (.*)$", done.stdout, flags=re.MULTILINE)
    if not lines:
        raise RuntimeError(
            f"ngspice printed no result: {done.stdout[-2000:]} {done.stderr[-2000:]}"
        )
    parts = [[float(part) for part in line.split(",")] for line in lines]
    return [complex(*part) for part in parts]
