"""Expected losses: closed forms, and that nobody gains by saying other than what one believes."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.training.beliefs import Belief, Beliefs
from cablesim.training.losses import (
    LEVEL,
    SECOND_M,
    Stated,
    best_intervals_m,
    best_statement,
    interval_loss_m,
    place_loss_m,
    price_m,
)

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SHORT, CUT = (("short", ("braid", "core1")),), (("break", ("core1",)),)
GRID = (np.arange(4000) + 0.5) / 4000


def even(low, high, probability=1.0, damage=SHORT):
    places = low + (high - low) * GRID
    return Belief("short", damage, probability, (places,), np.full(len(places), 1 / len(places)))


def healthy(probability):
    return Belief("healthy", (), probability, (), np.ones(1))


@st.composite
def mixtures(draw):
    """Several humps, and perhaps a healthy cable."""
    count = draw(st.integers(1, 4))
    shares = [draw(st.floats(0.05, 1.0)) for _ in range(count + 1)]
    shares[-1] *= draw(st.sampled_from([0.0, 1.0]))
    found = [
        even(
            low,
            low + draw(st.floats(0.01, 5.0)),
            share / sum(shares),
            draw(st.sampled_from([SHORT, CUT])),
        )
        for share in shares[:-1]
        for low in [draw(st.floats(0.0, 25.0))]
    ]
    if shares[-1]:
        found.append(healthy(shares[-1] / sum(shares)))
    return Beliefs(tuple(found))


@given(mixtures(), st.floats(0.0, 30.0), st.floats(0.0, 30.0))
def test_no_statement_costs_less_than_the_best(beliefs, one, other):
    best, least = best_statement(TWIN, beliefs)
    assert least == pytest.approx(place_loss_m(TWIN, beliefs, best))
    for stated in (Stated((one,)), Stated((one, other)), Stated(), Stated(healthy=True)):
        # A median of 4000 points a hump is off by less than a point's width.
        saved = SECOND_M if len(stated.places_m) > 1 else 0.0
        assert place_loss_m(TWIN, beliefs, stated) >= least - saved - 2e-3


@given(mixtures(), st.floats(0.0, 10.0), st.floats(0.0, 10.0), st.sampled_from([-1, 1]))
def test_the_farther_from_the_best_place_the_more_it_costs(beliefs, near, more, side):
    # The middle of the places alone: a statement of none may be cheaper still.
    from cablesim.locate.summary import weighted_quantile

    middle = weighted_quantile(*beliefs.places_m(0, 1), 0.5)
    losses = [
        place_loss_m(TWIN, beliefs, Stated((middle + side * off,))) for off in (near, near + more)
    ]
    assert losses[1] >= losses[0] - 2e-3


@given(mixtures(), st.floats(0.0, 30.0), st.floats(0.0, 10.0))
def test_no_interval_costs_less_than_the_quantiles(beliefs, low, length):
    given_damage = beliefs.of(SHORT)
    least = interval_loss_m(given_damage, best_intervals_m(given_damage, 1))
    # Near a quantile the loss is flat; 4000 points a hump leave it 1e-3 of a metre at most.
    assert interval_loss_m(given_damage, [(low, low + length)]) >= least - 1e-2


@given(st.floats(0.0, 0.5), st.floats(0.5, 1.0))
def test_the_interval_score_of_an_even_place_in_closed_form(low, high):
    # Of x even in [0, 1]: u - l + (2 / a) (l^2 + (1 - u)^2) / 2.
    alpha = 1 - LEVEL
    expected = (high - low) + (2 / alpha) * (low**2 + (1 - high) ** 2) / 2
    loss = interval_loss_m(Beliefs((even(0.0, 1.0),)), [(low, high)])
    assert loss == pytest.approx(expected, abs=1e-5)


def test_the_best_interval_of_an_even_place_leaves_out_as_much_at_either_end():
    ((low, high),) = best_intervals_m(Beliefs((even(0.0, 1.0),)), 1)
    assert (low, high) == pytest.approx((0.025, 0.975), abs=1e-3)


@pytest.mark.parametrize("length_m", [1.0, 2.9, 3.1, 12.0])
def test_to_say_that_it_cannot_be_located_pays_where_more_is_open(length_m):
    # Placed counts a tenth of the cable, 3 m: an even stretch of as much costs as much either way.
    beliefs = Beliefs((even(5.0, 5.0 + length_m),))
    best, least = best_statement(TWIN, beliefs)
    assert price_m(TWIN) == pytest.approx(0.75)
    assert bool(best.places_m) == (length_m < 3.0)
    assert least == pytest.approx(min(length_m / 4, 0.75), abs=1e-3)


def test_one_place_for_two_is_half_right():
    both = Belief("several", SHORT + CUT, 1.0, (np.array([5.0]), np.array([15.0])), np.ones(1))
    beliefs = Beliefs((both,))
    assert place_loss_m(TWIN, beliefs, Stated((5.0, 15.0))) == pytest.approx(0.0)
    assert place_loss_m(TWIN, beliefs, Stated((15.0, 5.0))) == pytest.approx(0.0)
    assert place_loss_m(TWIN, beliefs, Stated((5.0,))) == pytest.approx(5.0)


@given(mixtures(), st.integers(0, 2**32 - 1))
def test_on_average_over_truths_an_answer_loses_what_it_was_expected_to(beliefs, seed):
    # Truths drawn from the posterior: the mean loss of the best statement is its expected one, and
    # that of another is no less. So nothing but the answer is scored.
    rng = np.random.default_rng(seed)
    damaged = [belief for belief in beliefs.every if belief.places_m]
    shares = np.array([belief.probability for belief in damaged])
    which = rng.choice(len(damaged), size=1000, p=shares / shares.sum())
    point = rng.integers(len(GRID), size=1000)
    true = np.stack([belief.places_m[0] for belief in damaged])[which, point]
    alone = Beliefs(
        tuple(
            Belief(b.verdict, b.damage, b.probability / shares.sum(), b.places_m, b.weight)
            for b in damaged
        )
    )
    lost = np.abs(true - 10.0)
    expected = place_loss_m(TWIN, alone, Stated((10.0,)))
    # Six standard errors: no draw of hypothesis comes near it.
    assert abs(lost.mean() - expected) < 6 * lost.std() / len(lost) ** 0.5 + 1e-3
