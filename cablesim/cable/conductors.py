"""From strands, cross-section or gauge of a conductor to its diameter and resistance per metre."""

from __future__ import annotations

import math
from dataclasses import dataclass

from cablesim.cable.materials import REFERENCE_TEMPERATURE_C, Alloy
from cablesim.cable.numbers import require
from cablesim.errors import InputError

__all__ = [
    "IEC_60228_OHM_PER_KM",
    "IEC_60228_SOURCE",
    "STRANDED_LAY_FACTOR",
    "Conductor",
    "awg_diameter_mm",
    "helix_factor",
]

# Maximum resistance at 20 C of plain copper, by class and nominal cross-section [mm2] in ohm/km.
# Class 1 is solid, class 2 stranded, class 5 flexible.
IEC_60228_SOURCE = "from memory of IEC 60228"
_SOLID_OR_STRANDED = {
    0.5: 36.0,
    0.75: 24.5,
    1.0: 18.1,
    1.5: 12.1,
    2.5: 7.41,
    4.0: 4.61,
    6.0: 3.08,
    10.0: 1.83,
}
_FLEXIBLE = {
    0.5: 39.0,
    0.75: 26.0,
    1.0: 19.5,
    1.5: 13.3,
    2.5: 7.98,
    4.0: 4.95,
    6.0: 3.30,
    10.0: 1.91,
}
IEC_60228_OHM_PER_KM: dict[int, dict[float, float]] = {
    1: _SOLID_OR_STRANDED,
    2: _SOLID_OR_STRANDED,
    5: _FLEXIBLE,
}

# Strands run in helices and are 2 % longer than the conductor: from memory of ASTM B8, and of NEC
# chapter 9 table 8, where stranded conductors have 1.02 times the resistance of solid ones.
STRANDED_LAY_FACTOR = 1.02


def awg_diameter_mm(gauge: float) -> float:
    """Diameter of a solid round wire of an American wire gauge.

    Parameters
    ----------
    gauge
        Gauge number; 0 for 1/0, -1 for 2/0, -2 for 3/0, -3 for 4/0.

    Returns
    -------
    float
        Diameter [mm]: 36 AWG is 0.127 mm, and 39 gauges up it is 92 times as thick.

    Raises
    ------
    InputError
        If the number is no gauge from 4/0 to 56.

    References
    ----------
    ASTM B258 (from memory).

    Examples
    --------
    >>> round(awg_diameter_mm(14), 3)
    1.628
    """
    require("awg", gauge, at_least=-3.0, at_most=56.0)
    if gauge != int(gauge):
        raise InputError("awg", gauge, "a whole number, such as 18")
    return float(0.127 * 92.0 ** ((36.0 - gauge) / 39.0))


def helix_factor(diameter_mm: float, lay_mm: float) -> float:
    """How much longer than the cable a wire is that runs round it in a helix.

    Parameters
    ----------
    diameter_mm
        Diameter of the circle that the wire's centre describes [mm].
    lay_mm
        Length of cable on which it goes round once [mm].

    Returns
    -------
    float
        At least 1: one turn unrolled is the hypotenuse over the lay and the circumference.

    Examples
    --------
    >>> helix_factor(diameter_mm=1.0, lay_mm=16.0)
    1.0191
    """
    require("diameter_mm", diameter_mm, at_least=0.0)
    require("lay_mm", lay_mm, above=0.0)
    return math.hypot(1.0, math.pi * diameter_mm / lay_mm)


