"""What stands on a sheet, before anybody draws it: sections of texts, tables, sums and drawings.

A page is drawn from this and from nothing else, so that a test can read what a trainee reads.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, TypeAlias

__all__ = ["Block", "Drawing", "Fill", "Section", "Sheet", "Sum", "Table", "Text"]


@dataclass(frozen=True, slots=True)
class Text:
    """A paragraph.

    Parameters
    ----------
    text
        In words.
    bold
        Whether it stands out.
    bullet
        What stands before it, such as ``-`` or ``1``; empty for nothing.
    """

    text: str
    bold: bool = False
    bullet: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A ruled table.

    Parameters
    ----------
    heads
        Of the columns.
    shares
        Width of each column, as shares of 1.
    rows
        What stands in it; short rows are blank at their end.
    least
        Least height of a row [points], for what is filled in by hand.
    """

    heads: tuple[str, ...]
    shares: tuple[float, ...]
    rows: tuple[tuple[str, ...], ...] = ()
    least: float = 16.0


@dataclass(frozen=True, slots=True)
class Sum:
    """A formula, the same with numbers put in, and what comes out.

    Parameters
    ----------
    what
        What is reckoned.
    symbols
        The formula.
    numbers
        The right side with numbers put in.
    value
        What comes out of the numbers as they are printed.
    unit
        Its unit.
    decimals
        So many are printed.
    """

    what: str
    symbols: str
    numbers: str
    value: float
    unit: str
    decimals: int = 2

    @property
    def lines(self) -> tuple[str, str, str]:
        """As printed.

        >>> Sum("place", "x = L a", "30.0 × 0.25", 7.5, "m").lines
        ('x = L a', '  = 30.0 × 0.25', '  = 7.50 m')
        """
        # The "z" of a format takes the minus off a rounded "-0.00".
        told = f"{self.value:z.{self.decimals}f}".replace("-", "−")
        return self.symbols, f"  = {self.numbers}", f"  = {told} {self.unit}"


@dataclass(frozen=True, slots=True)
class Fill:
    """A line to be filled in by hand.

    Parameters
    ----------
    parts
        What is printed before each gap.
    end
        What is printed after the last gap.
    """

    parts: tuple[str, ...]
    end: str = ""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing to scale.

    Parameters
    ----------
    size
        Width and height of what is drawn, in a unit of its own.
    draw
        Draws it into axes whose limits are that size.
    scale
        Whether its scale is printed, in metres.
    """

    size: tuple[float, float]
    draw: Callable[[Any], None]
    scale: bool = True


Block: TypeAlias = Text | Table | Sum | Fill | Drawing


@dataclass(frozen=True, slots=True)
class Section:
    """Blocks under one label.

    Parameters
    ----------
    label
        Stands beside them.
    blocks
        From top to bottom.
    new_page
        Whether it begins a page.
    """

    label: str
    blocks: tuple[Block, ...]
    new_page: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """What is printed for one case.

    Parameters
    ----------
    name
        Of the case.
    title
        Beside it.
    kind
        What it is: a job, or a key.
    sections
        From first to last.
    """

    name: str
    title: str
    kind: str
    sections: tuple[Section, ...]

    @property
    def sums(self) -> tuple[Sum, ...]:
        """Every sum on it."""
        return tuple(b for s in self.sections for b in s.blocks if isinstance(b, Sum))
