"""What heat at points of the cable does to the surface, at one moment; cables are made of such."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.interpolate import CubicSpline

from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.site.heat import SPOT_MM
from cablesim.site.layers import Floor
from cablesim.site.response import LONGEST_S, settled_response, spot_response

__all__ = ["PointHeat", "above_spots", "point_heat"]

# Farther out than where the response falls to this share of its middle, it is left away.
_NEGLECTED = 1e-6


@dataclass(frozen=True, slots=True)
class PointHeat:
    """Rise of the surface around one watt in a short piece of the cable.

    Parameters
    ----------
    radii_m
        Distances from the point above it, from 0 on, shape (m,) [m].
    kelvin_per_watt
        The rise there, shape (m,) [K/W].
    """

    radii_m: FloatArray
    kelvin_per_watt: FloatArray

    @property
    def curve(self) -> CubicSpline:
        """The rise over the distance, level in the middle as it is even [K/W]."""
        return CubicSpline(self.radii_m, self.kelvin_per_watt, bc_type=((1, 0.0), (2, 0.0)))

    @property
    def reach_m(self) -> float:
        """Distance beyond which the rise need not be counted [m]."""
        near = np.flatnonzero(self.kelvin_per_watt > _NEGLECTED * self.kelvin_per_watt[0])
        return float(self.radii_m[min(near[-1] + 1, self.radii_m.size - 1)])

    def at(self, away_m: FloatArray) -> FloatArray:
        """Rise at some distances, of any shape [K/W]."""
        last = float(self.radii_m[-1])
        near: FloatArray = self.curve(np.minimum(away_m, last))
        return np.where(away_m < last, near, 0.0)

    def up_to(self, away_m: FloatArray) -> FloatArray:
        """Integral of the rise along a line from the middle to some distances [K m/W].

        The response is even, so its integral is odd.
        """
        integral: FloatArray = self.curve.antiderivative()(
            np.minimum(np.abs(away_m), self.radii_m[-1])
        )
        return np.sign(away_m) * integral


def point_heat(floor: Floor, cable_mm: float = SPOT_MM, after_s: float = math.inf) -> PointHeat:
    """Compute the rise around one watt that is left on.

    Parameters
    ----------
    floor
        Layers, depth and exchange.
    cable_mm
        Thickness of the cable, and length of the piece [mm].
    after_s
        Time since it was switched on [s]; infinite, the default, for the settled floor.

    Raises
    ------
    InputError
        If the time cannot be, or the floor never settles.
    """
    if after_s == math.inf:
        return PointHeat(*settled_response(floor, float(cable_mm)))
    require("after_s", after_s, above=0.0, at_most=LONGEST_S)
    response = spot_response(floor, float(cable_mm), float(after_s))
    return PointHeat(response.radii_m, response.surface(np.array([float(after_s)]))[0])


def above_spots(
    away_m: ArrayLike,
    watt: ArrayLike,
    floor: Floor,
    *,
    after_s: float = math.inf,
    spot_mm: float = SPOT_MM,
) -> FloatArray:
    """Rise of the surface above heat that sits at points of the cable, such as in a partial short.

    Everything is linear in the power: what the cable does besides is to be added.

    Parameters
    ----------
    away_m
        Distance of each place of the surface from the point above each spot, shape (..., spots)
        [m].
    watt
        Power of each spot, shape (spots,) [W].
    floor
        Layers, depth and exchange.
    after_s
        Time since the spots were switched on [s]; infinite, the default, for the settled floor.
    spot_mm
        Length of a spot [mm].

    Returns
    -------
    ndarray
        Shape (...,) [K].

    Raises
    ------
    InputError
        If shapes or values cannot be.

    Examples
    --------
    Two watts at one place do twice what one does:

    >>> from cablesim.site.layers import usual_floor
    >>> both = above_spots([[0.0, 0.0], [0.1, 0.1]], [1.0, 1.0], usual_floor(), after_s=600.0)
    >>> one = above_spots([[0.0], [0.1]], [2.0], usual_floor(), after_s=600.0)
    >>> bool((both == one).all()), bool(one[0] > 20 * one[1])
    (True, True)
    """
    try:
        away, power = np.asarray(away_m, dtype=float), np.asarray(watt, dtype=float)
    except (TypeError, ValueError):
        raise InputError("away_m, watt", allowed="arrays of numbers") from None
    if power.ndim != 1 or away.ndim == 0 or away.shape[-1] != power.size:
        raise InputError(
            "away_m", list(away.shape), "one distance for each spot; this is its shape"
        )
    require("away_m", away, at_least=0.0)
    require("watt", power, at_least=0.0)
    if power.size == 0:
        return np.zeros(away.shape[:-1])
    rise: FloatArray = point_heat(floor, spot_mm, after_s).at(away) @ power
    return rise
