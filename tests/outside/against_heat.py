"""Heat in the floor against closed forms, integral transforms, and sums that must close."""

from __future__ import annotations

import math
from functools import cache
from itertools import pairwise

import numpy as np
from outside import heat_closed
from outside.check import Outcome, Worst, check
from scipy.interpolate import CubicSpline
from scipy.linalg import eigh

from cablesim.site.conduction import network_of, settled, surface_of
from cablesim.site.heat import hot_spot, pulses
from cablesim.site.layers import Floor, Layer, floor_of, usual_floor
from cablesim.site.marching import march
from cablesim.site.mesh import Mesh, mesh_of, reach_m
from cablesim.site.response import settled_response, spot_response
from cablesim.site.warm_floor import above_cable, floor_image

MORTAR = Layer.of("mortar", 500.0)
# An insulated half space as far as heat gets in the time: 0.5 m of mortar.
HALF_SPACE = Floor((MORTAR,), 20.0, surface_w_per_m2_k=0.0)
SPOT_MM = 4.0
THREE_LAYERS = floor_of((("tile", 10.0), ("adhesive", 8.0), ("screed", 45.0)), 14.0)
TRANSFORMS = "Hankel and Laplace transforms of the same floor, in 16 digits"
NONE = "no publication: the equations of conduction themselves"
TIMES_S = (30.0, 60.0, 120.0, 300.0, 600.0, math.inf)
# A surface that has this share of its settled rise has begun to warm.
WARM = 0.02
RADII_M = np.array([0.0, 0.01, 0.02, 0.04])


def plain(floor):
    return [
        (row.thickness_mm / 1000, row.conductivity_w_per_m_k, row.capacity_j_per_m3_k)
        for row in floor.layers
    ]


def surface_at(response, radii_m, times_s):
    return CubicSpline(response.radii_m, response.surface(times_s), axis=1)(radii_m)


def of_cylinder(of_distance, away_m, *, line=False):
    half = SPOT_MM / 2000
    depth = HALF_SPACE.depth_mm / 1000
    # The image above the surface doubles it.
    return 2 * heat_closed.over_cylinder(half, half, depth, away_m, of_distance, line=line)


@check(
    "hot spot that stays on, half space with insulated surface, 1 to 10 minutes, out to 40 mm",
    against="q erfc(r / sqrt(4 a t)) / (2 pi k r), averaged over the spot",
    source=heat_closed.CARSLAW,
    allowed=2e-3,
    why="of the rise above the spot; after one minute it has a thirtieth of what it has after ten",
)
def continuous_point() -> Outcome:
    times = np.array([60.0, 120.0, 300.0, 600.0])
    rise = surface_at(spot_response(HALF_SPACE, SPOT_MM, 600.0), RADII_M, times)
    k, a = MORTAR.conductivity_w_per_m_k, MORTAR.diffusivity_m2_per_s
    worst = Worst()
    for row, time_s in zip(rise, times, strict=True):

        def closed(distance, time_s=time_s):
            return heat_closed.continuous_point(distance, time_s, k, a)

        exact = np.array([of_cylinder(closed, away) for away in RADII_M])
        for one, other in zip(row, exact, strict=True):
            worst.add(abs(one - other) / exact[0], f"{time_s} s")
    return worst.outcome()


@check(
    "one burst of 0.1 s, half space with insulated surface, 1 to 10 minutes, out to 40 mm",
    against="2 Q exp(-r^2 / 4 a t) / (rho c (4 pi a t)^1.5), averaged over the spot",
    source=heat_closed.CARSLAW,
    allowed=2e-3,
    why="of the rise above the spot; a burst is the difference of two responses",
)
def instantaneous_point() -> Outcome:
    burst_s, times = 0.1, np.array([60.0, 120.0, 300.0, 599.0])
    seen = hot_spot(HALF_SPACE, [(0.0, burst_s, 1e4)], spot_mm=SPOT_MM)
    rise = CubicSpline(seen.radii_m, seen.profiles(times), axis=1)(RADII_M)
    capacity, a = MORTAR.capacity_j_per_m3_k, MORTAR.diffusivity_m2_per_s
    worst = Worst()
    for row, time_s in zip(rise, times - burst_s / 2, strict=True):

        def closed(distance, time_s=time_s):
            return heat_closed.instantaneous_point(distance, time_s, capacity, a)

        exact = 1e4 * burst_s * np.array([of_cylinder(closed, away) for away in RADII_M])
        for one, other in zip(row, exact, strict=True):
            worst.add(abs(one - other) / exact[0], f"{time_s} s")
    return worst.outcome()


