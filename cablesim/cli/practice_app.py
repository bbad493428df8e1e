"""``cablesim practice``: cases to practise on, and what was made of them."""

import typer

from cablesim.cli.practice_make import practice_make
from cablesim.cli.practice_mark import practice_mark
from cablesim.cli.practice_run import practice_run
from cablesim.cli.practice_sheet import practice_sheet

__all__ = ["practice"]

practice = typer.Typer(
    no_args_is_help=True,
    help="Make cases to practise on, print or play them, mark answers.",
)
practice.command("make")(practice_make)
practice.command("mark")(practice_mark)
practice.command("run")(practice_run)
practice.command("sheet")(practice_sheet)
