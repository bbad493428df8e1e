"""Time a ten-minute transient of a three-layer floor, beside a general PDE library.

Run it by hand from the top of the checkout, with the general library FiPy installed and nothing
else at work on the machine; it prints a table, which `outside.heat_report` puts on its page::

    PYTHONPATH=tests python tests/speed/heat_against_fipy.py

Both solve the same floor. FiPy gets the same finer mesh, the same conductances between cells and
the same exchange, so that only the steps in time and what is made of two meshes differ. What both
are off by is measured against the integral transforms of the floor, which use neither. Processor
time, the least of some runs.
"""

from __future__ import annotations

import sys
import time

import numpy as np
from outside.against_heat import THREE_LAYERS, TIMES_S, plain, transformed
from scipy.interpolate import CubicSpline

from cablesim.site.mesh import mesh_of, reach_m
from cablesim.site.response import spot_response

UNTIL_S, SPOT_MM, RUNS = 600.0, 5.0, 3
LOOKED_AT_S = (60.0, 120.0, 300.0, 600.0)
EXACT = transformed(THREE_LAYERS, 0.0, TIMES_S)[1:5]


def timed(solve):
    """Least processor time of some runs [s], and the result."""
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        found = solve()
        times.append(time.process_time() - start)
    return min(times), found


def product():
    spot_response.cache_clear()
    response = spot_response(THREE_LAYERS, SPOT_MM, UNTIL_S)
    return response.centre(np.array(LOOKED_AT_S)), response.fine.steps_s.size


def general(steps_s):
    """FiPy on the product's finer mesh, backward Euler with given steps."""
    from fipy import (
        CellVariable,
        CylindricalGrid2D,
        DiffusionTerm,
        FaceVariable,
        ImplicitSourceTerm,
        TransientTerm,
    )
    from fipy.solvers.scipy import LinearLUSolver

    mesh = mesh_of(THREE_LAYERS, SPOT_MM, reach_m(THREE_LAYERS, UNTIL_S), 1)
    r, z = mesh.radius_faces_m, mesh.depth_faces_m
    grid = CylindricalGrid2D(dx=np.diff(r), dy=np.diff(z))
    layers = plain(THREE_LAYERS)
    ends = np.cumsum([row[0] for row in layers])

    def by_layer(depths, column):
        place = np.minimum(np.searchsorted(ends, depths), len(layers) - 1)
        return np.array([row[column] for row in layers])[place]

    depth = np.asarray(grid.cellCenters[1])
    radius = np.asarray(grid.cellCenters[0])
    capacity = CellVariable(mesh=grid, value=by_layer(depth, 2))
    conductivity = by_layer(depth, 1)
    one, other = np.ma.filled(grid.faceCellIDs, -1)
    other = np.where(other < 0, one, other)
    face_depth = np.asarray(grid.faceCenters[1])
    near, far = np.abs(face_depth - depth[one]), np.abs(face_depth - depth[other])
    level = (near + far) == 0.0
    near, far = np.where(level, 1.0, near), np.where(level, 1.0, far)
    through = (near + far) / (near / conductivity[one] + far / conductivity[other])
    face = FaceVariable(mesh=grid, value=through)

    high = np.diff(z)[0]
    half = high / 2 / layers[0][1]
    top = np.isclose(depth, z[1] / 2)
    loss = CellVariable(mesh=grid, value=np.where(top, 10.8 / (1 + half * 10.8) / high, 0.0))
    hot = (
        (radius < mesh.spot_radius_m)
        & (depth > mesh.spot_depths_m[0])
        & (depth < mesh.spot_depths_m[1])
    )
    volume = np.pi * mesh.spot_radius_m**2 * (mesh.spot_depths_m[1] - mesh.spot_depths_m[0])
    source = CellVariable(mesh=grid, value=hot / volume)

    rise = CellVariable(mesh=grid, value=0.0)
    equation = TransientTerm(coeff=capacity) == (
        DiffusionTerm(coeff=face) - ImplicitSourceTerm(coeff=loss) + source
    )
    solver = LinearLUSolver()
    middles = np.sort(radius[top])
    share = 1 / (1 + half * 10.8)
    now, wanted, found = 0.0, list(LOOKED_AT_S), []
    for step in steps_s:
        equation.solve(var=rise, dt=step, solver=solver)
        now += step
        if wanted and now >= wanted[0] * (1 - 1e-9):
            ring = share * np.asarray(rise)[top][np.argsort(radius[top])]
            even = CubicSpline(np.append(-middles[::-1], middles), np.append(ring[::-1], ring))
            found.append(float(even(0.0)))
            wanted.pop(0)
    return np.array(found)


def graded(count):
    """Steps that grow by one factor, with the moments that are looked at among their ends."""
    ends = np.union1d(np.geomspace(0.5, UNTIL_S, count), LOOKED_AT_S)
    ends = ends[np.append(True, np.diff(ends) > 1e-9)]
    return np.diff(np.append(0.0, ends))


def table() -> str:
    """Rows of solver, steps, error and time, and of both as ratios."""
    own_s, (own, steps) = timed(product)
    own_off = np.abs(own / EXACT - 1).max()
    rows = [("cablesim: two meshes, extrapolated", steps, own_off, own_s)]
    for name, lengths in (
        ("FiPy, steps of 4 s", np.full(150, 4.0)),
        ("FiPy, steps of 1 s", np.full(600, 1.0)),
        ("FiPy, growing steps", graded(200)),
        ("FiPy, growing steps", graded(800)),
    ):
        spent, found = timed(lambda lengths=lengths: general(lengths))
        rows.append((name, lengths.size, np.abs(found / EXACT - 1).max(), spent))
    text = "| solver | steps | off by at most | processor time | error, ratio | time, ratio |\n"
    text += "| --- | ---: | ---: | ---: | ---: | ---: |\n"
    for name, count, off, spent in rows:
        ratios = f"{off / own_off:.3g} | {spent / own_s:.3g}"
        text += f"| {name} | {count} | {off:.1e} | {spent:.2f} s | {ratios} |\n"
    return text


if __name__ == "__main__":
    sys.stdout.write(table())
