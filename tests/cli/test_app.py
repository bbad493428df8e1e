"""The entry point: exit codes, and which stream gets what."""

import io
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


def test_no_summary_of_a_command_is_cut_short():
    summaries = run("--help").stdout.partition("Commands:")[2]
    assert "demo" in summaries
    assert "..." not in summaries, "keep the first sentence of the docstring short"


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


def test_ctrl_c_is_quiet(monkeypatch, capsys):
    def interrupted():
        raise KeyboardInterrupt

    monkeypatch.setattr(app_module, "app", interrupted)
    with pytest.raises(SystemExit) as caught:
        app_module.main()
    assert caught.value.code == app_module.INTERRUPTED
    assert capsys.readouterr() == ("", "")


def test_a_reader_that_leaves_is_no_error(tmp_path):
    path = tmp_path / "hall.toml"
    path.write_text(
        '[cable]\nconstruction = "twin"\nheated_length_m = 30.0\nloop_resistance_ohm = 88.2\n'
        '[[fault]]\nkind = "break"\nconductors = ["core1"]\nat_m = 3.0\n'
    )
    process = subprocess.Popen(
        [sys.executable, "-m", "cablesim", "predict", str(path), "--json"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        stdin=subprocess.DEVNULL,
    )
    process.stdout.close()
    assert process.stderr.read() == b""
    process.stderr.close()
    assert process.wait() == 0


def test_help_needs_none_of_the_heavy_libraries():
    code = (
        "import sys\nimport cablesim.cli.app as a\nsys.argv = ['cablesim', '--help']\n"
        "try:\n    a.main()\nexcept SystemExit:\n    pass\n"
        "print(sorted({'numpy', 'scipy', 'networkx', 'matplotlib', 'msgspec'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True)
    assert done.stdout.splitlines()[-1] == "[]"


def test_a_stream_that_lacks_a_letter_gets_a_question_mark():
    raw = io.BytesIO()
    stream = io.TextIOWrapper(raw, encoding="ascii")
    app_module._never_refuse(stream)
    stream.write("Küche")
    stream.flush()
    assert raw.getvalue() == b"K?che"
