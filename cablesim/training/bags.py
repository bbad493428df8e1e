"""Bags of meters, and every reading that can be taken with one on a cable."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from cablesim.cable.cable import Cable
from cablesim.errors import InputError, nearest
from cablesim.instruments.meter import first_of_kind
from cablesim.instruments.meters import Meter
from cablesim.instruments.readings import Probe
from cablesim.instruments.standard import standard_probes, usual_meter
from cablesim.locate.candidates import candidates

__all__ = ["BAGS", "bag_of", "first_probes", "probes_of"]

# What an electrician has at hand, what one who looks for faults brings along, and what a specialist
# adds; common practice, no source.
BAGS: Mapping[str, tuple[str, ...]] = {
    "pocket": ("ohmmeter", "insulation_tester"),
    "usual": ("ohmmeter", "insulation_tester", "capacitance_meter"),
    "full": (
        *("ohmmeter", "insulation_tester", "capacitance_meter"),
        *("loop_bridge", "pulse_echo"),
    ),
}
_KINDS = BAGS["full"]


def bag_of(names: Sequence[str]) -> dict[str, Meter]:
    """Meters by name, with the errors that are usual for them.

    Parameters
    ----------
    names
        Names of `BAGS`, and kinds of meters.

    Raises
    ------
    InputError
        If a name is none of these, or there is no ohmmeter: without one nobody begins.

    Examples
    --------
    >>> list(bag_of(["pocket", "loop_bridge"]))
    ['ohmmeter', 'insulation_tester', 'loop_bridge']
    """
    kinds: dict[str, None] = {}
    for name in names:
        if name not in BAGS and name not in _KINDS:
            near = nearest(name, [*BAGS, *_KINDS])
            raise InputError(
                "bag",
                name,
                f"one of {', '.join(BAGS)}, or kinds of meters ({', '.join(_KINDS)})",
                f"did you mean {near}?" if near else None,
            )
        kinds |= dict.fromkeys(BAGS.get(name, (name,)))
    if "ohmmeter" not in kinds:
        raise InputError("bag", list(names), "one with an ohmmeter", "add ohmmeter")
    return {kind: usual_meter(kind) for kind in _KINDS if kind in kinds}


def first_probes(cable: Cable, meters: Mapping[str, Meter]) -> tuple[Probe, ...]:
    """The three ohm readings that everybody takes first.

    Parameters
    ----------
    cable
        The cable; its construction decides.
    meters
        The bag.
    """
    return tuple(p for p in probes_of(cable, meters) if p.meter.kind == "ohmmeter")[:3]


def probes_of(cable: Cable, meters: Mapping[str, Meter]) -> tuple[Probe, ...]:
    """Every reading that can be taken with a bag, the ohm readings first.

    Parameters
    ----------
    cable
        The cable; its construction decides.
    meters
        The bag; the first meter of each kind is used.
    """
    own = first_of_kind(meters.values())
    usual = [p for p in standard_probes(cable) if p.meter.kind in own]
    asked = [replace(probe, meter=own[probe.meter.kind]) for probe in usual]
    found = [c.probe for c in candidates(cable, asked) if c.method in own]
    found = [replace(probe, meter=own[probe.meter.kind]) for probe in found]
    return tuple(sorted(found, key=lambda probe: probe.meter.kind != "ohmmeter"))