@dataclass(frozen=True, slots=True)
class Conductor:
    """A round metal conductor, solid or stranded; of which metal is said where it is asked for.

    Exactly one of `strand_mm`, `nominal_mm2` and `awg` gives its size.

    Parameters
    ----------
    strands
        Number of equal round wires.
    strand_mm
        Diameter of each wire [mm].
    nominal_mm2
        Cross-section of all wires together [mm2].
    awg
        American wire gauge: the conductor has the cross-section of a solid wire of this gauge.
    iec_class
        Class 1, 2 or 5 of IEC 60228, for a copper conductor of a nominal cross-section.
    lay_factor
        Length of a strand per length of conductor; left out, 1 for one wire and 1.02 for several.

    Raises
    ------
    InputError
        If the size is given twice or not at all, is out of all proportion, or has no such class.

    Examples
    --------
    >>> from cablesim.cable.materials import alloy
    >>> core = Conductor(strands=7, strand_mm=0.2)
    >>> round(core.area_mm2, 4), round(core.diameter_mm, 3)
    (0.2199, 0.6)
    >>> round(core.ohm_per_m(alloy("CuNi44")), 3)
    2.273
    """

    strands: int = 1
    strand_mm: float | None = None
    nominal_mm2: float | None = None
    awg: float | None = None
    iec_class: int | None = None
    lay_factor: float | None = None

    def __post_init__(self) -> None:
        sizes = {"strand_mm": self.strand_mm, "nominal_mm2": self.nominal_mm2, "awg": self.awg}
        stated = [name for name, value in sizes.items() if value is not None]
        if len(stated) != 1:
            raise InputError(
                f"the size of a conductor is given by {' and '.join(stated) or 'nothing'}",
                try_this="give one of strand_mm, nominal_mm2 and awg",
            )
        require("strands", self.strands, at_least=1.0, at_most=1000.0)
        if self.strands != int(self.strands):
            raise InputError("strands", self.strands, "a whole number")
        if self.strand_mm is not None:
            # From a wire as thin as a hair to one of 300 mm2: outside, it is another unit.
            require(
                "strand_mm",
                self.strand_mm,
                at_least=0.02,
                at_most=20.0,
                try_this="it is the diameter of one wire in millimetres, such as 0.2",
            )
        if self.nominal_mm2 is not None:
            require(
                "nominal_mm2",
                self.nominal_mm2,
                at_least=0.001,
                at_most=300.0,
                try_this="it is the cross-section in square millimetres, such as 1.5",
            )
        if self.awg is not None:
            awg_diameter_mm(self.awg)
        if self.lay_factor is not None:
            require("lay_factor", self.lay_factor, at_least=1.0, at_most=20.0)
        if self.iec_class is not None:
            self._iec_maximum()

    @property
    def area_mm2(self) -> float:
        """Cross-section of all wires together [mm2], as given or from their diameter."""
        if self.nominal_mm2 is not None:
            return self.nominal_mm2
        if self.awg is not None:
            return math.pi / 4 * awg_diameter_mm(self.awg) ** 2
        assert self.strand_mm is not None  # one of the three is given
        return self.strands * math.pi / 4 * self.strand_mm**2

    @property
    def diameter_mm(self) -> float:
        """Diameter of the circle round all wires [mm].

        Round wires in hexagonal layers round one: sqrt((4 n - 1) / 3) wires across; exact for 1, 7,
        19 and 37 wires, and a rule in between.
        """
        each_mm = math.sqrt(4 / math.pi * self.area_mm2 / self.strands)
        return each_mm * math.sqrt((4 * self.strands - 1) / 3)

    @property
    def lengthening(self) -> float:
        """Length of a strand per length of conductor, as given or as usual."""
        if self.lay_factor is not None:
            return self.lay_factor
        return 1.0 if self.strands == 1 else STRANDED_LAY_FACTOR

    @property
    def iec_maximum_ohm_per_m(self) -> float | None:
        """Most that IEC 60228 allows a copper conductor of this class and size at 20 C [ohm/m]."""
        return None if self.iec_class is None else self._iec_maximum()

    def ohm_per_m(self, metal: Alloy, temperature_c: float = REFERENCE_TEMPERATURE_C) -> float:
        """Resistance to direct current.

        A class stands for a resistance and not for a cross-section, so where one is given the
        resistance is the most that the class allows.

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

        Raises
        ------
        InputError
            If a class is given and the metal is not copper.
        """
        factor = metal.factor(temperature_c)
        if self.iec_class is None:
            straight = metal.resistivity_ohm_mm2_per_m / self.area_mm2
            return straight * self.lengthening * factor
        if metal.name != "copper":
            raise InputError(
                "iec_class",
                self.iec_class,
                f"left out for {metal.name}",
                "the classes of IEC 60228 are for copper",
            )
        return self._iec_maximum() * factor

    def _iec_maximum(self) -> float:
        table = IEC_60228_OHM_PER_KM.get(self.iec_class or 0)
        if table is None:
            raise InputError(
                "iec_class", self.iec_class, "1, 2 or 5", "these are those of IEC 60228"
            )
        if self.nominal_mm2 not in table:
            sizes = ", ".join(f"{size:g}" for size in table)
            raise InputError(
                "iec_class",
                self.iec_class,
                f"left out unless the cross-section is one of {sizes} mm2",
                "give a nominal cross-section, or leave the class out",
            )
        return table[self.nominal_mm2] / 1000.0
