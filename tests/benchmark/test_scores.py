"""Scores against closed forms, and proper: who states what he believes does best."""

import itertools
import math
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import integrate

from cablesim.benchmark.scores import (
    brier_score,
    crps_of_density,
    crps_of_normal,
    interval_score,
    log_score,
    normal_of,
    tiles_opened,
)
from cablesim.locate.estimate import Density

PLACES = st.floats(-50, 50)


def density(edges, mass):
    edges, mass = np.asarray(edges, float), np.asarray(mass, float)
    return Density(edges, mass / mass.sum() / np.diff(edges))


@given(low=PLACES, width=st.floats(0.01, 40), place=PLACES)
def test_crps_of_an_even_density(low, width, place):
    # From the definition: with u = (y - a) / w inside, w (u^3 + (1 - u)^3) / 3; outside, the
    # distance to the near end and a third of the width.
    u = (place - low) / width
    inside = min(max(u, 0.0), 1.0)
    wanted = width * (inside**3 + (1 - inside) ** 3) / 3 + width * abs(u - inside)
    assert crps_of_density(density([low, low + width], [1]), place) == pytest.approx(
        wanted, abs=1e-9
    )


@given(place=PLACES, seed=st.integers(0, 99))
def test_crps_of_any_density_is_its_integral(place, seed):
    rng = np.random.default_rng(seed)
    edges = np.sort(rng.uniform(-20, 20, 7))
    found = density(edges, rng.random(6) + 0.01)

    def squared(x):
        below = np.interp(x, edges, np.append(0, np.cumsum(found.mass)))
        return (below - (x >= place)) ** 2

    ends = np.sort(np.append(edges, [place, -60, 60]))
    wanted = sum(
        integrate.quad(squared, a, b - 1e-12)[0]
        for a, b in itertools.pairwise(ends)
        if b > a + 1e-9
    )
    assert crps_of_density(found, place) == pytest.approx(wanted, rel=1e-6, abs=1e-6)


@given(middle=PLACES, deviation=st.floats(0.01, 20), place=PLACES)
def test_crps_of_a_normal_is_that_of_many_narrow_cells(middle, deviation, place):
    edges = middle + deviation * np.linspace(-8, 8, 1601)
    below = np.array([NormalDist(middle, deviation).cdf(e) for e in edges])
    cells = crps_of_density(density(edges, np.diff(below)), place)
    # Cells of a hundredth of a deviation bend the distribution by 1e-5 of it at most.
    assert crps_of_normal(middle, deviation, place) == pytest.approx(cells, abs=1e-4 * deviation)


def test_crps_of_a_standard_normal_at_its_middle():
    # (sqrt(2) - 1) / sqrt(pi), from the closed form of Gneiting and Raftery (2007).
    wanted = (math.sqrt(2) - 1) / math.sqrt(math.pi)
    assert crps_of_normal(0.0, 1.0, 0.0) == pytest.approx(wanted, rel=1e-12)


@pytest.mark.parametrize("stated", [0.5, 2.0])
def test_proper_scores_are_least_for_the_truth(stated):
    # Expected over a normal truth, by quadrature: another width than the true one costs more.
    truth = NormalDist(0, 1)
    places = np.linspace(-7, 7, 2801)
    weight = np.array([truth.pdf(p) for p in places]) * (places[1] - places[0])
    z = truth.inv_cdf(0.975)

    def expected(score):
        return float(np.sum(weight * np.array([score(p) for p in places])))

    for score in (
        lambda s: lambda p: crps_of_normal(0, s, p),
        lambda s: lambda p: log_score(NormalDist(0, s).pdf(p), 30.0),
        lambda s: lambda p: interval_score([(-z * s, z * s)], 0.95, p),
    ):
        assert expected(score(1.0)) < expected(score(stated))


def test_interval_score_by_hand():
    # Gneiting and Raftery (2007), equation 43: width, and 2 / alpha times the miss.
    assert interval_score([(1.0, 2.0)], 0.95, 1.5) == 1.0
    assert interval_score([(1.0, 2.0)], 0.95, 2.1) == pytest.approx(1.0 + 2 / 0.05 * 0.1)
    assert interval_score([(1.0, 2.0), (5.0, 6.0)], 0.9, 4.0) == pytest.approx(2.0 + 20 * 1.0)


@given(share=st.floats(0, 1))
def test_brier_score_is_between_its_ends(share):
    found = brier_score({"short": share, "break": 1 - share}, "short")
    assert found == pytest.approx(2 * (1 - share) ** 2)
    assert brier_score({}, "short") == 1.0


def test_the_normal_of_an_interval_has_that_interval():
    middle, deviation = normal_of(2.0, 6.0, 0.9)
    assert NormalDist(middle, deviation).cdf(6.0) == pytest.approx(0.95)
    assert middle == 4.0


@given(error=st.floats(0, 20))
def test_tiles_bare_the_damage_and_no_fewer_would(error):
    tile = 0.3
    count = tiles_opened(10.0, 10.0 + error, tile)
    assert count % 2 == 1
    assert error <= count * tile / 2 + 1e-9
    assert count == 1 or error >= (count - 2) * tile / 2 - 1e-9
