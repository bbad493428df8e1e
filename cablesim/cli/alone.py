"""Commands that work on one cable by itself say so where a scenario holds several."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cablesim.errors import in_file

if TYPE_CHECKING:
    from cablesim.scenario.scenario import Scenario

__all__ = ["only_one_cable"]


def only_one_cable(scenario: Scenario, command: str, file: str) -> None:
    """Refuse a scenario of several cables.

    Parameters
    ----------
    scenario
        As loaded.
    command
        The command that needs a single cable.
    file
        Its file, for the message.

    Raises
    ------
    ScenarioError
        If the scenario has further cables.
    """
    if scenario.others:
        from cablesim.line.several import one_cable_only

        with in_file(file):
            raise one_cable_only(command)
