"""Paper that a class set is printed on."""

from __future__ import annotations

from cablesim.errors import InputError

__all__ = ["PAPERS", "checked_paper"]

PAPERS = {"A4": (595.28, 841.89), "Letter": (612.0, 792.0)}
"""Width and height of a page [points]."""


def checked_paper(name: str) -> tuple[float, float]:
    """Width and height of a paper by name [points], in upper or lower case.

    Parameters
    ----------
    name
        One of `PAPERS`.

    Raises
    ------
    InputError
        If there is no such paper.

    Examples
    --------
    >>> checked_paper("letter")
    (612.0, 792.0)
    """
    for known, size in PAPERS.items():
        if known.lower() == name.lower():
            return size
    raise InputError("paper", name, " or ".join(PAPERS))
