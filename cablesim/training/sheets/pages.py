"""From sheets to PDF pages: a rail of labels on the left, what they name beside it, rules between.

Black on white; nothing depends on colour. Text is measured with the font that prints it, so nothing
runs over an edge.
"""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterator, Sequence
from functools import lru_cache
from typing import Any

from matplotlib import font_manager, rc_context
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from cablesim.report.saving import any_letters
from cablesim.report.words import one_line
from cablesim.training.sheets.content import (
    Block,
    Drawing,
    Fill,
    Section,
    Sheet,
    Sum,
    Table,
    Text,
)
from cablesim.training.sheets.paper import checked_paper

__all__ = ["Setter", "pdf_of"]

_INK, _GREY, _SHADE = "black", "0.35", "0.93"
_EDGE, _TOP, _FOOT = 40.0, 36.0, 34.0
_RAIL, _GAP = 74.0, 10.0
_SIZE, _SMALL, _LINE = 9.5, 7.5, 1.38
_WIDEST_NAME = 0.5  # of the page
_FEW = 4  # texts that stay together
_TABLE_START = 60.0  # a table begins where there is room for its head and two rows
_CAUTION = (
    "For training, with invented readings. On a real cable: switch off, lock off, prove dead; "
    "local codes and licensed practice come first."
)


def pdf_of(sheets: Sequence[Sheet], paper: str = "A4") -> bytes:
    """Print sheets, each on pages of its own.

    Parameters
    ----------
    sheets
        What to print.
    paper
        ``A4`` or ``Letter``.

    Raises
    ------
    InputError
        If there is no such paper.
    """
    size = checked_paper(paper)
    out = io.BytesIO()
    about = {"Creator": "cablesim", "CreationDate": None}
    with (
        any_letters(),
        rc_context({"pdf.fonttype": 42}),
        PdfPages(out, metadata=about) as pages,
    ):
        for sheet in sheets:
            for figure in Setter(sheet, size).pages():
                pages.savefig(figure)
    return out.getvalue()


@lru_cache(maxsize=8)
def _font(bold: bool, mono: bool) -> Any:
    family = "DejaVu Sans Mono" if mono else "DejaVu Sans"
    found = font_manager.FontProperties(family=family, weight="bold" if bold else "normal")
    return font_manager.get_font(font_manager.findfont(found))


@lru_cache(maxsize=2000)
def _advance(sign: str, bold: bool, mono: bool) -> float:
    """Width of a character, as a share of the size."""
    font = _font(bold, mono)
    # At a large size, without the hinting of a small one.
    font.set_size(100.0, 72)
    return float(font.load_char(ord(sign)).linearHoriAdvance) / 65536 / 100.0


def _width(text: str, size: float, *, bold: bool = False, mono: bool = False) -> float:
    """Width of a line [points]."""
    return size * sum(_advance(sign, bold, mono) for sign in text)


def _wrapped(
    text: str, width: float, size: float, *, bold: bool = False, mono: bool = False
) -> list[str]:
    """Lines no wider than this; a word that is too wide is cut."""
    lines, line = [], ""
    for word in one_line(text).split(" "):
        while _width(word, size, bold=bold, mono=mono) > width and len(word) > 1:
            keep = len(word) - 1
            while keep > 1 and _width(word[:keep], size, bold=bold, mono=mono) > width:
                keep -= 1
            if line:
                lines.append(line)
                line = ""
            lines.append(word[:keep])
            word = word[keep:]
        longer = f"{line} {word}" if line else word
        if line and _width(longer, size, bold=bold, mono=mono) > width:
            lines.append(line)
            line = word
        else:
            line = longer
    return [*lines, line]


