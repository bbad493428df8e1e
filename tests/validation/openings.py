"""Simulated jobs: how many tiles are lifted until the damage is found and has room for a splice?

Run by hand or from the test beside it:

    PYTHONPATH=tests python tests/validation/openings.py JOBS SEED [FILE]

draws a room, a cable laid in it, tiles, a place of damage and what a locator may have said of it,
and lets two workers open the floor: one follows the plan, the other breaks open a square around the
best guess and enlarges it until the damage comes to light.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import shapely
from validation.rooms import draw_case

from cablesim import __version__
from cablesim.errors import InputError
from cablesim.site.opening import CLEAR_M, SLACK_M, opening_for, tile_grid, tiles_for_splice
from cablesim.site.plan import Plan, plan_of
from cablesim.site.ranking import ranked_openings
from cablesim.site.survey import Survey


@dataclass(frozen=True)
class Job:
    """A floor, what a locator said (from, to, probability), and the truth."""

    plan: Plan
    intervals: tuple[tuple[float, float, float], ...]
    best_m: tuple[float, ...]
    true_m: float


def draw_job(rng: np.random.Generator) -> Job:
    """Draw a job: in three of ten two places are in question, in one of twenty neither is true."""
    while True:
        room, rule, length_m = draw_case(rng)
        tile = (round(float(rng.uniform(0.15, 0.6)), 2), round(float(rng.uniform(0.15, 0.6)), 2))
        origin = tuple(float(x) for x in rng.uniform(0, 0.6, 2))
        try:
            plan = plan_of(
                Survey(room=room, rule=rule, tile_m=tile, tile_origin_m=origin), length_m
            )
        except InputError:
            continue
        break
    sigma_m = float(np.exp(rng.uniform(np.log(0.03), np.log(0.8))))
    likeliest = float(rng.uniform(0.55, 0.9)) if rng.random() < 0.3 else 1.0
    true_m = float(rng.uniform(0, length_m))
    centre = float(np.clip(true_m + sigma_m * rng.normal(), 0.0, length_m))
    best = [(centre, likeliest)]
    if likeliest < 1.0:
        other = (float(rng.uniform(0, length_m)), 1.0 - likeliest)
        # The true place is the likelier one as often as its probability says.
        if rng.random() < likeliest:
            best.append(other)
        else:
            best = [(other[0], likeliest), (centre, 1.0 - likeliest)]
    intervals = tuple(
        (max(0.0, m - 1.96 * sigma_m), min(length_m, m + 1.96 * sigma_m), 0.95 * share)
        for m, share in best
    )
    return Job(plan, intervals, tuple(m for m, _ in best), true_m)


def lifted_by_plan(job: Job) -> tuple[int, int]:
    """Tiles lifted by who follows the ranking, opening by opening, and tile by tile."""
    ranking = ranked_openings(job.plan, job.intervals)
    target = tile_over(job.plan, job.true_m)
    splice = set(tiles_for_splice(job.plan, job.true_m))
    whole: set[tuple[int, int]] = set()
    for opening in ranking.openings:
        whole |= set(opening.tiles)
        if target in whole:
            break
    singly: set[tuple[int, int]] = set()
    for tile, _ in ranking.lift_order:
        singly.add(tile)
        if tile == target:
            break
    # Found in none of them: on along the cable, from the ends of the intervals outwards.
    onwards = along_the_cable(job)
    return (
        len(until(target, whole, onwards) | splice),
        len(until(target, singly, onwards) | splice),
    )


def lifted_by_square(job: Job) -> tuple[int, int]:
    """Tiles lifted by who opens a square around the best guess, whole, and tile by tile.

    The square is as wide as the interval and the slack are long; where it shows nothing the same is
    done at the next best guess, and then wider and wider around the first.
    """
    grid = tile_grid(job.plan)
    assert grid is not None
    target = tile_over(job.plan, job.true_m)
    splice = set(tiles_for_splice(job.plan, job.true_m))
    room = job.plan.room.free()
    whole: set[tuple[int, int]] = set()
    singly: set[tuple[int, int]] = set()
    for best_m, (low, high, _) in zip(job.best_m, job.intervals, strict=True):
        middle = job.plan.at(best_m)
        half_m = (high - low) / 2 + SLACK_M
        square = grid.under(shapely.intersection(room, box_around(middle, half_m)))
        if target not in whole:
            whole |= set(square)
        singly = until(target, singly, nearest_first(grid, square, middle))
    step_m = min(job.plan.survey.tile_m or (0.3,)) / 2
    middle = job.plan.at(job.best_m[0])
    half_m = (job.intervals[0][1] - job.intervals[0][0]) / 2 + SLACK_M
    while target not in whole or target not in singly:
        half_m += step_m
        square = grid.under(shapely.intersection(room, box_around(middle, half_m)))
        if target not in whole:
            whole |= set(square)
        singly = until(target, singly, nearest_first(grid, square, middle))
    return len(whole | splice), len(singly | splice)


def box_around(middle, half_m):
    return shapely.box(*(middle - half_m), *(middle + half_m))


def tile_over(plan: Plan, position_m: float) -> tuple[int, int]:
    grid = tile_grid(plan)
    assert grid is not None
    column, row = grid.tile_at(plan.at(position_m))
    return int(column), int(row)


def until(target, lifted, order):
    """Lift tiles in order until the one over the damage is up."""
    lifted = set(lifted)
    for tile in order:
        if target in lifted:
            break
        lifted.add(tile)
    return lifted


def nearest_first(grid, tiles, middle):
    def off(tile):
        return float(grid.box(tile).distance(shapely.Point(middle))), tile

    return sorted(tiles, key=off)


def along_the_cable(job: Job) -> list[tuple[int, int]]:
    low, high, _ = job.intervals[0]
    length_m = job.plan.heated_length_m
    out = np.arange(0.0, length_m, 0.05)
    both = np.stack([high + out, low - out], axis=1).ravel()
    both = both[(both >= 0) & (both <= length_m)]
    return list(dict.fromkeys(tile_over(job.plan, float(place)) for place in both))


@dataclass
class Tally:
    plan_whole: list[int]
    plan_singly: list[int]
    square_whole: list[int]
    square_singly: list[int]
    said: list[float]
    uncovered: int = 0
    too_near: int = 0
    openings: int = 0


def run(jobs: int, seed: int) -> Tally:
    """Do so many jobs, and check every opening on the way."""
    tally = Tally([], [], [], [], [])
    for number in range(jobs):
        job = draw_job(np.random.default_rng((seed, number)))
        for count, into in zip(
            (*lifted_by_plan(job), *lifted_by_square(job)),
            (tally.plan_whole, tally.plan_singly, tally.square_whole, tally.square_singly),
            strict=True,
        ):
            into.append(count)
        expected = ranked_openings(job.plan, job.intervals).expected_tiles
        assert expected is not None
        tally.said.append(expected)
        check(job, tally)
    return tally


def check(job: Job, tally: Tally) -> None:
    """Hold each opening, with tiles and without, to what it promises."""
    bare = plan_of(replace(job.plan.survey, tile_m=None), job.plan.heated_length_m)
    cable = shapely.LineString(job.plan.route.xy_m)
    for plan in (job.plan, bare):
        for low, high, _ in job.intervals:
            opening = opening_for(plan, (low, high))
            tally.openings += 1
            wanted = shapely.LineString(plan.stretch(*opening.freed_m))
            tally.uncovered += not opening.patch.buffer(1e-6).covers(wanted)
            tally.too_near += opening.cuts.distance(cable) < CLEAR_M - 1e-9


def mean_words(values: np.ndarray) -> str:
    half = 1.96 * values.std(ddof=1) / np.sqrt(len(values))
    return f"{values.mean():.2f} ({values.mean() - half:.2f} to {values.mean() + half:.2f})"


def page(tally: Tally, jobs: int, seed: int) -> str:
    """The tally as Markdown."""
    of = {name: np.array(getattr(tally, name), float) for name in vars(tally) if name != "openings"}
    whole = of["square_whole"] - of["plan_whole"]
    singly = of["square_singly"] - of["plan_singly"]
    return f"""# Opening the floor: the plan against a square

