"""From the raw tables of further cables to an installation."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.line.several import Installation
from cablesim.scenario.checking import Place, read_value
from cablesim.scenario.gathering_cable import cable_from
from cablesim.scenario.schema import METER_NAME_PATTERN, OtherTable

__all__ = ["installation_from"]


def installation_from(
    main: Cable,
    others: Sequence[Mapping[str, Any]],
    joins: list[list[str]] | None,
    file: str | None,
) -> Installation:
    """Make an installation, without faults so far.

    Parameters
    ----------
    main
        The cable of ``[cable]``.
    others
        The raw tables of ``[[other]]``.
    joins
        The groups of terminals, or None where they are left out.
    file
        Name of the file, for messages.
    """
    found: dict[str, Cable] = {}
    for number, raw in enumerate(others, start=1):
        place = Place(file, entry=f"other {number}")
        if "name" not in raw:
            raise place.error("name is missing", try_this='give it a name, such as name = "b"')
        called = raw["name"]
        if isinstance(called, str) and not re.fullmatch(METER_NAME_PATTERN, called):
            raise place.error(
                "name", called, "a letter followed by at most 39 letters, digits, - or _"
            )
        name = read_value(OtherTable, "name", called, place)
        if name in found:
            raise place.error("name", name, "another one; each cable has a name of its own")
        rest = {key: value for key, value in raw.items() if key != "name"}
        found[name], supply_volt = cable_from(rest, place)
        if supply_volt is not None:
            raise place.error("supply_volt belongs to [cable]", try_this="state it there")
    try:
        return Installation.of(main, found, joins)
    except InputError as error:
        what = error.what if error.what == "joins" else f"joins: {error.what}"
        raise Place(file).error(what, error.got, error.allowed, error.try_this) from None