@check(
    "energised cable of 15 W/m, half space with insulated surface, 5 minutes to 1 hour",
    against="q E1(z^2 / 4 a t) / (2 pi k), averaged over the cable's thickness",
    source=heat_closed.CARSLAW,
    allowed=1e-3,
    why="two meshes, extrapolated",
)
def continuous_line() -> Outcome:
    floor = Floor((Layer.of("mortar", 800.0),), 20.0, surface_w_per_m2_k=0.0)
    k, a = MORTAR.conductivity_w_per_m_k, MORTAR.diffusivity_m2_per_s
    worst = Worst()
    for time_s in (300.0, 1200.0, 3600.0):
        rise = above_cable([-3.0, 3.0], [15.0], floor, [0.0], after_s=time_s, cable_mm=SPOT_MM)[0]

        def closed(distance, time_s=time_s):
            return heat_closed.continuous_line(distance, time_s, k, a)

        worst.add(abs(rise / (15.0 * of_cylinder(closed, 0.0, line=True)) - 1), time_s)
    return worst.outcome()


@cache
def transformed(floor, away_m, times):
    top = (floor.depth_mm - 2.5) / 1000
    return heat_closed.layered_surface(
        plain(floor), floor.surface_w_per_m2_k, floor.underside_w_per_m2_k,
        (top, top + 0.005), 0.0025, away_m, times, terms=200,
    )  # fmt: skip


FLOORS = {
    "tile, adhesive, screed": THREE_LAYERS,
    "with insulation below": usual_floor(),
    "wood on screed, open below": floor_of(
        (("wood", 14.0), ("screed", 50.0)), 22.0, underside_w_per_m2_k=5.9
    ),
}


@check(
    "hot spot in three layered floors, 30 s to 10 minutes and settled, above it",
    against=TRANSFORMS,
    source="transmission matrices of layers, Carslaw and Jaeger 3.7 and 13 (from memory)",
    allowed=5e-3,
    why="two meshes, extrapolated; from 2 % of the settled rise on",
)
def layered_centre() -> Outcome:
    times = TIMES_S
    worst = Worst()
    for name, floor in FLOORS.items():
        exact = transformed(floor, 0.0, times)
        rise = spot_response(floor, 5.0, 600.0).centre(np.array(times[:-1]))
        rise = np.append(rise, settled_response(floor, 5.0)[1][0])
        for one, other, time_s in zip(rise, exact, times, strict=True):
            if other > WARM * exact[-1]:
                worst.add(abs(one / other - 1), (name, time_s))
    return worst.outcome()


@check(
    "the same floors, 10 to 60 mm beside the spot, as a share of the rise above it",
    against=TRANSFORMS,
    source="transmission matrices of layers, Carslaw and Jaeger 3.7 and 13 (from memory)",
    allowed=5e-3,
    why="as above",
)
def layered_beside() -> Outcome:
    times = (60.0, 600.0)
    worst = Worst()
    for name, floor in FLOORS.items():
        response = spot_response(floor, 5.0, 600.0)
        for away in (0.01, 0.03, 0.06):
            exact = transformed(floor, away, times)
            above = transformed(floor, 0.0, TIMES_S)[[1, 4]]
            rise = surface_at(response, [away], np.array(times))[:, 0]
            for one, other, most in zip(rise, exact, above, strict=True):
                if most > WARM * transformed(floor, 0.0, TIMES_S)[-1]:
                    worst.add(abs(one - other) / most, (name, away))
    return worst.outcome()


def sheet(floor, low_m, high_m):
    """Rise through a floor that is heated evenly between two depths by 1 W/m2, and its depths."""
    ends = np.cumsum([0.0, *(row.thickness_mm / 1000 for row in floor.layers)])
    breaks = np.union1d(ends, [low_m, high_m])
    depth = np.unique([np.linspace(*pair, 4) for pair in pairwise(breaks)])
    radius = np.linspace(0.0, 0.3, 4)
    network = network_of(floor, Mesh(radius, depth, 0.3, (low_m, high_m)))
    rise = settled(network) * np.pi * 0.3**2
    return network, rise.reshape(3, -1)


