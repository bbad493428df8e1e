"""Floor plans as DXF drawings, in and out: what other drawing programs read and write.

Needs the library ezdxf, the optional extra ``dxf`` of this package.
"""

from __future__ import annotations

import io
import logging
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from cablesim.errors import InputError, ScenarioError, in_file
from cablesim.site.opening import tile_grid
from cablesim.site.plan import Plan
from cablesim.site.room import MOST_METRES, Ring, Room, checked_points

if TYPE_CHECKING:
    from cablesim.site.ranking import Ranking

__all__ = ["LAYERS", "Drawing", "drawing_of", "read_drawing"]

LAYERS = {
    "WALLS": 7,
    "KEEP_OUT": 8,
    "CABLE": 7,
    "TILES": 9,
    "DAMAGE": 1,
    "OPENING": 3,
    "CUT": 3,
    "BY_HAND": 6,
    "SUSPECT": 4,
    "NAMES": 7,
}
"""Names of the layers, with their colour numbers. Walls, keep-out and cable are read back."""

_MOST_BYTES = 20 * 1024 * 1024
_MOST_ENTITIES = 20_000
_MOST_NUMBERS = 200_000  # in one line
_MOST_BULGE = 100.0  # of a polyline's arc: one is half a circle
# Curves of a drawing become chords no farther than this from the curve [m].
_CHORD_M = 0.0005
# Ends of lines that are drawn to meet do so within this [m].
_MEET_M = 0.002
_METRES_OF_UNIT = {1: 0.0254, 2: 0.3048, 4: 0.001, 5: 0.01, 6: 1.0, 7: 1000.0, 14: 0.1}
_UNKNOWN_UNIT_M = 1.0  # where a drawing does not say its unit
_READ = {"WALLS": "outline_m", "KEEP_OUT": "keep_out_m", "CABLE": "route_m"}


@dataclass(frozen=True, slots=True)
class Drawing:
    """What was read from a drawing.

    Parameters
    ----------
    room
        Walls and what is kept out; None where the drawing has no walls.
    route_m
        The way of the cable from its first point on [m].
    """

    room: Room | None
    route_m: Ring


def _library() -> Any:
    try:
        import ezdxf
    except ImportError:
        raise InputError(
            "DXF drawings need the library ezdxf, which is not installed",
            try_this="install it with pip install 'cablesim[dxf]'",
        ) from None
    return ezdxf


def drawing_of(
    plan: Plan,
    intervals: Sequence[tuple[float, float, float]] = (),
    ranking: Ranking | None = None,
) -> bytes:
    """Draw a plan as DXF, in metres, each kind of thing on a layer of its own.

    Parameters
    ----------
    plan
        Where the cable lies.
    intervals
        Where the damage is thought to lie: from, to [m] and probability.
    ranking
        Openings to draw.

    Returns
    -------
    bytes
        The file.

    Raises
    ------
    InputError
        If ezdxf is not installed.
    """
    ezdxf = _library()
    document = ezdxf.new("R2010", units=6)
    for layer, colour in LAYERS.items():
        document.layers.add(layer, color=colour)
    space = document.modelspace()

    def line(points: Any, layer: str, *, closed: bool = False) -> None:
        pairs = [(float(x), float(y)) for x, y in points]
        space.add_lwpolyline(pairs, close=closed, dxfattribs={"layer": layer})

    def label(text: str, xy: Any) -> None:
        at = (float(xy[0]), float(xy[1]))
        space.add_text(text, height=0.05, dxfattribs={"layer": "NAMES", "insert": at})

    line(plan.room.outline_m, "WALLS", closed=True)
    for ring in plan.room.keep_out_m:
        line(ring, "KEEP_OUT", closed=True)
    line(plan.route.xy_m, "CABLE")
    grid = tile_grid(plan)
    if grid is not None:
        left, low, right, high = plan.room.bounds_m
        for x in grid.edges_m()[0]:
            line([(x, low), (x, high)], "TILES")
        for y in grid.edges_m()[1]:
            line([(left, y), (right, y)], "TILES")
    label("cold joint", plan.at(0.0))
    label("far end", plan.at(plan.heated_length_m))
    for low, high, _ in intervals:
        ends = np.clip([low, high], 0.0, plan.heated_length_m)
        line(plan.stretch(float(ends[0]), float(ends[1])), "DAMAGE")
        label(f"{ends[0]:.2f} to {ends[1]:.2f} m", plan.at(float(ends.mean())))
    for number, opening in enumerate(ranking.openings if ranking else (), start=1):
        for kind, geometry in (
            ("OPENING", opening.patch.boundary),
            ("CUT", opening.cuts),
            ("BY_HAND", opening.by_hand),
        ):
            for part in getattr(geometry, "geoms", [geometry]):
                if not part.is_empty and part.length > 0:
                    line(part.coords, kind)
        label(f"open {number}, begin here", opening.begin_m)
    for spot in plan.survey.suspects:
        space.add_circle(spot.at_m, spot.radius_m, dxfattribs={"layer": "SUSPECT"})
        if spot.why:
            label(spot.why, spot.at_m)
    stream = io.StringIO()
    document.write(stream)
    return stream.getvalue().encode(document.output_encoding, errors="replace")


