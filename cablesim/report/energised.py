"""What ``cablesim energise`` says: a damaged cable on its supply, beside the healthy one."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

import numpy as np
from rich.console import Group
from rich.table import Table

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault, Flashover
from cablesim.cable.numbers import require
from cablesim.errors import InputError
from cablesim.instruments.protection import USUAL_RCD_MILLIAMP, rcd_words
from cablesim.line.energised import Energised, energise
from cablesim.line.several import Part
from cablesim.line.supply import usual_supply
from cablesim.locate.advice import ALWAYS, ENERGISED
from cablesim.report.headed import headed_table
from cablesim.report.tables import minded
from cablesim.report.words import fault_words, one_line
from cablesim.scenario.scenario import Scenario

__all__ = ["EnergisedAnswer", "Stretch", "amount_words", "energised_answer", "energised_view"]

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


def energised_view(answer: EnergisedAnswer, title: str) -> Group:
    """Tables of the currents, of the heat along the cable and in the faults; and the cautions.

    Parameters
    ----------
    answer
        What to show.
    title
        One line above.
    """
    return Group(_totals(answer, title), _along(answer), minded(answer.cautions()))


def _new_table(title: str, columns: tuple[str, ...]) -> Table:
    table = headed_table(title)
    table.add_column("", overflow="fold")
    for name in columns:
        table.add_column(name, justify="right", overflow="fold")
    return table


def _totals(answer: EnergisedAnswer, title: str) -> Table:
    named = f"{one_line(title)}\nat {answer.volt:g} V, {answer.live} live, the braid earthed"
    table = _new_table(named, ("Healthy", "Damaged"))
    both = (answer.healthy, answer.damaged)
    table.add_row("power", *(amount_words(float(e.watt), "W") for e in both))
    table.add_row("current", *(amount_words(float(e.lead_ampere[0]), "A") for e in both))
    residual = (amount_words(1e-3 * ma, "A") for ma in answer.residual_milliamp)
    table.add_row(f"residual current at {MAINS_HZ:g} Hz", *residual)
    holds = (rcd_words(ma, answer.rcd_milliamp) for ma in answer.residual_milliamp)
    table.add_row(f"residual-current device of {answer.rcd_milliamp:g} mA", *holds)
    if answer.fuse_ampere is not None:
        over = ("over" if e.lead_ampere[0] > answer.fuse_ampere else "within" for e in both)
        table.add_row(f"fuse of {answer.fuse_ampere:g} A", *over)
    return table


def _along(answer: EnergisedAnswer) -> Table:
    table = _new_table("Where the heat is", ("Healthy", "Damaged", ""))
    for row in answer.stretches():
        heat = (amount_words(w, "W/m") for w in (row.healthy, row.damaged))
        where = f"{row.from_m:.2f} to {row.to_m:.2f} m"
        table.add_row(_named(row.part) + where, *heat, row.state)
    rows = zip(
        answer.faults,
        answer.damaged.fault_watt.tolist(),
        answer.damaged.fault_ampere.tolist(),
        strict=True,
    )
    for (part, fault), watt, ampere in rows:
        where = f"{_named(part)}{fault_words(fault)}, {float(fault.position_m):.2f} m"
        table.add_row(where, "", amount_words(watt, "W"), amount_words(ampere, "A"))
    return table


def _named(part: str) -> str:
    return f"{part}: " if part else ""


def amount_words(value: float, unit: str) -> str:
    """Three digits, small ones in thousandths, dust as zero.

    Parameters
    ----------
    value
        In the unit.
    unit
        Its sign, such as ``W`` or ``A``.

    >>> amount_words(2.6077, "A"), amount_words(0.00025, "A"), amount_words(1e-9, "W")
    ('2.61 A', '0.25 mA', '0 W')
    """
    if value < 1e-6:
        return f"0 {unit}"
    if value >= 1e5:
        return f"over 100000 {unit}"
    if value < 0.1 and unit in ("A", "W"):
        return f"{float(f'{1e3 * value:.3g}'):g} m{unit}"
    return f"{float(f'{value:.3g}'):g} {unit}" if value < 100 else f"{value:.0f} {unit}"
