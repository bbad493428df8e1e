"""Whether a mended cable may be covered: limits with their sources, and readings held against them.

A measured value is judged with its meter's uncertainty. What the meter may have seen is an
interval, from the limits of its accuracy, its display and its leads: where all of it lies within
the limits the reading passes, where none of it does it fails, and else the meter is too coarse to
decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from cablesim.cable.cable import Cable
from cablesim.instruments.meters import InsulationTester, Ohmmeter
from cablesim.instruments.readings import Probe, Reading, predict

__all__ = [
    "Limit",
    "Verdict",
    "judged",
    "judged_exact",
    "limit_of",
    "may_have_seen",
    "overall",
]

Verdict = Literal["pass", "fail", "not decided"]

# From memory of IEC 60364-6, table 6.1: test voltage [V] and least insulation [Mohm].
_SELV, _UP_TO_500_V = (250.0, 0.5), (500.0, 1.0)
# Highest alternating voltage of SELV [V], from memory of IEC 60364-4-41.
_SELV_VOLT = 50.0
_TOLERANCE_SOURCE = "from memory of IEC 60800: -5 % / +10 %"
_INSULATION_SOURCE = "from memory of IEC 60364-6, table 6.1"
_OVER_RANGE_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Limit:
    """What one reading must be.

    Parameters
    ----------
    least, most
        Limits in the meter's unit, without leads; `most` is infinite where more is better.
    source
        Where the limit comes from.
    over_range
        Whether the display must say over range; `least` is then what it needs for that.
    least_volt
        Least test voltage [V] at which the limit holds.
    """

    least: float
    most: float
    source: str
    over_range: bool = False
    least_volt: float = 0.0


def limit_of(cable: Cable, probe: Probe, supply_volt: float | None = None) -> Limit | None:
    """The limit of a reading on a mended cable; None where there is none.

    Parameters
    ----------
    cable
        As rated, plain numbers; its tolerance says how far the resistance may be off.
    probe
        The reading.
    supply_volt
        Supply voltage [V]; up to 50 V counts as SELV. Unless known, more is taken.

    Returns
    -------
    Limit or None
        Resistance through what heats: the rated one within its tolerance. An ohmmeter between
        conductors that nothing joins: over range. Insulation: the least of IEC 60364-6. None for
        capacitances, which no rating limits, and where the leads touch what is joined.

    Examples
    --------
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", 30.0, 88.2, cold_lead_m=0.0)
    >>> loop, braid, _, insulation = standard_probes(cable)[:4]
    >>> limit = limit_of(cable, loop)
    >>> print(f"{limit.least:.2f} to {limit.most:.2f} ohm")
    83.79 to 97.02 ohm
    >>> limit_of(cable, insulation).least, limit_of(cable, braid).over_range
    (1.0, True)
    """
    meter = probe.meter
    if isinstance(meter, InsulationTester):
        selv = supply_volt is not None and supply_volt <= _SELV_VOLT
        volt, least = _SELV if selv else _UP_TO_500_V
        if float(predict(cable, (), [probe])[0]) < least:
            return None  # its leads touch conductors that the cable itself joins
        return Limit(least, math.inf, _INSULATION_SOURCE, least_volt=volt)
    if not isinstance(meter, Ohmmeter):
        return None
    low, high = (
        float(predict(cable.with_core_factor(1 + percent / 100), (), [probe])[0])
        for percent in cable.tolerance_percent
    )
    over_from = meter.over_range_from(probe.setting)
    if low >= over_from:
        return Limit(over_from, math.inf, _OVER_RANGE_SOURCE, over_range=True)
    (warmer,) = predict(cable.with_core_factor(1.1), (), [probe])
    if not warmer > 1.01 * float(predict(cable, (), [probe])[0]):
        return None  # it reads insulation, or little of what heats
    usual = tuple(cable.tolerance_percent) == (-5.0, 10.0)
    stated = "the cable's tolerance as stated: {:+g} % / {:+g} %".format(*cable.tolerance_percent)
    return Limit(low, high, _TOLERANCE_SOURCE if usual else stated)


def may_have_seen(reading: Reading) -> tuple[float, float]:
    """Least and greatest exact value that this display allows, in the meter's unit.

    Parameters
    ----------
    reading
        What the display said. The limits of gain, counts, display and leads all count in full.

    Examples
    --------
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", 30.0, 88.2)
    >>> low, high = may_have_seen(Reading(standard_probes(cable)[0], 88.5))
    >>> round(low, 1), round(high, 1)
    (87.0, 89.5)
    """
    meter, span = reading.probe.meter, reading.span
    gain = meter.accuracy_percent / 100
    low = (span.low - span.noise) / (1 + gain)
    high = (span.high + span.noise) / (1 - gain) if gain < 1 else math.inf
    lead, loose = (
        value / meter.unit_size if meter.reads_leads else 0.0
        for value in (meter.lead_ohm, meter.lead_ohm_tolerance)
    )
    return max(0.0, low - lead - loose), max(0.0, high - lead + loose)


def judged(reading: Reading, limit: Limit) -> tuple[Verdict, str]:
    """Hold a measured value against its limit.

    Parameters
    ----------
    reading
        What the display said.
    limit
        What it must be.

    Returns
    -------
    verdict, why
        ``pass``, ``fail`` or ``not decided``; why, where it does not pass, else empty.
    """
    low, high = may_have_seen(reading)
    volt = reading.probe.setting.test_volt
    if limit.over_range:
        if math.isinf(reading.shown):
            return "pass", ""
        if high < limit.least:
            return "fail", "something conducts between them"
        return "not decided", "too near the end of the meter's range"
    if high < limit.least:
        return "fail", "less than the least"
    if low > limit.most:
        return "fail", "more than the most"
    if limit.least_volt and volt is not None and volt < limit.least_volt:
        return "not decided", f"tested at {volt:g} V instead of {limit.least_volt:g} V"
    if low >= limit.least and high <= limit.most:
        return "pass", ""
    return "not decided", "the meter is too coarse to say on which side of the limit it lies"


def judged_exact(value: float, limit: Limit) -> Verdict:
    """Hold an exact value, such as a predicted one, against its limit.

    >>> judged_exact(90.0, Limit(83.8, 97.0, "a label")), judged_exact(82.0, Limit(83.8, 97.0, ""))
    ('pass', 'fail')
    """
    return "pass" if limit.least <= value <= limit.most else "fail"


def overall(verdicts: Sequence[Verdict]) -> Verdict:
    """All together: one that fails fails all, and none at all decides nothing.

    >>> overall(["pass", "not decided"]), overall([]), overall(["pass", "pass"])
    ('not decided', 'not decided', 'pass')
    """
    if "fail" in verdicts:
        return "fail"
    return "pass" if verdicts and all(v == "pass" for v in verdicts) else "not decided"
