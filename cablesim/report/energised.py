"""What ``cablesim energise`` says: a damaged cable on its supply, beside the healthy one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault, Flashover
from cablesim.cable.numbers import require
from cablesim.errors import InputError
from cablesim.instruments.protection import USUAL_RCD_MILLIAMP, rcd_words
from cablesim.line.energised import Energised, energise
from cablesim.line.several import Part
from cablesim.line.supply import usual_supply
from cablesim.locate.advice import ALWAYS, ENERGISED
from cablesim.scenario.scenario import Scenario

__all__ = ["MAINS_HZ", "EnergisedAnswer", "Stretch", "energised_answer"]

MAINS_HZ = 50.0
# Words for the heat of a stretch relative to the healthy cable; common practice, no source.
_STATES = ((0.1, "cold"), (0.9, "cooler"), (1.1, "as healthy"), (math.inf, "hotter"))
# What a supply of a floor may have [V]: the most as in a scenario file, the end of low voltage; the
# least is for arithmetic, whose squares vanish far below it.
_LEAST_VOLT, _MOST_VOLT = 0.001, 1000.0
# Least part of the heated length that is worth a row of its own.
_LEAST_SHARE = 1e-6


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the heated length between two places where something changes.

    Parameters
    ----------
    part
        Name of the cable, empty for the main one.
    from_m, to_m
        Its ends [m from the cold joint].
    healthy, damaged
        Mean heat along it [W/m].
    """

    part: str
    from_m: float
    to_m: float
    healthy: float
    damaged: float

    @property
    def state(self) -> str:
        """``cold``, ``cooler``, ``as healthy`` or ``hotter``."""
        share = self.damaged / self.healthy if self.healthy > 0 else math.inf
        return next(word for limit, word in _STATES if share < limit)


@dataclass(frozen=True, slots=True, eq=False)
class EnergisedAnswer:
    """A cable on its supply, healthy and damaged.

    Parameters
    ----------
    parts
        The cables that are energised, with their faults, the main one first.
    title
        One line for people.
    volt
        Supply voltage [V].
    live
        The terminal on the live lead.
    healthy, damaged
        What goes on.
    rcd_milliamp
        Rating of the residual-current device [mA].
    fuse_ampere
        Rating of the fuse [A], or None.
    """

    parts: tuple[Part, ...]
    title: str
    volt: float
    live: str
    healthy: Energised
    damaged: Energised
    rcd_milliamp: float
    fuse_ampere: float | None

    @property
    def residual_milliamp(self) -> tuple[float, float]:
        """Residual current of the healthy and of the damaged cable at mains frequency [mA]."""
        both = (self.healthy, self.damaged)
        healthy, damaged = (1e3 * float(found.residual_ampere(MAINS_HZ)) for found in both)
        return healthy, damaged

    @property
    def rcd(self) -> str:
        """What the residual-current device does with the damaged cable."""
        return rcd_words(self.residual_milliamp[1], self.rcd_milliamp)

    @property
    def over_fuse(self) -> bool | None:
        """Whether the damaged cable draws more than the fuse's rating; None without a fuse."""
        if self.fuse_ampere is None:
            return None
        return bool(self.damaged.lead_ampere[0] > self.fuse_ampere)

    def stretches(self) -> tuple[Stretch, ...]:
        """The heated length, parted where something changes."""
        found = []
        for part in self.parts:
            length_m = float(np.asarray(part.cable.heated_length_m))
            inner = [m for m in self.damaged.marks_m(part.name) if 0.0 < m < length_m]
            for a, b in pairwise([0.0, *inner, length_m]):
                if b - a > _LEAST_SHARE * length_m:
                    both = (e.watt_between(a, b, part.name) for e in (self.healthy, self.damaged))
                    found.append(Stretch(part.name, a, b, *(float(w) / (b - a) for w in both)))
        return tuple(found)

    @property
    def cable(self) -> Cable:
        """The main cable."""
        return self.parts[0].cable

    @property
    def faults(self) -> tuple[tuple[str, Fault], ...]:
        """Every fault after the name of the cable that has it."""
        return tuple((part.name, fault) for part in self.parts for fault in part.faults)

    def cautions(self) -> tuple[str, ...]:
        """What to mind."""
        told = [*ALWAYS, *ENERGISED]
        if self.rcd != "holds":
            told.append(
                "The residual-current device does not let it stay on: the heat above would last "
                "for the moment until it opens. Never bridge the device to warm a damaged cable."
            )
        if self.over_fuse:
            told.append("It draws more than the fuse is rated for; a larger fuse is no remedy.")
        for _, fault in self.faults:
            if isinstance(fault, Flashover) and fault.breakdown_volt < math.sqrt(2) * self.volt:
                told.append(
                    f"The gap at {float(fault.position_m):g} m may strike at the peak of this "
                    "voltage; here it counts as holding."
                )
        return tuple(told)

    def to_dict(self) -> dict[str, Any]:
        """The object of ``cablesim energise --json``."""
        healthy_ma, damaged_ma = self.residual_milliamp
        fault_watt = self.damaged.fault_watt.tolist()
        fault_ampere = self.damaged.fault_ampere.tolist()
        return {
            "supply_volt": self.volt,
            "live": self.live,
            "watt": _both(self.healthy.watt, self.damaged.watt),
            "ampere": _both(self.healthy.lead_ampere[0], self.damaged.lead_ampere[0]),
            "residual_milliamp": {"healthy": healthy_ma, "damaged": damaged_ma},
            "rcd": {"rating_milliamp": self.rcd_milliamp, "outcome": self.rcd},
            "fuse": None
            if self.fuse_ampere is None
            else {"rating_ampere": self.fuse_ampere, "over": self.over_fuse},
            "stretches": [
                {
                    "on": row.part,
                    "from_m": row.from_m,
                    "to_m": row.to_m,
                    "watt_per_m": {"healthy": row.healthy, "damaged": row.damaged},
                    "state": row.state,
                }
                for row in self.stretches()
            ],
            "faults": [
                {
                    "on": part,
                    "kind": fault.kind,
                    "position_m": float(fault.position_m),
                    "watt": watt,
                    "ampere": ampere,
                }
                for (part, fault), watt, ampere in zip(
                    self.faults, fault_watt, fault_ampere, strict=True
                )
            ],
            "cautions": list(self.cautions()),
        }


