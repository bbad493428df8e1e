"""Lengths that a scenario file writes as text with a unit, and what they are in the key's own."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from typing import Any, NamedTuple

from cablesim.cable.lengths import length_from_text

__all__ = ["WrittenLength", "in_unit", "is_length", "written_lengths"]

_DEEPEST = 4  # a list of areas of corners of two numbers
# What ends in _m without being a length.
_NO_LENGTHS = ("ohm_m", "per_m")


class WrittenLength(NamedTuple):
    """A length with a unit in a file.

    Parameters
    ----------
    key
        Where it stands, such as ``cable.heated_length_m``.
    text
        As written.
    value, unit
        What that is in the unit of the key.
    """

    key: str
    text: str
    value: float
    unit: str


def is_length(key: str) -> bool:
    """Whether a key holds a length: it ends in ``_m`` or ``_mm``.

    >>> is_length("heated_length_m"), is_length("insulation_gigaohm_m"), is_length("core_mm2")
    (True, False, False)
    """
    return key.endswith(("_m", "_mm")) and not key.endswith(_NO_LENGTHS)


def in_unit(raw: Any, key: str, depth: int = _DEEPEST) -> Any:
    """Put numbers in the key's unit where a length, or a list of them, is written as text."""
    if isinstance(raw, str):
        value = length_from_text(raw, key.rpartition("_")[2])
        return raw if value is None else value
    if isinstance(raw, list) and depth:
        return [in_unit(item, key, depth - 1) for item in raw]
    return raw


def written_lengths(text: str) -> tuple[WrittenLength, ...]:
    r"""Every length that a scenario writes as text with its unit, in the order of the file.

    Parameters
    ----------
    text
        A scenario that has been read without complaint.

    Examples
    --------
    >>> found = written_lengths('[cable]\nheated_length_m = "98 ft 5 in"')
    >>> found[0].key, found[0].value
    ('cable.heated_length_m', 29.9974)
    """
    return tuple(_found(tomllib.loads(text), ""))


def _found(raw: Any, place: str) -> Iterator[WrittenLength]:
    if isinstance(raw, dict):
        for key, value in raw.items():
            yield from _found(value, f"{place}.{key}" if place else key)
    elif isinstance(raw, list):
        for number, item in enumerate(raw, start=1):
            yield from _found(item, f"{place}[{number}]")
    elif isinstance(raw, str):
        key = place.rpartition(".")[2].partition("[")[0]
        value = in_unit(raw, key) if is_length(key) else raw
        if isinstance(value, float):
            yield WrittenLength(place, raw, value, key.rpartition("_")[2])
