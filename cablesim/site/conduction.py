"""Finite volumes of a layered floor around a hot spot: what warms, what conducts, what is lost."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.sparse import csc_matrix, diags
from scipy.sparse.linalg import splu

from cablesim.cable.numbers import FloatArray
from cablesim.site.layers import Floor
from cablesim.site.mesh import Mesh

__all__ = ["Network", "network_of", "settled", "surface_of"]


@dataclass(frozen=True, slots=True)
class Network:
    """Cells as a network of heat: ``mass dT/dt = watt source - stiffness T``.

    A cell has the number ``ring * slices + slice``.

    Parameters
    ----------
    mesh
        The cells.
    mass_j_per_k
        Heat capacity of each cell [J/K].
    stiffness_w_per_k
        Conduction between cells and loss to both sides [W/K]; symmetric.
    source
        Share of the spot's power that each cell gets; sums to one.
    surface_loss_w_per_k, underside_loss_w_per_k
        Heat that each cell gives up to the room and below [W/K].
    surface_share
        Rise of the surface over that of the highest cell.
    """

    mesh: Mesh
    mass_j_per_k: FloatArray
    stiffness_w_per_k: csc_matrix
    source: FloatArray
    surface_loss_w_per_k: FloatArray
    underside_loss_w_per_k: FloatArray
    surface_share: float

    @property
    def rings(self) -> int:
        """Number of rings."""
        return self.mesh.radius_faces_m.size - 1

    @property
    def slices(self) -> int:
        """Number of slices."""
        return self.mesh.depth_faces_m.size - 1


def network_of(floor: Floor, mesh: Mesh) -> Network:
    """Set up the balance of every cell.

    Between slices the halves of two cells conduct in series, so that heat straight through the
    layers is exact whatever the mesh. The outer radius is insulated.

    Parameters
    ----------
    floor
        Layers and exchange.
    mesh
        Cells; the layers' faces are faces of it.
    """
    conductivity, capacity = _by_slice(floor, mesh.depths_m)
    r, z = mesh.radius_faces_m, mesh.depth_faces_m
    area = np.pi * np.diff(r * r)
    high = np.diff(z)
    rings, slices = area.size, high.size

    outward = 2 * np.pi * r[1:-1] / np.diff(mesh.radii_m)
    sideways = np.multiply.outer(outward, conductivity * high)
    half = high / 2 / conductivity  # m2 K/W of half a slice
    downward = np.multiply.outer(area, 1.0 / (half[:-1] + half[1:]))

    surface = np.zeros((rings, slices))
    under = np.zeros((rings, slices))
    surface[:, 0] = area * _through(half[0], floor.surface_w_per_m2_k)
    under[:, -1] = area * _through(half[-1], floor.underside_w_per_m2_k)

    diagonal = surface + under
    diagonal[:-1] += sideways
    diagonal[1:] += sideways
    diagonal[:, :-1] += downward
    diagonal[:, 1:] += downward
    beside = np.zeros((rings, slices))
    beside[:, :-1] = -downward
    near = beside.ravel()[:-1]
    far = -sideways.ravel()
    stiffness = diags([diagonal.ravel(), near, near, far, far], [0, 1, -1, slices, -slices])

    top, bottom = mesh.spot_depths_m
    hot = np.multiply.outer(
        area * (mesh.radii_m < mesh.spot_radius_m),
        high * ((mesh.depths_m > top) & (mesh.depths_m < bottom)),
    )
    return Network(
        mesh,
        np.multiply.outer(area, high * capacity).ravel(),
        csc_matrix(stiffness),
        (hot / hot.sum()).ravel(),
        surface.ravel(),
        under.ravel(),
        1.0 / (1.0 + half[0] * floor.surface_w_per_m2_k),
    )


def surface_of(network: Network, values: FloatArray) -> FloatArray:
    """Rise of the surface in each ring, from values of all cells along the last axis [K]."""
    grid = values.reshape(*values.shape[:-1], network.rings, network.slices)
    surface: FloatArray = grid[..., 0] * network.surface_share
    return surface


def settled(network: Network) -> FloatArray:
    """Rise of each cell that one watt leads to in the end [K/W]."""
    solve = splu(network.stiffness_w_per_k, permc_spec="MMD_AT_PLUS_A").solve
    rise: FloatArray = solve(network.source)
    return rise


def _through(half: float, exchange: float) -> float:
    """Conductance from the middle of a slice to what lies outside [W/(m2 K)]."""
    return exchange / (1.0 + half * exchange)


def _by_slice(floor: Floor, depths_m: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Conductivity [W/(m K)] and heat capacity [J/(m3 K)] of each slice."""
    ends = np.cumsum([layer.thickness_mm / 1000.0 for layer in floor.layers])
    place = np.minimum(np.searchsorted(ends, depths_m), len(floor.layers) - 1)
    conductivity = np.array([layer.conductivity_w_per_m_k for layer in floor.layers])
    capacity = np.array([layer.capacity_j_per_m3_k for layer in floor.layers])
    return conductivity[place], capacity[place]
