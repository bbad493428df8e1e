"""What the work of a drill costs in minutes, and what an act leaves: a state, and a sentence."""

from __future__ import annotations

from dataclasses import replace
from typing import Any, TypeAlias

from cablesim.training.state import State

__all__ = ["MINUTES", "Done", "later"]

Done: TypeAlias = tuple[State, str]
"""Where a drill stands after an act, and what is seen."""

MINUTES = {
    "switch": 1.0,
    "lock": 1.0,
    "prove": 2.0,
    "disconnect": 5.0,
    "clear": 2.0,
    "zero": 0.5,
    "withstand": 10.0,
    "log": 0.5,
    "suspect": 1.0,
    "ask": 2.0,
    "mark": 2.0,
    "look": 2.0,
    "open a tile": 20.0,
    "open a patch": 60.0,
    "open a chase": 30.0,
    "repair": 45.0,
    "close a tile": 15.0,
    "close a patch": 45.0,
    "close a chase": 20.0,
}
"""Minutes of work beside those of readings in `cablesim.locate.effort`, which include hooking up,
setting and discharging; common practice, no source."""


def later(state: State, minutes: float, **changes: Any) -> State:
    """The state so many minutes later, with these changes."""
    return replace(state, minutes=state.minutes + minutes, **changes)
