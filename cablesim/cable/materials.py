"""Conductor alloys by name: resistivity, temperature coefficient, and their sources."""

from __future__ import annotations

from dataclasses import dataclass

from cablesim.errors import looked_up

__all__ = ["ALLOYS", "REFERENCE_TEMPERATURE_C", "Alloy", "alloy"]

REFERENCE_TEMPERATURE_C = 20.0


@dataclass(frozen=True, slots=True)
class Alloy:
    """A conductor material.

    Parameters
    ----------
    name
        Name as used in the scenario file.
    resistivity_ohm_mm2_per_m
        Resistivity at 20 C.
    temperature_coefficient_per_k
        Linear coefficient of resistance between 20 and 105 C.
    source
        Where both values were taken from.
    """

    name: str
    resistivity_ohm_mm2_per_m: float
    temperature_coefficient_per_k: float
    source: str

    def factor(self, temperature_c: float) -> float:
        """Resistance at a temperature relative to that at 20 C."""
        return 1.0 + self.temperature_coefficient_per_k * (temperature_c - REFERENCE_TEMPERATURE_C)


_DIN_17471 = "from memory of DIN 17471"
_DIN_17470 = "from memory of DIN 17470"

ALLOYS: dict[str, Alloy] = {
    row.name: row
    for row in (
        Alloy("copper", 1.0 / 58.0, 3930e-6, "from memory of IEC 60028 (100 % IACS)"),
        Alloy("aluminium", 0.028264, 4030e-6, "from memory of IEC 60889"),
        Alloy("CuNi2", 0.05, 1300e-6, _DIN_17471),
        Alloy("CuNi6", 0.10, 700e-6, _DIN_17471),
        Alloy("CuNi10", 0.15, 400e-6, _DIN_17471),
        Alloy("CuNi23Mn", 0.30, 250e-6, _DIN_17471),
        Alloy("CuNi30Mn", 0.40, 110e-6, _DIN_17471),
        Alloy("CuNi44", 0.49, 0.0, _DIN_17471),
        Alloy("CuMn12Ni", 0.43, 0.0, _DIN_17471),
        Alloy("NiCr8020", 1.08, 100e-6, _DIN_17470),
        Alloy("NiCr6015", 1.11, 150e-6, _DIN_17470),
    )
}


def alloy(name: str, what: str = "core_alloy") -> Alloy:
    """Look an alloy up by name.

    Parameters
    ----------
    name
        The name.
    what
        How the field is called that gave it.

    Raises
    ------
    InputError
        If the name is unknown; the message gives the nearest known one.
    """
    return looked_up(what, name, ALLOYS)
