"""The exceptions of cablesim, and the small helpers that word them.

::

    Exception
    └── CablesimError       everything that cablesim raises on purpose
        └── InputError      (also a ValueError) a value from outside cannot be used
            └── ScenarioError   the same, and the place in the file where it stands

An input error reads as one sentence that names the value, what was received, what is allowed and
what to try instead:

>>> print(InputError("heated_length_m", -3.0, "more than 0", "give the rated length, such as 30.0"))
heated_length_m is -3.0, but must be more than 0; give the rated length, such as 30.0.
"""

from __future__ import annotations

import difflib
import reprlib
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from enum import Enum
from os import PathLike, fspath
from typing import Final, TypeVar

__all__ = [
    "NOT_GIVEN",
    "CablesimError",
    "InputError",
    "ScenarioError",
    "in_file",
    "looked_up",
    "nearest",
    "shorten",
]

_Row = TypeVar("_Row")

_SHORT = 60  # longest rendering of a received value, characters


class _Absent(Enum):
    """The type of NOT_GIVEN: an enum member stays itself when pickled or copied."""

    NOT_GIVEN = "not given"


NOT_GIVEN: Final = _Absent.NOT_GIVEN
"""Stands for "no value was received", since None may itself be what was received."""


class CablesimError(Exception):
    """The root of everything that cablesim raises on purpose."""


class InputError(CablesimError, ValueError):
    """A value from outside cannot be used.

    Parameters
    ----------
    what : str
        The subject of the sentence, usually the name of a field. With neither `got` nor `allowed`
        it is the whole clause, such as ``"[cable] has no heated_length_m"``.
    got : object, optional
        The value received; shown shortened.
    allowed : str, optional
        Completes "must be ...".
    try_this : str, optional
        The mend: an example, or the nearest known name.
    """

    # All of it goes to Exception.args, from which pickle and copy build the error anew.
    def __init__(
        self,
        what: str,
        got: object = NOT_GIVEN,
        allowed: str | None = None,
        try_this: str | None = None,
    ) -> None:
        super().__init__(what, got, allowed, try_this)
        self.what = what
        self.got = got
        self.allowed = allowed
        self.try_this = try_this

    def __str__(self) -> str:
        """Build the sentence, on one line and without control characters."""
        sentence = _printable(self._clause())
        return sentence if sentence.endswith((".", "?", "!")) else sentence + "."

    def _clause(self) -> str:
        clause = self.what
        if self.got is not NOT_GIVEN:
            clause += f" is {shorten(self.got)}"
            clause += f", but must be {self.allowed}" if self.allowed else ""
        elif self.allowed:
            clause += f" must be {self.allowed}"
        return f"{clause}; {self.try_this}" if self.try_this else clause


class ScenarioError(InputError):
    """A value in a scenario file cannot be used.

    An `InputError` raised further down gains its place by `in_file`.

    Parameters
    ----------
    what, got, allowed, try_this
        As for `InputError`.
    file : str or path, optional
        The file that was read.
    key_path : str, optional
        Where in the file, such as ``"fault[2].at_m"``.

    Examples
    --------
    >>> raised = InputError("at_m", "near the door", "a number of metres")
    >>> print(ScenarioError(*raised.args, file="hall.toml", key_path="fault[2].at_m"))
    In hall.toml, fault[2].at_m: at_m is 'near the door', but must be a number of metres.
    """

    def __init__(
        self,
        what: str,
        got: object = NOT_GIVEN,
        allowed: str | None = None,
        try_this: str | None = None,
        file: str | PathLike[str] | None = None,
        key_path: str | None = None,
    ) -> None:
        super().__init__(what, got, allowed, try_this)
        self.file = None if file is None else fspath(file)
        self.key_path = key_path
        self.args = (what, got, allowed, try_this, self.file, key_path)

    def _clause(self) -> str:
        place = ", ".join(part for part in (self.file, self.key_path) if part)
        clause = super()._clause()
        return f"In {place}: {clause}" if place else clause


@contextmanager
def in_file(file: str | PathLike[str], key_path: str | None = None) -> Iterator[None]:
    """Give an input error from below the place that it is about, unless it has one already.

    Parameters
    ----------
    file : str or path
        The file that is being read.
    key_path : str, optional
        Where in the file, as in `ScenarioError`.

    Raises
    ------
    ScenarioError
        For every `InputError`.

    Examples
    --------
    >>> with in_file("hall.dxf"):
    ...     raise InputError("the drawing has no cable")
    Traceback (most recent call last):
        ...
    cablesim.errors.ScenarioError: In hall.dxf: the drawing has no cable.
    """
    try:
        yield
    except ScenarioError:
        raise
    except InputError as error:
        said = (error.what, error.got, error.allowed, error.try_this)
        raise ScenarioError(*said, file=file, key_path=key_path) from None


def nearest(name: str, names: Iterable[str]) -> str | None:
    """Find the known name that is most like a mistyped one.

    Upper and lower case, outer blanks, and hyphen against underscore make no difference.

    Parameters
    ----------
    name : str
        What was written.
    names : iterable of str
        The known names.

    Returns
    -------
    str or None
        One of `names`, or None where nothing is near.

    Examples
    --------
    >>> nearest("heated_lenght", ["loop_resistance_ohm", "heated_length_m"])
    'heated_length_m'
    >>> nearest("colour", ["core1", "core2", "braid"]) is None
    True
    """
    known: dict[str, str] = {}
    for candidate in names:
        known.setdefault(_folded(candidate), candidate)
    close = difflib.get_close_matches(_folded(name), known, n=1)
    return known[close[0]] if close else None


def shorten(value: object) -> str:
    """Show a value in at most 60 printable characters, whatever it is.

    Parameters
    ----------
    value : object
        Anything, trusted or not.

    Returns
    -------
    str
        Its ``repr``, on one line, cut where it is long.

    Examples
    --------
    >>> shorten("core1")
    "'core1'"
    >>> shorten(list(range(1000)))
    '[0, 1, 2, 3, 4, 5, ...]'
    """
    if getattr(value, "shape", None) == () and hasattr(value, "item"):
        value = value.item()  # a numpy scalar: 3.0, rather than np.float64(3.0)
    try:
        text = _printable(_REPR.repr(value))
    except Exception:  # an integer of 5000 digits, or a repr that is itself broken
        text = f"<{type(value).__name__}>"
    return text if len(text) <= _SHORT else text[: _SHORT - 3] + "..."


_REPR = reprlib.Repr()  # cuts inside the value, so that a huge one is never rendered in full
_REPR.maxstring = _REPR.maxlong = _REPR.maxother = _SHORT


def _folded(name: str) -> str:
    return name.strip().casefold().replace("-", "_")


def _printable(text: str) -> str:
    """Put text on one line, without what could steer a terminal or reverse the writing."""
    return "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))


def looked_up(what: str, name: object, table: Mapping[str, _Row]) -> _Row:
    """Look a choice up by name.

    Parameters
    ----------
    what : str
        What is chosen, as a field is called.
    name : object
        The name given.
    table : mapping
        Every choice by its name.

    Raises
    ------
    InputError
        If the name is unknown; the message lists the known ones and gives the nearest.
    """
    if isinstance(name, str) and name in table:
        return table[name]
    near = nearest(name, table) if isinstance(name, str) else None
    raise InputError(
        what, name, "one of " + ", ".join(table), f"did you mean {near}?" if near else None
    )