Written by `python tests/validation/openings.py {jobs} {seed}`; cablesim {__version__}.

{jobs} jobs are drawn at random: a cable laid by rule in one of the rooms of
[laying by rule in random rooms](rooms.md), tiles of 150 to 600 mm, damage anywhere on the cable, a locator whose error is
normal with a standard deviation of 30 to 800 mm and which says a 95 % interval; in three of ten jobs
a second place is in question, and is the true one as often as its probability says. Damage is found
when the tile over it is lifted; then come the tiles that a splice with {1000 * SLACK_M:.0f} mm on either side needs.

- **The plan**: the openings of `ranked_openings` in their order, or its single tiles in theirs;
  where the damage lies in none, on along the cable from the ends of the likeliest interval.
- **The square**: all tiles under a square around the best guess, as wide as the interval and the
  slack are long; then the same at the second place; then wider and wider around the first. Tile
  by tile means the nearest to the guess first.

Tiles lifted in all, mean of {jobs} jobs and its 95 % interval:

| | the plan | the square | saved | square needs fewer |
| --- | --- | --- | --- | --- |
| opened whole | {mean_words(of["plan_whole"])} | {mean_words(of["square_whole"])} | {mean_words(whole)} | {(whole < 0).sum()} of {jobs} |
| tile by tile | {mean_words(of["plan_singly"])} | {mean_words(of["square_singly"])} | {mean_words(singly)} | {(singly < 0).sum()} of {jobs} |

`expected_tiles` said {mean_words(of["said"])} tile by tile, given that the damage lies in an interval.

Of {tally.openings} openings, half of them for the same floors without tiles, {tally.uncovered} left a part of the
stretch to be freed covered, and {tally.too_near} asked for a cut nearer than {1000 * CLEAR_M:.0f} mm to any run.
"""  # noqa: E501


if __name__ == "__main__":
    jobs, seed = int(sys.argv[1]), int(sys.argv[2])
    tally = run(jobs, seed)
    text = page(tally, jobs, seed)
    sys.stdout.write(text)
    if len(sys.argv) > 3:
        Path(sys.argv[3]).write_text(text, encoding="utf-8")
