"""Recipes on balances of a loop bridge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray, Real
from cablesim.instruments.readings import Reading
from cablesim.locate import closed_forms as forms
from cablesim.locate.budget import Declined
from cablesim.locate.parameters import FACTORS
from cablesim.locate.recipes.needs import (
    SOME_OHM,
    Prepared,
    cold_ohm,
    find,
    has_value,
    leads_of,
    relative,
    to_braid,
    wanted,
)

__all__ = ["Balance", "balance_of", "insulation_balance", "murray", "murray_unequal", "varley"]

_SPREAD_OF_INSULATION = 2 * float(np.log(FACTORS["healthy insulation"])) / 12**0.5


@dataclass(frozen=True, slots=True)
class Balance:
    """A balance of a loop bridge, and which core it calls faulty."""

    reading: Reading
    core: str
    from_far: bool


def balance_of(readings: Sequence[Reading], method: str) -> Balance | Declined:
    """The first balance by this method, or why there is none."""
    for reading in readings:
        if reading.probe.meter.kind != "loop_bridge" or reading.probe.setting.method != method:
            continue
        if not np.isfinite(reading.shown):
            return Declined("needs a value where the bridge found no balance")
        core, _, end = reading.probe.hookup.across[1].partition("@")
        return Balance(reading, core, end == "far")
    return Declined(f"needs a reading: loop bridge, {method}")


def leak_ohm(readings: Sequence[Reading]) -> float:
    """Roughly the resistance to the braid, by what else was read."""
    for kind, unit in (("ohmmeter", 1.0), ("insulation_tester", 1e6)):
        found = [
            reading.shown * unit
            for reading in readings
            if reading.probe.meter.kind == kind
            and frozenset(["braid"]) in leads_of(reading)
            and has_value(reading)
            and reading.shown > 0
        ]
        if found:
            return min(found)
    return SOME_OHM


def loop_of(cable: Cable, readings: Sequence[Reading]) -> tuple[Reading | None, float]:
    """The loop as read, and as rated, cold leads included [ohm]."""
    across = ("core1", "core1@far") if cable.construction.returns else ("core1", "core2")
    read = find(readings, "ohmmeter", *across)
    rated = float(sum(cable.core_ohm_per_m) * cable.heated_length_m) + 2 * cold_ohm(cable)
    return (read if read is not None and has_value(read) else None), rated


def placed(cable: Cable, balance: Balance, x_m: Real) -> Real:
    return float(cable.heated_length_m) - x_m if balance.from_far else x_m


def murray_place(cable: Cable, balance: Balance, share: Real) -> Real:
    """Equal cores around a loop: both of a twin cable, or the one of a single-conductor cable."""
    per_m = float(cable.core_ohm_per_m[0])
    half = float(cable.heated_length_m) / (1 if len(cable.construction.cores) == 2 else 2)
    return placed(cable, balance, forms.murray(share, half, cold_lead_m=cold_ohm(cable) / per_m))


def murray(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Murray loop: share of the slide, equal cores."""
    balance = balance_of(readings, "murray")
    if isinstance(balance, Declined):
        return balance
    if len(set(map(float, cable.core_ohm_per_m))) > 1:
        return Declined("needs equal cores: take murray_unequal")

    def formula(share: FloatArray, _: FloatArray) -> tuple[Real, Real]:
        return murray_place(cable, balance, share[0]), float("nan")

    ohm = leak_ohm(readings)
    return Prepared((balance.reading,), formula, to_braid(balance.core), (), ohm)


def murray_unequal(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Murray loop with the loop's resistance and the faulty core's own ohm per metre."""
    balance = balance_of(readings, "murray")
    if isinstance(balance, Declined):
        return balance
    read, rated_ohm = loop_of(cable, readings)
    number = cable.construction.cores.index(balance.core)
    per_m, lead = float(cable.core_ohm_per_m[number]), cold_ohm(cable)

    def formula(x: FloatArray, factor: FloatArray) -> tuple[Real, Real]:
        loop = x[1] if read is not None else rated_ohm * factor[0]
        place = forms.murray_unequal(x[0], loop, per_m * factor[0], cold_lead_ohm=lead)
        return placed(cable, balance, place), float("nan")

    taken = (balance.reading,) if read is None else (balance.reading, read)
    spread = (relative(cable.tolerance_percent),)
    return Prepared(taken, formula, to_braid(balance.core), spread, leak_ohm(readings))


def varley(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Varley loop: box at balance, the loop as read, or as rated where it was not."""
    balance = balance_of(readings, "varley")
    if isinstance(balance, Declined):
        return balance
    arms = balance.reading.probe.setting.arms
    if arms is None:
        return Declined("needs the bridge's two arms")
    read, rated_ohm = loop_of(cable, readings)
    number = cable.construction.cores.index(balance.core)
    per_m, lead = float(cable.core_ohm_per_m[number]), cold_ohm(cable)

    def formula(x: FloatArray, factor: FloatArray) -> tuple[Real, Real]:
        loop = x[1] if read is not None else rated_ohm * factor[0]
        place = forms.varley(x[0], loop, per_m * factor[0], arms_ohm=arms, cold_lead_ohm=lead)
        return placed(cable, balance, place), float("nan")

    taken = (balance.reading,) if read is None else (balance.reading, read)
    spread = (relative(cable.tolerance_percent),)
    return Prepared(taken, formula, to_braid(balance.core), spread, leak_ohm(readings))


def insulation_balance(cable: Cable, readings: Sequence[Reading]) -> Prepared | Declined:
    """Murray, corrected for the leakage that the whole cable always had."""
    plain = murray(cable, readings)
    balance = balance_of(readings, "murray")
    if isinstance(plain, Declined) or isinstance(balance, Declined):
        return plain if isinstance(plain, Declined) else Declined("needs a balance")
    cores = "+".join(cable.construction.cores)
    after = wanted(readings, "insulation_tester", (cores, "braid"))
    if isinstance(after, Declined):
        return after
    length = float(cable.heated_length_m)
    along_m = float(cable.last_m - cable.first_m)
    before = float(cable.insulation_gigaohm_m) * 1e9 / (len(cable.construction.cores) * along_m)
    if not np.isfinite(before):
        return Declined("needs the insulation of the healthy cable")
    natural = length if len(cable.construction.cores) == 2 else length / 2

    def formula(x: FloatArray, factor: FloatArray) -> tuple[Real, Real]:
        seen = murray_place(cable, balance, x[0])
        healthy = before * np.exp(factor[0] - 1)
        place = forms.corrected_for_leakage(seen, natural, healthy, np.maximum(x[1], 1e-9) * 1e6)
        return place, x[1] * 1e6

    taken = (balance.reading, *after)
    return Prepared(taken, formula, plain.damage, (_SPREAD_OF_INSULATION,))
