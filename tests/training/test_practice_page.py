"""The page about practice tells the truth: its Python, its options, its levels, its weights."""

import doctest
import re
from pathlib import Path

from cablesim.training.levels import HALF_WIDTHS_M
from cablesim.training.log import parse_log
from cablesim.training.marking import TOPICS

PAGE = (Path(__file__).parents[2] / "docs" / "practice.md").read_text(encoding="utf-8")


def test_python_runs_as_shown(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    (block,) = re.findall(r"^```python\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
    example = doctest.DocTestParser().get_doctest(block, {}, "practice.md", None, 0)
    said = []
    failed, tried = doctest.DocTestRunner().run(example, out=said.append)
    assert not failed, "".join(said)
    assert tried == 13


def test_the_log_is_one():
    (text,) = re.findall(r"^```json\n(.*?)^```", PAGE, re.MULTILINE | re.DOTALL)
    told = re.sub(r'"the SHA-256[^"]*"', f'"{"0" * 64}"', text)
    log = parse_log(told)
    assert len(log.actions) == 3 and log.answer is not None


def test_levels_and_weights_are_those_of_the_code():
    rows = re.findall(r"^\| (\d) \| up to (\d\.\d+) m", PAGE, re.MULTILINE)
    assert [float(width) for _, width in rows] == list(HALF_WIDTHS_M)
    found = re.findall(r"^\| (\w+) \| (\d+) \|", PAGE, re.MULTILINE)
    weights = {name: float(weight) for name, weight in found}
    assert weights == TOPICS


def test_every_option_is_one():
    import inspect

    from cablesim.cli.practice_make import practice_make

    named = set(re.findall(r"^\| `--([\w-]+)", PAGE, re.MULTILINE))
    assert len(named) == 8
    known = set(inspect.signature(practice_make).parameters)
    assert {name.replace("-", "_") for name in named} <= known
