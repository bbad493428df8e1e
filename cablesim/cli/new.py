"""``cablesim new``: a scenario file to begin with."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import check_writable, write_file
from cablesim.cli.options import Force
from cablesim.cli.screen import emit
from cablesim.errors import InputError, nearest

__all__ = ["new"]


def new(
    file: Annotated[
        Path | None,
        typer.Argument(
            metavar="FILE", help="The file to write, ending .toml; none with --like list."
        ),
    ] = None,
    like: Annotated[
        str,
        typer.Option(
            metavar="NAME",
            help="twin or single to fill in, or the name of a shipped scenario to copy, such as "
            "bathroom-floor; list names them.",
        ),
    ] = "twin",
    force: Force = False,
) -> None:
    """Write a scenario file to fill in, or a copy of a shipped one.

    With --like list the shipped scenarios are named, and nothing is written.
    """
    from cablesim.scenario.shipped import shipped_directory
    from cablesim.scenario.template import TEMPLATES, template

    folder = shipped_directory()
    shipped = {
        path.relative_to(folder).with_suffix("").as_posix(): path
        for path in sorted(folder.rglob("*.toml"))
    }
    if like == "list":
        emit("".join(f"{name}\n" for name in (*TEMPLATES, *shipped)))
        return
    if file is None:
        raise InputError(
            "FILE is missing", try_this="name the file to write, such as my-floor.toml"
        )
    if like not in (*TEMPLATES, *shipped):
        near = nearest(like, [*TEMPLATES, *shipped])
        raise InputError(
            "--like",
            like,
            "twin, single or the name of a shipped scenario",
            f"did you mean {near}?" if near else "cablesim new --like list names them",
        )
    check_writable(file, "FILE", force=force, suffix=".toml")
    content = shipped[like].read_bytes() if like in shipped else template(like).encode()
    write_file(file, content, force=force)
    emit(f"{file} is written. Open it in a text editor, then: cablesim check {file}\n")
