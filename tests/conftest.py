"""Settings for the whole suite: how hypothesis draws, and which tests need an outside program."""

import os
import shutil

import pytest
from hypothesis import settings

# No deadline: a slow machine is not a failure. In CI the same examples every time, so that a red
# run is red because of the commit; elsewhere fresh ones, so that new cases are met. A third of the
# usual each time: what is left of the five minutes goes to cases that other programs made.
settings.register_profile("cablesim", deadline=None, max_examples=33)
settings.register_profile(
    "cablesim-ci", deadline=None, max_examples=33, derandomize=True, database=None
)
settings.load_profile("cablesim-ci" if os.environ.get("CI") else "cablesim")


def pytest_runtest_setup(item: pytest.Item) -> None:
    if item.get_closest_marker("ngspice") and shutil.which("ngspice") is None:
        pytest.skip("the program ngspice is not installed")
