"""``cablesim check``: whether a scenario file can be used, and what it says."""

from typing import Annotated

import typer

from cablesim.cli.caution import mind_odd_values
from cablesim.cli.screen import show

__all__ = ["check"]


def check(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="A scenario file.")],
) -> None:
    """Check a scenario file, and say what it says."""
    from rich.text import Text

    from cablesim.report.tables import scenario_table
    from cablesim.scenario.reading import load_scenario

    found = load_scenario(scenario)
    mind_odd_values(found)
    show(Text(f"{scenario} can be used.\n"), scenario_table(found))
