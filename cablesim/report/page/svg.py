"""Figures of matplotlib as SVG within a page: named, in the page's colours, without references."""

from __future__ import annotations

import io
import re

from matplotlib import rc_context
from matplotlib.figure import Figure

from cablesim.report import style
from cablesim.report.page.markup import Markup, element
from cablesim.report.saving import any_letters

__all__ = ["COLOURS", "figure_html", "svg_of"]

COLOURS = {
    style.INK: "ink",
    "#000000": "ink",
    style.GREY: "grey",
    "#9a9a9a": "line",
    "#b0b0b0": "line",
    style.LIGHT: "sheet",
    "#e4e4e4": "sheet",
    style.BLUE: "blue",
    style.PALE: "pale",
    style.VERMILION: "mark",
    "#ffffff": "paper",
}
"""Colours of the figures, each with the page's name for it, which is another one in the dark."""


def figure_html(figure: Figure, key: str, title: str, told: str, *below: Markup) -> Markup:
    """A figure with what it shows, in words for those who cannot see it.

    Parameters
    ----------
    figure
        It is drawn as SVG.
    key
        What its ids begin with, once on a page.
    title
        Its name.
    told
        What it shows, in full.
    below
        What stands under it besides its name.
    """
    return element("figure", svg_of(figure, key, title, told), element("figcaption", title, *below))


def svg_of(figure: Figure, key: str, title: str, told: str) -> Markup:
    """Draw a figure as SVG that may stand within HTML.

    Ids get a prefix, so that several may share a page; colours become variables of the page, so
    that they follow its light and dark; texts stay texts, in the page's own type.

    Parameters
    ----------
    figure, key, title, told
        As for `figure_html`.
    """
    drawn = io.StringIO()
    # Letters that the font here lacks the browser's font has.
    with any_letters(), rc_context({"svg.hashsalt": key, "svg.fonttype": "none"}):
        figure.savefig(drawn, format="svg", metadata={"Date": None}, transparent=True)
    whole = drawn.getvalue()
    start = whole.index("<svg")
    head = whole[start : whole.index(">", start) + 1]
    inside = whole[start + len(head) : whole.rindex("</svg>")]
    inside = re.sub(r"<metadata>.*?</metadata>", "", inside, flags=re.DOTALL)
    inside = re.sub(r"<!--.*?-->", "", inside, flags=re.DOTALL)
    inside = re.sub(r'\bid="', f'id="{key}-', inside)
    inside = re.sub(r'\b(?:xlink:)?href="#', f'href="#{key}-', inside)
    inside = re.sub(r"url\(#", f"url(#{key}-", inside)
    for colour, name in COLOURS.items():
        inside = inside.replace(f": {colour}", f": var(--{name})")
        # The ground of a hatched area; an attribute of its own cannot hold a variable.
        inside = inside.replace(f'fill="{colour}"', f'style="fill: var(--{name})"')
    view = re.search(r'viewBox="[^"]*"', head)
    named = [
        element("title", title, id=f"{key}-name"),
        element("desc", told, id=f"{key}-told"),
    ]
    return Markup(
        f'<svg {view.group() if view else ""} role="img" '
        f'aria-labelledby="{key}-name {key}-told">{"".join(named)}{inside}</svg>'
    )
