"""What commands say on stderr about a cable that looks unlike any floor cable."""

from __future__ import annotations

from typing import TYPE_CHECKING

from cablesim.cli.screen import note

if TYPE_CHECKING:
    from cablesim.scenario.scenario import Scenario

__all__ = ["mind_odd_values"]


def mind_odd_values(scenario: Scenario) -> None:
    """Warn on stderr of values that may be slips; nothing is refused."""
    from cablesim.cable.plausible import odd_values

    for sentence in odd_values(scenario.cable, scenario.supply_volt):
        note(f"caution: {sentence}")
