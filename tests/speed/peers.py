"""What cablesim is measured against: ngspice, and a sparse ladder of 200 rungs."""

from __future__ import annotations

import re
import subprocess
import tempfile
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import splu

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break
from cablesim.instruments.spice import spice_netlist

RUNGS = 200


def ngspice(cable: Cable, faults, probes, frequencies_hz=None) -> np.ndarray:
    """One run, from the netlist's text to its numbers: readings, or impedances over a band."""
    if frequencies_hz is None:
        text = spice_netlist(cable, faults, probes, rungs=RUNGS)
    else:
        middle_hz = float(frequencies_hz[-1])
        text = spice_netlist(cable, faults, probes, rungs=RUNGS, frequency_hz=middle_hz)
        sweep = f"ac lin {len(frequencies_hz)} {frequencies_hz[0]:.17g} {frequencies_hz[-1]:.17g}"
        text = re.sub(r"^ac lin .*$", sweep, text, flags=re.MULTILINE)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "cable.cir"
        path.write_text(text)
        done = subprocess.run(
            ["ngspice", "-b", str(path)], capture_output=True, text=True, check=True
        )
    if frequencies_hz is None:
        found = re.findall(r"^reading_\d+ = (\S+)$", done.stdout, flags=re.MULTILINE)
        return np.array([float(value) for value in found])
    rows = re.findall(r"^\d+\s+\S+\s+(\S+),\s*(\S+)\s*$", done.stdout, flags=re.MULTILINE)
    return np.array([complex(float(real), float(imag)) for real, imag in rows])


def sparse_ladder(cable: Cable, faults, frequency_hz: float = 0.0) -> np.ndarray:
    """Impedances of both cores of a twin cable against the braid: nodal matrix, sparse LU.

    With shorts and clean breaks, each at a place of its own. Readings follow from the two by two
    matrix: `ohms` and `farads`.
    """
    names = cable.conductors
    places = sorted({cable.first_m, 0.0, cable.last_m, *(float(f.at_m) for f in faults)})
    omega = 2 * np.pi * frequency_hz
    rows: list[int] = []
    columns: list[int] = []
    values: list[complex] = []

    def stamp(u: int, v: int, siemens: complex) -> None:
        rows.extend((u, v, u, v))
        columns.extend((u, v, v, u))
        values.extend((siemens, siemens, -siemens, -siemens))

    at, count = [0, 1, 2], 3
    for begin_m, end_m in pairwise(places):
        for fault in (fault for fault in faults if fault.at_m == begin_m):
            if isinstance(fault, Break):
                for name in fault.conductors:
                    at[names.index(name)], count = count, count + 1
            else:
                u, v = (at[names.index(name)] for name in fault.between)
                stamp(u, v, 1 / float(fault.resistance_ohm))
        cores = cable.core_ohm_per_m if begin_m >= 0 else [cable.cold_lead_ohm_per_m] * 2
        henry = cable.inductance_henry_per_m
        ohm = (*cores, cable.braid_ohm_per_m)
        series = [r + 1j * omega * h for r, h in zip(ohm, henry, strict=True)]
        rungs = max(1, round(RUNGS * (end_m - begin_m) / (places[-1] - places[0])))
        step_m = (end_m - begin_m) / rungs
        for rung in range(rungs):
            further = [count, count + 1, count + 2]
            if end_m == places[-1] and rung == rungs - 1:
                further = [count, count, count + 1]  # the joint at the far end
            count = further[2] + 1
            for nodes in (at, further):
                for i, j in combinations(range(3), 2):
                    stamp(nodes[i], nodes[j], _leak(cable, (i, j), omega) * step_m / 2)
            for k in range(3):
                stamp(at[k], further[k], 1 / (series[k] * step_m))
            at = further
    entries = np.array(values) if frequency_hz else np.real(values)
    matrix = coo_matrix((entries, (rows, columns)), shape=(count, count)).tocsc()
    kept = np.flatnonzero(np.arange(count) != 2)  # the braid's near end is ground
    sides = np.zeros((count - 1, 2), entries.dtype)
    sides[0, 0] = sides[1, 1] = 1
    return splu(matrix[kept][:, kept]).solve(sides)[:2]


def ohms(impedance: np.ndarray) -> np.ndarray:
    """Core to core, and each core to the braid."""
    (a, m), (n, b) = impedance
    return np.array([a + b - m - n, a, b])


def farads(impedance: np.ndarray, frequency_hz: float) -> np.ndarray:
    """Each core to all the rest, and both cores to the braid."""
    y = np.linalg.inv(impedance)
    return np.array([y[0, 0], y[1, 1], y.sum()]).imag / (2 * np.pi * frequency_hz)


def _leak(cable: Cable, pair: tuple[int, int], omega: float) -> complex:
    kind = "core_braid" if pair[1] == 2 else "core_core"
    farad = getattr(cable, f"capacitance_{kind}_pf_per_m") * 1e-12
    return 1e-9 / cable.insulation_gigaohm_m + omega * farad * (cable.loss_tangent + 1j)
