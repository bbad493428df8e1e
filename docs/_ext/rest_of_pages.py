"""A table of contents that ends with all pages at the top of docs/ that its page does not place.

So a new page is in the navigation as soon as its file is there, and nobody edits a list.
"""

from __future__ import annotations

import re
from pathlib import Path

from sphinx.directives.other import TocTree


class RestOfPages(TocTree):
    """Like ``toctree``: its own lines first, then what the page names nowhere, by title."""

    def run(self):
        source = Path(self.env.doc2path(self.env.docname))
        text = source.read_text(encoding="utf-8")
        placed = set(re.findall(r"^([\w-]+)$", text, re.MULTILINE))
        pages = {name for name in self.env.found_docs if "/" not in name}
        rest = pages - placed - {self.env.docname}
        more = sorted(rest, key=lambda page: _title(source.with_name(f"{page}.md")))
        self.content = [*self.content, *more]
        # A page that comes or goes changes this one.
        self.env.note_reread()
        return super().run()


def _title(path: Path) -> str:
    with path.open(encoding="utf-8") as lines:
        return next((line for line in lines if line.startswith("# ")), "").lstrip("# `").casefold()


def setup(app):
    """Register the directive."""
    app.add_directive("rest-of-pages", RestOfPages)
    return {"parallel_read_safe": True, "parallel_write_safe": True}
