"""The measurements of speed run, and all ways agree; no time is asserted."""

import numpy as np
import pytest
from speed import electrics, locate

from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory


def test_every_rate_is_a_number():
    rows = electrics.rates(sizes=(1, 3), faults=(1, 2), least_s=0.0)
    rows += electrics.band_rates(sizes=(1, 2), faults=(1,), points=8, least_s=0.0)
    assert len(rows) == 5
    for row in rows:
        assert all(np.isfinite(rate) and rate > 0 for rate in row.scenarios_a_second.values())


@pytest.mark.ngspice
def test_what_it_is_measured_against_does_the_same_job():
    for rival in electrics.rivals(scenarios=1, points=8, least_s=0.0):
        assert rival.error["cablesim"] < 1e-11, rival.what
        # 200 rungs, up to 10 MHz: 30 m are some 10 rad there.
        assert max(rival.error.values()) < 2e-2, rival.what


def test_more_faults_take_more_operations_in_proportion():
    one, two, three = (electrics.operations("shorts", count) for count in (1, 2, 3))
    assert one > 100
    assert 0.5 < (three - two) / (two - one) < 2


def test_memory_stays_flat():
    small, _ = electrics.peak_megabytes(1)
    large, numbers = electrics.peak_megabytes(300_000)
    # Numbers in and out, the conductances between terminals beside them, and rows being sorted.
    assert large - small < 4 * numbers + 20


def test_a_posterior_of_one_damage_and_many_cases_are_timed():
    loft = load_scenario(shipped_directory() / "loft-single-conductor.toml")
    found = locate.warm("loft", loft, least_s=0.0)
    assert found.hypotheses > len(locate.of_one_damage(loft.cable))
    assert min(found.all_s, found.one_damage_s, found.peer_s) > 0
    assert locate.many(2, 1, workers=1) > 0