class Setter:
    """Sets the sections of one sheet, page after page.

    Parameters
    ----------
    sheet
        What to print.
    paper
        Width and height [points].
    """

    def __init__(self, sheet: Sheet, paper: tuple[float, float]) -> None:
        self.sheet, (self.wide, self.high) = sheet, paper
        self.left = _EDGE + _RAIL + _GAP
        self.width = self.wide - _EDGE - self.left
        self.low = _FOOT + 2 * _SMALL * _LINE
        self.figures: list[Figure] = []

    def pages(self) -> Iterator[Figure]:
        """All pages, numbered."""
        self._begin()
        for section in self.sheet.sections:
            self._section(section)
        for number, figure in enumerate(self.figures, start=1):
            self._foot(figure, number)
            yield figure

    def _begin(self) -> None:
        self.figure = Figure(figsize=(self.wide / 72, self.high / 72), facecolor="white")
        self.figures.append(self.figure)
        self.y = self.high - _TOP
        name = self.sheet.name
        while _width(name, 14.0, bold=True) > _WIDEST_NAME * self.wide:
            name = name.removesuffix("…")[:-1] + "…"
        name_width = _width(name, 14.0, bold=True)
        kind_width = _width(self.sheet.kind.upper(), _SMALL, bold=True)
        self._put(_EDGE, self.y - 14.0, name, 14.0, bold=True)
        room = self.wide - 2 * _EDGE - name_width - kind_width - 30.0
        title = _wrapped(self.sheet.title, max(room, 60.0), 11.0)
        if title != [self.sheet.name]:
            cut = title[0] + ("…" if len(title) > 1 else "")
            self._put(_EDGE + name_width + 15.0, self.y - 14.0, cut, 11.0)
        right = self.wide - _EDGE - kind_width
        self._put(right, self.y - 14.0, self.sheet.kind.upper(), _SMALL, bold=True)
        self.y -= 21.0
        self._rule(_EDGE, self.wide - _EDGE, self.y, 1.6)
        self.y -= 8.0
        self.fresh = True

    def _foot(self, figure: Figure, number: int) -> None:
        self.figure = figure
        self._rule(_EDGE, self.wide - _EDGE, _FOOT + 2 * _SMALL * _LINE - 6.0, 0.5)
        count = f"{number} / {len(self.figures)}"
        lines = _wrapped(_CAUTION, self.wide - 2 * _EDGE - 40.0, 6.5)
        for k, line in enumerate(lines[:2]):
            self._put(_EDGE, _FOOT - 4.0 - k * 6.5 * _LINE, line, 6.5, color=_GREY)
        self._put(self.wide - _EDGE - _width(count, _SMALL), _FOOT - 4.0, count, _SMALL)

    def _section(self, section: Section) -> None:
        if section.new_page and not self.fresh:
            self._begin()
        if self.y - self._kept(section) - 10.0 < self.low and not self.fresh:
            self._begin()
        if not self.fresh:
            self._rule(_EDGE, self.wide - _EDGE, self.y, 0.4)
            self.y -= 7.0
        under = self._label(section.label)
        for block in section.blocks:
            if not isinstance(block, Table) and self.y - self._height(block) < self.low:
                self._begin()
                under = self._label(f"{section.label} (continued)")
            self.fresh = False
            page = self.figure
            self._block(block, section.label)
            if self.figure is not page:  # a table went on
                under = self.y
        self.y = min(self.y, under) - 5.0

    def _kept(self, section: Section) -> float:
        """How high the beginning of a section is that stays on one page [points].

        A few texts, and what they stand above; of more texts, and of anything else, the first.
        """
        blocks = section.blocks
        texts = list(itertools.takewhile(lambda block: isinstance(block, Text), blocks))
        if not texts or len(texts) > _FEW:
            return self._height(blocks[0]) if blocks else 0.0
        return sum(self._height(block) for block in blocks[: len(texts) + 1])

    def _label(self, label: str) -> float:
        """Print a label into the rail; how far down it goes."""
        lines = _wrapped(label, _RAIL, _SMALL, bold=True)
        for k, line in enumerate(lines):
            self._put(_EDGE, self.y - _SIZE - k * _SMALL * _LINE, line, _SMALL, bold=True)
        return self.y - _SIZE - (len(lines) - 1) * _SMALL * _LINE - 4.0

    def _height(self, block: Block) -> float:
        """How high a block is [points]."""
        if isinstance(block, Text):
            return len(self._text_lines(block)) * _SIZE * _LINE + 3.0
        if isinstance(block, Sum):
            lines = sum(len(part) for part in self._sum_lines(block))
            return (lines + 1) * _SIZE * _LINE + 14.0
        if isinstance(block, Fill):
            return 24.0
        if isinstance(block, Drawing):
            return self._drawing(block)[1] + 24.0
        return _TABLE_START

    def _block(self, block: Block, label: str) -> None:
        if isinstance(block, Text):
            self._text(block)
        elif isinstance(block, Table):
            self._table(block, label)
        elif isinstance(block, Sum):
            self._sum(block)
        elif isinstance(block, Fill):
            self._fill(block)
        else:
            self._draw(block)

    def _indent(self, block: Text) -> float:
        return 18.0 if block.bullet else 0.0

    def _text_lines(self, block: Text) -> list[str]:
        return _wrapped(block.text, self.width - self._indent(block), _SIZE, bold=block.bold)

    def _text(self, block: Text) -> None:
        if block.bullet:
            self._put(self.left, self.y - _SIZE, block.bullet, _SIZE, bold=True)
        for line in self._text_lines(block):
            self._put(self.left + self._indent(block), self.y - _SIZE, line, _SIZE, bold=block.bold)
            self.y -= _SIZE * _LINE
        self.y -= 3.0

    def _sum_lines(self, block: Sum) -> list[list[str]]:
        return [
            [
                ("    " if k else "") + part
                for k, part in enumerate(
                    _wrapped(line.strip(), self.width - 60.0, _SIZE, mono=True)
                )
            ]
            for line in block.lines
        ]

    def _sum(self, block: Sum) -> None:
        high = self._height(block) - 6.0
        self._box(self.left, self.y - high, self.width, high, fill=_SHADE)
        self.y -= 4.0
        self._put(self.left + 8.0, self.y - _SIZE, one_line(block.what), _SIZE)
        self.y -= _SIZE * _LINE
        for k, lines in enumerate(self._sum_lines(block)):
            for line in lines:
                indent = 8.0 if not k else 22.0
                self._put(self.left + indent, self.y - _SIZE, line, _SIZE, mono=True, bold=k == 2)
                self.y -= _SIZE * _LINE
        self.y -= 10.0

    def _fill(self, block: Fill) -> None:
        fixed = sum(_width(part, _SIZE) + 10.0 for part in block.parts) + _width(block.end, _SIZE)
        gap = (self.width - fixed - 4.0) / len(block.parts)
        x, base = self.left, self.y - 15.0
        for part in block.parts:
            self._put(x, base, part, _SIZE)
            x += _width(part, _SIZE) + 6.0
            self._rule(x, x + gap, base - 2.0, 0.7)
            x += gap + 4.0
        self._put(x, base, block.end, _SIZE)
        self.y -= 24.0

    def _table(self, block: Table, label: str) -> None:
        widths = [share * self.width for share in block.shares]
        self._heads(block, widths)
        for row in block.rows:
            cells = [
                _wrapped(text, width - 6.0, _SMALL + 1.0)
                for text, width in zip(row, widths, strict=False)
            ]
            high = max([len(cell) for cell in cells], default=0) * (_SMALL + 1.0) * _LINE + 5.0
            high = max(high, block.least)
            if self.y - high < self.low:
                self._begin()
                self._label(f"{label} (continued)")
                self.fresh = False
                self._heads(block, widths)
            x = self.left
            for k, width in enumerate(widths):
                self._box(x, self.y - high, width, high)
                for n, line in enumerate(cells[k] if k < len(cells) else []):
                    down = 3.0 + _SMALL + n * (_SMALL + 1.0) * _LINE
                    self._put(x + 3.0, self.y - down, line, _SMALL + 1.0)
                x += width
            self.y -= high
        self.y -= 6.0

    def _heads(self, block: Table, widths: Sequence[float]) -> None:
        cells = [
            _wrapped(head, width - 6.0, _SMALL, bold=True)
            for head, width in zip(block.heads, widths, strict=True)
        ]
        high = max(len(cell) for cell in cells) * _SMALL * _LINE + 6.0
        x = self.left
        for cell, width in zip(cells, widths, strict=True):
            self._box(x, self.y - high, width, high, fill=_SHADE)
            for n, line in enumerate(cell):
                down = 3.0 + _SMALL + n * _SMALL * _LINE
                self._put(x + 3.0, self.y - down, line, _SMALL, bold=True)
            x += width
        self.y -= high

    def _drawing(self, block: Drawing) -> tuple[float, float, float]:
        """Width and height on the page, and points for each unit of the drawing."""
        room = self.high - _TOP - 29.0 - self.low - 60.0
        scale = min(self.width / block.size[0], room / block.size[1])
        return block.size[0] * scale, block.size[1] * scale, scale

    def _draw(self, block: Drawing) -> None:
        wide, high, scale = self._drawing(block)
        axes = self.figure.add_axes(
            (self.left / self.wide, (self.y - high) / self.high, wide / self.wide, high / self.high)
        )
        axes.set_axis_off()
        axes.set_xlim(0.0, block.size[0])
        axes.set_ylim(0.0, block.size[1])
        block.draw(axes)
        self.y -= high + 6.0
        if block.scale:
            bar = scale * 1.0
            self._rule(self.left, self.left + bar, self.y - 4.0, 2.0)
            self._put(self.left + bar + 5.0, self.y - 7.0, "1 m", _SMALL)
        self.y -= 18.0

    def _put(
        self,
        x: float,
        y: float,
        text: str,
        size: float,
        *,
        bold: bool = False,
        mono: bool = False,
        color: str = _INK,
    ) -> None:
        self.figure.text(
            x / self.wide,
            y / self.high,
            text,
            fontsize=size,
            fontweight="bold" if bold else "normal",
            family="DejaVu Sans Mono" if mono else "DejaVu Sans",
            va="baseline",
            color=color,
            parse_math=False,
        )

    def _rule(self, x0: float, x1: float, y: float, width: float) -> None:
        xs, ys = [x0 / self.wide, x1 / self.wide], [y / self.high] * 2
        line = Line2D(xs, ys, color=_INK, lw=width, transform=self.figure.transFigure)
        self.figure.add_artist(line)

    def _box(self, x: float, y: float, wide: float, high: float, fill: str | None = None) -> None:
        self.figure.add_artist(
            Rectangle(
                (x / self.wide, y / self.high),
                wide / self.wide,
                high / self.high,
                transform=self.figure.transFigure,
                facecolor=fill or "none",
                edgecolor="0.45",
                lw=0.5,
                zorder=0.5,
            )
        )
