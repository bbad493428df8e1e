"""What each method costs: minutes of work, and how dangerous it is.

One table, all of it common practice, no source: minutes on a cable whose ends are already free,
with hooking up and, after an insulation test, discharging. Give another table to
`plan_next` or ``cablesim next --minutes`` to see how much it matters.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from cablesim.cable.numbers import require
from cablesim.errors import InputError, looked_up
from cablesim.instruments.loop_bridge import LoopBridge
from cablesim.instruments.meter import Meter

__all__ = ["RISKS", "USUAL_EFFORT", "Effort", "harmless_volt", "with_minutes"]

# Least dangerous first: a meter's few volts; an insulation tester's hundreds, its current limited;
# mains or a withstand tester on a damaged cable.
RISKS = ("none", "insulation", "high-voltage")
# No reading takes longer than a week.
_MOST_MINUTES = 7 * 24 * 60.0

# A steady voltage that may be touched where it is damp, without any cover: from memory of
# IEC 60364-4-41, 414.4.5, which allows 60 V only in the dry.
_TOUCHABLE_VOLT = 30.0


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
        require("minutes", self.minutes, above=0.0, at_most=_MOST_MINUTES)
        if self.risk not in RISKS:
            raise InputError("risk", self.risk, "one of " + ", ".join(RISKS))

    @property
    def rank(self) -> int:
        """Place of the risk among `RISKS`, from 0."""
        return RISKS.index(self.risk)

    def on(self, meter: Meter) -> Effort:
        """The same with this meter: a bridge on a few volts is as harmless as an ohmmeter."""
        return replace(self, risk=RISKS[0]) if harmless_volt(meter) else self


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


def harmless_volt(meter: Meter) -> bool:
    """Whether a bridge runs on a few volts, so that what is said of bridges is too much of it.

    Parameters
    ----------
    meter
        Any meter; only a bridge says what its source is.

    Examples
    --------
    >>> harmless_volt(LoopBridge(name="b", battery_volt=9.0)), harmless_volt(LoopBridge(name="b"))
    (True, False)
    """
    return isinstance(meter, LoopBridge) and meter.battery_volt <= _TOUCHABLE_VOLT


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
        table[method] = replace(looked_up("method", method, table), minutes=value)
    return table
