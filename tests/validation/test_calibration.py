"""The measures of the calibration check, and a smoke run of it; the check itself is run by hand."""

import json

import numpy as np
import pytest
from scipy.stats import norm
from validation import calibration
from validation.calibration_cases import draw_case, least_m
from validation.calibration_measures import (
    LEVELS,
    coverage,
    likeliest,
    log_score,
    passes,
    sharpened,
    uniform,
)
from validation.calibration_page import write

from cablesim.locate.closed_forms import break_from_three_capacitances
from cablesim.locate.limits import bound
from cablesim.locate.prior import hypotheses, place_prior

SEED = 7
# Whose first cases are answered quickly.
QUICK_SEED = 2028


@pytest.fixture(scope="module")
def places():
    """Ranks of a truth in normal posteriors of width 1, and of ones that claim half the width."""
    rng = np.random.default_rng(SEED)
    errors = rng.normal(size=2000)
    return {claimed: norm.cdf(errors / claimed) for claimed in (1.0, 0.5)}


def checks_of(ranks):
    held = [[abs(rank - 0.5) <= level / 2 for level in LEVELS] for rank in ranks]
    return [*coverage(held), uniform(ranks, "rank")]


def test_honest_places_pass_and_overconfident_ones_fail(places):
    assert passes(checks_of(places[1.0]))
    assert not passes(checks_of(places[0.5]))


def test_honest_probabilities_pass_and_overconfident_ones_fail():
    rng = np.random.default_rng(SEED)
    cases = []
    for chances in rng.dirichlet([0.5, 0.5, 0.5], 2000):
        true = rng.choice(3, p=chances)
        cases.append([(f"kind{k}", float(p), k == true) for k, p in enumerate(chances)])
    assert passes([likeliest(cases), log_score(cases)])
    surer = [sharpened(chances) for chances in cases]
    assert not passes([likeliest(surer), log_score(surer)])


def test_the_log_score_of_one_coin():
    found = log_score([[("healthy", 0.25, True), ("short", 0.75, False)]])
    assert found.found == pytest.approx(np.log(0.25))
    assert found.wanted == pytest.approx(0.25 * np.log(0.25) + 0.75 * np.log(0.75))


def test_a_rank_counts_half_of_what_lies_on_the_truth():
    values, weights = np.array([0.0, 1.0, 2.0]), np.array([0.2, 0.6, 0.2])
    assert calibration.rank_of(values, weights, 1.0) == pytest.approx(0.5)
    assert calibration.rank_of(values, weights, 1.5) == pytest.approx(0.8)


def test_the_bound_is_that_of_the_ranges_that_the_meters_were_in():
    """Three capacitances of this case are read in two ranges, so that the gain does not cancel.

    On the rated cable all three lie in one. By hand: two gains of 0.5 % over root three, through
    the closed form of three capacitances.
    """
    case = draw_case(np.random.default_rng((2029, 1793)), all_kinds=False)
    of_one, of_other, of_both = (reading.shown for reading in case.readings[-3:])
    assert of_both > 20 > of_one > of_other
    up, down = (
        break_from_three_capacitances(of_other, of_one, factor * of_both, 65.0, cold_lead_m=3.5)
        for factor in (1.001, 0.999)
    )
    by_hand = abs(up - down) / 0.002 * (0.005 / 3**0.5 * 2**0.5)
    assert least_m(case) == pytest.approx(by_hand, rel=0.05)
    rated = bound(case.cable, case.faults, [r.probe for r in case.readings]).place_m[0, 0]
    assert rated < by_hand / 5


def test_cases_are_drawn_with_the_weights_of_the_prior():
    """By the weights of the table, and places by the prior of places."""
    drawn = [draw_case(np.random.default_rng((SEED, k)), all_kinds=True) for k in range(200)]
    kinds = [case.table[case.number].verdict for case in drawn]
    for kind in set(kinds):
        weight = sum(h.weight for h in hypotheses(drawn[0].cable) if h.verdict == kind)
        assert kinds.count(kind) / len(drawn) == pytest.approx(
            weight, abs=4 * (weight / len(drawn)) ** 0.5
        )
    shares = []
    for case in drawn:
        prior = place_prior(case.cable)
        if len(case.places_m) == 1:
            cumulated = np.append(0.0, np.cumsum(prior.weights))
            shares.append(float(np.interp(case.places_m[0], prior.edges_m, cumulated)))
    assert uniform(shares, "place").p > 1e-3


def test_smoke_run_resumes_and_writes_its_page(tmp_path):
    """A run that was cut off keeps its cases, and none is answered twice."""
    (tmp_path / "validation").mkdir()
    lines, to = tmp_path / "lines.jsonl", tmp_path / "validation" / "calibration.md"
    calibration.run(1, QUICK_SEED, lines)
    kept = lines.read_text(encoding="utf-8")
    lines.write_text(kept + kept.splitlines()[0][:40], encoding="utf-8")
    calibration.run(4, QUICK_SEED, lines)
    assert lines.read_text(encoding="utf-8").startswith(kept)
    records = list(calibration.recorded(lines, QUICK_SEED))
    assert [record.case for record in records] == list(range(4))
    assert list(calibration.recorded(lines, QUICK_SEED + 1)) == []
    for record in records:
        if record.chances is not None:
            assert sum(true for _, _, true in record.chances) == 1
        if record.rank is not None:
            assert 0 <= record.rank <= 1
            # An interval that holds the truth at one level holds it at any larger one.
            assert record.held[-1] or not record.held[0]
    write(records, to, 4, QUICK_SEED)
    assert "4 cases of 4" in to.read_text(encoding="utf-8")
    assert (tmp_path / "figures" / "calibration.png").stat().st_size > 10_000
    assert json.loads(kept.splitlines()[0])["case"] == 0


@pytest.mark.parametrize("number", [20, 236, 269, 284])
def test_a_truth_is_not_ruled_out(number):
    """Two damages, one near the entry, lost where the first cells are even; and two breaks read by
    capacitance, lost where a search trusts derivatives grown stale.
    """
    assert not calibration.answer_case(number, seed=2028).ruled_out


@pytest.mark.parametrize("number", [1911, 2464, 2506])
def test_a_hypothesis_is_not_given_up_before_its_fit_has_come_to_its_end(number):
    """A break a millimetre into a parallel cable, a path at the end of its range of resistance, and
    a leak that only gains at their limits explain.
    """
    assert not calibration.answer_case(number, seed=2029).ruled_out


@pytest.mark.parametrize("number", [5, 135])
def test_the_cell_that_holds_the_truth_is_not_dropped(number):
    assert calibration.answer_case(number, seed=2029).held[-1]
