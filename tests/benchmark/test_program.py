"""External programs: the toy of the documentation works, and all misconduct becomes a row."""

import json
import re
import shutil
import signal
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from cablesim.benchmark.asking import Who
from cablesim.benchmark.estimator import estimator_named
from cablesim.benchmark.program import Program, Talk, end_all, request_of
from cablesim.benchmark.run import run
from cablesim.benchmark.suite import load_suite
from cablesim.errors import InputError

HERE = Path(__file__).parent
PAGE = HERE.parents[1] / "docs" / "benchmark.md"


@pytest.fixture(scope="module")
def cases():
    suite = load_suite("small")
    return [suite.case(k) for k in (6, 7, 8)]


def talk(how, limit_s=20.0):
    return Talk(Program(f'"{sys.executable}" "{HERE / "programs.py"}" "{how}"', limit_s))


@pytest.mark.parametrize(
    ("how", "told"),
    [
        ("crash", "it ended with code 3"),
        ("garbage", "no answer as agreed"),
        ("wrong id", "has the id 'other' instead of '6'"),
        ("unknown key", "no answer as agreed"),
        ("nothing said", "neither place, verdict nor reason"),
        ("reversed interval", "no answer that can be"),
        ("not a number", "no answer as agreed"),
        ("long line", "a line of more than"),
        ("flood", "no answer as agreed"),
        ("output closed", "no answer"),
    ],
)
def test_misconduct_is_told_and_costs_one_case(cases, how, told):
    with closing(talk(how)) as program:
        first = program.ask(cases[0])
        assert first.answer is None and told in first.failure
        # It was started anew, misbehaves once more, and so on: never more than a case each.
        assert program.ask(cases[1]).answer is None


@pytest.mark.parametrize("how", ["silence", "leaves one behind"])
def test_silence_ends_at_the_limit(cases, how):
    with closing(talk(how, 1.0)) as program:
        assert program.ask(cases[0]).failure == "no answer within 1 s"


def test_a_program_that_reads_nothing_is_left_alone(cases):
    # More than a pipe holds, so that whoever writes to it would wait for ever.
    many = replace(cases[0], scenario=replace(cases[0].scenario, title="x" * 1_000_000))
    assert len(request_of(many, "6")) > 1_000_000
    with closing(talk("deaf", 1.0)) as program:
        assert program.ask(many).failure == "no answer within 1 s"


def test_every_program_can_be_ended_at_once(cases):
    with closing(talk("good")) as program:
        program.ask(cases[0])
        running = program._process
        end_all()
        assert running.returncode == -signal.SIGKILL


def test_a_program_that_cannot_live_fails_each_case(cases):
    with closing(talk("crash at once")) as program:
        assert all("code 3" in program.ask(case).failure for case in cases)


def test_an_answer_too_many_spoils_the_next_case_only(cases):
    with closing(talk("two answers")) as program:
        found = [program.ask(case) for case in cases]
    assert found[0].answer is not None and found[2].answer is not None
    assert "has the id '6' instead of '7'" in found[1].failure


def test_good_conduct(cases):
    with closing(talk("good")) as program:
        for case in cases:
            answer = program.ask(case).answer
            assert (answer.position_m, answer.intervals_m) == (1.5, ((1.0, 2.0),))
    with closing(talk("declined")) as program:
        assert program.ask(cases[0]).answer.declined == "too hard"


def test_a_request_tells_all_but_the_truth(cases):
    asked = json.loads(request_of(cases[0], "6"))
    assert asked["id"] == "6" and set(asked["scenario"]) == {"format", "cable", "meter", "reading"}
    assert asked["scenario"]["cable"]["cold_lead_ohm_per_m"] > 0


@pytest.mark.parametrize("command", ["", "'open", "   "])
def test_a_command_that_is_none_is_refused(command):
    with pytest.raises(InputError):
        Program(command)


def test_a_program_that_is_missing_is_a_failure(cases):
    with closing(Talk(Program("no-such-program-anywhere"))) as program:
        assert "cannot be run" in program.ask(cases[0]).failure


def asked_about(case):
    return case.cable, case.readings


@pytest.mark.skipif(shutil.which("perl") is None, reason="no perl here")
def test_the_toy_of_the_page_is_benchmarked_end_to_end(tmp_path):
    toy = re.search(r"```perl\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)[1]
    assert toy.count("\n") <= 20
    (tmp_path / "toy.pl").write_text(toy)
    suite = load_suite("small")
    cases = suite.only({"kind": "short"})
    who = Who("toy", Program(f'perl "{tmp_path / "toy.pl"}"', 20.0))
    store = run("small", suite, [who], tmp_path / "out", cases=cases)
    rows = [json.loads(line) for line in (store.folder / "toy.jsonl").read_text().splitlines()]
    # The second twin cable shows over range between a core and the braid.
    status = {row["case"]: row["status"] for row in rows}
    assert status == {6: "answered"} | dict.fromkeys(range(7, 12), "declined")
    near = next(row for row in rows if row["status"] == "answered")
    classical = estimator_named("three_readings").answer(*asked_about(suite.case(near["case"])))
    # The toy leaves the cold lead out.
    assert near["position_m"] == pytest.approx(classical.position_m, abs=1.0)
