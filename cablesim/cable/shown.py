"""Values that show themselves in a notebook."""

from __future__ import annotations

from importlib import import_module

__all__ = ["Shown"]


class Shown:
    """A value with a table of its own in a notebook.

    How it looks is the report's business, far above the value. It is had from the package's public
    face, which loads what is named when it is first used: no layer below knows of one above.
    """

    __slots__ = ()

    def _repr_html_(self) -> str:
        """Show it as HTML, as notebooks ask for it."""
        face = import_module("cablesim")
        told: str = face.as_html(self)
        return told
