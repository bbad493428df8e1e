"""Faults on a cable: whether it can have them, and how they lie seen from its other end."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short
from cablesim.cable.numbers import Real
from cablesim.errors import InputError, nearest

__all__ = ["check_faults", "mirrored_fault"]


def check_faults(cable: Cable, faults: tuple[Fault, ...]) -> None:
    """Refuse a fault that this cable cannot have.

    Raises
    ------
    InputError
        If a fault names a conductor that the cable lacks, or lies off the cable. The message starts
        with the number of the fault, counted from 1.
    """
    for number, fault in enumerate(faults, start=1):
        series = isinstance(fault, Break | Joint)
        key = "conductors" if isinstance(fault, Break) else "conductor" if series else "between"
        named = fault.conductors if isinstance(fault, Break | Joint) else fault.between
        for name in named:
            if name not in cable.conductors:
                near = nearest(name, cable.conductors)
                raise InputError(
                    what=f"fault {number}: {key}",
                    got=name,
                    allowed=f"{', '.join(cable.conductors)} on a {cable.construction.name} cable",
                    try_this=f"did you mean {near}?" if near else None,
                )
        ends = (
            {"from_m": fault.from_m, "to_m": fault.to_m}
            if isinstance(fault, Degraded)
            else {"at_m": fault.at_m}
        )
        for name, value in ends.items():
            off = (np.asarray(value) < cable.first_m) | (np.asarray(value) > cable.last_m)
            if np.any(off):
                raise InputError(
                    what=f"fault {number}: {name}",
                    got=float(np.broadcast_to(value, off.shape)[off][0]) if off.ndim else value,
                    allowed=f"from {_extreme(cable.first_m)} to {_extreme(cable.last_m)}",
                    try_this="positions are metres from the cold joint, negative in the cold lead",
                )


def _extreme(value: Real) -> str:
    low, high = float(np.min(value)), float(np.max(value))
    return f"{low:g}" if low == high else f"{low:g}..{high:g}"


def mirrored_fault(cable: Cable, fault: Fault) -> Fault:
    """The fault as it lies seen from the far end of a cable that returns."""
    length = cable.heated_length_m
    if isinstance(fault, Degraded):
        return replace(fault, from_m=length - fault.to_m, to_m=length - fault.from_m)
    if isinstance(fault, Short):
        side = "far" if fault.side == "near" else "near"
        return replace(fault, at_m=length - fault.at_m, side=side)
    return replace(fault, at_m=length - fault.at_m)
