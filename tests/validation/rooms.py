"""Random rooms: does laying by rule keep its promises?

Run by hand or from the test beside it:

    python tests/validation/rooms.py ROOMS SEED [FILE]

draws rooms (rectangles, rooms with corners inwards, slanted ones, turned ones) with furniture, and
a rule and a length for each. Every cable that is laid is held to what was asked, by measuring the
route anew; every refusal must be one sentence.
"""

from __future__ import annotations

import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import shapely

from cablesim import __version__
from cablesim.errors import InputError
from cablesim.site.plan import Plan, plan_of
from cablesim.site.room import Room
from cablesim.site.survey import Rule, Survey

# Two places of the cable that are farther apart than this along it, in spacings, lie on two runs:
# a bend of half a circle is 1.57 spacings long.
ALONG = 2.0
# Pieces into which a route is cut for measuring, in spacings.
PIECE = 0.5
PLACES = 200


def draw_room(rng: np.random.Generator) -> Room:
    """Draw a room of 1.5 to 8 m with up to three pieces of furniture."""
    width, height = rng.uniform(1.5, 8.0, 2)
    kind = rng.integers(4)
    corners = np.array([[0, 0], [width, 0], [width, height], [0, height]], float)
    if kind == 1:
        # One corner of the rectangle is not part of the room.
        x, y = width * rng.uniform(0.3, 0.7), height * rng.uniform(0.3, 0.7)
        corners = np.array([[0, 0], [width, 0], [width, y], [x, y], [x, height], [0, height]])
    elif kind == 2:
        corners = corners + rng.uniform(-0.2, 0.2, (4, 2)) * min(width, height)
    elif kind == 3:
        angles = np.sort(rng.uniform(0, 2 * np.pi, rng.integers(5, 9)))
        around = np.stack([np.cos(angles), np.sin(angles)], axis=1)
        corners = around * rng.uniform(0.5, 1.0, (len(angles), 1)) * (width, height) / 2
    furniture = []
    low, high = corners.min(axis=0), corners.max(axis=0)
    for _ in range(rng.integers(4)):
        size = rng.uniform(0.1, 1.2, 2)
        at = rng.uniform(low, np.maximum(high - size, low))
        if rng.random() < 0.5:
            # Along a wall, as most furniture stands.
            axis = rng.integers(2)
            at[axis] = low[axis] if rng.random() < 0.5 else high[axis] - size[axis]
        box = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * size
        tilt = rng.uniform(0, np.pi) if rng.random() < 0.2 else 0.0
        furniture.append(turned(box, tilt) + at)
    tilt = rng.uniform(0, 2 * np.pi) if rng.random() < 0.3 else 0.0
    corners, *furniture = (turned(ring, tilt) for ring in (corners, *furniture))
    rings = [tuple((float(x), float(y)) for x, y in ring) for ring in (corners, *furniture)]
    return Room(rings[0], tuple(rings[1:]))


def turned(points: np.ndarray, angle: float) -> np.ndarray:
    cosine, sine = np.cos(angle), np.sin(angle)
    return points @ np.array([[cosine, sine], [-sine, cosine]])


def draw_case(rng: np.random.Generator) -> tuple[Room, Rule, float]:
    """Draw a room, a rule for it, and a length that about fills it."""
    while True:
        try:
            room = draw_room(rng)
        except InputError:  # corners drawn so that the walls cross
            continue
        if room.free_area_m2 > 0.5:
            break
    spacing_m = round(float(rng.uniform(0.06, 0.2)), 3)
    radius_m = None if rng.random() < 0.7 else spacing_m * float(rng.uniform(0.1, 0.5))
    inside = np.array(shapely.Polygon(room.outline_m).representative_point().coords[0])
    wall = np.array(room.outline_m[rng.integers(len(room.outline_m))])
    start = wall + rng.choice([0.0, rng.uniform(0.0, 0.3)]) * (inside - wall)
    if not room.holds(tuple(start)):
        start = inside
    rule = Rule(spacing_m, round(float(rng.uniform(0.0, 0.15)), 3), tuple(start), radius_m)
    floor = room.free(rule.margin_m)
    length_m = float(floor.area / spacing_m * rng.uniform(0.3, 1.1)) + 0.1
    return room, rule, length_m


@dataclass
class Measured:
    """How far a laid cable is from what was asked."""

    length_off_m: float
    outside_m: float
    in_keep_out_m: float
    spacing_short_m: float
    there_and_back_m: float


