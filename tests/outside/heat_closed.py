"""Closed forms of heat conduction, and the exact layered floor by integral transforms.

None of it uses the product. A point source in an insulated half space has its image above the
surface, which doubles the rise at the surface; sources are averaged over the product's cylinder.
"""

from __future__ import annotations

import numpy as np
from scipy.special import erfc, exp1, j0, j1

CARSLAW = "H. S. Carslaw, J. C. Jaeger, Conduction of Heat in Solids, 10.4 (from memory)"


def continuous_point(distance_m, time_s, conductivity, diffusivity):
    """Rise for one watt that has been on for some time, in an infinite solid [K]."""
    spread = np.sqrt(4 * diffusivity * time_s)
    return erfc(distance_m / spread) / (4 * np.pi * conductivity * distance_m)


def instantaneous_point(distance_m, time_s, capacity, diffusivity):
    """Rise some time after one joule, in an infinite solid [K]."""
    four = 4 * diffusivity * time_s
    return np.exp(-(distance_m**2) / four) / (capacity * (np.pi * four) ** 1.5)


def continuous_line(distance_m, time_s, conductivity, diffusivity):
    """Rise for one watt per metre that has been on for some time, in an infinite solid [K]."""
    return exp1(distance_m**2 / (4 * diffusivity * time_s)) / (4 * np.pi * conductivity)


def over_cylinder(radius_m, half_m, depth_m, away_m, of_distance, *, line=False, points=6):
    """Average of a function of distance over a cylinder around the axis, seen from the surface.

    For a line the distance is that from the line through each place of the cylinder.
    """
    nodes, weight = np.polynomial.legendre.leggauss(points)
    # Equal areas: the square of the radius is uniform.
    inside = radius_m * np.sqrt((nodes + 1) / 2)
    heights = depth_m + half_m * nodes
    angles = (np.arange(16) + 0.5) * np.pi / 16
    total = 0.0
    for r, by_r in zip(inside, weight, strict=True):
        for z, by_z in zip(heights, weight, strict=True):
            across = (away_m - r * np.cos(angles)) ** 2
            if not line:
                across += (r * np.sin(angles)) ** 2
            total += by_r * by_z / 4 * np.mean(of_distance(np.sqrt(across + z * z)))
    return total


def layered_surface(layers, exchange, under, spot, radius_m, away_m, times_s, *, terms=1500):
    """Rise of the surface of a layered floor for one watt in a buried cylinder [K].

    Hankel transform over the radius, Laplace transform over time: in each layer the rise is a sum
    of two exponentials, and the layers are joined by their admittances from below. By reciprocity
    the rise of the surface for heat at a depth is the rise at that depth for heat on the surface.

    layers: (thickness m, conductivity, capacity J/m3K); spot: upper and lower end [m].
    An infinite time is the settled floor.
    """
    nodes, weight = np.polynomial.legendre.leggauss(terms)
    highest = 30.0 / max(spot[0], radius_m)
    wave, by_wave = highest * (nodes + 1) / 2, highest * weight / 2
    shape = wave * j0(wave * away_m) * 2 * j1(wave * radius_m) / (wave * radius_m)
    depths, by_depth = np.polynomial.legendre.leggauss(5)
    depths = spot[0] + (spot[1] - spot[0]) * (depths + 1) / 2

    def transformed(s):
        inside = sum(
            b / 2 * _at_depth(layers, exchange, under, d, wave, s)
            for d, b in zip(depths, by_depth, strict=True)
        )
        return (shape * by_wave * inside).sum() / (2 * np.pi)

    found = []
    for time_s in times_s:
        if np.isinf(time_s):
            found.append(transformed(0.0).real)
        else:
            found.append(_talbot(lambda s: transformed(s) / s, time_s))
    return np.array(found)


def _at_depth(layers, exchange, under, depth, wave, s):
    """Rise at a depth for a flux of one on the surface, of one wave number."""
    below = np.full(wave.shape, under, dtype=complex)
    stack = []
    for thickness, conductivity, capacity in reversed(layers):
        gamma = np.sqrt(wave**2 + s * capacity / conductivity + 0j)
        own = conductivity * gamma
        bounce = (own - below) / (own + below)
        stack.append((thickness, gamma, bounce))
        fading = bounce * np.exp(-2 * gamma * thickness)
        below = own * (1 - fading) / (1 + fading)
    rise = 1.0 / (exchange + below)
    for thickness, gamma, bounce in reversed(stack):
        there = min(depth, thickness)
        down = np.exp(-gamma * there) + bounce * np.exp(-gamma * (2 * thickness - there))
        rise = rise * down / (1 + bounce * np.exp(-2 * gamma * thickness))
        depth -= thickness
        if depth <= 0:
            return rise
    raise AssertionError("deeper than the floor")


def _talbot(transformed, time_s, terms=24):
    """Invert a Laplace transform (fixed Talbot; J. Abate, P. P. Valko 2004, from memory)."""
    r = 2 * terms / (5 * time_s)
    total = 0.5 * np.exp(r * time_s) * transformed(r).real
    for k in range(1, terms):
        angle = k * np.pi / terms
        cot = 1 / np.tan(angle)
        s = r * angle * (cot + 1j)
        turn = 1 + 1j * (angle + (angle * cot - 1) * cot)
        total += (np.exp(s * time_s) * transformed(s) * turn).real
    return r / terms * total
