"""What a repair does to a cable: cut out, spliced or pieced, and what every meter reads afterwards.

A repair at a place takes a length out around it, may put a piece of cold cable in, and joins what
was cut: one joint in each conductor, or two where a piece goes in. All damage at the place goes
with it. The readings afterwards come from the exact circuit of the sections that are left
(`cablesim.line.mended`).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Fault
from cablesim.cable.numbers import FloatArray, require
from cablesim.errors import InputError
from cablesim.instruments.readings import Probe
from cablesim.line.mended import Section, mended_network

__all__ = [
    "SPLICE_M",
    "STEPS",
    "STEPS_SOURCE",
    "USUAL_JOINT_OHM",
    "Mend",
    "heated_m_left",
    "mends_for",
    "predict_mended",
    "sections_of",
]

# Resistance of a sound crimped joint in one conductor; common practice, no source.
USUAL_JOINT_OHM = 0.01
# Damage nearer together than the length of a splice kit's sleeve is mended at once; common
# practice, no source.
SPLICE_M = 0.3

STEPS_SOURCE = "common practice, no source"
STEPS = (
    "Switch off, lock off, prove dead; where an insulation test was taken, discharge the cable.",
    "Break the covering between the runs, not over them, and free enough cable to lift it.",
    "Cut the damage out; about 25 mm of jacket and braid off each side, about 6 mm of core bared. "
    "A wire stripper made for standard sizes nicks a heating core.",
    "Slide every sleeve on before the first joint. Join core to core, each joint sleeved and "
    "sealed, the joints of the cores staggered so that they do not lie side by side.",
    "Keep the braid clear of the cores and join it across, so that it is continuous.",
    "Outer adhesive-lined sleeve over all, shrunk from both sides until adhesive shows.",
    "Take the three readings and the insulation again, hold them against the limits, and write "
    "them down before closing; then again after covering.",
)


@dataclass(frozen=True, slots=True)
class Mend:
    """A repair at one place.

    Parameters
    ----------
    at_m
        Middle of what is cut out, as the cable lay before [m from the cold joint].
    joint_ohm
        Resistance of each joint in each conductor [ohm].
    removed_m
        Length cut out [m].
    inserted_m
        Length of cold cable put in [m]; with any there are two joints in each conductor.
    """

    at_m: float
    joint_ohm: float = USUAL_JOINT_OHM
    removed_m: float = 0.0
    inserted_m: float = 0.0

    def __post_init__(self) -> None:
        require("at_m", self.at_m)
        require("joint_ohm", self.joint_ohm, at_least=0.0, at_most=1e6)
        require("removed_m", self.removed_m, at_least=0.0, at_most=1e6)
        require("inserted_m", self.inserted_m, at_least=0.0, at_most=1e6)

    def cut_m(self, cable: Cable) -> tuple[float, float]:
        """From where to where the cable is cut out [m from the cold joint], within its ends.

        Raises
        ------
        InputError
            If the place lies off the cable, or more is cut out than there is.
        """
        first, last = float(cable.first_m), float(cable.last_m)
        require("at_m", self.at_m, at_least=first, at_most=last)
        if self.removed_m >= last - first:
            raise InputError(
                "removed_m", self.removed_m, f"less than the whole cable, {last - first:g} m"
            )
        low = min(max(self.at_m - self.removed_m / 2, first), last - self.removed_m)
        return low, low + self.removed_m


def mends_for(
    places: Sequence[Fault | float],
    *,
    joint_ohm: float = USUAL_JOINT_OHM,
    removed_m: float = 0.0,
    inserted_m: float = 0.0,
) -> tuple[Mend, ...]:
    """One mend for every damaged place.

    Parameters
    ----------
    places
        Faults, or places [m from the cold joint]. Those nearer together than `SPLICE_M`, or than
        what is cut out, are mended at once. A leaking stretch is cut out whole.
    joint_ohm, inserted_m
        As for `Mend`, the same everywhere.
    removed_m
        What is cut out at each place at least [m].

    Raises
    ------
    InputError
        If a value cannot be.

    Examples
    --------
    >>> [mend.at_m for mend in mends_for([12.0, 3.0, 12.2])]
    [3.0, 12.1]
    """
    # Checked here as well: what is cut out is the larger of this and a leaking stretch.
    require("removed_m", removed_m, at_least=0.0)
    ends = sorted(
        (float(p.from_m), float(p.to_m))
        if isinstance(p, Degraded)
        else ((float(p),) * 2 if isinstance(p, int | float) else (float(p.position_m),) * 2)
        for p in places
    )
    groups: list[tuple[float, float]] = []
    for low, high in ends:
        if groups and low - groups[-1][1] < max(SPLICE_M, removed_m):
            groups[-1] = (groups[-1][0], max(groups[-1][1], high))
        else:
            groups.append((low, high))
    return tuple(
        Mend((low + high) / 2, joint_ohm, max(removed_m, high - low), inserted_m)
        for low, high in groups
    )


def sections_of(cable: Cable, mends: Sequence[Mend]) -> tuple[Section, ...]:
    """What a mended cable consists of, from its near terminals to its far end.

    Parameters
    ----------
    cable
        As laid; plain numbers.
    mends
        The repairs, in any order.

    Raises
    ------
    InputError
        If a place lies off the cable, or two repairs overlap.
    """
    first, last = float(cable.first_m), float(cable.last_m)
    heated_m = float(cable.heated_length_m)
    mends = sorted(mends, key=lambda mend: mend.at_m)
    cuts = [mend.cut_m(cable) for mend in mends]
    for (_, end), (begin, _) in pairwise(cuts):
        if end > begin:
            raise InputError(
                f"two repairs overlap: one ends at {end:g} m, the next begins at {begin:g} m",
                try_this="cut less out, or mend both places at once",
            )
    sections: list[Section] = []
    at, joint_ohm = first, 0.0
    for mend, (low, high) in zip([*mends, None], [*cuts, (last, last)], strict=True):
        for begin, end, heated in (
            (first, 0.0, False),
            (0.0, heated_m, True),
            (heated_m, last, False),
        ):
            length = min(end, low) - max(begin, at)
            if length > 0.0:
                sections.append(Section(length, heated, joint_ohm))
                joint_ohm = 0.0
        if mend is not None:
            joint_ohm += mend.joint_ohm
            if mend.inserted_m > 0.0:
                sections.append(Section(mend.inserted_m, False, joint_ohm))
                joint_ohm = mend.joint_ohm
            at = high
    if joint_ohm > 0.0:  # a joint at the very end
        sections.append(Section(0.0, not cable.construction.returns, joint_ohm))
    return tuple(sections)


def heated_m_left(cable: Cable, mends: Sequence[Mend]) -> float:
    """Heated length that is left after the repairs [m].

    >>> cable = Cable.rated("twin", 30.0, 88.2)
    >>> heated_m_left(cable, [Mend(12.0, removed_m=0.5, inserted_m=0.5)])
    29.5
    """
    return sum(part.length_m for part in sections_of(cable, mends) if part.heated)


def predict_mended(cable: Cable, mends: Sequence[Mend], probes: Sequence[Probe]) -> FloatArray:
    """What ideal meters without leads show on the mended cable, its insulation charged.

    Parameters
    ----------
    cable
        As laid and healthy; plain numbers.
    mends
        The repairs; none gives the healthy cable.
    probes
        Meters that see what is between their leads: ohmmeters, insulation testers, capacitance
        meters.

    Returns
    -------
    ndarray, shape (readings,)
        Values in each meter's own unit; infinite where no path joins the leads.

    Raises
    ------
    InputError
        If a repair does not fit the cable, or a meter sees places.

    Examples
    --------
    Half a metre less of a cable of 2.94 ohm/m, and four joints of 10 milliohm:

    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", 30.0, 88.2, cold_lead_m=0.0)
    >>> mend = Mend(12.0, joint_ohm=0.01, removed_m=0.5)
    >>> print(predict_mended(cable, [mend], standard_probes(cable)[:1]).round(3))
    [86.75]
    """
    sections = sections_of(cable, mends)
    found = []
    for probe in probes:
        meter = probe.meter
        if meter.sees_places:
            raise InputError("meter", meter.kind, "one that reads between its leads")
        setting = replace(probe.setting, seconds=None)
        network = mended_network(
            cable, sections, probe.hookup.terminals, meter.frequency_hz(setting)
        )
        found.append(np.asarray(meter.exact(network, probe.hookup, setting), float))
    return np.array([float(value) for value in found])