@check(
    "settled rise through evenly heated layers: surface and every layer above the heat",
    against="1 / h and the sum of d / k, in series",
    source="from memory of ISO 6946",
    allowed=1e-10,
    why="straight through the layers the finite volumes are exact; the rest is rounding",
)
def slab_in_series() -> Outcome:
    worst = Worst()
    for floor in FLOORS.values():
        floor = Floor(floor.layers, floor.depth_mm, floor.surface_w_per_m2_k)
        low = (floor.thickness_mm - 5.0) / 1000
        network, rise = sheet(floor, low, low + 0.004)
        worst.add(abs(surface_of(network, rise.ravel())[0] * floor.surface_w_per_m2_k - 1))
        depths = network.mesh.depths_m
        for slice_ in np.flatnonzero(depths < low):
            resistance, left = 1 / floor.surface_w_per_m2_k, depths[slice_]
            for row in floor.layers:
                part = min(left, row.thickness_mm / 1000)
                resistance += part / row.conductivity_w_per_m_k
                left -= part
            worst.add(abs(rise[0, slice_] / resistance - 1), slice_)
    return worst.outcome()


@check(
    "settled, heat given up on both sides: share that leaves upwards from a thin heated sheet",
    against="resistances below over all resistances",
    source="from memory of ISO 6946",
    allowed=1e-8,
    why="the sheet is 1 micrometre thick, the formula's has no thickness; rounding of thin cells",
)
def slab_both_ways() -> Outcome:
    worst = Worst()
    for layers, where in (((("tile", 10.0), ("screed", 50.0)), 0.03), ((("wood", 20.0),), 0.01)):
        floor = floor_of(layers, 5.0, underside_w_per_m2_k=5.9)
        network, rise = sheet(floor, where, where + 1e-6)
        up = network.surface_loss_w_per_k @ rise.ravel() / (np.pi * 0.3**2)
        above, left = 1 / floor.surface_w_per_m2_k, where + 0.5e-6
        for row in floor.layers:
            part = min(left, row.thickness_mm / 1000)
            above += part / row.conductivity_w_per_m_k
            left -= part
        whole = 1 / 10.8 + 1 / 5.9 + sum(row.resistance_m2_k_per_w for row in floor.layers)
        worst.add(abs(up / ((whole - above) / whole) - 1), layers)
    return worst.outcome()


@check(
    "settled floor with 20 runs of 12 W/m, 0.1 m apart: mean rise over the middle period",
    against="W/m over spacing and exchange: 12 / (0.1 x 10.8) K",
    source=NONE,
    allowed=5e-3,
    why="runs end after 2 m; lattice and its cubic weights",
)
def many_runs() -> Outcome:
    floor = THREE_LAYERS
    runs = [[(-2.0, 0.1 * k - 0.95), (2.0, 0.1 * k - 0.95)] for k in range(20)]
    y = np.arange(40) * 0.1 / 40 - 0.05
    total = np.zeros(y.size)
    for run in runs:
        total += floor_image(run, [12.0], floor, ([0.0], y))[:, 0]
    worst = Worst()
    worst.add(abs(total.mean() / (12.0 / (0.1 * 10.8)) - 1))
    return worst.outcome()


@cache
def all_modes(spot_mm=16.0):
    """Every mode of a coarse network: its course without any step in time."""
    floor = THREE_LAYERS
    network = network_of(floor, mesh_of(floor, spot_mm, reach_m(floor, 200.0)))
    root = np.sqrt(network.mass_j_per_k)
    rates, modes = eigh(network.stiffness_w_per_k.toarray() / np.outer(root, root))
    return network, rates, modes.T @ (network.source / root), modes / root[:, np.newaxis]


def exact_in_time(periods, at_s):
    """Rise of all cells at a moment after periods of constant power (seconds, watt)."""
    _, rates, given, modes = all_modes()
    state, now = np.zeros(rates.size), 0.0
    for seconds, watt in periods:
        length = min(seconds, at_s - now)
        state = state * np.exp(-rates * length) - watt * given * np.expm1(-rates * length) / rates
        now += length
        if now >= at_s:
            break
    return modes @ state


