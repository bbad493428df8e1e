"""The command line's entry point: the typer application, and what becomes of an input error.

Commands import what they need when they run, so that ``--help`` needs typer and rich only.
"""

import os
import sys
from typing import Annotated, TextIO

import typer

from cablesim import __version__
from cablesim.cli.benchmark_app import benchmark
from cablesim.cli.cable import cable
from cablesim.cli.check import check
from cablesim.cli.demo import demo
from cablesim.cli.echo import echo
from cablesim.cli.energise import energise
from cablesim.cli.export import export
from cablesim.cli.floor import floor
from cablesim.cli.heat import heat
from cablesim.cli.insulation import insulation
from cablesim.cli.limits import limits
from cablesim.cli.locate import locate
from cablesim.cli.new import new
from cablesim.cli.next_reading import next_reading
from cablesim.cli.practice_app import practice
from cablesim.cli.predict import predict
from cablesim.cli.repair import repair
from cablesim.cli.study import study
from cablesim.cli.withstand import withstand
from cablesim.errors import InputError

__all__ = ["BAD_INPUT", "INTERRUPTED", "app", "main"]

BAD_INPUT = 2  # exit code, the same that a mistyped option gives
INTERRUPTED = 130  # the shell's own code for Ctrl-C

app = typer.Typer(
    no_args_is_help=True,
    # Plain help: read well by ear, and no slower for drawing boxes.
    rich_markup_mode=None,
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


for _command in (
    demo,
    new,
    predict,
    locate,
    limits,
    energise,
    floor,
    repair,
    echo,
    heat,
    insulation,
    withstand,
    study,
    check,
    cable,
    export,
):
    app.command()(_command)
app.command("next")(next_reading)
app.add_typer(practice, name="practice")
app.add_typer(benchmark, name="benchmark")


def main() -> None:
    """Run the command line on ``sys.argv`` and leave the process.

    Input that cannot be used ends with one sentence on stderr and exit code 2.
    """
    for name in ("stdout", "stderr"):
        # A stream that the caller has closed swallows what is written to it.
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w"))  # noqa: SIM115
        _never_refuse(getattr(sys, name))
    try:
        app()
    except InputError as error:
        typer.echo(str(error), err=True)
        sys.exit(BAD_INPUT)
    except KeyboardInterrupt:
        sys.exit(INTERRUPTED)


def _never_refuse(stream: TextIO) -> None:
    """Let a stream write a question mark for what its encoding lacks, such as a title's accents."""
    reconfigure = getattr(stream, "reconfigure", None)
    if reconfigure is not None:
        reconfigure(errors="replace")
