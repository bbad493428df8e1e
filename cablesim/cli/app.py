"""The command line's entry point: the typer application, and what becomes of an input error."""

import sys
from typing import Annotated

import typer

from cablesim import __version__
from cablesim.errors import InputError

__all__ = ["BAD_INPUT", "app", "main"]

BAD_INPUT = 2  # exit code, the same that a mistyped option gives

app = typer.Typer(
    no_args_is_help=True,
    add_completion=False,
    # A fault of the program gets Python's own traceback, which shows no local values.
    pretty_exceptions_enable=False,
)


def _print_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"cablesim {__version__}")
        raise typer.Exit


@app.callback()
def _root(
    version: Annotated[
        bool,
        typer.Option(
            "--version", help="Print the version.", callback=_print_version, is_eager=True
        ),
    ] = False,
) -> None:
    """Find what is broken in an electric floor-heating cable, where, and how sure."""


def main() -> None:
    """Run the command line on ``sys.argv`` and leave the process.

    Input that cannot be used ends with one sentence on stderr and exit code 2.
    """
    try:
        app()
    except InputError as error:
        typer.echo(str(error), err=True)
        sys.exit(BAD_INPUT)
