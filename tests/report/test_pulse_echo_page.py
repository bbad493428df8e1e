"""The page on pulse echo tells the truth: its examples run."""

import doctest
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "pulse-echo.md"


def test_the_examples_of_the_page_run():
    failed, tried = doctest.testfile(str(PAGE), module_relative=False)
    assert tried > 8
    assert failed == 0