def _both(healthy: Any, damaged: Any) -> dict[str, float]:
    return {"healthy": float(healthy), "damaged": float(damaged)}


def energised_answer(
    scenario: Scenario,
    *,
    volt: float | None = None,
    live: str = "core1",
    rcd_milliamp: float = USUAL_RCD_MILLIAMP,
    fuse_ampere: float | None = None,
) -> EnergisedAnswer:
    """Energise the cable of a scenario, its braid earthed.

    Parameters
    ----------
    scenario
        The scenario.
    volt
        Supply voltage [V]; that of the cable unless given.
    live
        The terminal on the live lead.
    rcd_milliamp, fuse_ampere
        Ratings of what protects it [mA], [A].

    Raises
    ------
    InputError
        If no voltage is known, or one is below 1 mV or above 1000 V.
    """
    named = "volt"
    if volt is None:
        named, volt = "supply_volt", scenario.supply_volt
    if volt is None:
        raise InputError(
            "no supply voltage is given", try_this="add supply_volt to [cable], or give --volt"
        )
    require(named, volt, at_least=_LEAST_VOLT, at_most=_MOST_VOLT)
    if fuse_ampere is not None and fuse_ampere <= 0:
        raise InputError("fuse_ampere", fuse_ampere, "above 0")
    rcd_words(0.0, rcd_milliamp)  # refuses what is no rating
    laid = scenario.laid
    supply = usual_supply(laid, volt, live=live)
    healthy = energise(laid if isinstance(laid, Cable) else laid.healthy, (), supply)
    damaged = energise(laid, scenario.faults, supply)
    return EnergisedAnswer(
        scenario.parts,
        scenario.title,
        volt,
        live,
        healthy,
        damaged,
        rcd_milliamp,
        fuse_ampere,
    )
