"""The sections of a page, in the order of reading.

Each is a small function from what the page is made from to its HTML, or None where it has nothing
to say. To add one, write such a function and put it into `SECTIONS`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import TypeAlias

from cablesim import __version__
from cablesim.report.page.answer import (
    answer_section,
    budget_section,
    cable_section,
    readings_section,
)
from cablesim.report.page.convert import described
from cablesim.report.page.markup import Markup, element, section
from cablesim.report.page.mending import cautions_section, next_section, repair_section
from cablesim.report.page.place import floor_section
from cablesim.report.page.source import PageSource
from cablesim.report.page.warmth import camera_section

__all__ = ["SECTIONS", "about_section"]

Section: TypeAlias = Callable[[PageSource], Markup | None]


def about_section(source: PageSource) -> Markup:
    """Where the page comes from, so that anyone can make it again and check it."""
    rows = [
        ("Made by", f"cablesim {__version__}"),
        ("From the file", source.name),
        ("Its SHA-256", source.sha256),
    ]
    told = (
        "The same file and version give the same page. It is computed from the readings in the "
        "file: whoever took them answers for them. It replaces no local code, no instructions of "
        "the cable and no licensed electrician."
    )
    blank = element(
        "dl",
        *(
            element("div", element("dt", label), element("dd", " "))
            for label in ("Date", "Place", "Name and licence", "Signature")
        ),
        class_="sign",
    )
    return section("about", "About this page", described(rows), element("p", told), blank)


SECTIONS: tuple[Section, ...] = (
    answer_section,
    cable_section,
    floor_section,
    next_section,
    readings_section,
    budget_section,
    camera_section,
    repair_section,
    cautions_section,
    about_section,
)
