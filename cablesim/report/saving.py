"""From a figure to the bytes of a file."""

from __future__ import annotations

import io
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

__all__ = ["any_letters", "png_of"]


@contextmanager
def any_letters() -> Iterator[None]:
    """Draw without a warning where a title holds letters that the font lacks: they become boxes."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", message=".*[Gg]lyph.*missing")
        yield


def png_of(draw: Callable[[], Figure]) -> bytes:
    """Draw a figure as a PNG image.

    Parameters
    ----------
    draw
        Makes the figure; called here, since to measure a text is to look for its letters.
    """
    image = io.BytesIO()
    with any_letters():
        draw().savefig(image, format="png", metadata={"Software": "cablesim"})
    return image.getvalue()
