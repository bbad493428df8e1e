"""The page on energised cables tells the truth: its Python runs as shown."""

import doctest
import re
from pathlib import Path

PAGE = Path(__file__).parents[2] / "docs" / "energised.md"


def test_python_runs_as_shown():
    text = PAGE.read_text(encoding="utf-8")
    (code,) = re.findall(r"^```python\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    example = doctest.DocTestParser().get_doctest(code, {}, PAGE.name, None, 0)
    said = []
    failed, tried = doctest.DocTestRunner().run(example, out=said.append)
    assert not failed, "".join(said)
    assert tried > 5
    for link in re.findall(r"\]\((?!http)([^)#]+)", text):
        assert (PAGE.parent / link).exists(), link
