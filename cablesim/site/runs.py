"""Runs, the straight parts of a way between its bends, and which of them lie side by side."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np

from cablesim.site.route import Route

__all__ = ["Neighbour", "Run", "neighbours_of", "run_graph", "runs_of"]

# A run is straight to within this angle and longer than the step from one run to the next, which
# is at most this; among shorter ones a quarter of the longest will do. All else is a bend.
_STRAIGHT_RAD = np.radians(15.0)
_LEAST_RUN_M, _LEAST_SHARE, _LEAST_AT_ALL_M = 0.35, 0.25, 0.1


@dataclass(frozen=True, slots=True)
class Run:
    """A straight part of a way, and half of the bends beside it.

    Parameters
    ----------
    number
        Counted from 1 at the cold joint.
    from_m, to_m
        Where it begins and ends along the way [m].
    straight_m
        The straight part alone, from and to [m].
    """

    number: int
    from_m: float
    to_m: float
    straight_m: tuple[float, float]


@dataclass(frozen=True, slots=True)
class Neighbour:
    """Another part of the cable within reach of a tool.

    Parameters
    ----------
    run
        Number of its run.
    from_m, to_m
        Which part of it lies within reach [m along the way].
    distance_m
        Its least distance from where the work is [m].
    """

    run: int
    from_m: float
    to_m: float
    distance_m: float


@lru_cache(maxsize=32)
def runs_of(route: Route) -> tuple[Run, ...]:
    """Divide a way into runs; a way without any is one.

    Parameters
    ----------
    route
        The way.

    Examples
    --------
    >>> runs = runs_of(Route(((0.0, 0.0), (3.0, 0.0), (3.0, 0.1), (0.0, 0.1))))
    >>> [(run.number, round(run.from_m, 2), round(run.to_m, 2)) for run in runs]
    [(1, 0.0, 3.05), (2, 3.05, 6.1)]
    """
    xy, passed = route.xy_m, route.passed_m
    heading = np.arctan2(*np.diff(xy, axis=0).T[::-1])
    straights: list[tuple[float, float]] = []
    first = 0
    for leg in range(1, len(heading) + 1):
        if leg < len(heading):
            turned = (heading[leg] - heading[first] + np.pi) % (2 * np.pi) - np.pi
            if abs(turned) < _STRAIGHT_RAD:
                continue
        straights.append((float(passed[first]), float(passed[leg])))
        first = leg
    longest_m = max(high - low for low, high in straights)
    least_m = min(_LEAST_RUN_M, max(_LEAST_SHARE * longest_m, _LEAST_AT_ALL_M))
    straights = [(low, high) for low, high in straights if high - low >= least_m]
    if not straights:
        straights = [(0.0, route.length_m)]
    cuts = [(a[1] + b[0]) / 2 for a, b in pairwise(straights)]
    bounds = [0.0, *cuts, route.length_m]
    return tuple(
        Run(k + 1, bounds[k], bounds[k + 1], straight) for k, straight in enumerate(straights)
    )


@lru_cache(maxsize=32)
def run_graph(route: Route, reach_m: float) -> Any:
    """Which runs lie side by side, as a networkx graph.

    Parameters
    ----------
    route
        The way.
    reach_m
        How near two runs must come to be neighbours [m].

    Returns
    -------
    networkx.Graph
        A node for each run, by its number, with ``run``; an edge for each two that come so near,
        bends and all, with ``distance_m`` between their straight parts.
    """
    import networkx
    import shapely

    runs = runs_of(route)
    lines = np.array([shapely.LineString(route.stretch(run.from_m, run.to_m)) for run in runs])
    graph = networkx.Graph()
    graph.add_nodes_from((run.number, {"run": run}) for run in runs)
    straight = [shapely.LineString(route.stretch(*run.straight_m)) for run in runs]
    tree = shapely.STRtree(lines)
    for one, other in tree.query(lines, predicate="dwithin", distance=reach_m).T:
        if one < other:
            distance_m = float(shapely.distance(straight[one], straight[other]))
            graph.add_edge(runs[one].number, runs[other].number, distance_m=distance_m)
    return graph


def neighbours_of(
    route: Route, from_m: float, to_m: float, reach_m: float
) -> tuple[Neighbour, ...]:
    """Other parts of the cable within reach of work on a part of it.

    What follows on the part itself, up to a half circle of the reach, is not another part.

    Parameters
    ----------
    route
        The way.
    from_m, to_m
        The part that is worked on [m along the way].
    reach_m
        How far a tool may slip [m].

    Returns
    -------
    tuple of Neighbour
        In order along the cable.
    """
    import shapely

    graph = run_graph(route, reach_m)
    own = {run.number for run in runs_of(route) if run.from_m <= to_m and run.to_m >= from_m}
    near = sorted(own.union(*(graph.neighbors(number) for number in own)))
    work = shapely.LineString(route.stretch(from_m, max(to_m, from_m + 1e-6)))
    zone = work.buffer(reach_m)
    apart_m = np.pi / 2 * reach_m
    found = []
    for number in near:
        run = graph.nodes[number]["run"]
        for low, high in (
            (run.from_m, min(run.to_m, from_m - apart_m)),
            (max(run.from_m, to_m + apart_m), run.to_m),
        ):
            if high - low < 1e-6:
                continue
            line = shapely.LineString(route.stretch(low, high))
            inside = line.intersection(zone)
            if inside.is_empty:
                continue
            ends = [route.nearest(point)[0] for point in shapely.get_coordinates(inside)]
            found.append(Neighbour(number, min(ends), max(ends), float(line.distance(work))))
    return tuple(found)
