"""What each method costs: minutes of work, and how dangerous it is.

One table, all of it common practice, no source: minutes on a cable whose ends are already free,
with hooking up and, after an insulation test, discharging. Give another table to
`plan_next` or ``cablesim next --minutes`` to see how much it matters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from cablesim.cable.numbers import require
from cablesim.errors import InputError, nearest

__all__ = ["RISKS", "USUAL_EFFORT", "Effort", "with_minutes"]

# Least dangerous first: a meter's few volts; an insulation tester's hundreds, its current limited;
# mains or a withstand tester on a damaged cable.
RISKS = ("none", "insulation", "high-voltage")


@dataclass(frozen=True, slots=True)
class Effort:
    """What one reading by a method costs.

    Parameters
    ----------
    minutes
        Of work.
    risk
        One of `RISKS`.
    """

    minutes: float
    risk: str

    def __post_init__(self) -> None:
        require("minutes", self.minutes, above=0.0)
        if self.risk not in RISKS:
            raise InputError("risk", self.risk, "one of " + ", ".join(RISKS))

    @property
    def rank(self) -> int:
        """Place of the risk among `RISKS`, from 0."""
        return RISKS.index(self.risk)


# Common practice, no source, each of them.
USUAL_EFFORT: Mapping[str, Effort] = {
    "ohmmeter": Effort(2.0, "none"),
    "capacitance_meter": Effort(2.0, "none"),
    "insulation_tester": Effort(4.0, "insulation"),
    # The battery of a bridge that finds leaks of megohms gives hundreds of volts.
    "loop_bridge": Effort(10.0, "insulation"),
    "pulse_echo": Effort(6.0, "none"),
    "thermal_camera": Effort(30.0, "high-voltage"),
    "withstand_and_camera": Effort(45.0, "high-voltage"),
}


def with_minutes(minutes: Mapping[str, float]) -> dict[str, Effort]:
    """The usual table with other minutes for some methods.

    Parameters
    ----------
    minutes
        Minutes of work by method.

    Raises
    ------
    InputError
        If a method is unknown or its minutes are not more than 0.

    Examples
    --------
    >>> with_minutes({"loop_bridge": 25.0})["loop_bridge"]
    Effort(minutes=25.0, risk='insulation')
    """
    table = dict(USUAL_EFFORT)
    for method, value in minutes.items():
        if method not in table:
            near = nearest(method, table)
            raise InputError(
                "method",
                method,
                "one of " + ", ".join(table),
                f"did you mean {near}?" if near else None,
            )
        table[method] = replace(table[method], minutes=value)
    return table