@check(
    "steps in time through four bursts: all cells, at and between the steps",
    against="sum of all modes of the same network",
    source=NONE,
    allowed=1e-5,
    why="of the hottest cell; a step is allowed 1e-6 of it",
)
def steps_in_time() -> Outcome:
    network = all_modes()[0]
    periods = [(3.0, 40.0), (2.0, 0.0), (1.5, 40.0), (10.0, 0.0), (3.0, 20.0), (180.5, 0.0)]
    course = march(network, periods, lambda rise: rise)
    largest = np.abs(course.values).max()
    worst = Worst()
    for at_s in (0.01, 1.7, 3.0, 4.2, 5.5, 16.0, 19.4, 60.0, 200.0):
        found = course.at(np.array([at_s]))[0]
        worst.add(np.abs(found - exact_in_time(periods, at_s)).max() / largest, at_s)
    return worst.outcome()


@check(
    "heat put in, given up and stored after four bursts and three minutes",
    against="one another",
    source=NONE,
    allowed=1e-6,
    why="of the heat put in; both sums are marched and close to rounding",
)
def balance() -> Outcome:
    worst = Worst()
    for floor in FLOORS.values():
        network = network_of(floor, mesh_of(floor, 5.0, reach_m(floor, 200.0)))
        bursts = [(3.0, 40.0), (2.0, 0.0)] * 4 + [(180.0, 0.0)]
        course = march(network, bursts, lambda rise: rise[..., :1])
        worst.add(abs(course.given_j - course.lost_j - course.stored_j) / course.given_j)
    return worst.outcome()


@check(
    "heat that the surface gives up in ten minutes",
    against="quadrature of its course over time and radius, apart from the march's own sum",
    source=NONE,
    allowed=1e-6,
    why="Gauss points within every step",
)
def balance_by_quadrature() -> Outcome:
    floor = THREE_LAYERS
    network = network_of(floor, mesh_of(floor, 5.0, reach_m(floor, 600.0)))
    course = march(network, [(3.0, 40.0), (597.0, 0.0)], lambda rise: surface_of(network, rise))
    area = np.pi * np.diff(network.mesh.radius_faces_m**2)
    nodes, weight = np.polynomial.legendre.leggauss(4)
    total = 0.0
    for node, by in zip(nodes, weight, strict=True):
        times = course.starts_s + course.steps_s * (node + 1) / 2
        total += by / 2 * course.steps_s @ (course.at(times) @ area) * floor.surface_w_per_m2_k
    worst = Worst()
    worst.add(abs(total / course.lost_j - 1))
    return worst.outcome()


@check(
    "rhythm of bursts by adding up one response",
    against="the same bursts marched one after another on the finer mesh, extrapolated alike",
    source=NONE,
    allowed=1e-4,
    why="of the peak; errors of the steps of both",
)
def added_up() -> Outcome:
    floor = THREE_LAYERS
    seen = hot_spot(floor, pulses(3.0, 2.0, 4, 40.0), until_s=120.0)
    periods = [(3.0, 40.0), (2.0, 0.0)] * 4 + [(100.0, 0.0)]
    courses = []
    for halvings in (0, 1):
        network = network_of(floor, mesh_of(floor, 5.0, reach_m(floor, 120.0), halvings))

        def spot(rise, network=network):
            return rise @ network.source[:, np.newaxis]

        courses.append(march(network, periods, spot).at(seen.times_s)[:, 0])
    marched = (4 * courses[1] - courses[0]) / 3
    worst = Worst()
    worst.add(np.abs(marched - seen.spot_kelvin).max() / seen.spot_kelvin.max())
    return worst.outcome()


CLOSED = [continuous_point, instantaneous_point, continuous_line, slab_in_series, slab_both_ways]
SECOND = [layered_centre, layered_beside, steps_in_time, added_up]
SUMS = [balance, balance_by_quadrature, many_runs]
CHECKS = [*CLOSED, *SECOND, *SUMS]


def orders(halvings=3):
    """Error of the rise above the spot on meshes that are halved, and the order between them."""
    times = (60.0, 600.0)
    floor = THREE_LAYERS
    exact = transformed(floor, 0.0, TIMES_S)[[1, 4]]
    rows = []
    for level in range(halvings):
        mesh = mesh_of(floor, 5.0, reach_m(floor, 600.0), level)
        network = network_of(floor, mesh)
        radii = mesh.radii_m
        course = march(network, [(600.0, 1.0)], lambda rise, n=network: surface_of(n, rise))
        rise = course.at(np.array(times))
        even = np.concatenate([rise[:, ::-1], rise], axis=1)
        middle = CubicSpline(np.concatenate([-radii[::-1], radii]), even, axis=1)(0.0)
        cells = network.rings * network.slices
        rows.append((network.rings, network.slices, cells, middle / exact - 1))
    return times, rows
