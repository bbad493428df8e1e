"""Round conductors in a round screen: capacitances, insulation resistance, inductance per metre.

One homogeneous insulation fills the screen. Then conduction, charge and magnetic flux follow the
same field, and everything per metre comes from one table of capacitances: the leakage conductance
is the capacitance times conductivity over permittivity, and inductance times capacitance is
permittivity times permeability.

Lengths are in any unit, the same for all.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.insulations import Insulation
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError

__all__ = [
    "LIGHT_M_PER_S",
    "VACUUM_PERMITTIVITY_F_PER_M",
    "Partial",
    "coaxial",
    "coaxial_inductance_henry_per_m",
    "insulation_gigaohm_m",
    "partial_from_readings",
    "thin_twin",
    "twin",
]

LIGHT_M_PER_S = 299792458.0
# From memory of CODATA 2018; its last digits are of no account here.
VACUUM_PERMITTIVITY_F_PER_M = 8.8541878128e-12
# Multipoles of each core. What more of them would add falls off exponentially: where the cores'
# metal is a fifth of their radius apart, 24 leave 1e-7 of a capacitance and 48 leave 1e-12.
_MULTIPOLES = 48
_POINTS_PER_MULTIPOLE = 2


@dataclass(frozen=True, slots=True)
class Partial:
    """Partial capacitances: what would be measured with every other conductor on a guard.

    Parameters
    ----------
    core_braid_pf_per_m
        Each core to the braid [pF/m].
    core_core_pf_per_m
        Core to core [pF/m]; 0 where there is one core.
    """

    core_braid_pf_per_m: float
    core_core_pf_per_m: float


def coaxial(core_diameter: float, screen_diameter: float, relative_permittivity: float) -> Partial:
    """Capacitance of a round core in the middle of a round screen.

    Parameters
    ----------
    core_diameter
        Diameter of the metal.
    screen_diameter
        Inner diameter of the screen, in the same unit.
    relative_permittivity
        Of the insulation between.

    Returns
    -------
    Partial
        ``2 pi eps / ln(D / d)`` [pF/m].

    Raises
    ------
    InputError
        If the core does not fit into the screen.

    References
    ----------
    Any handbook, such as J. O. Bird, Electrical Circuit Theory and Technology, ch. 40.

    Examples
    --------
    >>> round(coaxial(1.0, 12.0, 2.7).core_braid_pf_per_m, 2)
    60.45
    """
    _check_core(core_diameter, relative_permittivity)
    _check_fits("screen_diameter", screen_diameter, core_diameter, "the diameter of the core")
    farad_per_m = _permittivity(relative_permittivity) * _coaxial_shape(
        core_diameter, screen_diameter
    )
    return Partial(farad_per_m * 1e12, 0.0)


def coaxial_inductance_henry_per_m(core_diameter: float, screen_diameter: float) -> float:
    """External inductance of a round core in the middle of a round screen [H/m].

    ``mu0 / (2 pi) ln(D / d)``, with ``mu0 = 1 / (eps0 c^2)``; what the current does inside the
    metal is left aside.

    Parameters
    ----------
    core_diameter, screen_diameter
        As for `coaxial`.
    """
    _check_core(core_diameter, 1.0)
    _check_fits("screen_diameter", screen_diameter, core_diameter, "the diameter of the core")
    permeability = 1.0 / (VACUUM_PERMITTIVITY_F_PER_M * LIGHT_M_PER_S**2)
    return permeability / _coaxial_shape(core_diameter, screen_diameter)


def twin(
    core_diameter: float,
    core_spacing: float,
    screen_diameter: float,
    relative_permittivity: float,
) -> Partial:
    """Partial capacitances of two equal round cores in a round screen, to many digits.

    Each core carries a charge in its middle and multipoles round it; the screen answers with their
    mirror images, so that its own potential is zero all round. Potentials round the cores settle
    how large the multipoles are. Without multipoles this is `thin_twin`.

    Parameters
    ----------
    core_diameter
        Diameter of the metal of each core.
    core_spacing
        From the middle of one core to that of the other; both lie opposite each other, equally far
        from the middle of the screen.
    screen_diameter
        Inner diameter of the screen.
    relative_permittivity
        Of the insulation between all of them.

    Returns
    -------
    Partial
        Capacitances [pF/m].

    Raises
    ------
    InputError
        If the cores touch, or do not fit into the screen.

    Notes
    -----
    The screen's image of a field ``Re F(z)`` with its sources inside ``|z| = R`` is
    ``-Re F(R^2 / conj z)``: both agree where ``|z| = R``. The two ways of charging the cores, alike
    and opposite, are solved by themselves; the first gives core to braid, the other that and twice
    core to core.

    References
    ----------
    Method of images: W. R. Smythe, Static and Dynamic Electricity, ch. 4 (from memory).

    Examples
    --------
    >>> found = twin(1.0, 2.6, 5.2, relative_permittivity=2.4)
    >>> round(found.core_braid_pf_per_m, 1), round(found.core_core_pf_per_m, 1)
    (87.6, 14.9)
    """
    _check_twin(core_diameter, core_spacing, screen_diameter, relative_permittivity)
    alike, opposite = (
        _charge(core_diameter / screen_diameter, core_spacing / screen_diameter, sign)
        for sign in (1.0, -1.0)
    )
    unit = 2 * np.pi * _permittivity(relative_permittivity) * 1e12
    return Partial(unit * alike, unit * (opposite - alike) / 2)


def thin_twin(
    core_diameter: float,
    core_spacing: float,
    screen_diameter: float,
    relative_permittivity: float,
) -> Partial:
    """Partial capacitances of two thin cores in a round screen, as the handbooks have them.

    The charge of each core sits in its middle. With d the diameter of a core, s the spacing, D the
    diameter of the screen and q = s / D, one core has ``p11 = ln((1 - q^2) D / d)`` and the other
    ``p12 = ln((1 + q^2) / (2 q))``, both over ``2 pi eps``. It is off by some (d / s)^2: use `twin`
    where that matters.

    Parameters
    ----------
    core_diameter, core_spacing, screen_diameter, relative_permittivity
        As for `twin`.

    Returns
    -------
    Partial
        Capacitances [pF/m].

    References
    ----------
    Shielded pair in Reference Data for Radio Engineers, transmission lines (from memory).
    """
    _check_twin(core_diameter, core_spacing, screen_diameter, relative_permittivity)
    q = core_spacing / screen_diameter
    own = np.log((1 - q**2) * screen_diameter / core_diameter)
    other = np.log((1 + q**2) / (2 * q))
    unit = 2 * np.pi * _permittivity(relative_permittivity) * 1e12
    alike, opposite = unit / (own + other), unit / (own - other)
    return Partial(float(alike), float(opposite - alike) / 2)


def insulation_gigaohm_m(partial: Partial, insulation: Insulation) -> float:
    """Insulation resistance times length from a core to the braid [Gohm m].

    Conduction follows the field of the capacitance: resistivity times permittivity over the
    capacitance per metre; for one core ``rho ln(D / d) / (2 pi)``.

    Parameters
    ----------
    partial
        Capacitances in this insulation.
    insulation
        The material.
    """
    seconds = insulation.volume_resistivity_ohm_m * _permittivity(insulation.relative_permittivity)
    return seconds / (partial.core_braid_pf_per_m * 1e-12) / 1e9


def partial_from_readings(
    all_to_braid: float, one_to_rest: float, *, cores: int = 2
) -> tuple[float, float]:
    """Partial capacitances of a screened cable with equal cores from two readings at its end.

    Parameters
    ----------
    all_to_braid
        All cores together to the braid.
    one_to_rest
        One core to the other cores and the braid together, in the same unit.
    cores
        How many cores there are, all placed alike.

    Returns
    -------
    tuple of float
        Each core to the braid, and each core to each other core, in the unit of the readings.

    Raises
    ------
    InputError
        If the two readings cannot belong together.

    References
    ----------
    V. K. Mehta, R. Mehta, Principles of Power System, 4th ed., ch. 11.

    Examples
    --------
    >>> partial_from_readings(12.6, 7.4, cores=3)
    (4.2, 1.6)
    """
    require("cores", cores, at_least=2.0)
    require("all_to_braid", all_to_braid, above=0.0)
    core_braid = all_to_braid / cores
    require(
        "one_to_rest",
        one_to_rest,
        at_least=core_braid,
        try_this="one core has no less to all the rest than to the braid alone; "
        "check which leads were joined",
    )
    return core_braid, (one_to_rest - core_braid) / (cores - 1)


def _permittivity(relative: float) -> float:
    return relative * VACUUM_PERMITTIVITY_F_PER_M


def _coaxial_shape(core_diameter: float, screen_diameter: float) -> float:
    return float(2 * np.pi / np.log(screen_diameter / core_diameter))


def _charge(core: float, spacing: float, sign: float) -> float:
    """Charge of the core on the right, at a potential of 1, in units of 2 pi eps.

    The core on the left is at `sign`. Lengths are in diameters of the screen, whose radius is 1.
    """
    radius, centre = core, spacing
    half_turn = np.linspace(0.0, np.pi, _POINTS_PER_MULTIPOLE * _MULTIPOLES)
    # The axis through both cores is one of symmetry, so half of the round is enough.
    z = centre + radius * np.exp(1j * half_turn)
    fields = [_source(z, centre, radius, n) for n in range(_MULTIPOLES)]
    mirrored = [_source(-z, centre, radius, n) for n in range(_MULTIPOLES)]
    table = np.stack(fields, axis=-1) + sign * np.stack(mirrored, axis=-1)
    strengths, *_ = np.linalg.lstsq(table, np.ones(len(z)))
    return float(strengths[0])


def _source(z: NDArray[np.complex128], centre: float, radius: float, order: int) -> FloatArray:
    """Potential at z of one source at a real centre, with its image in the screen of radius 1."""
    image = 1.0 / np.conj(z)
    if order == 0:
        # The image of a charge also needs one in the middle, which makes the screen neutral ground.
        return np.asarray(np.log(np.abs(1.0 - centre * z) / np.abs(z - centre)))
    return np.asarray(
        np.real((radius / (z - centre)) ** order) - np.real((radius / (image - centre)) ** order)
    )


def _check_core(core_diameter: float, relative_permittivity: float) -> None:
    require("core_diameter", core_diameter, above=0.0)
    require("relative_permittivity", relative_permittivity, at_least=1.0, at_most=1000.0)


def _check_fits(name: str, value: float, least: float, what: str) -> None:
    require(name, value, above=0.0)
    if value <= least:
        raise InputError(name, value, f"more than {what}, {least:.4g}")


def _check_twin(
    core_diameter: float,
    core_spacing: float,
    screen_diameter: float,
    relative_permittivity: float,
) -> None:
    _check_core(core_diameter, relative_permittivity)
    _check_fits("core_spacing", core_spacing, core_diameter, "the diameter of a core")
    widest = core_spacing + core_diameter
    _check_fits("screen_diameter", screen_diameter, widest, "both cores side by side")
