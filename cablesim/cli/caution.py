"""What commands say on stderr about a cable or a floor that looks unlike any."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from cablesim.cli.screen import note

if TYPE_CHECKING:
    from cablesim.scenario.scenario import Scenario

__all__ = ["mind_odd_layers", "mind_odd_values"]


def mind_odd_values(scenario: Scenario) -> None:
    """Warn on stderr of values that may be slips; nothing is refused."""
    from cablesim.cable.plausible import odd_values
    from cablesim.instruments.plausible import odd_meters

    told = odd_values(scenario.cable, scenario.supply_volt)
    for sentence in (*told, *odd_meters(scenario.meters)):
        note(f"caution: {sentence}")
    if scenario.floor is not None:
        mind_odd_layers((row.material, row.thickness_mm) for row in scenario.floor.layers)


def mind_odd_layers(layers: Iterable[tuple[str, float]]) -> None:
    """The same of the layers of a floor: material and thickness [mm] of each."""
    from cablesim.site.layers import odd_layers

    for sentence in odd_layers(layers):
        note(f"caution: {sentence}")
