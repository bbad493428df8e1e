"""The journal of a drill: every act on disk before its result is shown.

One line of JSON for each line that a trainee typed, appended and forced to disk (fsync). A drill
that is killed is made again from it: the acts alone say where it stood. The last line may be torn
by the kill; it was never shown, and is dropped.
"""

from __future__ import annotations

import json
import os
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from types import TracebackType
from typing import IO, Any

from cablesim.errors import InputError, ScenarioError
from cablesim.training.acts import Act, act_from, act_to

__all__ = ["SUFFIX", "Entry", "Journal", "Opening", "acts_of", "read_journal"]

SUFFIX = ".journal"
"""Ends the name of every journal, so that none is ever named like a case, a key or a log."""

FORMAT = 1
_HEAD = b'{"journal": '
_MOST_BYTES = 8 * 2**20
_OTHER = "it is of another case, called {!s:.80}"
_ELSEWHERE = "name another --journal; this file is left as it is, with --force too"


@dataclass(frozen=True, slots=True)
class Entry:
    """What one typed line led to.

    Parameters
    ----------
    acts
        In order.
    line
        Number of the line in a script; None where it was typed.
    """

    acts: tuple[Act, ...]
    line: int | None = None


@dataclass(frozen=True, slots=True)
class Opening:
    """What a journal begins with.

    Parameters
    ----------
    case
        Name of the case.
    trainee_sha256
        SHA-256 of the trainee's file.
    trainee
        Who practises.
    """

    case: str
    trainee_sha256: str
    trainee: str = ""


def read_journal(path: Path, opening: Opening) -> tuple[Opening, tuple[Entry, ...], int]:
    """Read a journal of a case.

    Parameters
    ----------
    path
        The file.
    opening
        What it must begin with; who practises does not count.

    Returns
    -------
    opening, entries, whole_bytes
        What it begins with, what was done, and how much of the file is whole: the rest was torn.

    Raises
    ------
    ScenarioError
        One sentence naming the file, the line and the mend.
    """
    try:
        with open(path, "rb") as file:
            data = file.read(_MOST_BYTES + 1)
    except OSError as error:
        raise _error(path, f"it cannot be read ({error.strerror or error})") from None
    if len(data) > _MOST_BYTES:
        raise _error(path, f"it is longer than {_MOST_BYTES} bytes")
    whole = data[: data.rfind(b"\n") + 1]
    lines = whole.split(b"\n")[:-1]
    if not lines:
        return opening, (), 0
    first = _object(path, 1, lines[0])
    if first.get("journal") != FORMAT:
        raise _error(path, "line 1 does not begin a journal of format 1")
    if first.get("trainee_sha256") != opening.trainee_sha256:
        raise _error(path, _OTHER.format(first.get("case")), _ELSEWHERE)
    entries = tuple(_entry(path, k, line) for k, line in enumerate(lines[1:], start=2))
    trainee = first.get("trainee", "")
    if not isinstance(trainee, str):
        raise _error(path, "line 1 names nobody who practises")
    return replace(opening, trainee=trainee), entries, len(whole)


def _check_ours(path: Path, opening: Opening) -> None:
    """Refuse whatever is no journal of this case: it is not ours to drop, not even when asked."""
    try:
        with open(path, "rb") as file:
            line = file.readline(_MOST_BYTES)
    except OSError as error:
        raise _error(path, f"it cannot be read ({error.strerror or error})") from None
    if not line.endswith(b"\n"):
        # The very first line was torn by a kill; an empty file is a journal not yet begun.
        ours = line.startswith(_HEAD) or _HEAD.startswith(line)
    else:
        try:
            first = json.loads(line)
        except (ValueError, RecursionError):
            first = None
        ours = isinstance(first, dict) and "journal" in first
        if ours and first.get("trainee_sha256") != opening.trainee_sha256:
            raise _error(path, _OTHER.format(first.get("case")), _ELSEWHERE)
    if not ours:
        raise _error(path, "line 1 does not begin a journal of a drill", _ELSEWHERE)