def read_drawing(path: str | os.PathLike[str]) -> Drawing:
    """Read walls, what is kept out, and the way of the cable from a DXF drawing.

    Lines, polylines and arcs on the layers ``WALLS``, ``KEEP_OUT`` and ``CABLE`` count; lines whose
    ends meet are joined. The cable begins where its first line was begun.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    InputError
        If ezdxf is not installed, or the file cannot be read or holds no cable; one sentence.
    """
    ezdxf = _library()
    name = os.fspath(path)
    try:
        if not os.path.isfile(name):
            raise ScenarioError("there is no such file", try_this="check the name", file=name)
        if os.path.getsize(name) > _MOST_BYTES:
            raise ScenarioError(
                "size in bytes", os.path.getsize(name), f"at most {_MOST_BYTES}", file=name
            )
        with _quiet(), in_file(name):
            lines = _lines(ezdxf, ezdxf.readfile(name))
    except InputError:
        raise
    except OSError as error:
        why = error.strerror or "it is no DXF drawing"
        raise ScenarioError(f"the drawing cannot be read ({why})", file=name) from None
    except Exception as error:  # a damaged drawing may fail anywhere in the library
        raise ScenarioError(
            f"the drawing cannot be read ({type(error).__name__})",
            try_this="save it anew as DXF from a drawing program",
            file=name,
        ) from None
    with in_file(name):
        return _drawing(lines)


@contextmanager
def _quiet() -> Iterator[None]:
    """Keep the library's remarks on damaged drawings off the screen: one sentence is enough."""
    log = logging.getLogger("ezdxf")
    before, log.disabled = log.disabled, True
    try:
        yield
    finally:
        log.disabled = before


def _lines(ezdxf: Any, document: Any) -> dict[str, list[np.ndarray]]:
    """The lines of each layer that is read, in metres."""
    from ezdxf import path as paths

    unit_m = _METRES_OF_UNIT.get(int(document.units), _UNKNOWN_UNIT_M)
    found: dict[str, list[np.ndarray]] = {layer: [] for layer in _READ}
    kinds = {"LINE", "LWPOLYLINE", "POLYLINE", "ARC", "SPLINE"}
    for count, entity in enumerate(document.modelspace()):
        if count >= _MOST_ENTITIES:
            raise InputError("the number of things drawn", count + 1, f"at most {_MOST_ENTITIES}")
        layer = str(entity.dxf.get("layer", "")).upper().replace("-", "_")
        if layer not in found or entity.dxftype() not in kinds:
            continue
        _check_size(entity, unit_m)
        points = paths.make_path(entity).flattening(_CHORD_M / unit_m)
        xy = unit_m * np.array([(point.x, point.y) for point in points])
        if len(xy) >= 2 and np.all(np.isfinite(xy)):
            found[layer].append(xy)
    return found


