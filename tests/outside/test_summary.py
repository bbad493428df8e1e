"""The list of validation pages is what its program writes from them."""

from pathlib import Path

import pytest
from outside import summary

FOLDER = Path(__file__).parents[2] / "docs" / "validation"


def test_the_list_is_up_to_date():
    text = (FOLDER / "index.md").read_text(encoding="utf-8")
    assert text == summary.page(FOLDER), "write it anew: python -m outside.summary docs/validation"


def test_a_deviation_that_moves_shows(tmp_path):
    row = "| what | against | cases | largest deviation | allowed | because | source |\n| --- |\n"
    (tmp_path / "a.md").write_text(f"# A\n\n{row}| x | y | 3 | 1.0e-09 | 1.0e-08 | z | s |\n")
    (tmp_path / "b.md").write_text("# B\n\n| cases | n |\n| --- | --- |\n| 1 | 2 |\n")
    text = summary.page(tmp_path)
    assert "| x | y | 1.0e-09 | 1.0e-08 | s |" in text
    assert "1 comparisons of 3 cases" in text
    assert "- [B](b.md)" in text
    (tmp_path / "c.md").write_text("no heading\n")
    with pytest.raises(SystemExit, match="heading"):
        summary.page(tmp_path)
