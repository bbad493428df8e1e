"""How a command comes by its scenario."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cablesim.cli.caution import mind_odd_values
from cablesim.errors import in_file

if TYPE_CHECKING:
    from cablesim.scenario.scenario import Scenario

__all__ = ["loaded"]


def loaded(file: str, *, alone: str | None = None) -> Scenario:
    """Load a scenario, and warn on stderr of values that may be slips.

    Parameters
    ----------
    file
        As named on the command line.
    alone
        The command, where it works on one cable by itself.

    Raises
    ------
    ScenarioError
        If the file cannot be used, or holds several cables for a command that wants one.
    """
    from cablesim.scenario.reading import load_scenario

    found = load_scenario(file)
    if alone is not None and found.others:
        from cablesim.line.several import one_cable_only

        with in_file(file):
            raise one_cable_only(alone)
    mind_odd_values(found)
    return found
