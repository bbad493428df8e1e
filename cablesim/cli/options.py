"""Arguments and options that many commands have, so that each reads the same everywhere."""

from typing import Annotated, TypeAlias

import typer

__all__ = ["AsJson", "Force", "ScenarioFile"]

ScenarioFile: TypeAlias = Annotated[
    str, typer.Argument(metavar="SCENARIO", help="A scenario file.")
]
AsJson: TypeAlias = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]
Force: TypeAlias = Annotated[bool, typer.Option("--force", help="Replace existing files.")]
