"""What a call of `locate` gives, checked before anything is weighed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeVar

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import is_number, without_quotes
from cablesim.cable.stated import check_stated
from cablesim.errors import InputError, looked_up, shorten
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.prior import KINDS, Hypothesis

__all__ = ["established_of", "read_of", "several", "usable"]

_Item = TypeVar("_Item")


def usable(
    cable: Cable, readings: Iterable[Reading], level: float, bag: Iterable[Probe]
) -> tuple[tuple[Reading, ...], tuple[Probe, ...]]:
    """The readings and the bag, where the search can do with all of it.

    Parameters
    ----------
    cable, readings, level, bag
        As for `cablesim.locate.answer.locate`.

    Raises
    ------
    InputError
        Naming what cannot be used.
    """
    if np.ndim(level):
        raise InputError("level", level, "one number", "ask for one level at a time")
    if not is_number(level) or not 0.0 < level < 1.0:
        raise InputError("level", level, "a number above 0 and below 1", without_quotes(level))
    taken, carried = read_of(cable, readings), several("bag", bag, Probe)
    check_stated(cable)
    for probe in (*(reading.probe for reading in taken), *carried):
        probe.hookup.check_terminals(cable)
        probe.hookup.check_leads(cable)
    return taken, carried


def read_of(cable: Cable, readings: Iterable[Reading]) -> tuple[Reading, ...]:
    """The readings of one cable.

    Parameters
    ----------
    cable, readings
        As for `cablesim.locate.weighing.posterior`.

    Raises
    ------
    InputError
        If they are none.
    """
    if not isinstance(cable, Cable):
        raise InputError("cable", cable, "one Cable", "make it with Cable.rated")
    return several("readings", readings, Reading)


def several(name: str, given: Iterable[_Item], kind: type[_Item]) -> tuple[_Item, ...]:
    """A tuple of what was given, of whatever it was.

    Parameters
    ----------
    name
        Name of the argument.
    given
        A list, a generator or the like.
    kind
        What each item must be.

    Raises
    ------
    InputError
        If it is a single item, no collection, or holds something else.
    """
    if isinstance(given, str | kind) or not isinstance(given, Iterable):
        one = f"({given!r},)" if isinstance(given, str) else f"({kind.__name__.lower()},)"
        mend = f"write {one} for a single one" if isinstance(given, kind) else None
        raise InputError(name, given, f"a tuple or list of {kind.__name__}", mend)
    found = tuple(given)
    for item in found:
        if not isinstance(item, kind):
            raise InputError(f"{name} holds {shorten(item)}, but each must be a {kind.__name__}")
    return found


def established_of(
    table: Sequence[Hypothesis], established: Iterable[str] | None
) -> list[Hypothesis]:
    """The hypotheses of the established kinds; all where none is established.

    Parameters
    ----------
    table
        What is held possible.
    established
        As for `cablesim.locate.answer.locate`.

    Raises
    ------
    InputError
        If a kind is unknown, or none of them is left.
    """
    if not table:
        raise InputError("table", [], "at least one hypothesis", "leave it out for the usual ones")
    kinds = several("established", () if established is None else established, str)
    known = dict.fromkeys((*KINDS, *(h.verdict for h in table)))
    for kind in kinds:
        looked_up("established", kind, known)
    left = [h for h in table if not kinds or h.verdict in kinds]
    if not left:
        raise InputError(
            "established",
            list(kinds),
            f"some of {', '.join(dict.fromkeys(h.verdict for h in table))}",
            "others are ruled out, by a withstand test that tripped or by the table given",
        )
    return left
