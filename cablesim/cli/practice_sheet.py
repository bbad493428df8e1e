"""``cablesim practice sheet``: a class set as PDF, and its key."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, write_file
from cablesim.cli.options import Force
from cablesim.cli.screen import note, waiting
from cablesim.errors import InputError

__all__ = ["practice_sheet"]


def practice_sheet(
    cases: Annotated[
        list[str], typer.Argument(metavar="CASES...", help="Cases: NAME.toml, each key beside it.")
    ],
    output: Annotated[
        Path, typer.Option(metavar="PDF", help="Write what the trainees are handed into this file.")
    ],
    key: Annotated[
        Path | None, typer.Option(metavar="PDF", help="Write the trainer's key into this file.")
    ] = None,
    paper: Annotated[str, typer.Option(metavar="SIZE", help="A4 or Letter.")] = "A4",
    force: Force = False,
) -> None:
    """Print a class set: job card, log of readings and plan for each case; the key apart."""
    check_writable(output, "--output", force=force, suffix=".pdf")
    if key is not None:
        check_writable(key, "--key", force=force, suffix=".pdf")
        if key.resolve() == output.resolve():
            raise InputError("--key and --output are one file", try_this="name two")

    from cablesim.cli.practice_run import key_of
    from cablesim.training.case import load_case
    from cablesim.training.sheets.job import job_sheet
    from cablesim.training.sheets.paper import checked_paper

    with blaming(None, "paper"):
        checked_paper(paper)
    # Both files of a case name it, so that a pattern may match both; and a path can be written in
    # more than one way.
    keys_by_place = {Path(key_of(name)).resolve(): key_of(name) for name in cases}
    found = [load_case(name) for name in keys_by_place.values()]

    from cablesim.training.sheets.pages import pdf_of

    with waiting("printing"):
        jobs = pdf_of([job_sheet(case) for case in found], paper)
    keys = b""
    if key is not None:
        from cablesim.training.sheets.key import key_sheet

        with waiting("working out the key"):
            keys = pdf_of([key_sheet(case) for case in found], paper)
    write_file(output, jobs, force=force)
    note(f"printed into {output}")
    if key is not None:
        write_file(key, keys, force=force)
        note(f"key printed into {key}")
