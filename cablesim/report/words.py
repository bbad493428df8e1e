"""How faults, places and numbers are worded for people. Tables and figures both speak from here."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.instruments.meters import (
    HeatSurvey,
    LoopBridge,
    Meter,
    PulseEcho,
    WithstandTester,
)
from cablesim.instruments.readings import Probe
from cablesim.locate.estimate import Estimate, FaultEstimate, NextReading

__all__ = [
    "BALANCE",
    "across_words",
    "by_place",
    "counted",
    "damage_words",
    "decimals_for",
    "display_words",
    "exact_words",
    "fault_words",
    "interval_words",
    "meter_words",
    "one_line",
    "percent_words",
    "place_words",
    "plural",
    "quantity_words",
    "reading_words",
    "unit_of",
    "verdict_words",
    "within_words",
    "worth_naming",
]

BALANCE = "Q/(P+Q)"
"""What a bridge shows where its arms are the reading; for people it goes without saying."""

# Nearer to a joint than this, a person looks at the joint itself (common practice, no source).
_AT_JOINT_M = 0.1
_NOUNS = {"joint": "bad joint", "degraded": "degraded insulation", "several": "double damage"}
# A best place is named where the intervals leave open no more than this share of the cable.
_NAMED = 0.25
# What a display says that shows no number, where that is not "over range".
_NOTHING: dict[type[Meter], str] = {
    LoopBridge: "no balance",
    PulseEcho: "no echo",
    HeatSurvey: "no such place",
}
_PREFIXES = ((1e12, "T"), (1e9, "G"), (1e6, "M"), (1e3, "k"), (1.0, ""))
_DIGITS = 4  # significant digits of an exact value, one more than most displays have


def counted(number: int, one: str) -> str:
    """A number of things, with the plural where there is not one of them.

    >>> counted(1, "case"), counted(0, "case"), counted(2, "reading")
    ('1 case', '0 cases', '2 readings')
    """
    return f"{number} {plural(number, one)}"


def plural(number: int, one: str) -> str:
    """The word for one thing, or for so many.

    >>> plural(1, "column"), plural(3, "column")
    ('column', 'columns')
    """
    return one if number == 1 else f"{one}s"


def one_line(text: str) -> str:
    r"""Text from a file on one line, without what could steer a terminal or reverse the writing.

    >>> one_line("Hall\n\x1b[2Jfloor")
    'Hall ?[2Jfloor'
    """
    return "".join(c if c.isprintable() else "?" for c in " ".join(text.split()))


def _listed(names: Sequence[str]) -> str:
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def fault_words(fault: Fault | FaultEstimate) -> str:
    """What is broken, without where.

    Parameters
    ----------
    fault
        A fault as it is, or as located.

    Examples
    --------
    >>> from cablesim.cable.faults import Break, Short
    >>> fault_words(Short(("core1", "braid"), 12.4, 55.0))
    'short between core1 and braid'
    >>> fault_words(Break(("core1", "core2", "braid"), 12.4))
    'break of core1, core2 and braid'
    """
    between = getattr(fault, "between", None)
    if between is not None:
        return f"{_NOUNS.get(fault.kind, fault.kind)} between {_listed(between)}"
    kind = "bad joint in" if fault.kind == "joint" else f"{fault.kind} of"
    return f"{kind} {_listed(getattr(fault, 'conductors', None) or ['a conductor'])}"


def damage_words(faults: Sequence[Fault | FaultEstimate]) -> str:
    """All that is broken, without where; "healthy" where nothing is.

    >>> damage_words([])
    'healthy'
    >>> from cablesim.cable.faults import Break, Short
    >>> damage_words([Break(("core1",), 3.0), Break(("core1",), 12.4)])
    'two breaks of core1'
    >>> damage_words([Break(("core1",), 3.0), Short(("core1", "braid"), 3.0, 55.0)])
    'break of core1 with short between core1 and braid'
    """
    words = [fault_words(fault) for fault in faults]
    if len(words) == 2 and words[0] == words[1] and faults[0].kind in ("short", "break"):
        kind = faults[0].kind
        return f"two {kind}s{words[0].removeprefix(kind)}"
    return " with ".join(words) or "healthy"


def by_place(faults: Sequence[FaultEstimate]) -> list[list[FaultEstimate]]:
    """Damage in groups that share one place, the likeliest place first.

    Parameters
    ----------
    faults
        As located; faults at one place have the same intervals.
    """
    groups: dict[tuple[tuple[float, float], ...], list[FaultEstimate]] = {}
    for fault in faults:
        groups.setdefault(fault.intervals_m, []).append(fault)
    return list(groups.values())


def within_words(faults: Sequence[FaultEstimate]) -> str:
    """Where damage lies: the intervals of each of its places.

    Parameters
    ----------
    faults
        As located, at least one.
    """
    places = [group[0] for group in by_place(faults)]
    return " and ".join(
        interval_words(fault.intervals_m, decimals_for(fault.open_m)) for fault in places
    )


def verdict_words(estimate: Estimate) -> str:
    """The verdict in one clause, with its probability where it has one.

    The probability is that of the kind of damage. Where it is shared among several sets of
    conductors, the clause names the kind first and the likeliest set after it.

    Parameters
    ----------
    estimate
        The answer.
    """
    if estimate.conflict:
        return "undecided: the readings contradict each other"
    share = percent_words(estimate.probability)
    damage = damage_words(estimate.faults)
    if estimate.verdict == "undecided":
        kind = estimate.faults[0].kind if len(estimate.faults) == 1 else ""
        if any(other.verdict == kind for other in estimate.alternatives):
            return f"undecided; likeliest kind is {_NOUNS.get(kind, kind)} ({share})"
        return f"undecided; likeliest is {damage} ({share})"
    if any(other.verdict == estimate.verdict for other in estimate.alternatives):
        return f"{_NOUNS.get(estimate.verdict, estimate.verdict)} ({share}); likeliest: {damage}"
    return f"{damage} ({share})"


def percent_words(probability: float) -> str:
    """A probability in whole percent, never "0 %" or "100 %".

    >>> percent_words(0.973), percent_words(0.99999), percent_words(0.0004)
    ('97 %', 'over 99 %', 'under 1 %')
    """
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"


def decimals_for(width_m: float) -> int:
    """Decimals that a place deserves whose interval is this wide [m]."""
    if width_m >= 2.0:
        return 1
    return 2 if width_m >= 0.05 else 3


def worth_naming(fault: FaultEstimate, cable: Cable) -> bool:
    """Whether the intervals leave so little of the cable open that a best place means something.

    Parameters
    ----------
    fault
        A fault as located.
    cable
        The cable.
    """
    return fault.open_m <= _NAMED * float(cable.heated_length_m)


def place_words(position_m: float, cable: Cable, decimals: int = 2) -> str:
    """Where on the cable, in metres from the cold joint.

    Parameters
    ----------
    position_m
        Place [m from the cold joint].
    cable
        The cable; its ends decide the wording.
    decimals
        Of the metres.

    Examples
    --------
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> place_words(12.414, cable)
    '12.41 m from the cold joint'
    >>> place_words(-1.2, cable)
    '1.20 m before the cold joint, in the cold lead'
    """
    length = float(cable.heated_length_m)
    told = f"{abs(position_m):.{decimals}f} m"
    if float(f"{position_m:.{decimals}f}") == 0:
        return "at the cold joint" if decimals > 1 else "near the cold joint"
    if abs(position_m) <= _AT_JOINT_M and decimals > 1:
        side = "before" if position_m < 0 else "after"
        return f"at the cold joint ({told} {side} it)"
    if position_m < 0:
        return f"{told} before the cold joint, in the cold lead"
    if abs(position_m - length) <= _AT_JOINT_M:
        end = "far cold joint" if cable.construction.returns else "far end"
        return f"at the {end} ({told} from the cold joint)"
    if position_m > length:
        past = f"{position_m - length:.{decimals}f} m"
        return f"{told} from the cold joint, {past} past the far cold joint"
    return f"{told} from the cold joint"


def interval_words(
    intervals_m: Sequence[tuple[float, float]], decimals: int = 2, joining: str = "or"
) -> str:
    """One or more stretches in metres: one "or" the other, or all of them, "and".

    >>> interval_words([(3.1, 3.25), (12.0, 12.4)])
    '3.10 to 3.25 m, or 12.00 to 12.40 m'
    >>> interval_words([(-0.001, 0.4)])
    '0.00 to 0.40 m'
    """
    # The "z" of a format takes the minus off a rounded "-0.0".
    told = [[f"{end:z.{decimals}f}" for end in pair] for pair in intervals_m]
    return f", {joining} ".join(f"{low} to {high} m" for low, high in told)


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
