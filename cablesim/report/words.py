"""How faults and places are worded for people. Tables and figures both speak from here."""

from __future__ import annotations

import math
from collections.abc import Sequence

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Fault
from cablesim.locate.estimate import Estimate, FaultEstimate, decimals_for
from cablesim.report.quantities import quantity_words

__all__ = [
    "by_place",
    "counted",
    "damage_words",
    "decimals_for",
    "fault_words",
    "interval_words",
    "metres_words",
    "one_line",
    "percent_words",
    "place_words",
    "plural",
    "resistance_words",
    "true_fault_words",
    "verdict_words",
    "within_words",
    "worth_naming",
]

# Nearer to a joint than this, a person looks at the joint itself (common practice, no source).
_AT_JOINT_M = 0.1
# Of two sets of conductors one is as likely as the other from this share of its probability on.
_EQUALLY = 0.99
_NOUNS = {"joint": "bad joint", "degraded": "degraded insulation", "several": "double damage"}
# So many show that the ends of a stretch differ, to a thousandth of a millimetre.
_MOST_DECIMALS = 6
# A best place is named where the intervals leave open no more than this share of the cable.
_NAMED = 0.25


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
    conductors, the clause names the kind first and the likeliest set after it, or the two likeliest
    where they are equally so.

    Parameters
    ----------
    estimate
        The answer.
    """
    if estimate.conflict:
        return f"undecided: {estimate.conflict_in_short}"
    if estimate.doubted:
        two = len(by_place(estimate.faults)) > 1
        damage = _NOUNS["several"] if two else damage_words(estimate.faults)
        return f"undecided: {damage}, or a slip in what was written"
    share = percent_words(estimate.probability)
    damage = damage_words(estimate.faults)
    if estimate.verdict == "undecided":
        kind = estimate.faults[0].kind if len(estimate.faults) == 1 else ""
        if any(other.verdict == kind for other in estimate.alternatives):
            return f"undecided; likeliest kind is {_NOUNS.get(kind, kind)} ({share})"
        return f"undecided; likeliest is {damage} ({share})"
    alike = [other for other in estimate.alternatives if other.verdict == estimate.verdict]
    if alike:
        kind = _NOUNS.get(estimate.verdict, estimate.verdict)
        own = estimate.faults_probability
        if own is None:
            own = estimate.probability - sum(other.probability for other in alike)
        if alike[0].probability >= _EQUALLY * own:
            either = f"{damage} or {damage_words(alike[0].faults)}"
            return f"{kind} ({share}); likeliest: {either}, equally ({percent_words(own)} each)"
        return f"{kind} ({share}); likeliest: {damage} ({percent_words(own)})"
    return f"{damage} ({share})"


def percent_words(probability: float) -> str:
    """A probability in whole percent, never "0 %" or "100 %".

    >>> percent_words(0.973), percent_words(0.99999), percent_words(0.0004)
    ('97 %', 'over 99 %', 'under 1 %')
    """
    if probability > 0.99:
        return "over 99 %"
    return "under 1 %" if probability < 0.01 else f"{100 * probability:.0f} %"


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


def resistance_words(fault: FaultEstimate, level: float) -> str:
    """A resistance as far as the readings tell it.

    Parameters
    ----------
    fault
        A fault as located that has a resistance.
    level
        Of its interval.

    Examples
    --------
    >>> from dataclasses import replace
    >>> short = FaultEstimate("short", ("core1", "braid"), None, 3.0, (2, 4), ((2, 4),), 55.3)
    >>> resistance_words(short, 0.95)
    'about 55.3 ohm'
    >>> resistance_words(replace(short, resistance_interval_ohm=(54.7, 56.0)), 0.95)
    'about 55.3 ohm (95 % within 54.7 to 56 ohm)'
    >>> resistance_words(replace(short, resistance_interval_ohm=(None, 230.0)), 0.95)
    'at most 230 ohm (95 %)'
    >>> resistance_words(replace(short, resistance_interval_ohm=(None, None)), 0.95)
    'not told by the readings'
    """
    best = f"about {_ohm_words(fault.resistance_ohm)}"
    if fault.resistance_interval_ohm is None:
        return best
    low, high = (None if end is None else _ohm_words(end) for end in fault.resistance_interval_ohm)
    share = f"{100 * level:g} %"
    if low is None and high is None:
        return "not told by the readings"
    if low is None or high is None:
        return f"at most {high} ({share})" if low is None else f"at least {low} ({share})"
    if low == high:
        return best
    number, _, unit = low.partition(" ")
    within = f"{number} to {high}" if high.endswith(f" {unit}") else f"{low} to {high}"
    return f"{best} ({share} within {within})"


def _ohm_words(ohm: float | None) -> str:
    return quantity_words(float(f"{ohm or 0.0:.3g}"), "ohm")


def true_fault_words(fault: Fault, cable: Cable) -> str:
    """A fault as it is, with its place or stretch and its resistance.

    Parameters
    ----------
    fault
        The fault.
    cable
        The cable that has it.

    Examples
    --------
    >>> from cablesim.cable.faults import Degraded
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> true_fault_words(Degraded(("core1", "braid"), 10.0, 12.5, 2e6), cable)
    'degraded insulation between core1 and braid, from 10.00 to 12.50 m, 2 Mohm'
    """
    told = f"{fault_words(fault)}, {place_words(float(fault.position_m), cable)}"
    if isinstance(fault, Degraded) and fault.to_m > fault.from_m:
        told = f"{fault_words(fault)}, from {float(fault.from_m):.2f} to {float(fault.to_m):.2f} m"
    ohm = float(fault.resistance_ohm)
    return f"{told}, {quantity_words(ohm, 'ohm')}" if math.isfinite(ohm) else told


def interval_words(
    intervals_m: Sequence[tuple[float, float]], decimals: int = 2, joining: str = "or"
) -> str:
    """One or more stretches in metres: one "or" the other, or all of them, "and".

    >>> interval_words([(3.1, 3.25), (12.0, 12.4)])
    '3.10 to 3.25 m, or 12.00 to 12.40 m'
    >>> interval_words([(-2.9, 0.5)], 1)
    '2.9 m before the cold joint to 0.5 m after it'
    """
    return f", {joining} ".join(_stretch(low, high, decimals) for low, high in intervals_m)


def _stretch(low: float, high: float, decimals: int) -> str:
    """One stretch, with decimals enough to tell its ends apart."""
    for more in range(decimals, _MOST_DECIMALS + 1):
        # The "z" of a format takes the minus off a rounded "-0.0".
        ends = [f"{end:z.{more}f}" for end in (low, high)]
        if ends[0] != ends[1]:
            break
    else:
        ends = [f"{end:z.{decimals}f}" for end in (low, high)]
    first, last = ends
    if not first.startswith("-"):
        return f"{first} to {last} m"
    first = first.removeprefix("-")
    if last.startswith("-"):
        return f"{first} to {last.removeprefix('-')} m before the cold joint, in the cold lead"
    past = f"{last} m after it" if float(last) else "the joint itself"
    return f"{first} m before the cold joint to {past}"


def metres_words(position_m: float, decimals: int = 2) -> str:
    """A place as a short number of metres, where it is clear that they are from the cold joint.

    >>> metres_words(12.414), metres_words(-1.3)
    ('12.41 m', '1.30 m before the cold joint')
    """
    told = f"{position_m:z.{decimals}f} m"
    return f"{told.removeprefix('-')} before the cold joint" if told.startswith("-") else told
