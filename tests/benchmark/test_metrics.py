"""Metrics: intervals hold what they promise, pairs cancel what is common, ranks need a reason."""

import numpy as np
import pytest

from cablesim.benchmark.metrics import (
    LEAST_CASES,
    mean,
    median,
    paired,
    percentile_95,
    root_mean_square,
    share,
)
from cablesim.benchmark.summary import METRICS, ranked, summarised
from cablesim.errors import InputError


@pytest.mark.parametrize(
    ("metric", "truth"), [(mean, 1.0), (median, np.log(2)), (root_mean_square, 2**0.5)]
)
def test_bootstrap_intervals_hold_the_truth_of_an_exponential(metric, truth):
    # Mean 1, median ln 2, mean square 2. Of 150 intervals of 95 % from 80 cases each about 93 %
    # hold, since a percentile bootstrap of a skewed statistic is a little short; 84 % is four
    # standard deviations below that.
    rng = np.random.default_rng(4)
    found = [metric(rng.exponential(size=80)) for _ in range(150)]
    held = np.mean([v.low <= truth <= v.high for v in found])
    assert 0.84 <= held <= 0.99


def test_bootstrap_of_a_mean_is_as_wide_as_the_normal_says():
    values = np.random.default_rng(5).normal(3.0, 2.0, 4000)
    found = mean(values)
    wanted = 2 * 1.959964 * values.std() / 4000**0.5
    # 2000 resamples know a 2.5 % tail within some per cent.
    assert found.high - found.low == pytest.approx(wanted, rel=0.1)
    assert mean(values) == found


def test_few_cases_have_no_interval():
    few = mean(np.arange(LEAST_CASES - 1.0))
    assert few.cases == LEAST_CASES - 1 and np.isnan(few.low)
    assert mean([]).cases == 0 and np.isnan(mean([]).value)
    assert few.to_dict()["low"] is None


def test_wilson_interval_as_published():
    # R. G. Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (from memory):
    # 81 of 263: 0.2553 to 0.3662; 0 of 20: 0 to 0.1611.
    found = share([1] * 81 + [0] * 182)
    assert (found.low, found.high) == pytest.approx((0.2553, 0.3662), abs=5e-5)
    none = share([0] * 20)
    assert (none.low, none.high) == pytest.approx((0.0, 0.1611), abs=5e-5)


def test_pairs_cancel_what_makes_a_case_hard():
    rng = np.random.default_rng(6)
    hard = rng.exponential(10.0, 200)
    one, other = hard + rng.normal(0, 0.1, 200), hard + 0.2 + rng.normal(0, 0.1, 200)
    found = paired(one, other)
    assert found.significant and found.mean.value == pytest.approx(-0.2, abs=0.05)
    assert found.better.value > 0.8
    # By themselves the two could not be told apart.
    assert mean(one).high > mean(other).low
    assert not paired(one, one).significant


def test_pairs_of_different_cases_are_refused():
    with pytest.raises(InputError, match="same cases"):
        paired([1.0, 2.0], [1.0])


def rows(scores, **more):
    return [
        {"case": k, "place_m": 1.0, "status": "answered", "difficulty": "easy", "crps_m": s}
        | {"crps_floor_m": 9.0, "tiles_floor": 9, "error_m": s, "held": s < 1}
        | more
        for k, s in enumerate(scores)
    ]


def test_ranks_are_apart_only_where_the_difference_is_significant():
    rng = np.random.default_rng(7)
    base = rng.exponential(1.0, 60)
    found = ranked(
        {
            "worse": rows(base + 1.0 + rng.normal(0, 0.2, 60)),
            "best": rows(base),
            "near": rows(base + rng.normal(0.02, 0.3, 60)),
        }
    )
    assert {r.name: r.rank for r in found} == {"best": 1, "near": 1, "worse": 3}
    assert found[0].behind is None and found[2].behind.significant


def test_what_is_not_named_costs_what_the_floor_pays():
    given = rows([1.0] * 12)
    silent = [
        {k: v for k, v in row.items() if k not in ("crps_m", "error_m", "held")}
        | {"status": "declined"}
        for row in rows([1.0] * 12)
    ]
    found = summarised(given + silent)
    assert found["crps_filled_m"].value == 5.0
    assert found["crps_m"].value == 1.0
    assert found["named"].value == found["declined"].value == 0.5
    assert found["tiles_mean"].value == 9.0
    assert set(found) == set(METRICS)
    assert percentile_95(np.arange(101)).value == 95.0
