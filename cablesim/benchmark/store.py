"""A folder of results: what is run, chunks as they come, one file for each estimator at the end.

::

    run.json                  suite, its hash, which cases, size of a chunk, version
    posterior.parts/0003.json rows and times of one chunk, until all are there
    posterior.jsonl           one row for each case, in order
    posterior.times.jsonl     how long each case took
    posterior.about.json      where the estimator comes from

Every file is written whole beside its place and then moved there, so that whatever interrupts a
run, what is there is right, and the next run goes on from it.
"""

from __future__ import annotations

import json
import os
import re
import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import msgspec

from cablesim import __version__
from cablesim.benchmark.asking import Done, Who
from cablesim.benchmark.case import json_line
from cablesim.benchmark.estimator import estimator_named
from cablesim.benchmark.suite import Suite
from cablesim.errors import InputError

__all__ = ["Run", "Store"]

_PART = re.compile(r"^\d{6}\.json$")


class Run(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What a folder of results holds.

    Parameters
    ----------
    suite
        Name and version, or path, by which the suite is loaded.
    sha256
        Hash of its cases.
    cases
        Numbers of the cases.
    chunk
        Cases in a chunk.
    cablesim
        Version of the program.
    """

    suite: str
    sha256: str
    cases: tuple[int, ...]
    chunk: int
    cablesim: str = __version__

    @classmethod
    def of(cls, source: str, suite: Suite, cases: tuple[int, ...], chunk: int) -> Run:
        """What a run of these cases is."""
        named = source if source.endswith(".jsonl") else suite.name
        return cls(named, suite.sha256, cases, chunk)


class Store:
    """A folder of results.

    Parameters
    ----------
    folder
        Where; made where it is missing.
    run
        What it shall hold.

    Raises
    ------
    InputError
        If the folder holds anything else.
    """

    def __init__(self, folder: Path, run: Run) -> None:
        self.folder, self.run = folder, run
        try:
            folder.mkdir(parents=True, exist_ok=True)
            held = sorted(path.name for path in folder.iterdir())
        except OSError as error:
            raise InputError(
                f"the folder {folder} cannot be used ({error.strerror})", try_this="name another"
            ) from None
        if not held:
            self._write("run.json", json_line(msgspec.to_builtins(run)))
            return
        before = self.held(folder)
        for name in run.__struct_fields__:
            if getattr(before, name) != getattr(run, name):
                raise InputError(
                    f"{folder} holds results of another run, which differs in: {name}",
                    try_this="name another folder"
                    + (", or choose the same cases" if name == "cases" else ""),
                )

    @staticmethod
    def held(folder: Path) -> Run:
        """What a folder holds.

        Raises
        ------
        InputError
            If it is no folder of results.
        """
        try:
            return msgspec.json.decode((folder / "run.json").read_bytes(), type=Run)
        except (OSError, msgspec.MsgspecError) as error:
            why = "it has no run.json" if isinstance(error, OSError) else f"run.json: {error}"
            raise InputError(
                f"{folder} is no folder of results ({why})",
                try_this="name an empty folder, or one that benchmark run has made",
            ) from None

    @contextmanager
    def locked(self) -> Iterator[None]:
        """Keep another run out of the folder; left-over halves of files are cleared away."""
        try:
            import fcntl
        except ImportError:  # no such locks on this system
            yield
            return
        with open(self.folder / ".lock", "w") as lock:
            try:
                fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError:
                raise InputError(
                    f"another run is writing to {self.folder}", try_this="wait for it, or stop it"
                ) from None
            for half in self.folder.rglob(".*.half"):
                half.unlink()
            yield

    def claim(self, who: Who) -> None:
        """Note where an estimator comes from; refuse results of another one under its name.

        Raises
        ------
        InputError
            If there are results of another one.
        """
        about: dict[str, Any] = {"name": who.name, "command": None, "from_package": None}
        if who.program is None:
            about["from_package"] = estimator_named(who.name).from_package
        else:
            about["command"] = who.program.command
        name = f"{who.name}.about.json"
        path = self.folder / name
        if path.exists():
            if json.loads(path.read_text(encoding="utf-8")) != about:
                raise InputError(
                    f"{self.folder} has results of another {who.name}",
                    try_this="give this one another name, or name another folder",
                )
            return
        self._write(name, json_line(about))

    def complete(self, name: str) -> bool:
        """Whether every case of an estimator is done."""
        return (self.folder / f"{name}.jsonl").exists()

    def parts(self, name: str) -> set[int]:
        """Chunks of an estimator that are done."""
        folder = self.folder / f"{name}.parts"
        found = folder.iterdir() if folder.is_dir() else ()
        return {int(path.stem) for path in found if _PART.match(path.name)}

    def add(self, done: Done) -> None:
        """Keep a chunk."""
        (self.folder / f"{done.name}.parts").mkdir(exist_ok=True)
        held = {"rows": done.rows, "times": done.times}
        self._write(f"{done.name}.parts/{done.chunk:06d}.json", json.dumps(held) + "\n")

    def finish(self, name: str) -> None:
        """Put the chunks of an estimator together, once all are there."""
        folder = self.folder / f"{name}.parts"
        rows, times = [], []
        for number in sorted(self.parts(name)):
            part = json.loads((folder / f"{number:06d}.json").read_text(encoding="utf-8"))
            rows += part["rows"]
            keys = ("case", "cpu_s", "clock_s")
            times += [json_line(dict(zip(keys, one, strict=True))) for one in part["times"]]
        self._write(f"{name}.times.jsonl", "".join(times))
        # The rows come last: where they are, all is there.
        self._write(f"{name}.jsonl", "".join(rows))
        shutil.rmtree(folder, ignore_errors=True)

    def _write(self, name: str, text: str) -> None:
        path = self.folder / name
        half = path.with_name(f".{path.name}.half")
        try:
            with open(half, "w", encoding="utf-8") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
            os.replace(half, path)
        except OSError as error:
            raise InputError(
                f"{path} cannot be written ({error.strerror})",
                try_this="make room, or name another folder",
            ) from None
