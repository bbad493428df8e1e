"""The least that may be stated of a cable in which damage is sought.

Far below any cable, and some decades above what `Cable` needs to compute with: the search tries
values around the stated ones, and none of them may fall below that.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from cablesim.cable.construction import construction
from cablesim.cable.numbers import require

if TYPE_CHECKING:
    from cablesim.cable.cable import Cable

__all__ = [
    "LEAST_HEATING_OHM_M",
    "LEAST_INSULATION_GIGAOHM_M",
    "LEAST_LENGTH_M",
    "LEAST_OHM_PER_M",
    "LEAST_VELOCITY_FACTOR",
    "check_stated",
    "least_loop_ohm",
]

LEAST_LENGTH_M: Final = 1e-3
"""Least length of the heated part [m]."""

LEAST_OHM_PER_M: Final = 1e-6
"""Least resistance of a conductor [ohm/m]: 170 cm2 of copper."""

LEAST_INSULATION_GIGAOHM_M: Final = 1e-6
"""Least insulation resistance times length [Gohm m]: a thousand ohms over one metre."""

LEAST_HEATING_OHM_M: Final = 1e-3
"""Least resistance of a heating element between the cores, times length [ohm m]."""

LEAST_VELOCITY_FACTOR: Final = 0.01
"""Least speed of pulses relative to that of light."""

_LEAST: Final = {
    "heated_length_m": LEAST_LENGTH_M,
    "cold_lead_ohm_per_m": LEAST_OHM_PER_M,
    "braid_ohm_per_m": LEAST_OHM_PER_M,
    "insulation_gigaohm_m": LEAST_INSULATION_GIGAOHM_M,
    "cold_lead_insulation_gigaohm_m": LEAST_INSULATION_GIGAOHM_M,
    "heating_ohm_m": LEAST_HEATING_OHM_M,
    "velocity_factor": LEAST_VELOCITY_FACTOR,
    "cold_lead_velocity_factor": LEAST_VELOCITY_FACTOR,
}


def check_stated(cable: Cable) -> None:
    """Refuse a cable of which less is stated than any cable has.

    Parameters
    ----------
    cable
        As stated.

    Raises
    ------
    InputError
        Naming the field, its value and the least.
    """
    loop_ohm = float(np.min(cable.loop_resistance_ohm))
    for value in cable.core_ohm_per_m:
        require(
            "core_ohm_per_m",
            value,
            at_least=LEAST_OHM_PER_M,
            try_this=f"is the loop resistance of {loop_ohm:g} ohm right?",
        )
    for name, least in _LEAST.items():
        value = getattr(cable, name)
        if value is not None:
            require(name, value, at_least=least, infinite=True)


def least_loop_ohm(construction_name: str, heated_length_m: float) -> float:
    """The least rated resistance of a cable of some length [ohm].

    Parameters
    ----------
    construction_name
        How it is built.
    heated_length_m
        Length of the heated part [m].

    Examples
    --------
    >>> least_loop_ohm("twin", 30.0)
    6e-05
    """
    built = construction(construction_name)
    if built.heats_between:
        return LEAST_HEATING_OHM_M / heated_length_m
    return LEAST_OHM_PER_M * len(built.cores) * heated_length_m
