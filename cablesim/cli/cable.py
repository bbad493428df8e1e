"""``cablesim cable``: the values per metre, and where each came from."""

from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, ScenarioFile
from cablesim.cli.screen import show, show_json

__all__ = ["cable"]


def cable(
    scenario: ScenarioFile,
    as_json: AsJson = False,
) -> None:
    """Say the values of each metre, and where each came from."""
    from cablesim.report.per_metre import described

    found = loaded(scenario)
    told = described(found.cable, found.supply_volt)
    if as_json:
        show_json(told.to_dict())
        return
    from cablesim.report.per_metre_table import per_metre_view

    show(per_metre_view(told, found.title or scenario))
