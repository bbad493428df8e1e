"""``cablesim benchmark``: its commands in one application."""

import typer

from cablesim.cli.benchmark_run import make, replay, run
from cablesim.cli.benchmark_see import compare, list_all, report

__all__ = ["benchmark"]

benchmark = typer.Typer(
    no_args_is_help=True,
    help="Compare estimators on frozen cases.",
)
benchmark.command("list")(list_all)
for _command in (run, compare, report, replay, make):
    benchmark.command()(_command)
