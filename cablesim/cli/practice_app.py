"""``cablesim practice``: cases to practise on, and what was made of them."""

import typer

__all__ = ["practice"]

practice = typer.Typer(
    no_args_is_help=True,
    help="Make cases to practise on, and mark what was made of them.",
)
