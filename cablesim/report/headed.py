"""How a table looks in the terminal: a bold title at the left, one rule below the heads."""

from __future__ import annotations

from rich import box
from rich.table import Table
from rich.text import Text

__all__ = ["headed_table"]


def headed_table(title: str = "") -> Table:
    """A table without columns yet.

    Parameters
    ----------
    title
        What stands above it, on one line or more; empty for none.
    """
    return Table(
        title=Text(title, style="bold") if title else None,
        title_justify="left",
        box=box.SIMPLE_HEAD,
        pad_edge=False,
        collapse_padding=True,
    )
