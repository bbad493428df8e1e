"""The contract holds over the whole registry, and for what other packages offer."""

from importlib.metadata import EntryPoint
from math import isfinite

import numpy as np
import pytest

from cablesim.benchmark import baselines
from cablesim.benchmark import estimator as registry
from cablesim.benchmark.answer import Answer, answer_of
from cablesim.benchmark.estimator import estimator_named, estimator_names
from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Short
from cablesim.errors import InputError
from cablesim.instruments.readings import Reading, measure
from cablesim.instruments.standard import standard_probes
from cablesim.line.ladder import ladder
from cablesim.locate import answer as answer_module
from cablesim.locate.answer import locate

CABLE = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
DAMAGES = [
    Short(("core1", "braid"), 12.4, 55.0),
    Break(("core2",), 12.4),
    Degraded.at(("core1", "braid"), 12.4, 1e6),
]


def readings_of(fault):
    probes = standard_probes(CABLE)
    rng = np.random.default_rng(7)
    shown = measure(CABLE, (fault,), probes, rng=rng, mesh_of=ladder(24))
    return tuple(Reading(p, float(s)) for p, s in zip(probes, shown, strict=True))


CASES = [(fault, readings_of(fault)) for fault in DAMAGES]
# A posterior takes its time: three readings of one case show as much of the contract.
SLOW = ("ceiling", "posterior", "least_squares", "overconfident")


@pytest.fixture(scope="module")
def located():
    return locate(CABLE, CASES[0][1][:3])


@pytest.mark.parametrize("name", estimator_names())
def test_every_estimator_keeps_the_contract(name, located, monkeypatch):
    # All that rest on the posterior are asked about the same readings: one will do.
    for module in (baselines, answer_module):
        monkeypatch.setattr(module, "locate", lambda cable, readings: located)
    found = estimator_named(name)
    cases = [CASES[0][1][:3]] if name in SLOW else [readings for _, readings in CASES]
    for readings in cases:
        answer = found.answer(CABLE, readings)
        assert isinstance(answer, Answer)
        assert 0 < answer.level < 1
        if answer.position_m is not None:
            assert isfinite(answer.position_m) and answer.intervals_m
            assert not answer.declined
            low, high = answer.intervals_m[0][0], answer.intervals_m[-1][1]
            assert low <= answer.position_m <= high
        elif not answer.declined:
            assert answer.verdict == "healthy"
        if name not in SLOW:
            # The same readings get the same answer, in any order.
            assert found.answer(CABLE, readings[::-1]) == answer


def test_a_method_that_fits_says_the_place():
    answer = estimator_named("three_readings").answer(CABLE, CASES[0][1])
    assert answer.holds(12.4) and answer.open_m < 2
    assert answer.verdict == "short" and not answer.probabilities


def test_a_method_without_its_readings_declines():
    answer = estimator_named("murray").answer(CABLE, CASES[0][1])
    assert answer.position_m is None and "needs a reading" in answer.declined


def test_an_unknown_name_gets_the_nearest():
    with pytest.raises(InputError, match="did you mean three_readings"):
        estimator_named("three_reading")


def offer(monkeypatch, value):
    point = EntryPoint("guess", value, registry.GROUP)
    monkeypatch.setattr(registry, "entry_points", lambda group: [point])
    return estimator_named("guess")


def middle(cable, readings):
    return Answer(position_m=cable.heated_length_m / 2, intervals_m=((0.0, 30.0),))


def test_another_package_offers_one_by_entry_point(monkeypatch):
    found = offer(monkeypatch, f"{__name__}:middle")
    assert "guess" in estimator_names()
    assert found.answer(CABLE, CASES[0][1]).position_m == 15.0


@pytest.mark.parametrize(
    ("value", "told"),
    [
        ("no_such_module_anywhere:middle", "cannot be loaded"),
        (f"{__name__}:CASES", "something to call"),
    ],
)
def test_a_broken_package_is_named(monkeypatch, value, told):
    with pytest.raises(InputError, match=told):
        offer(monkeypatch, value)


def test_what_is_no_answer_is_refused():
    with pytest.raises(InputError, match=r"what the estimator returned is 12\.4"):
        answer_of(12.4, CABLE)


@pytest.mark.parametrize(
    "fields",
    [
        {"position_m": float("nan")},
        {"position_m": 1.0, "intervals_m": ((2.0, 1.0),)},
        {"intervals_m": ((1.0, 2.0),)},
        {"level": 1.0},
        {"probabilities": {"short": 0.7, "break": 0.7}},
        {"declined": "no", "position_m": 1.0},
    ],
)
def test_an_answer_that_cannot_be_is_refused(fields):
    with pytest.raises(InputError):
        Answer(**fields)
