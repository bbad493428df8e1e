"""Cases are made the same from the same seed, differ from each other, and tell no truth."""

import math
import re
from dataclasses import astuple, replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.standard import standard_probes
from cablesim.locate.limits import NORMAL_95, bound
from cablesim.scenario.writing import dump_scenario
from cablesim.training import making
from cablesim.training.bags import bag_of, first_probes, probes_of
from cablesim.training.difficulty import half_widths_m, width_of
from cablesim.training.levels import HALF_WIDTHS_M, level_of
from cablesim.training.making import make_case, make_cases
from cablesim.training.syllabus import Syllabus

EASY = Syllabus(number=2, seed=11, levels=(1,), kinds=("short", "degraded"))
TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SHORT = Short(("core1", "braid"), 12.4, 55.0)


@pytest.fixture(scope="module")
def cases():
    return tuple(make_cases(EASY))


def texts(case):
    return case.trainee_text, dump_scenario(case.scenario)


def test_the_same_seed_makes_the_same_bytes(cases):
    # One made by itself, by a set that is longer, is the same but for its name.
    assert texts(make_case(EASY, 2)) == texts(cases[1])
    assert make_case(replace(EASY, number=20), 2).scenario == cases[1].scenario


def test_no_two_are_alike_and_another_seed_makes_others(cases):
    others = [*cases, make_case(replace(EASY, seed=12), 1)]
    assert len({case.trainee_text for case in others}) == len(others)
    assert len({case.key.seed for case in others}) == len(others)


def test_they_are_as_hard_as_asked_for(cases):
    for case in cases:
        key = case.key
        assert key.level == 1
        assert key.locatable
        width = width_of(case.cable, case.faults, probes_of(case.cable, case.scenario.meters))
        assert key.half_width_m == pytest.approx(width.half_width_m, rel=0.01)  # three digits
        assert level_of(key.half_width_m, key.readings_needed, key.plausible) == 1


def test_the_trainees_file_tells_no_truth(cases):
    for case in cases:
        text = case.trainee_text
        (fault,) = case.faults
        hidden = [float(fault.position_m), float(fault.resistance_ohm), case.key.seed]
        hidden += [factor for factor in astuple(case.key.true) if factor != 1.0]
        numbers = {float(n) for n in re.findall(r"\d+(?:\.\d+)?(?:e[+-]?\d+)?", text)}
        assert not numbers & {float(value) for value in hidden}
        for word in ("fault", "key", "seed", "level", "true", "sha256", fault.kind, "between"):
            assert word not in text


@pytest.mark.parametrize(
    "fault",
    [
        SHORT,
        Short(("core1", "braid"), 12.4, 9e3),
        Break(("core1",), 12.4),
        Degraded.at(("core2", "braid"), 12.4, 1e6),
        Joint("core1", 12.4, 500.0),
    ],
)
def test_a_story_and_a_floor_do_not_depend_on_the_place(fault):
    import numpy as np

    from cablesim.training.floors import invented_floor
    from cablesim.training.stories import told_story

    spots = ("from_m", "to_m") if isinstance(fault, Degraded) else ("at_m",)
    told = {
        told_story(TWIN, [replace(fault, **dict.fromkeys(spots, place))], np.random.default_rng(3))
        for place in (0.5, 12.4, 29.0)
    }
    assert len(told) == 1
    assert not re.search(r"\d", told.pop())
    assert not invented_floor(30.0, True, np.random.default_rng(3)).suspects


def test_the_half_width_is_that_of_the_bound():
    # The bound of `locate` takes columns off each other, this one inverts: the same number, but for
    # the place being known to lie on the cable, which at 0.2 m of 30 m is nothing.
    probes = standard_probes(TWIN)[:3]
    (mine,) = half_widths_m(TWIN, [SHORT], probes, [(0, 1, 2)])
    theirs = NORMAL_95 * float(bound(TWIN, (SHORT,), probes).place_m[0, 0])
    assert mine == pytest.approx(theirs, rel=1e-3)
    (nothing,) = half_widths_m(TWIN, [SHORT], probes, [()])
    assert nothing == pytest.approx(NORMAL_95 * 32.5 / 12**0.5, rel=1e-6)


def test_fewer_readings_never_place_better():
    probes = probes_of(TWIN, bag_of(["usual"]))
    sets = [tuple(range(k)) for k in range(len(probes) + 1)]
    widths = half_widths_m(TWIN, [SHORT], probes, sets)
    assert all(a >= b * (1 - 1e-9) for a, b in pairwise(widths))


@given(st.floats(1e-3, 10.0), st.integers(1, 9), st.integers(1, 9), st.floats(1.0, 5.0))
def test_whatever_makes_a_case_harder_never_lowers_its_level(width, readings, open_, factor):
    level = level_of(width, readings, open_)
    assert 1 <= level <= 5
    assert level_of(width * factor, readings, open_) >= level
    assert level_of(width, readings + 1, open_) >= level
    assert level_of(width, readings, open_ + 1) >= level
    assert level_of(math.nextafter(HALF_WIDTHS_M[-1], 9), readings, open_) == 5


def test_what_cannot_be_located_is_made_only_where_asked_for(monkeypatch):
    pocket = Syllabus(number=1, seed=3, levels=(), kinds=("joint",), bag=("pocket",))
    monkeypatch.setattr(making, "_MOST_DRAWS", 25)
    with pytest.raises(InputError, match="no damage that it can place among joint; ask for other"):
        make_case(pocket, 1)
    monkeypatch.setattr(making, "_HOPELESS_SHARE", 1.0)
    case = make_case(replace(pocket, hopeless=True, levels=(1,)), 1)
    assert not case.key.locatable
    assert case.key.level == 5


def test_the_first_readings_are_three_ohm_readings():
    for name in ("twin", "single"):
        cable = Cable.rated(name, heated_length_m=30.0, loop_resistance_ohm=88.2)
        probes = first_probes(cable, bag_of(["full"]))
        assert [probe.meter.kind for probe in probes] == ["ohmmeter"] * 3
        assert len({probe.hookup for probe in probes}) == 3


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"number": 0}, "number is 0"),
        ({"seed": -1}, "seed is -1"),
        ({"levels": (6,)}, "level is 6"),
        ({"kinds": ("shrot",)}, "did you mean short"),
        ({"constructions": ("parallel",)}, "constructions is 'parallel'"),
        ({"bag": ("capacitance_meter",)}, "add ohmmeter"),
        ({"bag": ("pockets",)}, "did you mean pocket"),
        ({"faults": 3}, "faults is 3"),
        ({"kinds": ("joint",), "unsteady": True}, "unsteady is True"),
        ({"kinds": ("joint",), "faults": 2}, "short or break"),
    ],
)
def test_a_syllabus_that_cannot_be_is_refused(changes, said):
    with pytest.raises(InputError, match=said):
        replace(EASY, **changes)
