"""An external program as an estimator: one line of JSON in, one line of JSON out.

A request names the case and gives the cable and the readings as the tables of a scenario file,
every value written out::

    {"id": "7", "level": 0.95, "seed": 11010007, "scenario": {"cable": ..., "reading": ...}}

The answer repeats the id and gives a place with an interval, or the reason why not::

    {"id": "7", "position_m": 12.4, "interval_m": [12.2, 12.6]}
    {"id": "7", "declined": "needs both cores"}

Time limits, crashes, garbage, silence and floods end as failures of one case; the program is then
started anew for the next.
"""

from __future__ import annotations

import contextlib
import os
import queue
import shlex
import signal
import subprocess
import threading
import time
import weakref
from dataclasses import dataclass
from typing import IO

import msgspec

from cablesim.benchmark.answer import Answer
from cablesim.benchmark.case import Case, json_line, without_truth
from cablesim.benchmark.row import Asked
from cablesim.errors import InputError
from cablesim.scenario.writing import document_of

__all__ = ["LONGEST_LINE", "Failure", "Program", "Talk", "answer_in", "end_all", "request_of"]

LONGEST_LINE = 1_000_000
"""Longest answer that is read [bytes]."""
LEVEL = 0.95
"""Level of the interval that is asked for; an answer may state another."""
_CLOSED = b""
_PATIENCE_S = 10.0


@dataclass(frozen=True, slots=True)
class Program:
    """How to run an external program.

    Parameters
    ----------
    command
        The program and its arguments, as a shell would split them; no shell is involved.
    limit_s
        How long it may take for one case, its start included [s].

    Raises
    ------
    InputError
        If there is no command, or the limit is not above 0.
    """

    command: str
    limit_s: float = 10.0

    def __post_init__(self) -> None:
        if not self.words:
            raise InputError("command", self.command, "a program and its arguments")
        if not 0 < self.limit_s <= 86400:
            raise InputError("time limit", self.limit_s, "above 0 and at most 86400 seconds")

    @property
    def words(self) -> list[str]:
        """The program and its arguments."""
        try:
            return shlex.split(self.command)
        except ValueError as error:
            raise InputError(
                f"command {self.command!r} cannot be split ({error})",
                try_this="close every quotation mark",
            ) from None


class _Reply(msgspec.Struct, forbid_unknown_fields=True):
    id: str
    declined: str = ""
    verdict: str = ""
    probabilities: dict[str, float] = {}
    position_m: float | None = None
    interval_m: tuple[float, float] | None = None
    intervals_m: list[tuple[float, float]] = []
    level: float = LEVEL


def request_of(case: Case, ident: str) -> str:
    """The line that asks about a case.

    Parameters
    ----------
    case
        About what; the truth stays out.
    ident
        What the answer has to repeat.
    """
    seed = sum(part * 10_000**k for k, part in enumerate(reversed(case.seed)))
    return json_line(
        {
            "id": ident,
            "level": LEVEL,
            "seed": seed,
            "scenario": without_truth(document_of(case.scenario, explicit=True)),
        }
    )


class Talk:
    """A conversation with one running program, which is started when first asked.

    A thread writes to it and another reads from it, and each closes its own pipe: whatever the
    program leaves behind, even a process that it has let go of and that holds the other end of a
    pipe, the one who asks never waits longer than the limit.

    Parameters
    ----------
    program
        What to run.
    """

    def __init__(self, program: Program) -> None:
        self._program = program
        self._process: subprocess.Popen[bytes] | None = None
        self._requests: queue.SimpleQueue[bytes | None] = queue.SimpleQueue()
        self._lines: queue.Queue[bytes] = queue.Queue()
        self._over = threading.Event()

    def ask(self, case: Case) -> Asked:
        """Ask about one case.

        Parameters
        ----------
        case
            About what.
        """
        ident = f"{case.number}"
        try:
            return Asked(self._answered(request_of(case, ident), ident))
        except Failure as failure:
            # Whatever it says from here on may belong to another case.
            code = self.close()
            how = f"it ended with code {code}" if failure.ended else ""
            return Asked(None, f"{failure}{how}")

    def close(self) -> int | None:
        """End the program and all that it started in its group; how it ended."""
        process, self._process = self._process, None
        if process is None:
            return None
        self._over.set()
        self._requests.put(None)
        # Nobody has waited for it yet, so its number is still its own.
        with contextlib.suppress(OSError, AttributeError):
            os.killpg(process.pid, signal.SIGKILL)
        with contextlib.suppress(OSError):
            process.kill()
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(_PATIENCE_S)
        _TALKS.discard(self)
        return process.returncode

    def _answered(self, request: str, ident: str) -> Answer:
        process = self._running()
        self._requests.put(request.encode())
        try:
            line = self._lines.get(timeout=self._program.limit_s)
        except queue.Empty:
            raise Failure(f"no answer within {self._program.limit_s:g} s") from None
        if len(line) > LONGEST_LINE:
            raise Failure(f"a line of more than {LONGEST_LINE} bytes")
        if line == _CLOSED:
            ended = _ends_by_itself(process, min(self._program.limit_s, _PATIENCE_S))
            raise Failure("no answer: " + ("" if ended else "its output ended"), ended=ended)
        return answer_in(line, ident)

    def _running(self) -> subprocess.Popen[bytes]:
        if self._process is not None:
            return self._process
        try:
            process = subprocess.Popen(
                self._program.words,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                # A group of its own, so that what it starts ends with it.
                start_new_session=True,
            )
        except (OSError, ValueError) as error:
            told = error.strerror if isinstance(error, OSError) else error
            raise Failure(f"it cannot be run ({told})") from None
        self._process = process
        _TALKS.add(self)
        self._requests, self._over = queue.SimpleQueue(), threading.Event()
        self._lines = queue.Queue(maxsize=4)
        for target, *arguments in (
            (_write, process.stdin, self._requests),
            (_read, process.stdout, self._lines, self._over),
        ):
            threading.Thread(target=target, args=arguments, daemon=True).start()
        return process


