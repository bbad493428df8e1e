"""Runs the command line in this process, as a shell would, and writes scenario files for it."""

import sys
from dataclasses import dataclass

import pytest

from cablesim.cli.app import main

SHORT = """\
format = 1
title = "Hall: a nail in core1"

[cable]
construction = "twin"
heated_length_m = 30.0
loop_resistance_ohm = 88.2

[[fault]]
kind = "short"
between = ["core1", "braid"]
at_m = 12.4
resistance_ohm = 55.0

[meter.pocket]
kind = "ohmmeter"
lead_ohm = 0.2

[[reading]]
meter = "pocket"
across = ["core1", "core2"]
ohm = 88.5

[[reading]]
meter = "pocket"
across = ["core1", "braid"]
ohm = 73.7

[[reading]]
meter = "pocket"
across = ["core2", "braid"]
ohm = 125.5
"""


@dataclass
class Done:
    """What a command left behind."""

    code: int
    out: str
    err: str


@pytest.fixture
def cablesim(capsys, monkeypatch):
    """Run one command line; no output may go to a terminal."""

    def run(*arguments):
        monkeypatch.setattr(sys, "argv", ["cablesim", *map(str, arguments)])
        capsys.readouterr()
        with pytest.raises(SystemExit) as left:
            main()
        streams = capsys.readouterr()
        assert "\x1b" not in streams.out + streams.err
        assert "Traceback" not in streams.err
        return Done(left.value.code or 0, streams.out, streams.err)

    return run


@pytest.fixture
def refused(cablesim):
    """Run a command line that must be refused with one sentence on stderr."""

    def run(*arguments):
        done = cablesim(*arguments)
        assert (done.code, done.out) == (2, "")
        assert done.err.endswith(".\n") or done.err.endswith("?\n")
        assert done.err.count("\n") == 1
        return done.err

    return run


@pytest.fixture
def scenario(tmp_path):
    """Write a scenario file: the short above, with changes."""

    def write(*changes, text=SHORT, name="hall.toml"):
        for old, new in changes:
            assert old in text
            text = text.replace(old, new)
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write
