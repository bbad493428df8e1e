"""The first steps of the four readers: every command and every line of Python runs as shown."""

import doctest
import re
import shutil
import sys
from pathlib import Path

import pytest

from cablesim.cli.app import main
from cablesim.scenario.shipped import shipped_directory

START = Path(__file__).parents[2] / "docs" / "start"
PAGES = sorted(START.glob("*.md"))
_NUMBER = re.compile(r"\d+(\.\d+)?")


@pytest.fixture(params=PAGES, ids=lambda path: path.stem)
def page(request, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return request.param.read_text(encoding="utf-8")


def test_there_are_four_doors():
    doors = {"at-the-floor", "engineer", "trainer", "tool-developer"}
    assert {path.stem for path in PAGES} == doors
    front = (START.parent / "index.md").read_text(encoding="utf-8")
    assert all(f"](start/{path.name})" in front for path in PAGES)


def test_commands_print_what_is_shown(page, capsys, monkeypatch):
    blocks = re.findall(r"^```console\n(.*?)^```", page, re.MULTILINE | re.DOTALL)
    steps = [step for block in blocks for step in block.split("$ ")[1:]]
    assert steps
    for step in steps:
        command, _, shown = step.partition("\n")
        monkeypatch.setattr(sys, "argv", command.split())
        with pytest.raises(SystemExit) as left:
            main()
        streams = capsys.readouterr()
        assert not left.value.code, (command, streams.err)
        # Numbers may move from one version or machine to another; words may not.
        told, wanted = (_NUMBER.sub("0", text).split() for text in (streams.out, shown))
        pattern = r"\s".join(".*" if word == "..." else re.escape(word) for word in wanted)
        assert re.fullmatch(pattern, " ".join(told), re.DOTALL), (command, streams.out)


def test_python_gives_what_is_shown(page):
    shutil.copy(shipped_directory() / "start" / "kitchen.toml", "kitchen.toml")
    code = "".join(re.findall(r"^```python\n(.*?)^```", page, re.MULTILINE | re.DOTALL))
    example = doctest.DocTestParser().get_doctest(code, {}, "page", None, 0)
    said = []
    flags = doctest.NORMALIZE_WHITESPACE
    failed, _ = doctest.DocTestRunner(optionflags=flags).run(example, out=said.append)
    assert not failed, "".join(said)
