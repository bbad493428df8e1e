"""Write the list of all validation pages, with every outside check that they hold.

Run it from the top of the checkout, after the pages it sums up::

    PYTHONPATH=tests python -m outside.summary docs/validation
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

_COLUMNS = ["what", "against", "cases", "largest deviation", "allowed", "because", "source"]
_HEAD = """# Validation

This page is written by `PYTHONPATH=tests python -m outside.summary docs/validation` from the pages
that it names; those are written by programs too, each named at its head, but for the first steps,
which are told by hand around a table that a program prints.

```{{toctree}}
:hidden:
:glob:

*
```

## Every outside check

{checks} comparisons of {cases:,} cases with something outside cablesim: other solvers, closed
forms, printed numbers. A deviation is the largest of all cases of its row, and relative unless the
row says otherwise; why so much is allowed stands on the page. The tests run the same checks.
"""
_STUDIES = """
## Measured on simulated cases, files and jobs

What nobody has printed an answer to is measured: whether intervals hold the truth, how far methods
reach, what broken files do, how fast it is.

"""


@dataclass(frozen=True)
class Page:
    """One written page: its heading, and the rows of its checks."""

    name: str
    heading: str
    rows: list[list[str]]

    @property
    def cases(self) -> int:
        return sum(int(row[_COLUMNS.index("cases")]) for row in self.rows)


def pages(folder: Path) -> Iterator[Page]:
    """All pages but the list itself, by name."""
    for path in sorted(folder.glob("*.md")):
        if path.name == "index.md":
            continue
        text = path.read_text(encoding="utf-8")
        heading = re.match(r"# (.+)\n", text)
        if heading is None:
            raise SystemExit(f"{path} does not begin with a heading")
        yield Page(path.name, heading[1], list(_rows(text)))


def _rows(text: str) -> Iterator[list[str]]:
    inside = False
    for line in text.splitlines():
        cells = [cell.strip() for cell in line.strip("| ").split(" | ")]
        if cells == _COLUMNS:
            inside = True
        elif not line.startswith("|"):
            inside = False
        elif inside and not set(line) <= set("|-: "):
            if len(cells) != len(_COLUMNS):
                raise SystemExit(f"not a row of a check: {line}")
            yield cells


def page(folder: Path) -> str:
    """The whole text."""
    every = list(pages(folder))
    checked = [found for found in every if found.rows]
    text = _HEAD.format(
        checks=sum(len(found.rows) for found in checked), cases=sum(f.cases for f in checked)
    )
    for found in checked:
        text += f"\n### [{found.heading}]({found.name})\n\n"
        text += "| what | against | largest deviation | allowed | source |\n"
        text += "| --- | --- | ---: | ---: | --- |\n"
        for what, against, _, largest, allowed, _, source in found.rows:
            text += f"| {what} | {against} | {largest} | {allowed} | {source} |\n"
    text += _STUDIES
    text += "".join(f"- [{found.heading}]({found.name})\n" for found in every if not found.rows)
    return text


if __name__ == "__main__":
    where = Path(sys.argv[1])
    (where / "index.md").write_text(page(where), encoding="utf-8")
