"""``cablesim benchmark run``, ``replay`` and ``make``: what asks estimators and makes cases."""

import json
from collections.abc import Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, write_file
from cablesim.cli.screen import emit, note, progress, show_json
from cablesim.errors import InputError

if TYPE_CHECKING:
    from cablesim.benchmark.asking import Who

__all__ = ["make", "replay", "run"]

_Force = Annotated[bool, typer.Option("--force", help="Replace existing files.")]
_Program = Annotated[
    list[str] | None,
    typer.Option(
        metavar="NAME=COMMAND",
        help="An external program that answers in lines of JSON, and what to call it.",
    ),
]
_Limit = Annotated[
    float, typer.Option(metavar="S", help="Seconds that a program may take for one case.")
]


def run(
    suite: Annotated[
        str, typer.Argument(metavar="SUITE", help="A shipped suite, or a file ending in .jsonl.")
    ],
    output: Annotated[
        Path, typer.Option(metavar="DIR", help="Where results are kept; a run goes on from there.")
    ],
    estimator: Annotated[
        list[str] | None, typer.Option(metavar="NAME", help="An estimator; again for more.")
    ] = None,
    program: _Program = None,
    time_limit: _Limit = 10.0,
    only: Annotated[
        list[str] | None,
        typer.Option(metavar="GROUP=VALUE", help="Only such cases, such as kind=short."),
    ] = None,
    first: Annotated[
        int | None, typer.Option(metavar="N", help="Only the first N of these cases.")
    ] = None,
    workers: Annotated[
        int, typer.Option(metavar="N", help="Local processes; 0 does all in this one.")
    ] = 0,
    scheduler: Annotated[
        str | None,
        typer.Option(metavar="ADDRESS", help="A Dask cluster by its scheduler's address."),
    ] = None,
    chunk: Annotated[
        int, typer.Option(metavar="N", help="Cases in a chunk: what an interruption costs.")
    ] = 8,
) -> None:
    """Ask estimators about a suite, and keep what they answer.

    Every case is asked about, unless some are chosen. Results are the same whatever does the
    work. A run that was interrupted goes on where it stopped.
    """
    from cablesim.benchmark.engines import cluster, local, serial
    from cablesim.benchmark.run import run as run_all
    from cablesim.benchmark.suite import load_suite

    whom = _whom(estimator or (), program or (), time_limit)
    if workers and scheduler is not None:
        raise InputError("--workers and --scheduler are both given", try_this="give one of them")
    cases = load_suite(suite)
    wanted = [_split("--only", text, "such as kind=short") for text in only or ()]
    if len(dict(wanted)) < len(wanted):
        raise InputError(
            "--only names a group twice", try_this="name each once: no case is of two kinds"
        )
    chosen = cases.only(dict(wanted))
    if first is not None:
        if first < 1:
            raise InputError("--first", first, "at least 1")
        chosen = chosen[:first]
    with ExitStack() as stack:
        engine = serial
        if workers:
            engine = local(workers)
        elif scheduler is not None:
            with blaming(None, address="--scheduler"):
                engine = stack.enter_context(cluster(scheduler))
        told = stack.enter_context(progress(f"{cases.name}, cases"))
        store = run_all(
            suite, cases, whom, output, cases=chosen, engine=engine, chunk=chunk, progress=told
        )
    for who in whom:
        path = store.folder / f"{who.name}.jsonl"
        emit(f"{path}\n")
        _mind_failures(who.name, path)
    note(f"see them with: cablesim benchmark report {output}")


def _mind_failures(name: str, path: Path) -> None:
    """Say where an estimator did not answer: its rows are there, and nobody may look."""
    rows = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    failed = [row for row in rows if row["status"] == "failed"]
    if failed:
        note(
            f"{name} failed in {len(failed)} of {len(rows)} cases; at first: {failed[0]['reason']}"
        )


def replay(
    row: Annotated[str, typer.Argument(metavar="ROW", help="Such as small-1/7/posterior.")],
    output: Annotated[
        Path | None, typer.Option(metavar="DIR", help="Results to compare the row with.")
    ] = None,
    program: _Program = None,
    time_limit: _Limit = 10.0,
) -> None:
    """Answer one case again, and print its row."""
    from cablesim.benchmark.replay import replayed

    whom = _whom((), program, time_limit) if program else (None,)
    if len(whom) != 1:
        raise InputError("--program", program, "given once")
    found = replayed(row, whom[0], folder=output)
    show_json(dict(found.row))
    if found.same is not None:
        note("the same as kept" if found.same else "NOT the same as kept")


def make(
    suite: Annotated[str, typer.Argument(metavar="SUITE", help="Name and version, as in list.")],
    output: Annotated[Path, typer.Option(metavar="FILE", help="Where, ending in .jsonl.")],
    force: _Force = False,
) -> None:
    """Make a shipped suite again: the same bytes come out."""
    from cablesim.benchmark.plans import PLANS
    from cablesim.benchmark.suite import made
    from cablesim.errors import looked_up

    plan = looked_up("suite", suite, PLANS)
    check_writable(output, "--output", force=force, suffix=".jsonl")
    write_file(output, made(plan).encode(), force=force)
    emit(f"{output}\n")


def _whom(names: Sequence[str], programs: Sequence[str], limit_s: float) -> "tuple[Who, ...]":
    from cablesim.benchmark.asking import Who
    from cablesim.benchmark.estimator import estimator_named
    from cablesim.benchmark.program import Program

    with blaming(None, estimator="--estimator"):
        whom = [Who(estimator_named(name).name) for name in dict.fromkeys(names)]
    for text in programs:
        name, command = _split("--program", text, "such as mine=perl toy.pl")
        whom.append(Who(name, Program(command, limit_s)))
    taken = [who.name for who in whom]
    if not whom:
        raise InputError(
            "no estimator is named", try_this="add --estimator posterior, or --program NAME=COMMAND"
        )
    for name in taken:
        if taken.count(name) > 1:
            raise InputError(f"two estimators are called {name}", try_this="rename the program")
    return tuple(whom)


def _split(option: str, text: str, such_as: str) -> tuple[str, str]:
    name, sign, value = text.partition("=")
    if not (sign and name and value):
        raise InputError(option, text, "two parts with = between them", such_as)
    return name, value
