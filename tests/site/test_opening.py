"""Openings: they cover what must be freed, spare every run, and are no larger than they must be."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from site_strategies import seeds
from validation.openings import draw_job, run

from cablesim.errors import InputError
from cablesim.site.opening import CLEAR_M, SLACK_M, opening_for, tile_grid, tiles_for_splice
from cablesim.site.plan import plan_of
from cablesim.site.ranking import ranked_openings
from cablesim.site.room import Room
from cablesim.site.survey import Rule, Survey

ROOM = Room(((0.0, 0.0), (3.0, 0.0), (3.0, 2.4), (0.0, 2.4)))
BARE = plan_of(Survey(room=ROOM, rule=Rule(0.1, 0.05, (0.0, 0.0))), 40.0)
TILED = plan_of(replace(BARE.survey, tile_m=(0.3, 0.4)), 40.0)


@settings(max_examples=20)
@given(seeds, st.booleans(), st.floats(0, 1), st.floats(0, 3))
def test_an_opening_covers_what_is_freed_and_spares_every_run(seed, tiled, share, half_m):
    plan = draw_job(np.random.default_rng(seed)).plan
    if not tiled:
        plan = plan_of(replace(plan.survey, tile_m=None), plan.heated_length_m)
    at_m = share * plan.heated_length_m
    opening = opening_for(plan, (at_m - half_m, at_m + half_m))
    low, high = opening.freed_m
    assert low == pytest.approx(max(0.0, at_m - half_m - SLACK_M))
    assert high == pytest.approx(min(plan.heated_length_m, at_m + half_m + SLACK_M))
    freed = shapely.LineString(plan.stretch(low, high))
    assert opening.patch.buffer(1e-6).covers(freed)
    assert opening.covered == pytest.approx(1.0)
    assert plan.room.free().buffer(1e-6).covers(opening.patch)
    cable = shapely.LineString(plan.route.xy_m)
    assert opening.cuts.distance(cable) >= CLEAR_M or opening.cuts.is_empty
    # Every crossing of the edge and the cable is among those to be lifted by hand; a wall along
    # which a cable may lie is no edge to be cut.
    walls = plan.room.free().boundary.buffer(2e-4)
    crossing = opening.patch.boundary.intersection(cable).difference(walls)
    assert opening.by_hand.buffer(1e-6).covers(crossing)
    assert opening.patch.contains(shapely.Point(opening.begin_m))
    clear_m = cable.distance(shapely.Point(opening.begin_m))
    assert opening.begin_clear_m == pytest.approx(clear_m)


@settings(max_examples=20)
@given(st.floats(0, 40), st.floats(0, 1))
def test_no_tile_could_stay(at_m, half_m):
    opening = opening_for(TILED, (max(0, at_m - half_m), min(40, at_m + half_m)))
    grid = tile_grid(TILED)
    freed = shapely.LineString(TILED.stretch(*opening.freed_m)).buffer(0.011)
    for tile in opening.tiles:
        assert grid.box(tile).intersection(freed).area > 0
    assert len(set(opening.tiles)) == len(opening.tiles)


def test_a_patch_on_one_run_lies_between_its_neighbours():
    # In the middle of the fifth run: two of the patch's edges along it, midway to the neighbours.
    run_ = BARE.runs[4]
    middle = sum(run_.straight_m) / 2
    opening = opening_for(BARE, (middle - 0.1, middle + 0.1))
    left, low, right, high = opening.patch.bounds
    assert min(right - left, high - low) == pytest.approx(0.1, abs=0.011)
    assert max(right - left, high - low) == pytest.approx(0.4, abs=0.25)
    assert opening.other_runs == ()
    # It crosses the cable where the run itself goes in and out, and nowhere else.
    cable = shapely.LineString(BARE.route.xy_m)
    assert len(shapely.get_parts(opening.patch.boundary.intersection(cable))) == 2


def test_tiles_tell_which_other_runs_they_lie_over():
    run_ = TILED.runs[6]
    middle = sum(run_.straight_m) / 2
    opening = opening_for(TILED, (middle - 0.05, middle + 0.05))
    assert opening.other_runs
    assert run_.number not in opening.other_runs
    for number in opening.other_runs:
        other = TILED.runs[number - 1]
        line = shapely.LineString(TILED.stretch(other.from_m, other.to_m))
        assert line.intersects(opening.patch)


def test_what_goes_under_a_bath_cannot_be_opened_there():
    bath = ((1.0, 0.0), (2.0, 0.0), (2.0, 1.0), (1.0, 1.0))
    survey = Survey(room=Room(ROOM.outline_m, (bath,)), route_m=((0.1, 0.5), (2.9, 0.5)))
    plan = plan_of(survey, 2.8)
    opening = opening_for(plan, (0.7, 1.1))
    assert 0 < opening.covered < 1
    assert not opening.patch.intersects(shapely.Polygon(bath).buffer(-1e-6))
    hidden = opening_for(plan, (1.2, 1.4))
    assert hidden.covered == pytest.approx(0.0, abs=1e-6)
    assert hidden.area_m2 == 0.0


def test_tiles_are_counted_from_the_lower_left_of_the_room():
    room = Room(((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)))
    survey = Survey(room, ((-0.9, -0.9), (0.9, -0.9)), tile_m=(0.4, 0.5), tile_origin_m=(0.1, 0.0))
    grid = tile_grid(plan_of(survey, 1.8))
    # Columns meet at -1.1, -0.7, ..., so that the first is cut at the wall.
    assert grid.counts == (6, 4)
    assert tuple(grid.tile_at(np.array([-0.95, -0.95]))) == (1, 1)
    assert tuple(grid.tile_at(np.array([0.95, 0.95]))) == (6, 4)
    assert grid.box((1, 1)).bounds == pytest.approx((-1.1, -1.0, -0.7, -0.5))
    assert grid.area([(1, 1)]).area == pytest.approx(0.3 * 0.5)


def test_the_likelier_and_the_smaller_comes_first():
    ranking = ranked_openings(TILED, [(10, 10.2, 0.2), (20, 20.2, 0.7)])
    assert ranking.openings[0].interval_m == (20, 20.2)
    assert ranking.probabilities == (0.7, 0.2)
    assert ranking.expected_openings == pytest.approx((0.7 + 2 * 0.2) / 0.9)
    # As likely as each other, but one is fifty times as long.
    ranking = ranked_openings(TILED, [(10, 20, 0.45), (30, 30.2, 0.45)])
    assert ranking.openings[0].interval_m == (30, 30.2)


def test_tiles_one_by_one_are_likeliest_first_and_sum_to_one():
    ranking = ranked_openings(TILED, [(10, 13, 0.3), (20, 21, 0.65)])
    shares = [share for _, share in ranking.lift_order]
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0)
    tiles = {tile for tile, _ in ranking.lift_order}
    assert tiles <= {tile for opening in ranking.openings for tile in opening.tiles}
    assert 1 <= ranking.expected_tiles <= ranking.expected_tiles_whole


def test_expected_tiles_are_the_mean_of_simulated_searches():
    intervals = [(10.0, 11.0, 0.25), (20.0, 20.5, 0.75)]
    ranking = ranked_openings(TILED, intervals)
    grid = tile_grid(TILED)
    order = [tile for tile, _ in ranking.lift_order]
    rng = np.random.default_rng(5)
    counts = []
    for _ in range(1500):
        low, high, _ = intervals[rng.choice(2, p=[0.25, 0.75])]
        place = rng.uniform(low, high)
        column, row = grid.tile_at(TILED.at(place))
        lifted = set(order[: order.index((column, row)) + 1])
        counts.append(len(lifted | set(tiles_for_splice(TILED, place))))
    error = 4 * np.std(counts) / np.sqrt(len(counts))
    assert ranking.expected_tiles == pytest.approx(np.mean(counts), abs=error + 0.05)


def test_finer_knowledge_changes_the_order_of_tiles_only():
    flat = ranked_openings(TILED, [(10, 13, 0.95)])
    peaked = ranked_openings(
        TILED, [(10, 13, 0.95)], cells=[(10, 12.8, 0.05), (12.8, 12.9, 0.9), (12.9, 13, 0.0)]
    )
    assert peaked.openings[0].tiles == flat.openings[0].tiles
    column, row = tile_grid(TILED).tile_at(TILED.at(12.85))
    assert peaked.lift_order[0][0] == (column, row)
    assert peaked.expected_tiles < flat.expected_tiles


def test_many_intervals_are_ranked_too():
    intervals = [(3.0 * k, 3.0 * k + 0.2, 0.05 + 0.01 * k) for k in range(9)]
    ranking = ranked_openings(BARE, intervals)
    assert len(ranking.openings) == 9
    assert ranking.expected_tiles is None
    assert ranking.lift_order == ()
    assert 0 < ranking.expected_area_m2 < sum(o.area_m2 for o in ranking.openings)


def test_the_plan_beats_a_square_on_simulated_jobs():
    tally = run(6, 3)
    assert (tally.uncovered, tally.too_near) == (0, 0)
    assert sum(tally.plan_whole) < sum(tally.square_whole)
    assert sum(tally.plan_singly) < sum(tally.square_singly)


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: opening_for(BARE, (3.0, 2.0)), r"interval_m is \[3\.0, 2\.0\]"),
        (lambda: opening_for(BARE, (41.0, 42.0)), "on the heated part, from 0 to 40 m"),
        (lambda: opening_for(BARE, (float("nan"), 2.0)), "interval_m is"),
        (lambda: opening_for(BARE, (1.0,)), "two positions"),
        (lambda: opening_for(BARE, (1.0, 2.0), -1.0), "slack_m is -1"),
        (lambda: ranked_openings(BARE, []), "at least one on the heated part"),
        (lambda: ranked_openings(BARE, [(-2.0, -1.0, 1.0)]), "at least one on the heated part"),
        (lambda: ranked_openings(BARE, [(1.0, 2.0, 1.5)]), "a probability from 0 to 1"),
        (lambda: ranked_openings(BARE, [(1.0, 2.0)]), "from, to and probability"),
        (lambda: ranked_openings(BARE, [(1.0, 2.0, 0.01)] * 51), "at most 50"),
    ],
)
def test_what_cannot_be_is_refused(make, why):
    with pytest.raises(InputError, match=why) as caught:
        make()
    assert "\n" not in str(caught.value)
