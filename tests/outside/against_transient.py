"""An insulation tester charging a damaged cable, against a transient of ngspice."""

from __future__ import annotations

import re
import subprocess
import tempfile
from dataclasses import replace
from pathlib import Path

from outside.check import Outcome, Worst, check
from outside.netlist import Netlist

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short
from cablesim.instruments.insulation_tester import InsulationTester
from cablesim.instruments.meter import Setting
from cablesim.instruments.readings import Probe, predict
from cablesim.line.terminals import Hookup

# The limit is out of the way: a source of 550 V behind 50 kohm gives 11 mA at most.
_TESTER = InsulationTester(name="tester", limit_milliamp=15.0)
_TIMES_S = (0.1e-3, 0.3e-3, 1e-3)
_STEP_S = 1e-6
_CORES = "core1+core2"
# What leaks and breaks keep each core of each cable on one side of the source.
_CABLES = [
    (Cable.rated("twin", 30.0, 88.2), ()),
    (Cable.rated("twin", 60.0, 20.0), (Short(("core1", "braid"), 22.0, 2e6),)),
    (Cable.rated("twin", 45.0, 60.0), (Degraded(("core2", "braid"), 5.0, 12.0, 3e5),)),
    (Cable.rated("twin", 80.0, 44.0), (Joint("core1", 30.0, 9.0), Break(("core2",), 41.0, 20.0))),
    (Cable.rated("twin", 150.0, 30.0, insulation_gigaohm_m=0.05), ()),
]


def transient_ohm(cable: Cable, faults: tuple[Fault, ...], volt: float, ohm: float) -> list[float]:
    """Voltage over current at the terminals of one cable at the times above, by one run."""
    netlist = Netlist(1e-3, 1000.0)
    netlist.add(cable, faults, [("core1", "braid")])
    ((first, return_),) = netlist.probes[0]
    # Inductance rings for nanoseconds and would cost a million steps: here it is a wire.
    lines = (re.sub(r"^(L\S+ \S+ \S+) .*", r"V\1 0", line) for line in netlist.lines)
    deck = ["* a tester charges a cable", *lines]
    other = first.replace("core1", "core2")
    deck += [
        f"Vjoin {first} {other} 0",
        f"Vtest source {return_} PWL(0 0 10n {volt})",
        f"Rtest source {first} {ohm:.17g}",
    ]
    commands = [
        "set numdgt=12",
        "set nomoremode",
        f"tran {_STEP_S} {_TIMES_S[-1] * 1.1} 0 {_STEP_S}",
        "linearize",
        f"let volts = v({first}) - v({return_})",
    ]
    for seconds in _TIMES_S:
        commands.append(f"let z = volts[{round(seconds / _STEP_S)}]")
        commands.append("print z")
    deck += [".options reltol=1e-6 method=gear", ".control", *commands]
    deck += ["quit", ".endc", ".end"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "charging.cir"
        path.write_text("\n".join(deck) + "\n")
        done = subprocess.run(
            ["ngspice", "-b", str(path)], capture_output=True, text=True, check=False, timeout=60
        )
    found = [float(z) for z in re.findall(r"^z = (\S+)$", done.stdout, flags=re.MULTILINE)]
    if len(found) != len(_TIMES_S):
        raise RuntimeError(f"ngspice: {done.stdout[-2000:]} {done.stderr[-2000:]}")
    return [v / ((volt - v) / ohm) for v in found]


@check(
    "an insulation tester's reading in the first millisecond, 5 damaged cables",
    against="ngspice, a transient through the tester's resistance",
    source="no publication: ngspice, the circuit simulator",
    allowed=2e-3,
    why="the cable is charged as one capacitance; what its cores delay is a thousandth",
)
def ngspice_charging() -> Outcome:
    worst = Worst()
    source = _TESTER.source(Setting(test_volt=500.0))
    for cable, faults in _CABLES:
        # Without loss nothing is absorbed: charging and leakage alone.
        plain = replace(cable, loss_tangent=0.0)
        wanted = transient_ohm(plain, faults, source.open_volt, source.source_ohm)
        hookup = Hookup.of(plain, (_CORES, "braid"))
        probes = [
            Probe(_TESTER, hookup, Setting(test_volt=500.0, seconds=seconds))
            for seconds in _TIMES_S
        ]
        found = predict(plain, faults, probes) * 1e6
        for seconds, mine, theirs in zip(_TIMES_S, found, wanted, strict=True):
            worst.add(abs(mine / theirs - 1), f"{seconds} s: {mine}, {theirs}, {faults}")
    return worst.outcome()


CHECKS = [ngspice_charging]
