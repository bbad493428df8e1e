"""The pages on energised and on several cables tell the truth: their Python runs as shown."""

import doctest
import re
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"


@pytest.mark.parametrize("name", ["energised.md", "several-cables.md"])
def test_python_runs_as_shown(name):
    text = (DOCS / name).read_text(encoding="utf-8")
    (code,) = re.findall(r"^```python\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    example = doctest.DocTestParser().get_doctest(code, {}, name, None, 0)
    said = []
    failed, tried = doctest.DocTestRunner().run(example, out=said.append)
    assert not failed, "".join(said)
    assert tried > 5
    for link in re.findall(r"\]\((?!http)([^)#]+)", text):
        assert (DOCS / link).exists(), link
