"""Slips of the hand that make readings conflict: what the readings, or the cable, may really be.

A slip is a reading with another unit, another decimal point or another range, two readings whose
leads were exchanged, or a label with another resistance or length. Which of them explains the
readings is for `cablesim.locate.conflict` to find out. How often each occurs is a judgement of the
trade (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.instruments.readings import Reading
from cablesim.line.terminals import Hookup, Terminal

__all__ = ["Slip", "of_length", "of_rating", "of_readings"]

# How often each slip occurs beside the others; common practice, no source.
_USUAL = {"leads": 1.0, "unit": 1.0, "range": 0.5, "rating": 0.3, "length": 0.3}
# Factors between units that are mistaken for each other; a capacitance is nF or uF.
_UNITS = {
    "ohm": (1e3, 1e-3, 1e6, 1e-6),
    "Mohm": (1e3, 1e-3, 1e-6),
    "nF": (1e3, 1e-3),
}
_POINTS = (10.0, 0.1, 100.0, 0.01)
_PREFIXES = {
    "ohm": ((1e6, "Mohm"), (1e3, "kohm"), (1.0, "ohm")),
    "Mohm": ((1e3, "Gohm"), (1.0, "Mohm"), (1e-3, "kohm"), (1e-6, "ohm")),
    "nF": ((1e3, "uF"), (1.0, "nF"), (1e-3, "pF")),
}


@dataclass(frozen=True, slots=True)
class Slip:
    """One slip, with the readings and the cable as they would be without it.

    Parameters
    ----------
    change
        ``unit``, ``leads``, ``range``, ``rating`` or ``length``.
    cable, readings
        With the slip mended.
    value, unit
        What the reading, or the cable's label, would then say.
    told
        One sentence that asks for it; ``{0}`` and ``{1}`` stand for the numbers of the readings.
    numbers
        Which readings are changed, from 0; none where it is the cable.
    """

    change: str
    cable: Cable
    readings: tuple[Reading, ...]
    value: float
    unit: str
    told: str
    numbers: tuple[int, ...] = ()

    @property
    def usual(self) -> float:
        """How often it occurs beside the others."""
        return _USUAL[self.change]


def of_readings(cable: Cable, readings: Sequence[Reading]) -> Iterator[Slip]:
    """Every slip of one reading, or of two that changed places.

    Parameters
    ----------
    cable
        As rated.
    readings
        As taken.
    """
    for i, k in combinations(range(len(readings)), 2):
        one, other = readings[i], readings[k]
        same = (one.probe.meter, one.probe.setting) == (other.probe.meter, other.probe.setting)
        if same and (one.shown, one.at_least) != (other.shown, other.at_least):
            swapped = list(readings)
            swapped[i] = replace(one, shown=other.shown, at_least=other.at_least)
            swapped[k] = replace(other, shown=one.shown, at_least=one.at_least)
            yield Slip(
                "leads",
                cable,
                tuple(swapped),
                other.shown,
                one.probe.meter.unit,
                "readings {0} and {1} would fit if they changed places: were the leads exchanged?",
                (i, k),
            )
    for k, reading in enumerate(readings):
        for slip in _of_one(cable, reading):
            changed = (*readings[:k], slip.readings[0], *readings[k + 1 :])
            if slip.change != "leads" or slip.readings[0].probe not in [r.probe for r in readings]:
                yield replace(slip, readings=changed, numbers=(k,))


def _of_one(cable: Cable, reading: Reading) -> Iterator[Slip]:
    meter, setting = reading.probe.meter, reading.probe.setting
    mirrored = _mirrored(cable, reading)
    if mirrored is not None:
        across = " to ".join(mirrored.probe.hookup.across)
        said = f"reading {{0}} would fit as {across}: were core1 and core2 exchanged?"
        yield Slip("leads", cable, (mirrored,), reading.shown, meter.unit, said)
    if meter.unit not in _UNITS or not np.isfinite(reading.shown) or reading.shown == 0.0:
        return
    for change, factors, asked in (
        ("unit", _UNITS[meter.unit], "was the unit read wrongly?"),
        ("range", _POINTS, "was the decimal point, or the range, read wrongly?"),
    ):
        for factor in factors:
            value = float(f"{reading.shown * factor:.12g}")
            if meter.resolution <= value < meter.over_range_from(setting):
                told = f"reading {{0}} would fit as {_worded(value, meter.unit)}: {asked}"
                yield Slip(change, cable, (replace(reading, shown=value),), value, meter.unit, told)
    step = 10 * float(meter.step_of(reading.shown, setting))
    if abs(reading.shown / step - round(reading.shown / step)) < 1e-6:
        coarse = replace(
            meter,
            name=f"{meter.name} on a higher range",
            resolution=step / 10.0 ** int(meter.range_of(reading.shown)),
            top_range=10 * meter.top_range,
        )
        moved = replace(reading, probe=replace(reading.probe, meter=coarse))
        told = "reading {0} would fit if it was taken on a higher range, in coarser steps: was it?"
        yield Slip("range", cable, (moved,), reading.shown, meter.unit, told)


def _mirrored(cable: Cable, reading: Reading) -> Reading | None:
    """The same display with core1 and core2 exchanged; None where that is the same reading."""
    hookup = reading.probe.hookup
    if len(cable.construction.cores) < 2 or reading.probe.meter.sees_places:
        return None
    names = {"core1": "core2", "core2": "core1"}

    def other(terminal: Terminal) -> Terminal:
        return terminal._replace(conductor=names.get(terminal.conductor, terminal.conductor))

    leads = tuple(tuple(other(t) for t in lead) for lead in hookup.leads)
    links = tuple(tuple(other(t) for t in group) for group in hookup.links)
    ordered = reading.probe.meter.leads > 2
    before = [frozenset(lead) for lead in hookup.leads]
    after = [frozenset(lead) for lead in leads]
    if before == after or (not ordered and set(before) == set(after)):
        return None
    return replace(reading, probe=replace(reading.probe, hookup=Hookup(leads, links)))


def of_rating(
    cable: Cable, readings: Sequence[Reading], factor: float, *, fitting: str = "a cable"
) -> Slip:
    """A label with this multiple of the loop resistance.

    Parameters
    ----------
    cable, readings
        As rated and as taken.
    factor
        True rating over the one that was given.
    fitting
        What the readings would then fit, in words.
    """
    changed = replace(cable, **cable.core_fields(factor))
    value = float(f"{float(cable.loop_resistance_ohm) * factor:.3g}")
    told = (
        f"the readings would fit {fitting} rated about {value:g} ohm, not "
        f"{float(cable.loop_resistance_ohm):g} ohm: is the label of this cable?"
    )
    return Slip("rating", changed, tuple(readings), value, "ohm", told)


def of_length(cable: Cable, readings: Sequence[Reading], factor: float) -> Slip:
    """A label with this multiple of the length, its loop resistance as it is.

    Parameters
    ----------
    cable, readings
        As rated and as taken.
    factor
        True heated length over the one that was given.
    """
    length_m = float(cable.heated_length_m) * factor
    changed = replace(cable, heated_length_m=length_m, **cable.core_fields(1 / factor))
    value = float(f"{length_m:.3g}")
    told = (
        f"the readings would fit a heated length of about {value:g} m, not "
        f"{float(cable.heated_length_m):g} m: is the length that of this cable?"
    )
    return Slip("length", changed, tuple(readings), value, "m", told)


def _worded(value: float, unit: str) -> str:
    """A value with the prefix that a display would have.

    >>> _worded(12400.0, "ohm"), _worded(0.0884, "Mohm"), _worded(1234.0, "nF")
    ('12.4 kohm', '88.4 kohm', '1.234 uF')
    """
    for size, name in _PREFIXES[unit]:
        if value >= size:
            return f"{value / size:.6g} {name}"
    size, name = _PREFIXES[unit][-1]
    return f"{value / size:.6g} {name}"
