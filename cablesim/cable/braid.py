"""The braid: resistance per metre from its cross-section, or from its wires and how they lie."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cablesim.cable.materials import REFERENCE_TEMPERATURE_C, Alloy
from cablesim.cable.numbers import require
from cablesim.errors import InputError

__all__ = ["WIRES", "Braid"]

# What gives a braid by its wires: all of them or none.
WIRES = ("carriers", "wires", "wire_mm", "angle_deg")


@dataclass(frozen=True, slots=True)
class Braid:
    """A braided screen, or what stands in its place.

    Either `area_mm2`, or all of `carriers`, `wires`, `wire_mm` and `angle_deg`.

    Parameters
    ----------
    area_mm2
        Cross-section of a straight conductor that would carry as much [mm2].
    carriers
        Bundles of wires, half of them one way round, half the other.
    wires
        Wires in each carrier.
    wire_mm
        Diameter of each wire [mm].
    angle_deg
        Angle between a wire and the length of the cable [degrees].

    Raises
    ------
    InputError
        If it is given both ways, by halves, or out of all proportion.

    Examples
    --------
    >>> from cablesim.cable.materials import alloy
    >>> braid = Braid(carriers=16, wires=5, wire_mm=0.12, angle_deg=30.0)
    >>> round(1000 * braid.ohm_per_m(alloy("copper")), 2)
    22.0
    """

    area_mm2: float | None = None
    carriers: int | None = None
    wires: int | None = None
    wire_mm: float | None = None
    angle_deg: float | None = None

    def __post_init__(self) -> None:
        stated = [name for name in WIRES if getattr(self, name) is not None]
        if bool(stated) == (self.area_mm2 is not None):
            how = "both its cross-section and its wires" if stated else "nothing"
            raise InputError(
                f"a braid is given by {how}",
                try_this=f"give area_mm2, or all of {', '.join(WIRES)}",
            )
        if stated and len(stated) < len(WIRES):
            missing = next(name for name in WIRES if name not in stated)
            raise InputError(f"{missing} is missing", try_this=f"a braid needs {', '.join(WIRES)}")
        if self.area_mm2 is not None:
            require(
                "area_mm2",
                self.area_mm2,
                at_least=0.01,
                at_most=100.0,
                try_this="it is the cross-section in square millimetres, such as 1.0",
            )
            return
        for name, most in (("carriers", 96.0), ("wires", 40.0)):
            value = getattr(self, name)
            require(name, value, at_least=1.0, at_most=most)
            if value != int(value):
                raise InputError(name, value, "a whole number")
        require(
            "wire_mm",
            self.wire_mm or 0.0,
            at_least=0.02,
            at_most=1.0,
            try_this="it is the diameter of one wire in millimetres, such as 0.12",
        )
        require("angle_deg", self.angle_deg or 0.0, at_least=0.0, at_most=85.0)

    def ohm_per_m(self, metal: Alloy, temperature_c: float = REFERENCE_TEMPERATURE_C) -> float:
        """Resistance to direct current.

        All wires run in parallel and each is longer than the cable by ``1 / cos(angle)``:
        ``4 rho / (pi d^2 n cos(angle))`` for n wires in all. Contacts between them, which would
        lower it, and breaks are left aside.

        Parameters
        ----------
        metal
            What the wires are made of.
        temperature_c
            Temperature [C].

        Returns
        -------
        float
            Resistance [ohm/m].

        References
        ----------
        E. F. Vance, Shielding effectiveness of braided-wire shields, IEEE Trans. EMC 17 (1975)
        (from memory).
        """
        per_mm2 = metal.resistivity_ohm_mm2_per_m * metal.factor(temperature_c)
        return per_mm2 / self.straight_mm2

    @property
    def straight_mm2(self) -> float:
        """Cross-section of a straight conductor that would carry as much [mm2]."""
        if self.area_mm2 is not None:
            return self.area_mm2
        carriers, wires, wire_mm, angle_deg = (getattr(self, name) for name in WIRES)
        metal_mm2: float = carriers * wires * math.pi / 4 * wire_mm**2
        return metal_mm2 * math.cos(math.radians(angle_deg))

    def coverage(self, inside_mm: float) -> float | None:
        """Share of the cable's surface that the wires hide, or None where the wires are not known.

        With ``F = n d / (2 pi D cos(angle))``, n wires in all on a mean diameter D, one way round
        hides F and both hide ``2 F - F^2``.

        Parameters
        ----------
        inside_mm
            Inner diameter of the braid [mm].

        References
        ----------
        E. F. Vance, as above (from memory).
        """
        if self.area_mm2 is not None:
            return None
        carriers, wires, wire_mm, angle_deg = (getattr(self, name) for name in WIRES)
        # Two layers of wire cross, so their middle is one wire outside the inside.
        across_mm = math.pi * (inside_mm + 2 * wire_mm) * math.cos(math.radians(angle_deg))
        hidden: float = min(1.0, carriers * wires * wire_mm / (2 * across_mm))
        return 2 * hidden - hidden**2