def _check_size(entity: Any, unit_m: float) -> None:
    """Refuse what is larger than any floor: its curves would have chords without end."""
    kind = entity.dxftype()
    if kind == "LINE":
        numbers = [*entity.dxf.start, *entity.dxf.end]
    elif kind == "ARC":
        numbers = [*entity.dxf.center, entity.dxf.radius]
    elif kind == "LWPOLYLINE":
        rows = entity.get_points("xyb")
        numbers = [value for x, y, _ in rows for value in (x, y)]
        bulges = [bulge for *_, bulge in rows]
    elif kind == "POLYLINE":
        numbers = [value for vertex in entity.vertices for value in vertex.dxf.location]
        bulges = [vertex.dxf.get("bulge", 0.0) for vertex in entity.vertices]
    else:
        points = [*entity.control_points, *entity.fit_points]
        numbers = [float(value) for point in points for value in point]
    if kind not in ("LWPOLYLINE", "POLYLINE"):
        bulges = []
    largest_m = max((abs(unit_m * float(value)) for value in numbers), default=0.0)
    flat = all(abs(float(bulge)) <= _MOST_BULGE for bulge in bulges)
    if not (largest_m <= MOST_METRES and flat and len(numbers) <= _MOST_NUMBERS):
        raise InputError(
            f"the {kind} on layer {entity.dxf.layer}",
            allowed=f"no larger than a floor, {MOST_METRES:g} m",
            try_this="a drawing in millimetres must say so in its units",
        )


def _drawing(lines: dict[str, list[np.ndarray]]) -> Drawing:
    for layer, parts in lines.items():
        lines[layer] = _joined(parts)
    if not lines["CABLE"]:
        raise InputError(
            "the drawing has no line on a layer CABLE",
            try_this="draw the heated part there as one polyline from the cold joint on, the walls "
            "on WALLS",
        )
    for layer in ("CABLE", "WALLS"):
        if len(lines[layer]) > 1:
            raise InputError(
                f"layer {layer} holds {len(lines[layer])} separate lines",
                try_this="draw it as one polyline, or let the ends of its lines meet",
            )
    room = None
    if lines["WALLS"]:
        rings = [_ring(parts) for parts in (*lines["WALLS"], *lines["KEEP_OUT"])]
        room = Room(rings[0], tuple(rings[1:]))
    return Drawing(room, checked_points("layer CABLE", lines["CABLE"][0].tolist(), 2, 100_000))


def _ring(points: np.ndarray) -> Ring:
    closed = np.hypot(*(points[0] - points[-1])) <= _MEET_M
    return tuple((float(x), float(y)) for x, y in (points[:-1] if closed else points))


def _joined(parts: list[np.ndarray]) -> list[np.ndarray]:
    """Join lines whose ends meet, keeping the direction of the first; drop points given twice."""
    rest, done = list(parts), []
    while rest:
        chain = rest.pop(0)
        while True:
            for number, part in enumerate(rest):
                if (joined := _joined_pair(chain, part)) is not None:
                    chain = joined
                    del rest[number]
                    break
            else:
                break
        apart = np.concatenate([[True], np.hypot(*np.diff(chain, axis=0).T) > 1e-6])
        done.append(chain[apart])
    return [chain for chain in done if len(chain) >= 2]


def _joined_pair(chain: np.ndarray, part: np.ndarray) -> np.ndarray | None:
    def meet(one: np.ndarray, other: np.ndarray) -> bool:
        return bool(np.hypot(*(one - other)) <= _MEET_M)

    if meet(chain[-1], part[0]):
        return np.concatenate([chain, part[1:]])
    if meet(chain[-1], part[-1]):
        return np.concatenate([chain, part[::-1][1:]])
    if meet(chain[0], part[-1]):
        return np.concatenate([part, chain[1:]])
    if meet(chain[0], part[0]):
        return np.concatenate([part[::-1], chain[1:]])
    return None