_TALKS: weakref.WeakSet[Talk] = weakref.WeakSet()


def end_all() -> None:
    """End every program that this process has started."""
    for talk in list(_TALKS):
        talk.close()


class Failure(Exception):
    """Why a program gave no answer to a case; where it has ended, its code is still to be told."""

    def __init__(self, told: str, *, ended: bool = False) -> None:
        super().__init__(told)
        self.ended = ended


def _write(stream: IO[bytes], requests: queue.SimpleQueue[bytes | None]) -> None:
    """Hand on requests as they come; a program that has ended, or was ended, takes no more."""
    with contextlib.suppress(OSError, ValueError):
        while (data := requests.get()) is not None:
            stream.write(data)
            stream.flush()
    with contextlib.suppress(OSError):
        stream.close()


def _read(stream: IO[bytes], lines: queue.Queue[bytes], over: threading.Event) -> None:
    """Hand on lines as they come; nobody takes those of a flood, so few wait."""
    with contextlib.suppress(OSError, ValueError), stream:
        while not over.is_set():
            line = stream.readline(LONGEST_LINE + 1)
            while not over.is_set():
                with contextlib.suppress(queue.Full):
                    lines.put(line, timeout=0.2)
                    break
            if not line or len(line) > LONGEST_LINE:
                return


def _ends_by_itself(process: subprocess.Popen[bytes], limit_s: float) -> bool:
    """Whether a program that says no more ends within a time.

    Where the system can tell without collecting what is left of it, that is left: until then its
    number cannot become another process's, and what it has started can be ended by it.
    """
    if not hasattr(os, "waitid"):
        with contextlib.suppress(subprocess.TimeoutExpired):
            process.wait(limit_s)
        return process.returncode is not None
    until = time.monotonic() + limit_s
    looking = os.WEXITED | os.WNOHANG | os.WNOWAIT
    while os.waitid(os.P_PID, process.pid, looking) is None:
        if time.monotonic() > until:
            return False
        time.sleep(0.005)
    return True


def answer_in(line: bytes, ident: str) -> Answer:
    """What a program says of a case.

    Parameters
    ----------
    line
        As it came.
    ident
        Of the case that was asked for.

    Raises
    ------
    Failure
        If it is no answer as agreed, or one to another case.
    """
    try:
        reply = msgspec.json.decode(line, type=_Reply)
    except (msgspec.MsgspecError, UnicodeError) as error:
        raise Failure(f"no answer as agreed: {error}") from None
    if reply.id != ident:
        raise Failure(f"the answer has the id {reply.id[:40]!r} instead of {ident!r}")
    intervals = [reply.interval_m] if reply.interval_m else reply.intervals_m
    try:
        if reply.declined:
            return Answer(declined=reply.declined[:200])
        if reply.position_m is None and not reply.verdict and not reply.probabilities:
            raise Failure("no answer: it has neither place, verdict nor reason")
        return Answer(
            verdict=reply.verdict[:40],
            probabilities=reply.probabilities,
            position_m=reply.position_m,
            intervals_m=tuple(sorted(intervals)),
            level=reply.level,
        )
    except InputError as error:
        raise Failure(f"no answer that can be: {error}") from None
