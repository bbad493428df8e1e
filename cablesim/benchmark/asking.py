"""Asking estimators about cases, chunk by chunk, anywhere: in this process or on a cluster.

A chunk carries all that it needs, as text and plain values, so that any worker can do it; and what
comes back does not depend on which did. Whatever an estimator does becomes a row.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from time import perf_counter, process_time

from cablesim import __version__
from cablesim.benchmark.answer import Answer, BrokenContract
from cablesim.benchmark.case import Case, json_line
from cablesim.benchmark.estimator import Registered, estimator_named
from cablesim.benchmark.program import Program, Talk
from cablesim.benchmark.row import Asked, row_of
from cablesim.errors import InputError

__all__ = ["Chunk", "Done", "Who", "asked", "do_chunk", "opened"]

_LONGEST_REASON = 200


@dataclass(frozen=True, slots=True)
class Who:
    """Who is asked.

    Parameters
    ----------
    name
        Of a registered estimator, or the one that results of a program shall have.
    program
        An external program; None for a registered estimator.
    """

    name: str
    program: Program | None = None

    def __post_init__(self) -> None:
        # It becomes part of the names of files.
        if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_-]{0,39}", self.name):
            raise InputError(
                "name of an estimator",
                self.name,
                "a letter followed by at most 39 letters, digits, - or _",
            )


@dataclass(frozen=True, slots=True)
class Chunk:
    """Some cases for one estimator.

    Parameters
    ----------
    number
        Number among the chunks of the run.
    suite
        Name and version.
    lines
        The cases, each as it stands in the suite.
    who
        Who is asked.
    cablesim
        Version of the program that made it.
    """

    number: int
    suite: str
    lines: tuple[str, ...]
    who: Who
    cablesim: str = __version__


@dataclass(frozen=True, slots=True)
class Done:
    """What came of a chunk.

    Parameters
    ----------
    chunk
        Its number.
    name
        Whose it is.
    rows
        One line of JSON for each case.
    times
        For each case its number, CPU seconds of this process, and seconds by the clock. They stay
        apart from the rows, which are the same whenever and wherever they are made.
    """

    chunk: int
    name: str
    rows: tuple[str, ...]
    times: tuple[tuple[int, float, float], ...] = field(compare=False)


def do_chunk(chunk: Chunk) -> Done:
    """Ask about every case of a chunk.

    Parameters
    ----------
    chunk
        What to do.

    Raises
    ------
    InputError
        If another version of cablesim shall do it: its results would not be the same.
    """
    if chunk.cablesim != __version__:
        raise InputError("a worker's version of cablesim", __version__, chunk.cablesim)
    rows, times = [], []
    with opened(chunk.who) as ask:
        for number, line in enumerate(chunk.lines):
            case = Case.read(
                line, f"suite {chunk.suite}, line {number + 1} of chunk {chunk.number}"
            )
            began, cpu = perf_counter(), process_time()
            found = ask(case)
            times.append((case.number, process_time() - cpu, perf_counter() - began))
            rows.append(json_line(row_of(chunk.suite, case, chunk.who.name, found)))
    return Done(chunk.number, chunk.who.name, tuple(rows), tuple(times))


@contextmanager
def opened(who: Who) -> Iterator[Callable[[Case], Asked]]:
    """Make somebody ready to be asked, and let go afterwards."""
    if who.program is None:
        registered = estimator_named(who.name)
        yield lambda case: asked(registered, case)
        return
    with closing(Talk(who.program)) as talk:
        yield talk.ask


def asked(registered: Registered, case: Case) -> Asked:
    """Ask a registered estimator; whatever it raises is a failure that is told.

    Parameters
    ----------
    registered
        Who is asked.
    case
        About what.
    """
    cable, readings = case.informed() if registered.informed else (case.cable, case.readings)
    try:
        return Asked(registered.answer(cable, readings))
    except BrokenContract as error:
        return Asked(None, _clause(f"no answer that can be: {error}"))
    except InputError as error:
        return Asked(Answer(declined=_clause(str(error))))
    except (Exception, SystemExit) as error:  # whatever a foreign estimator raises
        return Asked(None, _clause(f"{type(error).__name__}: {error}"))


def _clause(text: str) -> str:
    """One short line that is the same each time: an address in memory is not."""
    plain = re.sub(r"0x[0-9a-fA-F]{6,}", "0x...", " ".join(text.split()))
    return plain[:_LONGEST_REASON] or "no message"
