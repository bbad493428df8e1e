"""Rows between two rules, the title in the upper one: cut at a word where the screen is narrow."""

from __future__ import annotations

from dataclasses import dataclass

from rich import box
from rich.cells import cell_len
from rich.console import Console, ConsoleOptions, RenderableType, RenderResult
from rich.panel import Panel
from rich.text import Text

__all__ = ["Ruled", "cut_at_word"]

# Of the width these columns are not the title's: the rule goes on at either side of it.
_BESIDE = 6
_CUT = "…"


@dataclass(frozen=True)
class Ruled:
    """What is known, between two rules.

    Parameters
    ----------
    rows
        What stands between them.
    title
        One line in the upper rule; none where empty.
    """

    rows: RenderableType
    title: str = ""

    def __rich_console__(self, console: Console, options: ConsoleOptions) -> RenderResult:
        """Cut the title to the width that there is, which is known only now."""
        told = cut_at_word(self.title, options.max_width - _BESIDE)
        yield Panel(
            self.rows,
            title=Text(told) if told else None,
            title_align="left",
            box=box.HORIZONTALS,
            padding=(0, 1),
        )


def cut_at_word(text: str, width: int) -> str:
    """As many whole words as fit, and an ellipsis where that is not all of them.

    Parameters
    ----------
    text
        One line.
    width
        Columns that there are; of a first word that is wider as much as fits is left.

    Examples
    --------
    >>> cut_at_word("Hall: a nail in core1", 16), cut_at_word("Hall: a nail in core1", 21)
    ('Hall: a nail in…', 'Hall: a nail in core1')
    """
    if cell_len(text) <= width:
        return text
    kept = text.split()
    while len(kept) > 1 and cell_len(" ".join(kept) + _CUT) > width:
        kept.pop()
    told = Text(" ".join(kept).rstrip(" ,;:-"))
    told.truncate(max(width - cell_len(_CUT), 1))
    return told.plain.rstrip() + _CUT
