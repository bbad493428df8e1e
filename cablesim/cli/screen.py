"""What goes to the two streams: results to stdout, all else to stderr."""

from __future__ import annotations

import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from io import StringIO
from shutil import get_terminal_size
from threading import Lock, Timer
from typing import TYPE_CHECKING, Any

import typer

from cablesim.errors import InputError

if TYPE_CHECKING:
    from rich.console import RenderableType
    from rich.status import Status

__all__ = ["emit", "note", "progress", "show", "show_json", "waiting"]

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
        _forget_stdout()
        raise typer.Exit from None
    except OSError as error:
        _forget_stdout()
        raise InputError(
            f"the result cannot be written to stdout ({error.strerror})",
            try_this="make room there, or send it elsewhere",
        ) from None


def _forget_stdout() -> None:
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def show(*parts: RenderableType) -> None:
    """Print tables and texts for people."""
    from rich.console import Console

    # Rendered aside, so that only `emit` ever writes to stdout.
    page = StringIO()
    terminal = sys.stdout.isatty()
    console = Console(
        file=page,
        width=get_terminal_size().columns if terminal else _COLUMNS,
        force_terminal=terminal,
        markup=False,
        highlight=False,
        emoji=False,
    )
    for part in parts:
        console.print(part)
    emit("\n".join(line.rstrip() for line in page.getvalue().split("\n")))


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


@contextmanager
def progress(what: str) -> Iterator[Callable[[int, int], None]]:
    """A bar on a terminal's stderr, to be told how much is done and how much there is."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    from rich.console import Console
    from rich.progress import (
        BarColumn,
        MofNCompleteColumn,
        Progress,
        TextColumn,
        TimeElapsedColumn,
        TimeRemainingColumn,
    )

    columns = (
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        MofNCompleteColumn(),
        TimeElapsedColumn(),
        TimeRemainingColumn(),
    )
    with Progress(*columns, console=Console(stderr=True, markup=False)) as bar:
        task = bar.add_task(what, total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


def _spinner(what: str) -> Status:
    from rich.console import Console

    status = Console(stderr=True, markup=False).status(what)
    status.start()
    return status
