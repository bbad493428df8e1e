"""What goes to the two streams: results to stdout, all else to stderr."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock, Timer
from typing import TYPE_CHECKING, Any

import typer

if TYPE_CHECKING:
    from rich.console import Console, RenderableType
    from rich.status import Status

__all__ = ["emit", "note", "show", "show_json", "waiting"]

# Width of a table where stdout is no terminal.
_COLUMNS = 80
# Nobody needs to be told about a wait shorter than this.
_PATIENCE_S = 1.0


def emit(text: str) -> None:
    """Write a result to stdout, at once and whole.

    Where the reader of a pipe has left, the command ends quietly: it has had what it wanted.
    """
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        # Python flushes once more at its end, which must not fail again.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        raise typer.Exit from None


def show(*parts: RenderableType) -> None:
    """Print tables and texts for people."""
    console = _console()
    with console.capture() as capture:
        for part in parts:
            console.print(part)
    emit("\n".join(line.rstrip() for line in capture.get().split("\n")))


def show_json(value: dict[str, Any]) -> None:
    """Print one JSON object."""
    emit(json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False) + "\n")


def note(text: str) -> None:
    """Tell the person something that is not the result."""
    typer.echo(text, err=True)


@contextmanager
def waiting(what: str) -> Iterator[None]:
    """Say on a terminal's stderr what is going on, where it takes more than a second."""
    if not sys.stderr.isatty():
        yield
        return
    lock, shown, over = Lock(), [], False

    def start() -> None:
        with lock:
            if not over:
                shown.append(_spinner(what))

    timer = Timer(_PATIENCE_S, start)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        with lock:
            over = True
        for status in shown:
            status.stop()


def _spinner(what: str) -> Status:
    from rich.console import Console

    status = Console(stderr=True, markup=False).status(what)
    status.start()
    return status


def _console() -> Console:
    from rich.console import Console

    width = None if sys.stdout.isatty() else _COLUMNS
    return Console(width=width, markup=False, highlight=False, emoji=False)
