"""The pages on tests, bridges and repairs: their Python gives what they say."""

import doctest
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("name", ["insulation", "withstand", "loop-bridge", "repair", "benchmark"])
def test_python_gives_what_the_page_says(name):
    said = []
    text = (DOCS / f"{name}.md").read_text(encoding="utf-8")
    blocks = [part.split("```")[0] for part in text.split("```python\n")[1:]]
    example = doctest.DocTestParser().get_doctest("".join(blocks), {}, name, None, 0)
    failed, tried = doctest.DocTestRunner().run(example, out=said.append)
    assert not failed, "".join(said)
    assert tried >= 5
