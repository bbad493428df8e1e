"""Absorption: the current that insulation goes on drawing long after its capacitance is charged.

An insulation of constant loss tangent is a constant-phase element. Its admittance goes with the
power ``n`` of the frequency where ``tan(delta) = tan((1 - n) pi / 2)``, and a voltage put across it
draws a current that falls with the power ``-n`` of the time,

    ``i(t) = beta C V t^-n``,    ``beta = w0^(1 - n) / (sin(n pi / 2) Gamma(1 - n))``

with ``C`` the capacitance at the angular frequency ``w0``. One number, the loss tangent, so gives
both what a capacitance meter and what an insulation tester sees. The law of the falling current is
that of Curie and von Schweidler; the constant-phase element and its step response: from memory of
A. K. Jonscher, Dielectric Relaxation in Solids (1983).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import CAPACITANCE_FREQUENCY_HZ, Cable
from cablesim.cable.medium import Medium
from cablesim.cable.numbers import Real, require

__all__ = [
    "LEAST_EXPONENT",
    "Absorption",
    "absorption_of",
    "corrected_to_temperature",
    "exponent_of",
    "factor_of",
    "loss_tangent_of",
]

# A dielectric that holds its current longer than this is not one any more.
LEAST_EXPONENT = 0.3
# Insulation resistance halves when it is this much warmer: from memory of IEEE 43, which says so of
# windings; for cables common practice, no source.
_HALVED_BY_K = 10.0


@dataclass(frozen=True, slots=True, eq=False)
class Absorption:
    """A power law of the absorption current, for each farad and volt.

    Parameters
    ----------
    exponent
        ``n``: how fast the current falls; from 0.3 to 1.
    factor
        ``beta``: current at 1 s for each farad and volt [s^(n - 1)]; 0 where nothing is absorbed.
    """

    exponent: Real
    factor: Real

    def __post_init__(self) -> None:
        require("absorption_exponent", self.exponent, at_least=LEAST_EXPONENT, at_most=1.0)
        require("absorption_factor", self.factor, at_least=0.0)

    def siemens_per_farad(self, seconds: Real) -> Real:
        """Current after a step of one volt for each farad [S/F].

        Parameters
        ----------
        seconds
            Time since the voltage was put on [s]; infinite for never again.

        Examples
        --------
        >>> round(float(Absorption(0.8, 0.02).siemens_per_farad(60.0)), 7)
        0.000756
        """
        require("seconds", seconds, above=0.0, infinite=True)
        fallen: Real = self.factor * np.asarray(seconds, float) ** (-self.exponent)
        return fallen


def exponent_of(loss_tangent: Real) -> Real:
    """Exponent of the absorption current of an insulation of constant loss tangent.

    Parameters
    ----------
    loss_tangent
        Loss tangent, at least 0.

    Examples
    --------
    >>> round(float(exponent_of(0.07)), 4)
    0.9555
    """
    require("loss_tangent", loss_tangent, at_least=0.0)
    found: Real = 1.0 - 2.0 / np.pi * np.arctan(loss_tangent)
    return found


def loss_tangent_of(exponent: Real) -> Real:
    """Loss tangent of an insulation whose absorption current falls with this exponent.

    >>> round(float(loss_tangent_of(exponent_of(0.07))), 12)
    0.07
    """
    require("absorption_exponent", exponent, above=0.0, at_most=1.0)
    found: Real = np.tan((1.0 - exponent) * np.pi / 2)
    return found


def factor_of(exponent: Real) -> Real:
    """Factor ``beta`` of a constant-phase insulation with this exponent [s^(n - 1)].

    It is 0 for an exponent of 1: a capacitor without loss absorbs nothing.
    """
    require("absorption_exponent", exponent, at_least=LEAST_EXPONENT, at_most=1.0)
    rest = 1.0 - np.asarray(exponent, float)
    # 1 / Gamma(x) = x / Gamma(1 + x) also where x is 0.
    gamma = np.vectorize(math.gamma, otypes=[float])(1.0 + rest)
    found: Real = (
        (2 * np.pi * CAPACITANCE_FREQUENCY_HZ) ** rest * rest / gamma / np.cos(rest * np.pi / 2)
    )
    return found


def absorption_of(cable: Cable | Medium) -> Absorption:
    """Absorption of a cable's insulation: from its loss tangent, unless it is stated.

    Parameters
    ----------
    cable
        The cable, whose heated part then counts, or the medium of one of its parts.

    Examples
    --------
    >>> cable = Cable.rated("twin", 30.0, 88.2, loss_tangent=0.07)
    >>> found = absorption_of(cable)
    >>> round(float(found.exponent), 4), round(float(found.factor), 4)
    (0.9555, 0.0674)
    """
    exponent = cable.absorption_exponent
    if exponent is None:
        exponent = exponent_of(cable.loss_tangent)
    factor = cable.absorption_factor
    return Absorption(exponent, factor_of(exponent) if factor is None else factor)


def corrected_to_temperature(resistance: Real, at_c: float, to_c: float = 20.0) -> Real:
    """Insulation resistance as it would be read at another temperature.

    It halves for every 10 K that the insulation is warmer: from memory of IEEE 43, which says so of
    windings; for cables common practice, no source. Some polymers fall faster.

    Parameters
    ----------
    resistance
        As read [ohm, or any unit of it].
    at_c, to_c
        Temperature of the insulation when it was read, and the one wanted [C].

    Returns
    -------
    float or ndarray
        In the unit of `resistance`.

    Examples
    --------
    >>> corrected_to_temperature(100.0, at_c=40.0)
    400.0
    """
    require("resistance", resistance, at_least=0.0, infinite=True)
    for name, value in (("at_c", at_c), ("to_c", to_c)):
        require(name, value, at_least=-60.0, at_most=250.0)
    found: Real = resistance * 2.0 ** ((at_c - to_c) / _HALVED_BY_K)
    return found
