"""A mesh of rings around the vertical axis through a hot spot, finest at the spot."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.site.layers import Floor

__all__ = ["Mesh", "mesh_of", "reach_m", "settled_reach_m"]

# Cells across the spot's radius on the coarsest mesh, and growth of a cell per metre of distance.
_ACROSS, _GROWTH = 4, 0.15
# Diffusion lengths sqrt(4 a t) that the mesh spans: exp(-5^2) of the heat would get farther.
_LENGTHS = 5.0
# e-folds of a settled floor that it spans.
_FOLDS = 14.0


@dataclass(frozen=True, slots=True)
class Mesh:
    """Rings between radii and depths.

    Parameters
    ----------
    radius_faces_m, depth_faces_m
        Faces of the cells, from the axis outwards and from the surface downwards [m].
    spot_radius_m
        Radius of the cylinder that gives off the heat [m].
    spot_depths_m
        Its upper and lower end [m].
    """

    radius_faces_m: FloatArray
    depth_faces_m: FloatArray
    spot_radius_m: float
    spot_depths_m: tuple[float, float]

    @property
    def radii_m(self) -> FloatArray:
        """Middles of the rings [m]."""
        middles: FloatArray = (self.radius_faces_m[:-1] + self.radius_faces_m[1:]) / 2
        return middles

    @property
    def depths_m(self) -> FloatArray:
        """Middles of the slices [m]."""
        middles: FloatArray = (self.depth_faces_m[:-1] + self.depth_faces_m[1:]) / 2
        return middles


def mesh_of(floor: Floor, spot_mm: float, reach: float, halvings: int = 0) -> Mesh:
    """Mesh a floor around a hot spot.

    Every layer's face and both ends of the spot are faces of the mesh. Each halving cuts every
    cell in two both ways along one smooth grading, so that errors fall by four.

    Parameters
    ----------
    floor
        The layers and the depth of the cable.
    spot_mm
        Length of the hot spot, which is a cylinder as high as wide [mm].
    reach
        Outer radius [m].
    halvings
        How often the coarsest mesh is halved.
    """
    radius = spot_mm / 2000.0
    whole = floor.thickness_mm / 1000.0
    top = max(floor.depth_mm / 1000.0 - radius, 0.0)
    top = min(top, max(whole - 2 * radius, 0.0))
    spot = (top, min(top + 2 * radius, whole))
    bounds = np.cumsum([0.0, *(layer.thickness_mm / 1000.0 for layer in floor.layers)])
    # Where a layer ends within a hair of the spot's end, the two are one face.
    hair = 1e-3 * radius
    ends = [end for end in spot if np.abs(bounds - end).min() > hair]
    breaks = np.sort(np.concatenate([bounds, ends]))
    size = radius / _ACROSS
    return Mesh(
        _faces(np.array([0.0, radius, max(reach, 2 * radius)]), (0.0, radius), size, halvings),
        _faces(breaks, spot, size, halvings),
        radius,
        spot,
    )


def reach_m(floor: Floor, until_s: float) -> float:
    """Radius that the heat of a spot does not leave until then [m]."""
    fastest = max(layer.diffusivity_m2_per_s for layer in floor.layers)
    spread = _LENGTHS * math.sqrt(4 * fastest * until_s) + floor.depth_mm / 1000.0
    return min(spread, settled_reach_m(floor))


def settled_reach_m(floor: Floor) -> float:
    """Radius beyond which a settled floor stays cold [m]; infinite where nothing takes heat away.

    Along a thin sheet of conductance k d that loses h per square metre, warmth falls off over
    sqrt(k d / h).
    """
    exchange = floor.surface_w_per_m2_k + floor.underside_w_per_m2_k
    if exchange == 0.0:
        return math.inf
    sheet = math.fsum(
        layer.conductivity_w_per_m_k * layer.thickness_mm / 1000.0 for layer in floor.layers
    )
    return _FOLDS * (math.sqrt(sheet / exchange) + floor.thickness_mm / 1000.0)


def _faces(breaks: FloatArray, spot: tuple[float, float], size: float, halvings: int) -> FloatArray:
    """Faces between the breaks, whose spacing is `size` at the spot and grows with the distance."""
    pieces = [breaks[:1]]
    for low, high in pairwise(breaks):
        ends = _steps(np.array([low, high]), spot, size)
        cells = max(2, math.ceil(ends[1] - ends[0])) << halvings
        inner = _unsteps(np.linspace(ends[0], ends[1], cells + 1), spot, size)
        inner[-1] = high
        pieces.append(inner[1:])
    return np.concatenate(pieces)


def _steps(place: FloatArray, spot: tuple[float, float], size: float) -> FloatArray:
    """Count the cells from the spot's upper end to a place, as a real number."""
    low, high = spot
    inside = (np.clip(place, low, high) - low) / size
    above = np.log1p(_GROWTH * np.maximum(low - place, 0.0) / size) / _GROWTH
    below = np.log1p(_GROWTH * np.maximum(place - high, 0.0) / size) / _GROWTH
    counted: FloatArray = inside - above + below
    return counted


def _unsteps(count: FloatArray, spot: tuple[float, float], size: float) -> FloatArray:
    """Undo `_steps`."""
    low, high = spot
    across = (high - low) / size
    inside = low + np.clip(count, 0.0, across) * size
    above = np.expm1(_GROWTH * np.maximum(-count, 0.0)) * size / _GROWTH
    below = np.expm1(_GROWTH * np.maximum(count - across, 0.0)) * size / _GROWTH
    place: FloatArray = inside - above + below
    return place
