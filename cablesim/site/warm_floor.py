"""The warm and the cold floor above an energised cable: responses of all its places added up."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike
from scipy.ndimage import map_coordinates
from scipy.signal import oaconvolve

from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.site.heat import SPOT_MM
from cablesim.site.layers import Floor
from cablesim.site.point_heat import point_heat

__all__ = ["above_cable", "cut_route", "floor_image", "rise_at", "warm_stretches"]

# Lattice points within the depth of the source: enough for cubic weights to hold a few 1e-4.
_PER_DEPTH = 3.0
_MOST_POINTS = 6_000_000
_GAUSS = (np.array([-1.0, 1.0]) / math.sqrt(3.0) + 1.0) / 2.0
_BORDER = 4  # lattice points around all that is asked for


def above_cable(
    edges_m: ArrayLike,
    watt_per_m: ArrayLike,
    floor: Floor,
    at_m: ArrayLike,
    *,
    after_s: float = math.inf,
    cable_mm: float = SPOT_MM,
) -> FloatArray:
    """Rise of the surface straight above a cable that lies stretched, far from other runs.

    Parameters
    ----------
    edges_m
        Ends of the pieces of equal power along the cable, ascending, shape (n + 1,) [m].
    watt_per_m
        Power of each piece, shape (n,) [W/m].
    floor
        Layers, depth and exchange.
    at_m
        Where to look, along the cable, shape (k,) [m].
    after_s
        Time since it was energised [s]; infinite, the default, for the settled floor.
    cable_mm
        Thickness of the cable [mm].

    Returns
    -------
    ndarray
        Rise of the surface, shape (k,) [K].

    Raises
    ------
    InputError
        If shapes or values cannot be.

    Examples
    --------
    A cable of 15 W/m that is dead beyond 12 m:

    >>> from cablesim.site.layers import usual_floor
    >>> rise = above_cable([0, 12, 30], [15, 0], usual_floor(), [6, 11.9, 12, 13])
    >>> float(rise[2] / rise[0]), bool(rise[3] < 0.01 * rise[0])
    (0.5, True)
    """
    edges = _array("edges_m", edges_m, 1)
    power = _array("watt_per_m", watt_per_m, 1)
    places = _array("at_m", at_m, 1)
    if edges.size != power.size + 1 or power.size == 0:
        raise InputError("edges_m", edges.size, f"{power.size + 1} numbers, one more than powers")
    if (np.diff(edges) <= 0.0).any():
        raise InputError("edges_m", allowed="ascending")
    require("watt_per_m", power, at_least=0.0)
    away = edges[np.newaxis, :] - places[:, np.newaxis]
    summed = point_heat(floor, cable_mm, after_s).up_to(away)
    warm: FloatArray = np.diff(summed, axis=1) @ power
    return warm


def warm_stretches(
    at_m: ArrayLike, rise_kelvin: ArrayLike, kelvin: float
) -> list[tuple[float, float]]:
    """Stretches that a camera shows warm.

    Parameters
    ----------
    at_m, rise_kelvin
        Places along the cable, ascending [m], and the rise there [K], shape (n,).
    kelvin
        Smallest rise that counts as warm [K].

    Returns
    -------
    list of (float, float)
        Start and end of each, straight between two places [m].

    Examples
    --------
    >>> warm_stretches([0, 1, 2, 3], [4.0, 4.0, 0.0, 0.0], 1.0)
    [(0.0, 1.75)]
    """
    places = _array("at_m", at_m, 1)
    rise = _array("rise_kelvin", rise_kelvin, 1)
    require("kelvin", kelvin, above=0.0)
    if places.size != rise.size:
        raise InputError("rise_kelvin", rise.size, f"{places.size} numbers, one for each place")
    warm = rise >= kelvin
    stretches: list[tuple[float, float]] = []
    for k in np.flatnonzero(warm).tolist():
        place = float(places[k])
        if k > 0 and warm[k - 1]:
            start = stretches.pop()[0]
        else:
            start = _crossing(places, rise, kelvin, k - 1) if k > 0 else place
        last = k == places.size - 1 or warm[k + 1]
        stretches.append((start, place if last else _crossing(places, rise, kelvin, k)))
    return stretches


def cut_route(
    points_xy_m: ArrayLike, edges_m: ArrayLike, watt_per_m: ArrayLike
) -> tuple[FloatArray, FloatArray]:
    """Lay power along the cable onto its route.

    Parameters
    ----------
    points_xy_m
        The route from the cold joint on, shape (n, 2) [m].
    edges_m, watt_per_m
        As for `above_cable`; what lies beyond either end of the route is left away.

    Returns
    -------
    points_xy_m, watt_per_m
        The route with a point at every edge, shape (k + 1, 2), and the power of each of its
        segments, shape (k,), as `floor_image` takes them.

    Raises
    ------
    InputError
        If shapes or values cannot be.

    Examples
    --------
    >>> points, power = cut_route([[0, 0], [2, 0]], [0, 0.5, 2], [10, 0])
    >>> points.tolist(), power.tolist()
    ([[0.0, 0.0], [0.5, 0.0], [2.0, 0.0]], [10.0, 0.0])
    """
    points = _route(points_xy_m)
    edges = _array("edges_m", edges_m, 1)
    power = _array("watt_per_m", watt_per_m, 1)
    if edges.size != power.size + 1 or power.size == 0:
        raise InputError("edges_m", edges.size, f"{power.size + 1} numbers, one more than powers")
    if (np.diff(edges) <= 0.0).any():
        raise InputError("edges_m", allowed="ascending")
    along = np.append(0.0, np.cumsum(np.linalg.norm(np.diff(points, axis=0), axis=1)))
    inside = edges[(edges > 0.0) & (edges < along[-1])]
    stops = np.union1d(along, inside)
    cut = np.stack([np.interp(stops, along, points[:, axis]) for axis in (0, 1)], axis=1)
    middle = (stops[:-1] + stops[1:]) / 2
    piece = np.searchsorted(edges, middle) - 1
    known = (piece >= 0) & (piece < power.size)
    return cut, np.where(known, power[np.clip(piece, 0, power.size - 1)], 0.0)


def floor_image(
    points_xy_m: ArrayLike,
    watt_per_m: ArrayLike,
    floor: Floor,
    grid: tuple[ArrayLike, ArrayLike],
    after_s: float = math.inf,
    *,
    cable_mm: float = SPOT_MM,
) -> FloatArray:
    """Rise of the whole floor above an energised cable, as a camera would show it.

    Parameters
    ----------
    points_xy_m
        The cable's route, shape (n, 2) [m].
    watt_per_m
        Power of each of its segments, shape (n - 1,) [W/m].
    floor
        Layers, depth and exchange, alike everywhere.
    grid
        ``(x_m, y_m)``, where to look: shapes (nx,) and (ny,) [m].
    after_s
        Time since it was energised [s]; infinite, the default, for the settled floor.
    cable_mm
        Thickness of the cable [mm].

    Returns
    -------
    ndarray
        Rise of the surface, shape (ny, nx) [K].

    Raises
    ------
    InputError
        If shapes or values cannot be, or the floor is too large for its depth.

    Examples
    --------
    >>> from cablesim.site.layers import usual_floor
    >>> x_m, y_m = np.linspace(0, 1, 11), np.linspace(0, 0.4, 5)
    >>> image = floor_image([[0, 0.2], [1, 0.2]], [15.0], usual_floor(), (x_m, y_m), 1800.0)
    >>> image.shape, bool(image[2, 5] > 10 * image[0, 5])
    ((5, 11), True)
    """
    x_m, y_m = _array("x_m", grid[0], 1), _array("y_m", grid[1], 1)
    across, along = np.meshgrid(x_m, y_m)
    at = np.stack([across.ravel(), along.ravel()], axis=1)
    rise = rise_at(points_xy_m, watt_per_m, floor, at, after_s, cable_mm=cable_mm)
    return rise.reshape(y_m.size, x_m.size)


def rise_at(
    points_xy_m: ArrayLike,
    watt_per_m: ArrayLike,
    floor: Floor,
    at_xy_m: ArrayLike,
    after_s: float = math.inf,
    *,
    cable_mm: float = SPOT_MM,
) -> FloatArray:
    """Rise of the surface at some places above an energised cable, neighbouring runs included.

    The power is shared out to the points of a fine lattice with cubic weights and convolved with
    the response to one watt.

    Parameters
    ----------
    points_xy_m, watt_per_m, floor, after_s, cable_mm
        As for `floor_image`.
    at_xy_m
        Where to look, shape (k, 2) [m].

    Returns
    -------
    ndarray
        Shape (k,) [K].

    Raises
    ------
    InputError
        As for `floor_image`.
    """
    points = _route(points_xy_m)
    power = _array("watt_per_m", watt_per_m, 1)
    if power.size != points.shape[0] - 1:
        raise InputError("watt_per_m", power.size, f"{points.shape[0] - 1} numbers, one a segment")
    require("watt_per_m", power, at_least=0.0)
    at = _array("at_xy_m", at_xy_m, 2)
    response = point_heat(floor, cable_mm, after_s)
    reach = response.reach_m

    pitch = max(floor.depth_mm, cable_mm / 2) / 1000.0 / _PER_DEPTH
    low, high = at.min(axis=0), at.max(axis=0)
    # Of the cable only what the response reaches across to the places counts.
    low = np.minimum(low, np.maximum(points.min(axis=0), low - reach))
    high = np.maximum(high, np.minimum(points.max(axis=0), high + reach))
    origin = low - _BORDER * pitch
    shape = np.ceil((high - low) / pitch).astype(int) + 2 * _BORDER + 1
    if shape[0] * float(shape[1]) > _MOST_POINTS:
        raise InputError(
            f"a floor of {high[0] - low[0]:.1f} m by {high[1] - low[1]:.1f} m is too large to draw "
            f"above a cable {floor.depth_mm:g} mm deep",
            try_this="look at a part of it",
        )
    sources = _shared_out(points, power, origin, pitch, shape)
    extent = math.ceil(reach / pitch)
    steps = np.arange(-extent, extent + 1) * pitch
    kernel = response.at(np.hypot(*np.meshgrid(steps, steps)))
    field = oaconvolve(sources, kernel, mode="full")[extent:-extent, extent:-extent]
    warm: FloatArray = map_coordinates(field, ((at - origin) / pitch).T, order=3, mode="nearest")
    return warm


def _shared_out(
    points: FloatArray, power: FloatArray, origin: FloatArray, pitch: float, shape: FloatArray
) -> FloatArray:
    """Watts at each point of the lattice, with the weights of cubic interpolation."""
    sources = np.zeros(tuple(shape))
    for start, end, watt_per_m in zip(points[:-1], points[1:], power, strict=True):
        length = float(np.linalg.norm(end - start))
        pieces = max(1, math.ceil(length / pitch))
        share = ((np.arange(pieces)[:, np.newaxis] + _GAUSS) / pieces).ravel()
        place = (start + share[:, np.newaxis] * (end - start) - origin) / pitch
        cell = np.floor(place).astype(int)
        inside = ((cell >= 1) & (cell < np.asarray(shape) - 2)).all(axis=1)
        cell, rest = cell[inside], (place - np.floor(place))[inside]
        weight = _cubic(rest)
        watt = watt_per_m * length / share.size
        for i in range(4):
            for j in range(4):
                into = (cell[:, 0] + i - 1, cell[:, 1] + j - 1)
                np.add.at(sources, into, watt * weight[:, 0, i] * weight[:, 1, j])
    return sources


def _cubic(rest: FloatArray) -> FloatArray:
    """Weights of the four points around a place between the second and the third of them."""
    t = rest
    weight = (
        -t * (t - 1) * (t - 2) / 6,
        (t + 1) * (t - 1) * (t - 2) / 2,
        -(t + 1) * t * (t - 2) / 2,
        (t + 1) * t * (t - 1) / 6,
    )
    return np.stack(weight, axis=-1)


def _crossing(places: FloatArray, rise: FloatArray, level: float, k: int) -> float:
    share = (level - rise[k]) / (rise[k + 1] - rise[k])
    return float(places[k] + share * (places[k + 1] - places[k]))


def _route(points_xy_m: ArrayLike) -> FloatArray:
    points = _array("points_xy_m", points_xy_m, 2)
    if points.shape[0] < 2:
        raise InputError("points_xy_m", points.shape[0], "two points or more")
    return points


def _array(name: str, value: ArrayLike, axes: int) -> FloatArray:
    """Numbers along one axis, or pairs of them along two."""
    try:
        array = np.asarray(value, dtype=float)
    except (TypeError, ValueError):
        raise InputError(name, value, "an array of numbers") from None
    if array.ndim != axes or (axes == 2 and array.shape[1] != 2) or array.size == 0:
        wanted = "one number or more in a row" if axes == 1 else "pairs of numbers"
        raise InputError(name, list(array.shape), f"{wanted}; this is its shape")
    require(name, array)
    return array
