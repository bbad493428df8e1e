"""Lengths on the command line: a bare number in the option's unit, or any with its own."""

from __future__ import annotations

import typer

from cablesim.cable.lengths import length_from_text

__all__ = ["metres", "millimetres"]


def metres(text: str) -> float:
    """Read the value of an option that is a length in metres.

    >>> metres("12.4"), metres("40 ft")
    (12.4, 12.192)
    """
    return _length(text, "m")


def millimetres(text: str) -> float:
    """Read the value of an option that is a length in millimetres.

    >>> millimetres("3/4 in")
    19.05
    """
    return _length(text, "mm")


def _length(text: str | float, unit: str) -> float:
    # A default comes as the number that it is.
    found = length_from_text(str(text), unit)
    try:
        return float(text) if found is None else found
    except ValueError:
        bare = "12.4" if unit == "m" else "14"
        raise typer.BadParameter(
            f"{str(text)[:60]!r} is no length; write it like {bare}, '40 ft' or '3/4 in'."
        ) from None
