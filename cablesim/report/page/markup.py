"""Pieces of HTML in which every text is escaped, and texts and HTML cannot be mistaken.

A `Markup` is HTML; whatever else is put into an element is text and is escaped.
"""

from __future__ import annotations

import html
import re
from collections.abc import Iterable

from cablesim.report.words import one_line

__all__ = ["Markup", "element", "listed", "paragraphs", "section"]

# A line never ends between a number and its unit.
_NUMBER_AND_UNIT = re.compile(
    r"(?<=\d) (?=%|(?:m|mm|cm|m2|[kMG]?ohm|m?W|W/m2?|V|m?A|K|C|[np]F|n?s|min)\b)"
)
# Elements that have no end tag.
_VOID = frozenset({"br", "hr", "img", "input", "link", "meta"})


class Markup(str):
    """HTML, as against plain text."""

    __slots__ = ()


def element(tag: str, /, *content: str, **attributes: str) -> Markup:
    """Build an element.

    Parameters
    ----------
    tag
        Its name.
    content
        What stands in it: markup as it is, any other text escaped.
    attributes
        Their values; a trailing underscore of a name is left out, others become hyphens.

    Examples
    --------
    >>> element("p", "1 < 2", element("b", "!"), class_="odd")
    '<p class="odd">1 &lt; 2<b>!</b></p>'
    >>> element("td", "<script>", data_label='"')
    '<td data-label="&quot;">&lt;script&gt;</td>'
    """
    told = "".join(
        f' {key.rstrip("_").replace("_", "-")}="{html.escape(one_line(value))}"'
        for key, value in attributes.items()
    )
    if tag in _VOID:
        return Markup(f"<{tag}{told}>")
    inside = "".join(
        part if isinstance(part, Markup) else html.escape(_printable(part)) for part in content
    )
    return Markup(f"<{tag}{told}>{inside}</{tag}>")


def _printable(text: str) -> str:
    r"""Text without control characters, blanks at its ends kept, numbers kept with their units.

    >>> _printable(" a\x1b 12 m, 5 %")
    ' a? 12\xa0m, 5\xa0%'
    """
    if not text.strip():
        return " " if text else ""
    before = " " if text[0].isspace() else ""
    kept = _NUMBER_AND_UNIT.sub("\u00a0", one_line(text))
    return f"{before}{kept}{' ' if text[-1].isspace() else ''}"


def paragraphs(*texts: str) -> Markup:
    """Each text as a paragraph; empty ones are left out."""
    return Markup("".join(element("p", text) for text in texts if text))


def listed(items: Iterable[str], *, numbered: bool = False) -> Markup:
    """A list, with numbers or without."""
    return element("ol" if numbered else "ul", *(element("li", item) for item in items))


def section(key: str, title: str, *content: Markup) -> Markup:
    """A section under a heading of the second level.

    Parameters
    ----------
    key
        What its ids are made from, once on a page.
    title
        The heading.
    content
        What stands in it.
    """
    heading = element("h2", title, id=f"{key}-title")
    return element("section", heading, *content, id=key, aria_labelledby=f"{key}-title")
