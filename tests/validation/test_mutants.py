"""A smoke run of the mutation tests: mutants, the tests that reach them, and the page."""

from __future__ import annotations

import ast
from dataclasses import replace

import pytest
from validation import mutants_page
from validation.mutants import PACKAGES, Mutant, mutants_of, reach_of
from validation.mutants_run import reaching, tried

CODE = """\
LIMIT = 3


def low(x):
    if (
        x < LIMIT
    ):
        return x + 1
    return 0
"""
MUTANT = Mutant("line", "cablesim/line/low.py", 8, (8,), "return x + 1", "return x - 1")


@pytest.mark.parametrize(
    ("line", "reach"), [(1, ()), (5, (5, 6, 7)), (6, (5, 6, 7)), (8, (8,)), (9, (9,))]
)
def test_a_line_is_reached_with_its_statement(line, reach):
    assert reach_of(ast.parse(CODE), line) == reach


def test_tests_that_reach_the_statement_come_quick_ones_first():
    (line, *_) = PACKAGES
    names = [f"tests/line/test_a.py::test_{name}" for name in ("slow", "quick", "broken", "other")]
    seen = {
        "seconds": dict(zip(names, (3.0, 0.1, 0.1, 0.1), strict=True)),
        "failed": [names[2]],
        "lines": {MUTANT.path: {"8": [*names[:3], "tests/cli/test_b.py::test_far"], "9": names}},
    }
    assert reaching(MUTANT, line, seen) == [names[1], names[0]]
    assert reaching(replace(MUTANT, path="cablesim/line/none.py"), line, seen) == []


# A worker of the suite has threads, and a fork of it only runs pytest.
@pytest.mark.filterwarnings("ignore:.*fork:DeprecationWarning")
def test_a_mutant_is_killed_by_a_test_that_notices_and_the_code_is_whole_again(tmp_path):
    copy = tmp_path / "copy"
    target = copy / "low.py"
    copy.mkdir()
    target.write_text(CODE)
    (copy / "pyproject.toml").write_text("[tool.pytest.ini_options]\npythonpath = ['.']\n")
    for name, wanted in (("sharp", "low(1) == 2"), ("blunt", "low(1) is not None")):
        test = f"from low import low\n\n\ndef test_{name}():\n    assert {wanted}\n"
        (copy / f"test_{name}.py").write_text(test)
    mutant = replace(MUTANT, path="low.py", code=CODE.replace("x + 1", "x - 1"))
    for name, fate in (("sharp", "killed"), ("blunt", "survived")):
        test = f"test_{name}.py::test_{name}"
        told = tried(mutant, [f"{copy}/{test}"], copy, {})
        assert (told.fate, told.by) == (fate, test if fate == "killed" else "")
        assert target.read_text() == CODE


def test_mutants_are_of_code_and_not_of_words():
    pytest.importorskip("mutmut", reason="mutmut comes with the extra `mutation`")
    made = [write() for write in mutants_of("cablesim/instruments/protection.py", "instruments")]
    assert len({mutant.key for mutant in made}) > 10
    assert not any("__all__" in mutant.removed for mutant in made)
    for mutant in made[:5]:
        ast.parse(mutant.code)


def test_the_page_counts_what_became_of_them():
    fates = ["killed"] * 8 + ["survived", "not reached"]
    first = [replace(MUTANT, removed=f"x = {k}", fate=fate) for k, fate in enumerate(fates)]
    second = [replace(first[8], fate="killed"), first[9]]
    text = mutants_page.page(first, second, {"line": 100}, 1, {first[9].key: "For a reason."})
    assert "| line | 100 | 10 | 8 | 0 | 2 | 1 | 80% | 49% to 94% |" in text
    assert "| line | 2 | 1 | 0 | 0 | 1 |" in text
    assert "`x = 9` became `return x - 1`.\n  For a reason." in text
