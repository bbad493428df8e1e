"""``cablesim benchmark``: from a run to a report, and one sentence for whatever is wrong."""

import json
import sys

import pytest

TWICE = ("--only", "kind=short", "--only", "kind=break")


@pytest.fixture
def out(cablesim, tmp_path):
    done = cablesim(
        *("benchmark", "run", "small", "--output", tmp_path / "out", "--first", "12"),
        *("--estimator", "floor", "--estimator", "three_readings"),
    )
    assert done.code == 0, done.err
    assert [line.rpartition("/")[2] for line in done.out.split()] == [
        "floor.jsonl",
        "three_readings.jsonl",
    ]
    return tmp_path / "out"


def test_from_a_run_to_a_report(cablesim, out):
    done = cablesim("benchmark", "compare", out)
    assert done.code == 0 and "three_readings" in done.out
    done = cablesim("benchmark", "compare", out, "floor", "three_readings", "--json")
    assert json.loads(done.out)["scores"]["crps_filled_m"]["difference"]["cases"] == 6
    done = cablesim("benchmark", "report", out)
    assert done.code == 0 and (out / "report.html").exists()
    assert json.loads((out / "report.json").read_text())["cases"] == 12
    again = cablesim("benchmark", "report", out)
    assert again.code == 2 and "--force" in again.err
    done = cablesim("benchmark", "replay", "small-1/6/three_readings", "--output", out)
    assert json.loads(done.out)["case"] == 6 and "the same as kept" in done.err


def test_what_there_is(cablesim):
    found = json.loads(cablesim("benchmark", "list", "--json").out)
    assert {suite["name"] for suite in found["suites"]} == {"small-1", "full-1", "outside-1"}
    assert "posterior" in found["estimators"]
    assert "small-1" in cablesim("benchmark", "list").out


def test_a_suite_is_made_again(cablesim, tmp_path):
    again = tmp_path / "again.jsonl"
    assert cablesim("benchmark", "make", "small-1", "--output", again).code == 0
    done = cablesim(
        *("benchmark", "run", again, "--output", tmp_path / "out", "--estimator", "floor"),
        *("--only", "kind=short", "--only", "meters=good"),
    )
    assert done.code == 0
    assert len((tmp_path / "out" / "floor.jsonl").read_text().splitlines()) == 3


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["run", "smal", "--estimator", "floor"], "did you mean small?"),
        (["run", "small", "--estimator", "flor"], "did you mean floor?"),
        (["run", "small"], "no estimator is named"),
        (["run", "small", "--program", "toy"], "two parts with = between"),
        (["run", "small", "--program", "../x=true"], "name of an estimator"),
        (["run", "small", "--program", "floor=true", "--estimator", "floor"], "are called floor"),
        (["run", "small", "--estimator", "floor", "--first", "0"], "--first is 0"),
        (["run", "small", "--estimator", "floor", "--chunk", "0"], "chunk is 0"),
        (["run", "small", "--estimator", "floor", "--workers", "-1"], "workers is -1"),
        (["run", "small", "--estimator", "floor", "--only", "kind=shot"], "did you mean short?"),
        (["run", "small", "--estimator", "floor", *TWICE], "names a group twice"),
    ],
)
def test_what_cannot_be_run_is_told(cablesim, tmp_path, arguments, told):
    done = cablesim("benchmark", *arguments, "--output", tmp_path / "out")
    assert done.code == 2 and told in done.err and "Traceback" not in done.err
    assert done.out == ""


def test_a_program_that_cannot_be_run_is_told(cablesim, tmp_path):
    run = ("benchmark", "run", "small", "--output", tmp_path / "out", "--program", "x=no-such")
    done = cablesim(*run, "--first", "2")
    assert done.code == 0 and "x failed in 2 of 2 cases" in done.err
    done = cablesim(*run, "--first", "3")
    assert done.code == 2 and "choose the same cases" in done.err


def test_nothing_to_rank_is_said(cablesim, tmp_path):
    out = tmp_path / "out"
    program = f"silent={sys.executable} -c 'print()'"
    cablesim("benchmark", "run", "small", "--first", "1", "--output", out, "--program", program)
    done = cablesim("benchmark", "compare", out)
    assert done.code == 0 and "nothing to rank" in done.out


@pytest.mark.parametrize("command", ["compare", "report"])
def test_a_folder_without_results_is_told(cablesim, tmp_path, command):
    done = cablesim("benchmark", command, tmp_path)
    assert done.code == 2 and "is no folder of results" in done.err


def test_a_row_that_is_none_is_told(cablesim):
    done = cablesim("benchmark", "replay", "posterior")
    assert done.code == 2 and "SUITE/CASE/ESTIMATOR" in done.err
