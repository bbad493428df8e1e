"""What a uniform piece of cable has per metre: resistance in series, leakage between conductors.

At a frequency f each conductor has an inductance in series, and each pair of conductors a
capacitance with a constant loss tangent, ``Y = 2 pi f C (f / f0)^(-n) (tan d + j)`` with
``n = 2 d / pi``. The power of f makes it causal: a constant loss angle alone would let an echo
arrive before it can (A. K. Jonscher, Dielectric Relaxation in Solids, 1983, from memory). Skin
effect is left out: the strands of a heating cable are far thinner than the skin depth at the
frequencies that its own resistance lets through.

At direct current, and some time after the voltage was put on, each pair of conductors draws beside
its leakage what its capacitance still absorbs, ``beta C V t^-n`` (`cablesim.cable.dielectric`).
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import CAPACITANCE_FREQUENCY_HZ, Cable
from cablesim.cable.dielectric import absorption_of
from cablesim.cable.materials import alloy
from cablesim.line.reduction import Admittance

__all__ = ["HIGHEST_HZ", "Frequency", "per_metre"]

HIGHEST_HZ = 1e9
"""Up to here a sine is followed [Hz]: beyond, a wavelength in the insulation (20 cm here) is no
longer long beside the cable's cross-section, and a cable is no line of two numbers per metre."""

# A number or an array; complex where what is driven grows with time.
Frequency: TypeAlias = complex | NDArray[Any]


def per_metre(
    cable: Cable,
    rows: Callable[[Any], Any],
    frequency_hz: Frequency,
    seconds: float | None,
    *,
    heated: bool,
) -> tuple[list[Admittance], dict[tuple[int, int], Admittance]]:
    """Values per metre of a healthy piece, conductors in the cable's order.

    Parameters
    ----------
    cable
        Its numbers may be arrays.
    rows
        Picks the rows of the batch that are worked on.
    frequency_hz
        0 for direct current; complex where the drive grows with time.
    seconds
        Time since a direct voltage was put on [s]; None where nothing is absorbed any more.
    heated
        Whether the piece is heated, or a cold lead.

    Returns
    -------
    series
        Impedance of each conductor [ohm/m].
    leak
        Admittance between every two conductors [S/m].
    """
    cores = len(cable.construction.cores)
    warm = alloy(cable.core_alloy).factor(cable.temperature_c)
    series: list[Admittance] = (
        [rows(ohm) * warm for ohm in cable.core_ohm_per_m]
        if heated
        else [rows(cable.cold_lead_ohm_per_m)] * cores
    )
    series.append(rows(cable.braid_ohm_per_m))
    medium = cable.medium(heated=heated).picked(rows)
    leak: dict[tuple[int, int], Admittance] = {
        pair: 1.0 / (medium.insulation_gigaohm_m * 1e9)
        for pair in combinations(range(cores + 1), 2)
    }
    if heated and cable.construction.heats_between:
        leak[0, 1] = leak[0, 1] + 1.0 / rows(cable.heating_ohm_m)
    farad = {pair: medium.capacitance_pf_per_m(*pair) * 1e-12 for pair in leak}
    if np.any(frequency_hz):
        frequency = rows(frequency_hz)
        omega = 2 * np.pi * frequency
        henry_per_m = medium.inductance_henry_per_m
        series = [r + 1j * omega * h for r, h in zip(series, henry_per_m, strict=True)]
        loss = medium.loss_tangent
        falls = (frequency / CAPACITANCE_FREQUENCY_HZ) ** (-2 / np.pi * np.arctan(loss))
        for pair in leak:
            leak[pair] = leak[pair] + omega * farad[pair] * falls * (loss + 1j)
    elif seconds is not None:
        absorbing = absorption_of(medium).siemens_per_farad(seconds)
        for pair in leak:
            leak[pair] = leak[pair] + farad[pair] * absorbing
    return series, leak
