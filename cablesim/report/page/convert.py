"""The tables that the terminal shows, as HTML: one wording for both."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Group, RenderableType
from rich.padding import Padding
from rich.panel import Panel
from rich.table import Column, Table
from rich.text import Text

from cablesim.report.page.markup import Markup, element

__all__ = ["described", "html_of"]

# A cell with fewer letters than this stays on one line.
_SHORT = 12


def html_of(shown: RenderableType) -> Markup:
    """Turn a renderable of the terminal into HTML.

    Parameters
    ----------
    shown
        A text, a table, a grid of labels and texts, or a group, panel or padding of such.

    Raises
    ------
    TypeError
        If it is something else: the terminal's views are made of these.

    Examples
    --------
    >>> from cablesim.report.tables import labelled, stacked
    >>> html_of(labelled(stacked("Place", ["here", "a < b"])))
    '<dl><div><dt>Place</dt><dd>here</dd><dd>a &lt; b</dd></div></dl>'
    """
    if isinstance(shown, str | Text):
        plain = _plain(shown)
        return element("p", plain) if plain else Markup("")
    if isinstance(shown, Group):
        return Markup("".join(html_of(part) for part in shown.renderables))
    if isinstance(shown, Panel | Padding):
        return html_of(shown.renderable)
    if isinstance(shown, Table):
        return _table(shown) if shown.show_header else _grid(shown)
    raise TypeError(f"no HTML for a {type(shown).__name__}")


def described(rows: Iterable[tuple[str, RenderableType]]) -> Markup:
    """Labels and texts; a row without a label belongs to the one above it.

    Parameters
    ----------
    rows
        As for `cablesim.report.tables.labelled`.
    """
    groups: list[tuple[str, list[str]]] = []
    for label, text in rows:
        if label or not groups:
            groups.append((label, []))
        groups[-1][1].append(_plain(text))
    return element(
        "dl",
        *(
            element("div", element("dt", label), *(element("dd", text) for text in texts))
            for label, texts in groups
        ),
    )


def _plain(shown: RenderableType) -> str:
    if isinstance(shown, Text):
        return shown.plain
    if isinstance(shown, str):
        return shown
    raise TypeError(f"no text in a {type(shown).__name__}")


def _grid(table: Table) -> Markup:
    """Labels and texts, or lines where there is one column only."""
    cells = [list(column.cells) for column in table.columns]
    if len(cells) == 1:
        return Markup("".join(html_of(cell) for cell in cells[0]))
    # A column between the two holds dashes.
    return described(zip(map(_plain, cells[0]), cells[-1], strict=True))


def _table(table: Table) -> Markup:
    """A table with headings, without columns that are empty.

    Its roles are written out and each cell names its column, since on a narrow screen the page
    lays out every row as a card of its own.
    """
    columns = [c for c in table.columns if any(_plain(cell) for cell in c.cells)]
    names = [_plain(column.header).replace("-\n", "").replace("\n", " ") for column in columns]
    head = element(
        "tr",
        *(
            element("th", name, scope="col", role="columnheader", class_=_side(column))
            for name, column in zip(names, columns, strict=True)
        ),
        role="row",
    )
    rows = [
        element("tr", *_cells(row, names, columns), role="row")
        for row in zip(*(column.cells for column in columns), strict=True)
    ]
    caption = [element("caption", _plain(table.title))] if table.title else []
    below = [element("p", _plain(table.caption), class_="small")] if table.caption else []
    body = element(
        "table",
        *caption,
        element("thead", head, role="rowgroup"),
        element("tbody", *rows, role="rowgroup"),
        role="table",
    )
    return Markup("".join([body, *below]))


def _cells(
    row: Sequence[RenderableType], names: Sequence[str], columns: Sequence[Column]
) -> list[Markup]:
    found = []
    for cell, name, column in zip(row, names, columns, strict=True):
        plain = _plain(cell)
        bold = isinstance(cell, Text) and "bold" in str(cell.style)
        inside = element("strong", plain) if bold else plain
        how = {"data_label": name} if name else {}
        if column.justify == "right":
            how["class_"] = "number short" if len(plain) <= _SHORT else "number"
        found.append(element("td", inside, role="cell", **how))
    return found


def _side(column: Column) -> str:
    return "number" if column.justify == "right" else "text"
