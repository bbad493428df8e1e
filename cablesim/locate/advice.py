"""What to mind before anyone acts on readings, and from when on damage counts as placed."""

from __future__ import annotations

from collections.abc import Iterable

from cablesim.cable.cable import Cable
from cablesim.instruments.meter import Meter
from cablesim.locate.effort import harmless_volt

__all__ = [
    "ALWAYS",
    "INSULATION",
    "cautions",
    "high_voltage",
    "methods_of",
    "placed_m",
]

# Damage counts as placed where its intervals together are at most this long.
PLACED_SHARE = 0.1
PLACED_LEAST_M = 0.5

# Kinds of meters and methods of a plan that put hundreds of volts on the cable, or energise it.
_VOLTAGE = {
    "insulation_tester": "an insulation test",
    "loop_bridge": "a loop bridge",
    "withstand_tester": "a withstand test",
    "withstand_and_camera": "a withstand test",
}
_CAMERA = {"thermal_camera", "withstand_and_camera"}

ALWAYS = (
    "Work dead: switch off, lock off and prove dead before touching the cable; local codes and "
    "licensed practice come first.",
)
ENERGISED = (
    "Energise a damaged cable only after its insulation to the braid has been tested, behind a "
    "residual-current device, at reduced voltage or limited current (a shorted cable draws more "
    "than its rating), for a short time, with nobody on the floor, by a licensed person.",
)
OPENING = (
    "Of several damages this answer knows two, each a short or a cut core; others can look like "
    "one in between.",
    "Confirm the place with a second, independent method before opening the floor, and lift the "
    "covering between the runs, not over them.",
    "After the repair take the three readings again before closing the floor.",
)


def high_voltage(methods: Iterable[str]) -> str:
    """The caution for what puts hundreds of volts on the cable; empty where nothing does.

    Parameters
    ----------
    methods
        Kinds of meters and methods.

    Examples
    --------
    >>> print(high_voltage(["ohmmeter", "loop_bridge"])[:48])
    A loop bridge puts a high voltage on the cable:
    >>> high_voltage(["ohmmeter"])
    ''
    """
    used = set(methods)
    named = list(dict.fromkeys(words for kind, words in _VOLTAGE.items() if kind in used))
    if not named:
        return ""
    *most, last = named
    told = f"{', '.join(most)} and {last} put" if most else f"{last} puts"
    return (
        f"{told[0].upper()}{told[1:]} a high voltage on the cable: nobody on the floor or at the "
        "ends, the thermostat disconnected, and discharge the cable afterwards."
    )


INSULATION = (high_voltage(["insulation_tester"]),)


def methods_of(meters: Iterable[Meter]) -> list[str]:
    """What `cautions` has to know of meters: their kinds, without bridges on a few volts."""
    return [meter.kind for meter in meters if not harmless_volt(meter)]


def cautions(methods: Iterable[str], *, opening: bool) -> tuple[str, ...]:
    """Usual cautions for what was done and what may come next.

    Parameters
    ----------
    methods
        Kinds of the meters that were read, and methods that are advised.
    opening
        Whether somebody may open the floor on this answer.
    """
    used = set(methods)
    said = list(ALWAYS)
    if voltage := high_voltage(used):
        said.append(voltage)
    if used & _CAMERA:
        said += ENERGISED
    if opening:
        said += OPENING
    return tuple(said)


def placed_m(cable: Cable) -> float:
    """Length of the intervals [m] up to which damage counts as placed."""
    return max(PLACED_LEAST_M, PLACED_SHARE * float(cable.heated_length_m))
