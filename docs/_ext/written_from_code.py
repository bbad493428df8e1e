"""Write the pages that come out of the code, before the site is read."""

from __future__ import annotations

from pathlib import Path

import api_pages
import command_pages
import key_pages


def write_pages(folder: Path) -> None:
    """Write commands, keys of the scenario file and modules into ``docs/reference``."""
    pages = {
        **command_pages.pages(),
        **key_pages.pages(),
        **api_pages.pages(),
    }
    for name, text in pages.items():
        path = folder / f"{name}.md"
        path.parent.mkdir(parents=True, exist_ok=True)
        # What has not changed keeps its date, and is not read again.
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            path.write_text(text, encoding="utf-8")
    for part in {Path(name).parent for name in pages} - {Path(".")}:
        for path in (folder / part).glob("*.md"):
            if path.relative_to(folder).with_suffix("").as_posix() not in pages:
                path.unlink()  # a command or module that is gone


def setup(app):
    """Write before the list of sources is made."""
    app.connect("config-inited", lambda app, config: write_pages(Path(app.srcdir) / "reference"))
    return {"parallel_read_safe": True, "parallel_write_safe": True}
