"""Voltages, currents and power of an energised cable against the circuit simulator ngspice."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from outside.against_ngspice import NGSPICE, WITHIN_REACH, cases_within
from outside.check import Outcome, Worst, check
from outside.netlist import Netlist, marked_points_m, values_printed

from cablesim.line.energised import energise
from cablesim.line.supply import usual_supply

VOLT = 230.0


@dataclass
class _Walked(Netlist):
    """Remembers the nodes just beyond every marked point."""

    beyond: list[dict[str, str]] = field(default_factory=list)

    def _lumps(self, prefix, at, faults):
        after = super()._lumps(prefix, at, faults)
        self.beyond.append(after)
        return after


def _spice(case) -> tuple[np.ndarray, float, float]:
    """Voltages beyond every mark, current from the live and into the neutral lead."""
    netlist = _Walked(1e-7)
    netlist.add(case.cable, case.faults, [])
    names = case.cable.conductors
    far = "core1" if case.cable.construction.returns else None
    neutral = netlist.beyond[-1]["core1"] if far else "k0core2"
    lines = ["* an energised cable", *netlist.lines, f"Vlive k0core1 0 {VOLT}"]
    lines += [f"Vneutral {neutral} 0 0", ".control", "set numdgt=16", "op"]
    if case.cable.construction.returns:
        lines.insert(1, f"Vearth {netlist.beyond[-1]['braid']} 0 0")
    for after in netlist.beyond:
        for name in names:
            lines += [f"let z = v({after[name]})", "print z"]
    for source in ("vlive", "vneutral"):
        lines += [f"let z = i({source})", "print z"]
    values = np.real(values_printed([*lines, "quit", ".endc", ".end"]))
    volts = values[:-2].reshape(len(netlist.beyond), len(names))
    return volts, -values[-2], values[-1]


@check(
    "voltages and currents of 30 random damaged cables on 230 V, direct current",
    against=NGSPICE,
    source="no publication: ngspice, the circuit simulator",
    allowed=1e-6,
    why="1e-7 a piece from the rungs; voltages relative to the supply, currents to the live lead's",
)
def ngspice_energised() -> Outcome:
    worst = Worst()
    for case in cases_within(11, 30, WITHIN_REACH):
        cable = case.cable
        volts, live, neutral = _spice(case)
        found = energise(cable, case.faults, usual_supply(cable, VOLT))
        points = np.array(marked_points_m(cable, case.faults))
        along = found.at(points)
        # At the very end a fault may lie beyond the last piece; `at` stops before it.
        off = np.abs(along.volt - volts)[:-1].max() / VOLT
        worst.add(float(off), f"voltage, {case}")
        into = np.array([live, -neutral])
        worst.add(float(np.abs(found.lead_ampere[:2] - into).max() / live), f"current, {case}")
    return worst.outcome()


CHECKS = [ngspice_energised]