def _entry(path: Path, number: int, line: bytes) -> Entry:
    raw = _object(path, number, line)
    acts, script_line = raw.get("acts"), raw.get("line")
    if not isinstance(acts, list) or raw.keys() - {"acts", "line"}:
        raise _error(path, f"line {number} is no entry of a journal")
    if not (script_line is None or (type(script_line) is int and script_line > 0)):
        raise _error(path, f"line {number} names no line of a script")
    try:
        return Entry(tuple(act_from(act) for act in acts), script_line)
    except InputError as error:
        raise _error(path, f"line {number}: {str(error).rstrip('.')}") from None


def _object(path: Path, number: int, line: bytes) -> dict[str, Any]:
    try:
        raw = json.loads(line)
    except (ValueError, RecursionError):
        raw = None
    if not isinstance(raw, dict):
        raise _error(path, f"line {number} is no JSON object")
    return raw


def _error(
    path: Path, what: str, mend: str = "name another --journal, or begin anew with --force"
) -> ScenarioError:
    return ScenarioError(what, try_this=mend, file=os.fspath(path))


class Journal:
    """A journal that is being written; one drill at a time.

    Parameters
    ----------
    path
        The file; begun where it is missing.
    opening
        What it begins with.
    anew
        Whether what it holds is dropped; never anything but a journal of this case.

    Raises
    ------
    InputError
        If its name does not end in ``.journal``, it cannot be written, holds anything but a journal
        of this case, or another drill is writing it.
    """

    def __init__(self, path: Path, opening: Opening, *, anew: bool = False) -> None:
        if path.suffix.lower() != SUFFIX:
            raise InputError(
                "the journal", os.fspath(path), f"a name ending in {SUFFIX}", "name another one"
            )
        self.path = path
        try:
            self._file: IO[bytes] = open(path, "ab")  # noqa: SIM115 - closed by close()
        except OSError as error:
            raise InputError(
                f"the journal {path} cannot be written ({error.strerror or error})",
                try_this="name another --journal",
            ) from None
        try:
            _lock(self._file, path)
            _check_ours(path, opening)
            begun: tuple[Opening, tuple[Entry, ...], int] = (opening, (), 0)
            self.opening, self.entries, whole = begun if anew else read_journal(path, opening)
            self._file.truncate(whole)
            if not whole:
                self._append(
                    {
                        "journal": FORMAT,
                        "case": opening.case,
                        "trainee_sha256": opening.trainee_sha256,
                        "trainee": opening.trainee,
                    }
                )
                _sync_folder(path)
        except BaseException:
            self._file.close()
            raise

    def append(self, acts: Sequence[Act], line: int | None = None) -> None:
        """Write down what is about to be done; it is on disk when this returns.

        Parameters
        ----------
        acts
            In order.
        line
            Number of the line in a script.
        """
        raw: dict[str, Any] = {} if line is None else {"line": line}
        self._append(raw | {"acts": [act_to(act) for act in acts]})

    def close(self) -> None:
        """Let another drill have it."""
        self._file.close()

    def __enter__(self) -> Journal:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        traceback: TracebackType | None,
    ) -> None:
        self.close()

    def _append(self, raw: dict[str, Any]) -> None:
        line = json.dumps(raw, ensure_ascii=False, allow_nan=False) + "\n"
        try:
            self._file.write(line.encode())
            self._file.flush()
            os.fsync(self._file.fileno())
        except OSError as error:
            raise InputError(
                f"the journal {self.path} cannot be written ({error.strerror or error})",
                try_this="make room there; what was done so far is kept",
            ) from None


def acts_of(entries: Iterable[Entry]) -> tuple[Act, ...]:
    """All acts of a journal in order."""
    return tuple(act for entry in entries for act in entry.acts)


def _lock(file: IO[bytes], path: Path) -> None:
    """Keep a second drill out, where the system can."""
    try:
        import fcntl
    except ImportError:
        return
    try:
        fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        raise InputError(
            f"another drill is writing {path}", try_this="end it, or name another --journal"
        ) from None


def _sync_folder(path: Path) -> None:
    """Have the file's name on disk too, where the system can."""
    try:
        folder = os.open(path.parent, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(folder)
    except OSError:
        pass
    finally:
        os.close(folder)
