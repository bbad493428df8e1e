"""Slips of the hand that make readings conflict: what the readings, or the cable, may really be.

A slip is a reading with another unit, another decimal point or another range, several readings of
one meter that all have another unit or decimal point, two readings whose leads were exchanged, or a
label with another resistance or length. Which of them explains the readings is for
`cablesim.locate.questions` to find out. How often each occurs is a judgement of the trade (common
practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import combinations, product

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.instruments.readings import Reading
from cablesim.line.terminals import Hookup, Terminal

__all__ = ["MISWRITTEN", "Slip", "digits_beyond", "of_length", "of_rating", "of_readings", "worded"]

# How often each slip occurs beside the others; common practice, no source.
_USUAL = {"leads": 1.0, "unit": 1.0, "range": 0.5, "rating": 0.3, "length": 0.3}
# Factors between units that are mistaken for each other; a capacitance is nF or uF.
UNITS = {
    "ohm": (1e3, 1e-3, 1e6, 1e-6),
    "Mohm": (1e3, 1e-3, 1e-6),
    "nF": (1e3, 1e-3),
}
_POINTS = (10.0, 0.1, 100.0, 0.01)
# Factors of a label whose unit or decimal point was written wrongly.
MISWRITTEN = (*_POINTS, 1e3, 1e-3)
_SLIPPED = {
    "unit": "was the unit read wrongly?",
    "range": "was the decimal point, or the range, read wrongly?",
}
_SLIPPED_ALL = {
    "unit": "was their unit read wrongly?",
    "range": "were their decimal points, or the range, read wrongly?",
}
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
    """Every slip of one reading, of two that changed places, or of a meter's unit.

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
    yield from _of_all(cable, readings)


def digits_beyond(reading: Reading) -> float:
    """What share of a step of the display the last digit that was written is; at most 1.

    A number finer than the display is no display: of the numbers that could have been written, so
    many times more, this is one.

    >>> from cablesim.cable.cable import Cable
    >>> from cablesim.instruments.meters import Ohmmeter
    >>> from cablesim.instruments.readings import Probe, Reading
    >>> loop = Hookup.of(Cable.rated("twin", 30.0, 88.2), ("core1", "core2"))
    >>> written = [Reading(Probe(Ohmmeter(name="pocket"), loop), ohm) for ohm in (90.6, 0.0906)]
    >>> [f"{digits_beyond(reading):.0e}" for reading in written]
    ['1e+00', '1e-03']
    """
    if not np.isfinite(reading.shown):
        return 1.0
    step = _step(reading)
    return 1.0 if _on_step(reading.shown, step) else min(1.0, _last_digit(reading.shown) / step)


def _on_step(value: float, step: float) -> bool:
    return abs(value / step - round(value / step)) < 1e-6 * max(1.0, value / step)


def _of_all(cable: Cable, readings: Sequence[Reading]) -> Iterator[Slip]:
    """Another unit in all readings of a meter, or in two of them; another point in all."""
    for name in dict.fromkeys(r.probe.meter.name for r in readings):
        able = [
            k
            for k, reading in enumerate(readings)
            if reading.probe.meter.name == name and 0.0 < reading.shown < np.inf
        ]
        every = [tuple(able)] if len(able) > 1 else []
        pairs = list(combinations(able, 2)) if len(able) > 2 else []
        unit = readings[able[0]].probe.meter.unit if able else ""
        for change, factors, groups in (
            ("unit", UNITS.get(unit, ()), [*pairs, *every]),
            ("range", _POINTS if unit in UNITS else (), every),
        ):
            for factor, numbers in product(factors, groups):
                rewritten = {k: _rewritten(readings[k], factor) for k in numbers}
                values = [new.shown for new in rewritten.values() if new is not None]
                if len(values) < len(numbers):
                    continue
                changed = [rewritten.get(k) or reading for k, reading in enumerate(readings)]
                *most, last = (f"{{{place}}}" for place in range(len(numbers)))
                told = [worded(value, unit) for value in values]
                yield Slip(
                    change,
                    cable,
                    tuple(changed),
                    values[0],
                    unit,
                    f"readings {', '.join(most)} and {last} would fit as {', '.join(told[:-1])} "
                    f"and {told[-1]}: {_SLIPPED_ALL[change]}",
                    numbers,
                )


def _rewritten(reading: Reading, factor: float) -> Reading | None:
    """The reading with a multiple of its value; None where the meter has no such display.

    It had no more digits than were written, so that its steps may be coarser than the meter's.
    """
    value = float(f"{reading.shown * factor:.12g}")
    meter = reading.probe.meter
    if not meter.resolution <= value < meter.over_range_from(reading.probe.setting):
        return None
    moved = replace(reading, shown=value)
    step = _last_digit(reading.shown) * factor
    return moved if step <= 1.5 * _step(moved) else _in_steps(moved, step)


def _in_steps(reading: Reading, step: float) -> Reading:
    """The same number on a range of the meter with coarser steps, exact but for these."""
    meter = reading.probe.meter
    coarse = replace(
        meter,
        name=f"{meter.name} on a higher range",
        # Counts of such steps would let any number pass.
        accuracy_counts=0.0,
        resolution=step,
        top_range=meter.counts * step * 10.0 ** (meter.ranges - 1),
    )
    return replace(reading, probe=replace(reading.probe, meter=coarse))


def _step(reading: Reading) -> float:
    return float(reading.probe.meter.step_of(reading.shown, reading.probe.setting))


def _last_digit(value: float) -> float:
    """Size of the last digit that is written of a number.

    >>> _last_digit(90.6), _last_digit(120.0)
    (0.1, 10.0)
    """
    return 10.0 ** int(Decimal(f"{value:.9g}").normalize().as_tuple().exponent)


def _of_one(cable: Cable, reading: Reading) -> Iterator[Slip]:
    meter = reading.probe.meter
    mirrored = _mirrored(cable, reading)
    if mirrored is not None:
        across = " to ".join(mirrored.probe.hookup.across)
        said = f"reading {{0}} would fit as {across}: were core1 and core2 exchanged?"
        yield Slip("leads", cable, (mirrored,), reading.shown, meter.unit, said)
    if meter.unit not in UNITS or not 0.0 < reading.shown < np.inf:
        return
    for change, factors in (("unit", UNITS[meter.unit]), ("range", _POINTS)):
        for factor in factors:
            new = _rewritten(reading, factor)
            if new is not None:
                fits = f"reading {{0}} would fit as {worded(new.shown, meter.unit)}"
                told = f"{fits}: {_SLIPPED[change]}"
                yield Slip(change, cable, (new,), new.shown, meter.unit, told)
    step = 10 * _step(reading)
    if _on_step(reading.shown, step):
        told = "reading {0} would fit if it was taken on a higher range, in coarser steps: was it?"
        yield Slip("range", cable, (_in_steps(reading, step),), reading.shown, meter.unit, told)


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
        f"{float(cable.loop_resistance_ohm):g} ohm: is the label that of this cable?"
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


def worded(value: float, unit: str) -> str:
    """A value with the prefix that a display would have.

    >>> worded(12400.0, "ohm"), worded(0.0884, "Mohm"), worded(1234.0, "nF")
    ('12.4 kohm', '88.4 kohm', '1.234 uF')
    """
    if unit not in _PREFIXES:
        return f"{value:.6g} {unit}".strip()
    for size, name in _PREFIXES[unit]:
        if value >= size:
            return f"{value / size:.6g} {name}"
    size, name = _PREFIXES[unit][-1]
    return f"{value / size:.6g} {name}"
