"""``cablesim practice``: cases to practise on, and what was made of them."""

import typer

from cablesim.cli.practice_run import practice_run

__all__ = ["practice"]

practice = typer.Typer(
    no_args_is_help=True,
    help="Make cases to practise on, and mark what was made of them.",
)
practice.command("run")(practice_run)
