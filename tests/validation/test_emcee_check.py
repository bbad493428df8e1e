"""A tiny run of the comparison with emcee in every suite; the real one is run by hand."""

import numpy as np
import pytest
from validation.emcee_check import compare, log_probability, page

from cablesim.locate import posterior
from cablesim.locate.likelihood import Displays
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory


@pytest.fixture(scope="module")
def answer():
    scenario = load_scenario(shipped_directory() / "demo.toml")
    return posterior(scenario.cable, scenario.readings)[0]


def test_what_emcee_samples_is_the_posterior_of_the_cube(answer):
    unknowns = answer.unknowns
    displays = Displays.of(unknowns.readings)
    heavy = answer.points.z[np.argsort(answer.points.weight)[-50:]]
    inside = log_probability(heavy, unknowns, displays)
    assert np.isfinite(inside).all()
    assert (inside <= 0).all()
    outside = heavy.copy()
    outside[:, -1] = 1.01
    assert np.isneginf(log_probability(outside, unknowns, displays)).all()


def test_a_short_chain_is_already_near_and_makes_a_page(answer):
    found = compare(answer, 1.0, np.random.default_rng(1), steps=80, walkers=100)
    assert found.verdict == "short"
    assert found.off < 0.3
    text = page([found], 1, 80)
    assert "| 1 | short |" in text
    assert text.count("\n| ") == 3, "heading, rule and one case"