def measure(plan: Plan, room: Room, rule: Rule, rng: np.random.Generator) -> Measured:
    """Measure a laid cable anew, from its points alone."""
    xy = plan.route.xy_m
    line = shapely.LineString(xy)
    outline = shapely.Polygon(room.outline_m)
    # A cable on the very wall is not outside, whatever the last digit says.
    within = outline.buffer(1e-8, join_style="mitre").covers(line)
    walls_m = line.distance(outline.exterior) if within else -1.0
    kept_m = min((line.distance(shapely.Polygon(ring)) for ring in room.keep_out_m), default=np.inf)
    positions = np.linspace(0.0, plan.heated_length_m, PLACES)
    positions[1:-1] = rng.uniform(0.0, plan.heated_length_m, PLACES - 2)
    back = np.array([plan.position_of(point) for point in plan.at(positions)])
    return Measured(
        length_off_m=abs(float(np.sum(np.hypot(*np.diff(xy, axis=0).T))) - plan.heated_length_m),
        outside_m=max(0.0, rule.margin_m - walls_m),
        in_keep_out_m=max(0.0, rule.margin_m - kept_m),
        spacing_short_m=max(0.0, rule.spacing_m - least_spacing_m(plan, rule.spacing_m)),
        there_and_back_m=float(np.abs(back - positions).max()),
    )


def least_spacing_m(plan: Plan, spacing_m: float) -> float:
    """The least distance of two places that lie more than `ALONG` spacings apart on the cable."""
    length_m = plan.route.length_m
    cuts = np.union1d(
        plan.route.passed_m, np.linspace(0, length_m, int(length_m / (PIECE * spacing_m)) + 2)
    )
    ends = plan.route.at(np.clip(cuts, 0, length_m))
    pieces = shapely.linestrings(np.stack([ends[:-1], ends[1:]], axis=1))
    tree = shapely.STRtree(pieces)
    one, other = tree.query(pieces, predicate="dwithin", distance=spacing_m)
    apart = cuts[other] - cuts[one + 1] > ALONG * spacing_m
    if not apart.any():
        return float("inf")
    return float(shapely.distance(pieces[one[apart]], pieces[other[apart]]).min())


@dataclass
class Tally:
    laid: int = 0
    worst: dict[str, float] = field(default_factory=dict)
    refused: Counter[str] = field(default_factory=Counter)
    metres: float = 0.0

    def add(self, found: Measured, length_m: float) -> None:
        self.laid += 1
        self.metres += length_m
        for name, value in vars(found).items():
            self.worst[name] = max(self.worst.get(name, 0.0), value)


REASONS = {"at most": "too long", "at least": "too short", "": "no place for two runs"}


def run(rooms: int, seed: int) -> Tally:
    """Lay a cable in so many rooms."""
    tally = Tally()
    for number in range(rooms):
        rng = np.random.default_rng((seed, number))
        room, rule, length_m = draw_case(rng)
        try:
            plan = plan_of(Survey(room=room, rule=rule), length_m)
        except InputError as error:
            assert str(error).count("\n") == 0
            tally.refused[REASONS[" ".join((error.allowed or "").split()[:2])]] += 1
            continue
        tally.add(measure(plan, room, rule, rng), length_m)
    return tally


ROWS = {
    "length_off_m": "length of the route less the heated length",
    "outside_m": "nearer to a wall than the margin",
    "in_keep_out_m": "nearer to furniture than the margin",
    "spacing_short_m": "two runs nearer than the spacing",
    "there_and_back_m": "position to plan and back",
}


def page(tally: Tally, rooms: int, seed: int) -> str:
    """The tally as Markdown."""
    rows = "\n".join(f"| {told} | {tally.worst[key]:.1e} m |" for key, told in ROWS.items())
    refusals = "\n".join(f"| {why} | {count} |" for why, count in tally.refused.most_common())
    return f"""# Laying by rule in random rooms

Written by `python tests/validation/rooms.py {rooms} {seed}`; cablesim {__version__}.

{rooms} rooms are drawn at random: rectangles, rooms with one corner inwards, slanted ones and stars
of 5 to 8 corners, 1.5 to 8 m wide, a third of them turned, with up to three pieces of furniture.
Each gets a spacing (60 to 200 mm), a margin (0 to 150 mm), a start, a bend radius or none, and a
length of 0.3 to 1.1 times what its free area would take. {tally.laid} cables were laid,
{tally.metres / 1000:.0f} km in all; each was measured anew from its points alone, and {PLACES}
positions of each were brought to the plan and back.

| worst of all cables | |
| --- | --- |
{rows}

Two places count as two runs where more than {ALONG:g} spacings of cable lie between them; a bend of
half a circle is 1.57 spacings long.

| refused, each with one sentence | rooms |
| --- | --- |
{refusals}
"""


if __name__ == "__main__":
    rooms, seed = int(sys.argv[1]), int(sys.argv[2])
    tally = run(rooms, seed)
    text = page(tally, rooms, seed)
    sys.stdout.write(text)
    if len(sys.argv) > 3:
        Path(sys.argv[3]).write_text(text, encoding="utf-8")
