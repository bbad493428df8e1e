"""What makes a suite's readings: two formulations, neither of which an answer inverts.

Answers come from the exact pieces of `cablesim.line.piece`. Cases come from the lumped ladder, or
from the circuit simulator ngspice on the exported netlist; only the meters' errors, which are put
on afterwards, are the same code.
"""

from __future__ import annotations

import math
import re
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.meters import CapacitanceMeter, InsulationTester, Ohmmeter
from cablesim.instruments.readings import Probe, predict
from cablesim.instruments.spice import spice_netlist
from cablesim.line.ladder import ladder

__all__ = ["Formulation", "Ladder", "Ngspice"]


class Formulation(Protocol):
    """A way to say what ideal meters show of a damaged cable."""

    @property
    def said(self) -> str:
        """Which one it is, for the head of a suite."""

    def exact(self, cable: Cable, faults: tuple[Fault, ...], probes: Sequence[Probe]) -> FloatArray:
        """What ideal meters without leads show, shape (readings,), each in its unit."""


@dataclass(frozen=True, slots=True)
class Ladder:
    """Every uniform piece as equal lumps.

    Parameters
    ----------
    rungs
        How many in each piece.
    """

    rungs: int = 48

    @property
    def said(self) -> str:
        """Which one it is."""
        return f"lumped ladder of {self.rungs} rungs a piece"

    def exact(self, cable: Cable, faults: tuple[Fault, ...], probes: Sequence[Probe]) -> FloatArray:
        """What ideal meters show by the ladder."""
        return predict(cable, faults, probes, mesh_of=ladder(self.rungs))


@dataclass(frozen=True, slots=True)
class Ngspice:
    """The exported netlist, run by ngspice; the impedances it prints, turned into what is shown."""

    program: str = "ngspice"

    @property
    def said(self) -> str:
        """Which one it is."""
        return "ngspice on the exported netlist, impedance between the leads"

    def exact(self, cable: Cable, faults: tuple[Fault, ...], probes: Sequence[Probe]) -> FloatArray:
        """What ideal meters show by ngspice.

        Raises
        ------
        InputError
            If ngspice is missing or prints no result, or a meter is none of the usual three.
        """
        found = np.empty(len(probes))
        by_hertz: dict[float, list[int]] = {}
        for k, probe in enumerate(probes):
            if not isinstance(probe.meter, Ohmmeter | InsulationTester | CapacitanceMeter):
                raise InputError("meter", probe.meter.kind, "one that reads an impedance")
            by_hertz.setdefault(probe.meter.frequency_hz(probe.setting), []).append(k)
        for hertz, numbers in by_hertz.items():
            chosen = [probes[k] for k in numbers]
            netlist = spice_netlist(cable, faults, chosen, frequency_hz=hertz)
            for k, ohm in zip(numbers, self._printed(netlist, len(chosen)), strict=True):
                found[k] = _shown(probes[k], ohm, hertz)
        return found

    def _printed(self, netlist: str, count: int) -> list[complex]:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "cable.cir"
            path.write_text(netlist, encoding="ascii")
            try:
                done = subprocess.run(
                    [self.program, "-b", str(path)], capture_output=True, text=True, check=False
                )
            except OSError:
                raise InputError(
                    f"the program {self.program} cannot be run", try_this="install ngspice"
                ) from None
        said = re.findall(r"^reading_\d+ = (.*)$", done.stdout, flags=re.MULTILINE)
        if len(said) != count:
            raise InputError(
                f"{self.program} printed {len(said)} of {count} readings",
                try_this="run the exported netlist by hand",
            )
        return [_number(text) for text in said]


def _number(text: str) -> complex:
    if text == "infinite":
        return complex(math.inf)
    return complex(*(float(part) for part in text.split(",")))


def _shown(probe: Probe, ohm: complex, hertz: float) -> float:
    """What a meter makes of an impedance [its unit]."""
    if not hertz:
        return ohm.real / probe.meter.unit_size
    assert isinstance(probe.meter, CapacitanceMeter)  # the only one of the three at a frequency
    siemens = 0j if math.isinf(ohm.real) else 1 / ohm
    if siemens.real > probe.meter.largest_loss * siemens.imag:
        return math.inf
    return siemens.imag / (2 * math.pi * hertz) / probe.meter.unit_size
