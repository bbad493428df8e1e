"""The README tells the truth: its Python runs, and its pasted output is what the program prints."""

import doctest
import re
import shutil
import sys
from pathlib import Path

import pytest

from cablesim import __version__
from cablesim.cli.app import main
from cablesim.scenario.shipped import shipped_directory

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PYTHON = re.findall(r"^```python\n(.*?)^```", README, re.MULTILINE | re.DOTALL)
CONSOLE = re.findall(r"^```console\n\$ (.*?)\n(.*?)^```", README, re.MULTILINE | re.DOTALL)


@pytest.fixture
def demo_folder(tmp_path, monkeypatch):
    shutil.copy(shipped_directory() / "demo.toml", tmp_path / "cablesim-demo.toml")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_python_runs_as_shown(demo_folder):
    assert len(PYTHON) == 4
    example = doctest.DocTestParser().get_doctest("".join(PYTHON), {}, "README.md", None, 0)
    said = []
    failed, tried = doctest.DocTestRunner(optionflags=doctest.NORMALIZE_WHITESPACE).run(
        example, out=said.append
    )
    assert not failed, "".join(said)
    assert tried > 15
    assert (demo_folder / "answer.png").exists()


@pytest.mark.parametrize(("command", "shown"), CONSOLE, ids=[c for c, _ in CONSOLE])
def test_pasted_output_is_what_it_prints(demo_folder, capsys, monkeypatch, command, shown):
    monkeypatch.setattr(sys, "argv", command.split())
    with pytest.raises(SystemExit) as left:
        main()
    assert not left.value.code
    told = capsys.readouterr().out
    if " locate " in command:
        # Estimates may move by a centimetre from one version or machine to another.
        wording = re.compile(r"\d+(\.\d+)?")
        assert wording.sub("0", told).split() == wording.sub("0", shown).split()
    else:
        assert told.rstrip() == shown.rstrip()


def test_both_commands_are_shown_and_the_figure_is_there():
    assert len(CONSOLE) == 2
    for link in re.findall(r"\]\((?!http)([^)#]+)", README):
        assert (ROOT / link).exists(), link


def test_the_first_paragraph_says_what_it_is_for():
    title, paragraph = README.split("\n\n")[:2]
    assert title == "# cablesim"
    assert len(paragraph) > 300
    assert not paragraph.startswith("#")


def test_developers_page_names_files_that_exist():
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for name in re.findall(r"`((?:cablesim|tests|docs|scenarios)/[\w./]+)`", text):
        assert (ROOT / name).exists(), name


def test_the_version_to_cite_is_this_one():
    assert f"cablesim, version {__version__}:" in README
