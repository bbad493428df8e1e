"""``cablesim cable``: the values per metre, and where each came from."""

from typing import Annotated

import typer

from cablesim.cli.caution import mind_odd_values
from cablesim.cli.screen import show, show_json

__all__ = ["cable"]


def cable(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="A scenario file.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
) -> None:
    """Say the values of each metre, and where each came from."""
    from cablesim.report.per_metre import described
    from cablesim.scenario.reading import load_scenario

    found = load_scenario(scenario)
    mind_odd_values(found)
    told = described(found.cable, found.supply_volt)
    if as_json:
        show_json(told.to_dict())
        return
    from cablesim.report.per_metre_table import per_metre_view

    show(per_metre_view(told, found.title or scenario))
