"""A page as one HTML document that needs nothing else: no network, no script, no other file."""

from __future__ import annotations

import re

from cablesim import __version__
from cablesim.report.page.markup import Markup, element
from cablesim.report.page.sections import SECTIONS
from cablesim.report.page.source import PageSource
from cablesim.report.page.style import STYLE
from cablesim.report.words import one_line

__all__ = ["page_html"]

_KIND = "Damage in a floor-heating cable: what the readings say"
# A browser that knows this loads nothing, whatever the page says.
_POLICY = "default-src 'none'; style-src 'unsafe-inline'"


def page_html(source: PageSource) -> str:
    """The whole document.

    Parameters
    ----------
    source
        What it shows.
    """
    parts = [found for found in (build(source) for build in SECTIONS) if found is not None]
    title = one_line(source.title)
    head = element(
        "head",
        element("meta", charset="utf-8"),
        element("meta", name="viewport", content="width=device-width, initial-scale=1"),
        element("meta", http_equiv="Content-Security-Policy", content=_POLICY),
        element("meta", name="generator", content=f"cablesim {__version__}"),
        element("title", title),
        Markup(f"<style>{STYLE}</style>"),
    )
    body = element(
        "body",
        element("a", "Skip to the answer", href="#answer", class_="skip"),
        element("header", element("p", _KIND, class_="kind"), element("h1", title)),
        # The answer comes first, before the way to all that follows from it.
        element("main", parts[0], _contents(parts[1:]), *parts[1:]),
        element("footer", element("p", f"cablesim {__version__}, SHA-256 {source.sha256[:12]}")),
    )
    return f"<!DOCTYPE html>\n{element('html', head, body, lang='en')}\n"


def _contents(parts: list[Markup]) -> Markup:
    """Links to the sections, by the headings that they have."""
    found = [re.search(r'<h2 id="(\w+)-title">(.*?)</h2>', part) for part in parts]
    links = [
        element("li", element("a", Markup(match.group(2)), href=f"#{match.group(1)}"))
        for match in found
        if match
    ]
    return element("nav", element("ol", *links), aria_label="Contents")
