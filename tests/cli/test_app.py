"""The entry point: exit codes, and which stream gets what."""

import subprocess
import sys

import pytest

import cablesim
from cablesim.cli import app as app_module
from cablesim.errors import InputError


def run(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "cablesim", *arguments],
        capture_output=True,
        text=True,
        stdin=subprocess.DEVNULL,
    )


def test_version():
    done = run("--version")
    assert (done.returncode, done.stderr) == (0, "")
    assert done.stdout == f"cablesim {cablesim.__version__}\n"


def test_help_goes_to_stdout():
    done = run("--help")
    assert done.returncode == 0
    assert "--version" in done.stdout


def test_unknown_option_is_bad_input():
    done = run("--no-such-option")
    assert done.returncode == app_module.BAD_INPUT
    assert done.stdout == ""
    assert "Traceback" not in done.stderr


def test_input_error_becomes_one_sentence_and_exit_2(monkeypatch, capsys):
    def fail():
        raise InputError(what="at_m", got=-3, allowed="above 0")

    monkeypatch.setattr(app_module, "app", fail)
    with pytest.raises(SystemExit) as caught:
        app_module.main()
    assert caught.value.code == app_module.BAD_INPUT
    streams = capsys.readouterr()
    assert streams.out == ""
    assert streams.err == "at_m is -3, but must be above 0.\n"


def test_a_fault_of_the_program_is_not_called_bad_input(monkeypatch):
    def fail():
        raise ZeroDivisionError

    monkeypatch.setattr(app_module, "app", fail)
    with pytest.raises(ZeroDivisionError):
        app_module.main()
