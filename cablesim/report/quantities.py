"""How readings and quantities are worded for people: displays, meters, leads, and exact values."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cablesim.instruments.meters import (
    HeatSurvey,
    LoopBridge,
    Meter,
    PulseEcho,
    WithstandTester,
)
from cablesim.instruments.readings import Probe
from cablesim.locate.estimate import NextReading

__all__ = [
    "BALANCE",
    "across_words",
    "amount_words",
    "display_words",
    "exact_words",
    "meter_words",
    "quantity_words",
    "reading_words",
    "unit_of",
]

BALANCE = "Q/(P+Q)"
"""What a bridge shows where its arms are the reading; for people it goes without saying."""

# What a display says that shows no number, where that is not "over range".
_NOTHING: dict[type[Meter], str] = {
    LoopBridge: "no balance",
    PulseEcho: "no echo",
    HeatSurvey: "no such place",
}
_PREFIXES = ((1e12, "T"), (1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""))
_DIGITS = 4  # significant digits of an exact value, one more than most displays have


def unit_of(probe: Probe) -> str:
    """Unit of what the probe's meter shows; for a bridge the balance that is read."""
    if isinstance(probe.meter, LoopBridge):
        return "ohm" if probe.setting.method == "varley" else BALANCE
    return probe.meter.unit


def quantity_words(value: float, unit: str) -> str:
    """An exact value with its unit, resistances in ohm, kohm, Mohm and so on.

    >>> quantity_words(0.0553, "Mohm"), quantity_words(88.2665, "ohm")
    ('55.3 kohm', '88.27 ohm')
    """
    if math.isinf(value):
        return "infinite"
    if unit not in ("ohm", "Mohm"):
        return f"{value:.{_DIGITS}g} {unit}" if unit != BALANCE else f"{value:.{_DIGITS}f}"
    ohm = value * (1e6 if unit == "Mohm" else 1.0)
    size, prefix = _prefix(ohm)
    return f"{_significant(ohm / size)} {prefix}ohm"


def _prefix(ohm: float) -> tuple[float, str]:
    return next((row for row in _PREFIXES if abs(ohm) >= row[0] * 0.99995), (1.0, ""))


def _significant(number: float) -> str:
    """Four significant digits, never as a power of ten."""
    if number == 0 or abs(number) < 1e-9:
        return "0"
    rounded = float(f"{number:.{_DIGITS}g}")
    decimals = max(0, _DIGITS - 1 - math.floor(math.log10(abs(rounded))))
    text = f"{rounded:.{decimals}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def exact_words(probe: Probe, value: float) -> str:
    """What an ideal meter would show; a bridge without a finite value finds no balance."""
    if not math.isfinite(value) and type(probe.meter) in _NOTHING:
        return _NOTHING[type(probe.meter)]
    return quantity_words(value, unit_of(probe))


def display_words(probe: Probe, displayed: float, *, prefixed: bool = True) -> str:
    """What the display says, with the decimals that it has.

    Parameters
    ----------
    probe
        Meter and setting.
    displayed
        The rounded value in the meter's unit; infinite for over range.
    prefixed
        Whether resistances may be told in kohm and Mohm, as a display does; else in the meter's
        own unit.

    Examples
    --------
    >>> from cablesim.cable.cable import Cable
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> ohmmeter = standard_probes(cable)[0]
    >>> display_words(ohmmeter, 12340.0), display_words(ohmmeter, 12340.0, prefixed=False)
    ('12.34 kohm', '12340 ohm')
    >>> display_words(ohmmeter, float("inf"))
    'over range'
    """
    meter, unit = probe.meter, unit_of(probe)
    bridge = isinstance(meter, LoopBridge)
    if not math.isfinite(displayed) or (bridge and displayed < 0):
        if isinstance(meter, WithstandTester):
            return f"no trip up to {meter.top_range:g} V"
        return _NOTHING.get(type(meter), "over range")
    step = float(meter.step_of(displayed, probe.setting))
    if prefixed and not bridge and unit in ("ohm", "Mohm"):
        ohm_per_unit = meter.unit_size
        # Never smaller than the meter's own unit: an insulation tester says 0.055 Mohm.
        size, prefix = _prefix(max(displayed * ohm_per_unit, ohm_per_unit))
        displayed, step = displayed * ohm_per_unit / size, step * ohm_per_unit / size
        unit = f"{prefix}ohm"
    decimals = max(0, math.ceil(-math.log10(step) - 1e-9))
    number = f"{displayed:z.{decimals}f}"
    return number if prefixed and unit == BALANCE else f"{number} {unit}"


def across_words(across: Sequence[str]) -> str:
    """What the leads touch, as one reads it aloud.

    >>> across_words(("core1", "core2+braid"))
    'core1 to core2+braid'
    """
    return " to ".join(across)


def reading_words(coming: NextReading) -> str:
    """What to read: the meter with its method or the echo's sign, and its leads.

    >>> reading_words(NextReading("loop_bridge", ("core2", "core1", "braid"), "", setting="murray"))
    'loop bridge murray, core2 to core1 to braid'
    """
    set_to = {"+": "positive echo", "-": "negative echo"}.get(coming.setting, coming.setting)
    if coming.kind == "withstand_and_camera":
        set_to = "and camera"
    told = " ".join(part for part in (coming.meter, set_to) if part).replace("_", " ")
    return f"{told}, {across_words(coming.across)}" if coming.across else told


def meter_words(probe: Probe) -> str:
    """The meter's name, with its method, voltage and time, sign or limit, where it has them."""
    setting = probe.setting
    volt = f"{setting.test_volt:g} V" if setting.test_volt else ""
    after = f"{setting.seconds:g} s" if setting.seconds else ""
    sign = {"+": "positive", "-": "negative"}.get(setting.sign or "", "")
    limit = ""
    if isinstance(probe.meter, WithstandTester):
        limit = f"{probe.meter.limit_ampere(setting) * 1e3:g} mA"
    told = (probe.meter.name, setting.method or "", volt, after, sign, limit)
    return " ".join(part for part in told if part).replace("_", " ")


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
