"""Insulating materials by name: permittivity, resistivity, loss, strength, and their sources."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cablesim.errors import looked_up

__all__ = [
    "CAPACITANCE_FREQUENCY_HZ",
    "INSULATIONS",
    "PULSE_FREQUENCY_HZ",
    "Insulation",
    "insulation",
]

# Capacitances and the loss tangent are those at this frequency, the usual one of capacitance
# meters; the velocity factor is that of pulses of this sharpness. Both common practice, no source.
CAPACITANCE_FREQUENCY_HZ = 1e3
PULSE_FREQUENCY_HZ = 1e7


@dataclass(frozen=True, slots=True)
class Insulation:
    """An insulating material, at room temperature.

    Parameters
    ----------
    name
        Name as used in the scenario file.
    relative_permittivity
        Permittivity relative to that of free space, at 1 kHz.
    permittivity_range
        Between which values it lies in practice; a mixture differs from maker to maker.
    volume_resistivity_ohm_m
        Volume resistivity [ohm m]; good to a power of ten only.
    loss_tangent
        Loss tangent at 1 kHz.
    strength_kv_per_mm
        Short-time electric strength [kV/mm], for sheets; a cable is used far below it.
    source
        Where the values were taken from.
    """

    name: str
    relative_permittivity: float
    permittivity_range: tuple[float, float]
    volume_resistivity_ohm_m: float
    loss_tangent: float
    strength_kv_per_mm: float
    source: str

    @property
    def velocity_factor(self) -> float:
        """Speed of a pulse in this insulation, relative to that of light.

        ``1 / sqrt(permittivity)``, the permittivity being that at the frequencies of a pulse. A
        loss angle d that is the same at all frequencies goes with a permittivity that falls as
        the power ``-2 d / pi`` of the frequency (A. K. Jonscher, Dielectric Relaxation in Solids,
        1983, from memory): next to nothing in polyethylene, a third in PVC.
        """
        falls = -2 / math.pi * math.atan(self.loss_tangent)
        ratio = PULSE_FREQUENCY_HZ / CAPACITANCE_FREQUENCY_HZ
        return float((self.relative_permittivity * ratio**falls) ** -0.5)


_HANDBOOKS = "from memory of handbooks, no single source"

INSULATIONS: dict[str, Insulation] = {
    row.name: row
    for row in (
        Insulation("PE", 2.3, (2.3, 2.3), 1e14, 0.0003, 20.0, _HANDBOOKS),
        Insulation("XLPE", 2.4, (2.3, 2.5), 1e14, 0.0005, 20.0, _HANDBOOKS),
        Insulation("PVC", 5.0, (4.0, 7.0), 1e12, 0.07, 15.0, _HANDBOOKS),
        Insulation("PTFE", 2.1, (2.1, 2.1), 1e16, 0.0003, 20.0, _HANDBOOKS),
        Insulation("FEP", 2.1, (2.1, 2.1), 1e16, 0.0003, 20.0, _HANDBOOKS),
        Insulation("PFA", 2.1, (2.1, 2.1), 1e16, 0.0003, 20.0, _HANDBOOKS),
        Insulation("ETFE", 2.6, (2.6, 2.6), 1e14, 0.001, 20.0, _HANDBOOKS),
        # 1e12 to 1e13 ohm m: the lower one, since a leak is expected rather than not.
        Insulation("silicone", 3.1, (2.9, 3.3), 1e12, 0.003, 18.0, _HANDBOOKS),
    )
}


def insulation(name: str, key: str = "insulation") -> Insulation:
    """Look an insulating material up by name.

    Parameters
    ----------
    name
        Its name.
    key
        What is asked for, as messages call it.

    Raises
    ------
    InputError
        If the name is unknown; the message gives the nearest known one.

    Examples
    --------
    >>> insulation("PTFE").velocity_factor
    0.69
    """
    return looked_up(key, name, INSULATIONS)
