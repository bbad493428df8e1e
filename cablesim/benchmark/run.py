"""A run: chunks handed to an executor, kept as they come, put together at the end."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Executor, Future, wait
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from cablesim.benchmark.asking import Chunk, Done, Who, do_chunk
from cablesim.benchmark.engines import Engine, Serial, serial
from cablesim.benchmark.store import Run, Store
from cablesim.benchmark.suite import Suite
from cablesim.errors import InputError

__all__ = ["CHUNK", "run"]

CHUNK = 8
"""Cases in a chunk: what a lost worker costs at most."""
_WAITING = 16  # chunks handed over at a time, so that a suite of any size fits
_MOST_BREAKS = 5

Progress = Callable[[int, int], None]


def run(
    source: str,
    suite: Suite,
    whom: Sequence[Who],
    folder: Path,
    *,
    cases: tuple[int, ...] | None = None,
    engine: Engine = serial,
    chunk: int = CHUNK,
    progress: Progress = lambda done, total: None,
) -> Store:
    """Ask estimators about the cases of a suite; what is done already is not done again.

    Parameters
    ----------
    source
        How the suite was named, for a later replay.
    suite
        The cases.
    whom
        Who is asked.
    folder
        Where results are kept.
    cases
        Which cases; all unless given.
    engine
        Opens the executor that does the chunks. The results do not depend on it.
    chunk
        Cases in a chunk.
    progress
        Told after each chunk how many cases are done and how many there are.

    Raises
    ------
    InputError
        If the folder holds another run, or workers keep dying.
    """
    if chunk < 1:
        raise InputError("chunk", chunk, "at least 1")
    cases = tuple(range(len(suite.lines))) if cases is None else cases
    if not cases:
        raise InputError(
            f"suite {suite.name} has no cases", try_this="take the suite as it was published"
        )
    store = Store(folder, Run.of(source, suite, cases, chunk))
    with store.locked():
        for who in whom:
            store.claim(who)
        missing = [who for who in whom if not store.complete(who.name)]
        total, done = len(cases) * len(whom), len(cases) * (len(whom) - len(missing))
        pieces = [cases[k : k + chunk] for k in range(0, len(cases), chunk)]
        todo: list[Chunk] = []
        for who in missing:
            there = store.parts(who.name)
            done += sum(len(pieces[number]) for number in there)
            for number, piece in enumerate(pieces):
                if number not in there:
                    lines = tuple(suite.lines[case] for case in piece)
                    todo.append(Chunk(number, suite.name, lines, who))
        progress(done, total)
        left = {who.name: sum(c.who == who for c in todo) for who in missing}
        for name in [name for name, count in left.items() if not count]:
            store.finish(name)
        for found in _each_done(todo, engine):
            store.add(found)
            done += len(found.rows)
            progress(done, total)
            left[found.name] -= 1
            if not left[found.name]:
                store.finish(found.name)
    return store


def _each_done(todo: Sequence[Chunk], engine: Engine) -> Iterator[Done]:
    """Chunks as they are done, in any order; a broken executor is replaced by a fresh one."""
    left = dict(enumerate(todo))
    breaks = 0
    while left:
        before = len(left)
        try:
            with engine() as executor:
                yield from _from_one(left, executor)
        except BrokenProcessPool:
            # One worker's death breaks the pool: what it had in hand is done again.
            breaks = breaks + 1 if len(left) == before else 0
            if breaks >= _MOST_BREAKS:
                raise InputError(
                    f"workers died {breaks} times in a row without finishing a chunk",
                    try_this="use fewer workers, or none, to see why",
                ) from None


def _from_one(left: dict[int, Chunk], executor: Executor) -> Iterator[Done]:
    """Chunks done by one executor; each is struck off the list before it is handed on."""
    most = 1 if isinstance(executor, Serial) else _WAITING
    order = list(left)
    flying: dict[Future[Done], int] = {}
    while order or flying:
        while order and len(flying) < most:
            key = order.pop(0)
            flying[executor.submit(do_chunk, left[key])] = key
        landed, _ = wait(flying, return_when=FIRST_COMPLETED)
        for future in landed:
            key = flying.pop(future)
            found = future.result()
            del left[key]
            yield found
