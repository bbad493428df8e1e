"""Whole numbers on the command line."""

from __future__ import annotations

import typer

__all__ = ["whole"]


def whole(text: str | int) -> int:
    """Read the value of an option that is a whole number.

    >>> whole("3")
    3
    """
    try:
        return int(text)  # a default comes as the number that it is
    except ValueError:
        raise typer.BadParameter(
            f"{str(text)[:60]!r} is no whole number; write it like 3."
        ) from None
