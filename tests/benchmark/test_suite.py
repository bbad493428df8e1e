"""Suites are frozen: the same bytes come from the same plan, and others are refused."""

import json
from dataclasses import replace

import numpy as np
import pytest

from cablesim.benchmark.case import Case, json_line
from cablesim.benchmark.formulations import Ngspice
from cablesim.benchmark.making import DIFFICULTIES, drawn_case
from cablesim.benchmark.plans import PLANS
from cablesim.benchmark.suite import corrections, load_suite, made, shipped_suites
from cablesim.errors import InputError
from cablesim.instruments.readings import predict
from cablesim.line.ladder import ladder
from cablesim.scenario.writing import dump_scenario


@pytest.fixture(scope="module")
def small():
    return load_suite("small")


def test_every_shipped_suite_loads_and_has_a_plan():
    assert set(shipped_suites()) == set(PLANS)
    for name, plan in PLANS.items():
        suite = load_suite(name)
        assert suite.name == name and len(suite.lines) == len(plan.strata)
        assert suite.generator["formulation"] == plan.formulation.said
        assert corrections(name) == ()


def test_the_small_suite_comes_out_the_same_again(small):
    assert made(PLANS["small-1"]).partition("\n")[2].splitlines() == list(small.lines)


def test_every_value_of_a_case_is_kept(small):
    for number in (0, 7, 18, 31):
        case = small.case(number)
        assert json_line(case.to_dict()) == small.lines[number] + "\n"
        # What a case says can be written as a scenario file as well.
        assert "[[reading]]" in dump_scenario(case.scenario)


def test_readings_are_those_of_the_true_cable_by_the_ladder(small):
    # Undoing what is written down of the meters leaves counts and rounding alone.
    for number in (6, 9, 13, 20, 26):
        case = small.case(number)
        true = case.deviation.of(case.cable)
        probes = [reading.probe for reading in case.readings]
        exact = predict(true, case.faults, probes, mesh_of=ladder(48))
        for reading, value, percent, ohm in zip(
            case.readings, exact, case.gain_percent, case.lead_ohm, strict=True
        ):
            if np.isfinite(reading.shown) and np.isfinite(value):
                meter = reading.probe.meter
                indicated = (value + ohm / meter.unit_size) * (1 + percent / 100)
                step = float(meter.step_of(reading.shown, reading.probe.setting))
                assert abs(reading.shown - indicated) <= (meter.accuracy_counts + 0.6) * step


def test_the_informed_see_the_same_displays_without_what_they_know(small):
    case = small.case(6)
    cable, readings = case.informed()
    assert cable.tolerance_percent == (0.0, 0.0)
    for before, after, percent in zip(case.readings, readings, case.gain_percent, strict=True):
        meter = after.probe.meter
        assert (meter.accuracy_percent, meter.lead_ohm_tolerance) == (0.0, 0.0)
        assert after.gain_group[2] == before.gain_group[2]
        if np.isfinite(before.shown):
            assert after.shown * (1 + percent / 100) == pytest.approx(before.shown)
            # Narrower where a range begins: there the gains of two ranges no longer matter.
            wide = (after.span.high - after.span.low) * (1 + percent / 100)
            assert wide <= before.span.high - before.span.low + 1e-9


def test_every_case_can_be_told_to_the_informed():
    for name in PLANS:
        suite = load_suite(name)
        for number in range(0, len(suite.lines), 7):
            _, readings = suite.case(number).informed()
            assert len(readings) == len(suite.case(number).readings)


def test_difficulty_is_that_of_the_bound(small):
    for line in small.lines:
        raw = json.loads(line)
        assert raw["difficulty"] in {"none", "hard", "open", *DIFFICULTIES}
        assert (raw["difficulty"] == "none") == (raw["kind"] == "healthy")


@pytest.mark.ngspice
def test_ngspice_makes_its_cases_again():
    plan, suite = PLANS["outside-1"], load_suite("outside")
    number = 20
    again = drawn_case(
        number, (plan.seed, number), *plan.strata[number], formulation=plan.formulation
    )
    assert json_line(again.to_dict()) == suite.lines[number] + "\n"


def test_ngspice_that_is_missing_is_told():
    with pytest.raises(InputError, match="install ngspice"):
        drawn_case(0, (1, 0), "short", "twin", "good", formulation=Ngspice("no-such-program"))


def file_of(tmp_path, text):
    path = tmp_path / "own.jsonl"
    path.write_text(text)
    return str(path)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        (lambda t: t.replace('"ohm":', '"ohm": ', 1), "is not the suite that was frozen"),
        (lambda t: t.partition("\n")[2], "its first line is no head"),
        (lambda t: "", "its first line is no head"),
        (lambda t: t.replace('"format":1', '"format":2', 1), "format is 2"),
        (lambda t: t.replace('"cases":36', '"cases":37', 1), "number of cases is 36"),
    ],
)
def test_a_suite_that_was_changed_is_refused(tmp_path, change, told):
    text = made(PLANS["small-1"], [load_suite("small").case(k) for k in range(36)])
    with pytest.raises(InputError, match=told):
        load_suite(file_of(tmp_path, change(text)))


def test_a_suite_that_is_missing_is_told(tmp_path):
    with pytest.raises(InputError, match="cannot be read"):
        load_suite(str(tmp_path / "none.jsonl"))
    with pytest.raises(InputError, match="did you mean small"):
        load_suite("smal")


@pytest.mark.parametrize("line", ["", "{}", "[1]", '{"number":1}', "\x00"])
def test_a_line_that_is_no_case_is_refused(line):
    with pytest.raises(InputError, match="is no case"):
        Case.read(line, "own.jsonl, line 2")


def test_nuisances_go_with_the_readings(small):
    case = small.case(6)
    short = json_line(replace(case, gain_percent=(0.0,)).to_dict())
    with pytest.raises(InputError, match="one for each reading"):
        Case.read(short, "own.jsonl, line 2")


def test_groups_choose_cases(small):
    chosen = small.only({"kind": "short", "construction": "twin"})
    assert [small.case(k).kind for k in chosen] == ["short", "short"]
    with pytest.raises(InputError, match="did you mean kind"):
        small.only({"kin": "short"})
    with pytest.raises(InputError, match="did you mean short"):
        small.only({"kind": "shot"})
