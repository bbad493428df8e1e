"""What one watt at a spot in the cable does to the surface, as a function of time and radius."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from scipy.interpolate import CubicSpline

from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.site.conduction import Network, network_of, settled, surface_of
from cablesim.site.layers import Floor
from cablesim.site.marching import Course, march
from cablesim.site.mesh import mesh_of, reach_m, settled_reach_m

__all__ = ["LONGEST_S", "SpotResponse", "settled_response", "spot_response"]

LONGEST_S = 30 * 86400.0
# The correction by extrapolation may change a value by no more than this share: far out, where both
# meshes show next to nothing, it would otherwise make a rise negative.
_MOST_CORRECTION = 0.5
# Moments times switches times columns that are worked on at once, to bound the memory.
_AT_ONCE = 200_000


@dataclass(frozen=True, slots=True)
class SpotResponse:
    """Rise for one watt, switched on at time 0 and left on.

    Two meshes are marched, the second with every cell halved both ways. The error of finite volumes
    falls by four between them, so a third of their difference is taken off the finer one, and is
    stated as the error.

    Parameters
    ----------
    floor, spot_mm
        What it is the response of.
    until_s
        Last moment [s].
    radii_m
        Distances from the point above the spot [m], from 0 on; shape (m,).
    fine, coarse
        Courses of the surface at `radii_m` and, last, of the spot's own mean, for one watt [K/W].
    """

    floor: Floor
    spot_mm: float
    until_s: float
    radii_m: FloatArray
    fine: Course
    coarse: Course

    def surface(self, times_s: FloatArray) -> FloatArray:
        """Rise of the surface, shape (len(times_s), m) [K/W]; zero before time 0."""
        return self.rise(times_s, slice(None, -1))[0]

    def centre(self, times_s: FloatArray | float) -> FloatArray:
        """Rise of the surface straight above the spot, shape of `times_s` [K/W]."""
        rise, _ = self.rise(np.ravel(times_s), slice(0, 1))
        return rise.reshape(np.shape(times_s))

    def rise(self, times_s: FloatArray, columns: slice) -> tuple[FloatArray, FloatArray]:
        """Rise of some columns, and what was added to it by extrapolation.

        Parameters
        ----------
        times_s
            Moments, shape (n,) [s].
        columns
            Which of the radii; the last column is the mean of the spot itself.

        Returns
        -------
        rise, correction
            Shape (n, number of columns) [K/W].
        """
        late = np.maximum(times_s, 0.0)
        return _extrapolated(self.fine.at(late, columns), self.coarse.at(late, columns))

    def after(
        self, switches: FloatArray, times_s: FloatArray, columns: slice
    ) -> tuple[FloatArray, FloatArray]:
        """Superpose the responses to a power that is switched.

        Parameters
        ----------
        switches
            Moments [s] and by how much the power changes then [W], shape (k, 2).
        times_s
            Moments to look at, shape (n,) [s].
        columns
            As for `rise`.

        Returns
        -------
        rise, error
            Rise, and what mesh and steps may have it off by; shape (n, number of columns) [K].
        """
        wide = len(range(*columns.indices(self.radii_m.size + 1)))
        rows = max(1, _AT_ONCE // (len(switches) * wide))
        parts = [
            self._superposed(switches, times_s[start : start + rows], columns)
            for start in range(0, times_s.size, rows)
        ]
        rise, correction = (np.concatenate(part) for part in zip(*parts, strict=True))
        steps = self.fine.error * float(np.abs(np.cumsum(switches[:, 1])).max())
        return rise, np.abs(correction) + steps

    def _superposed(
        self, switches: FloatArray, times_s: FloatArray, columns: slice
    ) -> tuple[FloatArray, FloatArray]:
        since = times_s[:, np.newaxis] - switches[:, 0]
        # Before its switch a response is zero, as it is at time 0.
        both = [
            np.einsum("tkc,k->tc", part.reshape(*since.shape, -1), switches[:, 1])
            for part in self.rise(since.ravel(), columns)
        ]
        return both[0], both[1]


@lru_cache(maxsize=16)
def spot_response(floor: Floor, spot_mm: float = 5.0, until_s: float = 600.0) -> SpotResponse:
    """Compute the rise for one watt at a spot in the cable.

    Parameters
    ----------
    floor
        Layers, depth and exchange.
    spot_mm
        Length of the hot spot, a cylinder as high as it is wide around the cable's axis [mm].
    until_s
        Last moment that will be asked for [s].

    Raises
    ------
    InputError
        If the spot does not fit into the floor, or a value is out of range.

    Examples
    --------
    >>> from cablesim.site.layers import usual_floor
    >>> response = spot_response(usual_floor(), until_s=60.0)
    >>> round(float(response.centre(60.0)), 2)
    1.1
    """
    check_spot(floor, spot_mm)
    require("until_s", until_s, above=0.0, at_most=LONGEST_S)
    reach = reach_m(floor, until_s)
    networks = [network_of(floor, mesh_of(floor, spot_mm, reach, k)) for k in (0, 1)]
    radii_m = np.append(0.0, networks[1].mesh.radii_m)
    coarse, fine = (_course(network, radii_m, until_s) for network in networks)
    return SpotResponse(floor, spot_mm, until_s, radii_m, fine, coarse)


@lru_cache(maxsize=16)
def settled_response(floor: Floor, spot_mm: float = 5.0) -> tuple[FloatArray, FloatArray]:
    """Compute the rise for one watt that is left on for ever.

    Parameters
    ----------
    floor, spot_mm
        As for `spot_response`.

    Returns
    -------
    radii_m, rise
        Distances [m] and the surface's rise there [K/W].

    Raises
    ------
    InputError
        If the floor gives up no heat, so that it never settles.
    """
    check_spot(floor, spot_mm)
    reach = settled_reach_m(floor)
    if math.isinf(reach):
        raise InputError(
            "a floor that gives up no heat on either side never settles",
            try_this="give it an exchange with the room, such as 10.8 W/(m2 K), or a time",
        )
    networks = [network_of(floor, mesh_of(floor, spot_mm, reach, k)) for k in (0, 1)]
    radii_m = np.append(0.0, networks[1].mesh.radii_m)
    coarse, fine = (
        surface_of(net, settled(net)) @ _between(net.mesh.radii_m, radii_m).T for net in networks
    )
    return radii_m, _extrapolated(fine, coarse)[0]


def check_spot(floor: Floor, spot_mm: float) -> None:
    """Refuse a spot that is no length, or higher than the floor.

    Raises
    ------
    InputError
        Naming what is allowed.
    """
    require("spot_mm", spot_mm, at_least=0.1, at_most=100.0)
    if spot_mm > floor.thickness_mm:
        raise InputError(
            "spot_mm", spot_mm, f"at most the floor's thickness of {floor.thickness_mm:g} mm"
        )


def _course(network: Network, radii_m: FloatArray, until_s: float) -> Course:
    between = _between(network.mesh.radii_m, radii_m).T

    def watch(rise: FloatArray) -> FloatArray:
        spot = rise @ network.source
        return np.concatenate([surface_of(network, rise) @ between, spot[..., np.newaxis]], axis=-1)

    return march(network, [(until_s, 1.0)], watch)


def _between(rings_m: FloatArray, radii_m: FloatArray) -> FloatArray:
    """Matrix from values in rings to values at radii: a cubic that is even about the axis."""
    known = np.concatenate([-rings_m[::-1], rings_m])
    one = np.eye(rings_m.size)
    matrix: FloatArray = CubicSpline(known, np.concatenate([one[::-1], one]))(radii_m)
    return matrix


def _extrapolated(fine: FloatArray, coarse: FloatArray) -> tuple[FloatArray, FloatArray]:
    correction = (fine - coarse) / 3.0
    most = _MOST_CORRECTION * np.abs(fine)
    return fine + np.clip(correction, -most, most), correction
