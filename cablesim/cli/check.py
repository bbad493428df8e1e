"""``cablesim check``: whether a scenario file can be used, and what it says."""

from typing import Annotated

import typer

from cablesim.cli.caution import mind_odd_values
from cablesim.cli.screen import emit, show

__all__ = ["check"]


def check(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="A scenario file.")],
) -> None:
    """Check a scenario file, and say what it says."""
    from cablesim.report.tables import scenario_table
    from cablesim.scenario.reading import load_scenario

    found = load_scenario(scenario)
    mind_odd_values(found)
    # A path is never folded: it may be copied from here.
    emit(f"{scenario} can be used.\n\n")
    show(scenario_table(found))
