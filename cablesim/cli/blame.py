"""Which part of a command line an input error is about: an option, or the scenario file."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from cablesim.errors import InputError, ScenarioError, in_file

__all__ = ["blaming"]


@contextmanager
def blaming(file: str | None, *options: str, **renamed: str) -> Iterator[None]:
    """Give an error from below its place.

    Parameters
    ----------
    file
        The scenario; what no option is to blame for stands there. None where there is no file.
    options
        Names by which the library knows what came from an option, such as ``removed_m``.
    renamed
        The same, where the option has another name: ``method="--without"``.

    Raises
    ------
    InputError
        Naming the option as it is typed, or the file.
    """
    try:
        yield
    except ScenarioError:
        raise
    except InputError as error:
        typed = {name: f"--{name.replace('_', '-')}" for name in options} | renamed
        if error.what in typed:
            raise InputError(typed[error.what], *error.args[1:]) from None
        if file is None or error.what.startswith("--"):
            raise
        with in_file(file):
            raise error from None
