"""A scenario: a cable, what is broken in it, the meters in the bag, and what was read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import astuple, dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.cable.placing import check_faults
from cablesim.cable.shown import Shown
from cablesim.errors import InputError, nearest
from cablesim.instruments.meters import METER_KINDS, LoopBridge, Meter
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.standard import usual_setting
from cablesim.line.pulse import Trace
from cablesim.line.several import Installation, Part
from cablesim.locate.prior import KINDS
from cablesim.scenario.practice import Practice

if TYPE_CHECKING:
    from cablesim.site.plan import Plan
    from cablesim.site.survey import Survey

__all__ = ["AFTER", "EchoTraces", "Entry", "Scenario"]

# When a reading after a repair was taken: before the covering is closed over it, or afterwards.
AFTER = ("after repair", "after covering")


@dataclass(frozen=True, slots=True, eq=False)
class EchoTraces:
    """What a pulse echo meter recorded.

    Parameters
    ----------
    damaged
        Of the cable as it is.
    healthy
        Of the same cable while it was whole, or None.
    """

    damaged: Trace
    healthy: Trace | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """One ``[[reading]]``: a reading as taken, or, without a value, one to predict.

    Parameters
    ----------
    probe
        Meter, hook-up and setting. What the setting leaves open becomes what is usual.
    reading
        What the display said, or None.
    seconds
        How long the test voltage was on [s], where known.
    note
        Free text.
    when
        Where it was taken after the repair: ``after repair``, before covering, or ``after
        covering``. Else empty: a reading of the damage.
    traces
        The traces of a pulse echo meter from which the reading was taken, where it came so. The
        reading is what counts: without them a scenario is the same.
    """

    probe: Probe
    reading: Reading | None = None
    seconds: float | None = None
    note: str = ""
    when: str = ""
    traces: EchoTraces | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        if self.reading is not None and self.reading.probe != self.probe:
            raise InputError("reading", self.reading, "one of the entry's own probe")
        if self.when not in ("", *AFTER):
            raise InputError("when", self.when, " or ".join(AFTER))
        setting = usual_setting(self.probe.meter, self.probe.setting)
        # One home for the time: the setting. Here it may be given beside a probe that has none.
        if self.seconds is not None:
            setting = replace(setting, seconds=self.seconds)
        object.__setattr__(self, "seconds", setting.seconds)
        probe = replace(self.probe, setting=setting)
        if isinstance(probe.meter, LoopBridge) and setting.method != "varley":
            probe = _with_arms_of(probe, probe.meter, self.reading)
        if self.reading is not None:
            object.__setattr__(self, "reading", replace(self.reading, probe=probe))
        object.__setattr__(self, "probe", probe)

    @classmethod
    def of(cls, what: Probe | Reading, seconds: float | None = None, note: str = "") -> Entry:
        """Make an entry from a probe or from a reading."""
        if isinstance(what, Reading):
            return cls(what.probe, what, seconds, note)
        return cls(what, None, seconds, note)


def _with_arms_of(probe: Probe, bridge: LoopBridge, reading: Reading | None) -> Probe:
    """Make a slide's arms those of the reading; none where there is no reading, or no balance.

    A person writes down arms, a program a share; the file holds arms.
    """
    setting = probe.setting
    if reading is None or not np.isfinite(reading.shown):
        return replace(probe, setting=replace(setting, arms=None))
    share = reading.shown
    total = sum(setting.arms or ())
    if setting.arms is not None and total > 0 and setting.arms[1] / total == share:
        return probe
    faulty = float(round(share * bridge.divisions))
    sound = bridge.divisions - faulty
    if faulty / (sound + faulty) != share:
        # The sum of these two is 1 exactly, whatever the rounding of the difference.
        sound, faulty = 1.0 - share, share
    return replace(probe, setting=replace(setting, arms=(sound, faulty)))


@dataclass(frozen=True, slots=True, eq=False)
class Scenario(Shown):
    """What a scenario file says, checked.

    Two scenarios are equal where all they say is equal.

    Parameters
    ----------
    cable
        The cable as laid; plain numbers, no arrays.
    faults
        What is broken, as far as known.
    entries
        The readings in file order, those taken and those to predict.
    meters
        The bag: the meters by name. Those of the entries are added.
    supply_volt
        Supply voltage [V], where known.
    title
        One line for people.
    established
        Kinds of damage held possible, where other tests have settled that; empty for all.
    floor
        What is known of the floor, or None.
    others
        Further cables that are joined to it, with their faults.
    joins
        Groups of terminals that are joined, as texts; empty where all cables are parallel at the
        thermostat.
    after_repair
        Readings taken after the repair, in file order; they say nothing of the damage, and nobody
        locates by them.
    practice
        What makes it a case to practise on, or None.

    Raises
    ------
    InputError
        If a fault does not fit the cable, if two different meters have one name, if a number is an
        array, or if the cable cannot lie on the floor as stated.
    """

    cable: Cable
    faults: tuple[Fault, ...] = ()
    entries: tuple[Entry, ...] = ()
    meters: Mapping[str, Meter] = field(default_factory=dict)
    supply_volt: float | None = None
    title: str = ""
    established: tuple[str, ...] = ()
    floor: Survey | None = None
    others: tuple[Part, ...] = ()
    joins: tuple[tuple[str, ...], ...] = ()
    after_repair: tuple[Entry, ...] = ()
    practice: Practice | None = None

    def __post_init__(self) -> None:
        for kind in self.established:
            if kind not in KINDS:
                near = nearest(kind, KINDS)
                raise InputError(
                    "established",
                    kind,
                    f"some of {', '.join(KINDS)}",
                    f"did you mean {near}?" if near else None,
                )
        for item in (i for part in self.parts for i in (part.cable, *part.faults)):
            for name in (part.name for part in fields(item)):
                value = getattr(item, name)
                if any(np.ndim(v) for v in (value if isinstance(value, tuple) else (value,))):
                    raise InputError(name, value, "one number", "a scenario holds no batch")
        check_faults(self.cable, self.faults)
        if any(entry.when for entry in self.entries):
            raise InputError("entries", "one after a repair", "readings of the damage alone")
        if not all(entry.when and entry.reading for entry in self.after_repair):
            raise InputError("after_repair", "an entry", "readings with a value, and when")
        meters = dict(self.meters)
        for name, meter in meters.items():
            _check_meter_name(name, meter)
        for entry in (*self.entries, *self.after_repair):
            meter = entry.probe.meter
            _check_meter_name(meter.name, meter)
            if meters.setdefault(meter.name, meter) != meter:
                raise InputError(
                    f"meter {meter.name!r} stands for two different meters",
                    try_this="give each a name of its own",
                )
        object.__setattr__(self, "meters", meters)
        _ = self.plan
        _ = self.laid

    @classmethod
    def of(
        cls,
        cable: Cable,
        faults: Iterable[Fault] = (),
        readings: Iterable[Probe | Reading] = (),
        *,
        meters: Iterable[Meter] = (),
        supply_volt: float | None = None,
        title: str = "",
        established: Iterable[str] = (),
        floor: Survey | None = None,
        others: Iterable[Part] = (),
        joins: Iterable[Iterable[str]] = (),
        practice: Practice | None = None,
    ) -> Scenario:
        """Make a scenario from plain parts.

        Parameters
        ----------
        cable, faults, supply_volt, title, established, floor, others, joins, practice
            As for `Scenario`.
        readings
            Readings taken, and probes to predict, in order.
        meters
            The bag; the meters of the readings need not be named again.

        Examples
        --------
        >>> from cablesim.cable.faults import Short
        >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
        >>> scenario = Scenario.of(cable, [Short(("core1", "braid"), 12.4, 55.0)])
        >>> scenario.faults[0].at_m
        12.4
        """
        return cls(
            cable=cable,
            faults=tuple(faults),
            entries=tuple(Entry.of(reading) for reading in readings),
            meters={meter.name: meter for meter in meters},
            supply_volt=supply_volt,
            title=title,
            established=tuple(established),
            floor=floor,
            others=tuple(others),
            joins=tuple(tuple(group) for group in joins),
            practice=practice,
        )

    @property
    def probes(self) -> tuple[Probe, ...]:
        """Every reading as a probe, in file order."""
        return tuple(entry.probe for entry in self.entries)

    @property
    def readings(self) -> tuple[Reading, ...]:
        """The readings that have a value, in file order."""
        return tuple(entry.reading for entry in self.entries if entry.reading is not None)

    @property
    def parts(self) -> tuple[Part, ...]:
        """Every cable with its faults, the main one first."""
        return (Part("", self.cable, self.faults), *self.others)

    @property
    def laid(self) -> Cable | Installation:
        """What is between the terminals: the cable, or all that are joined."""
        if not self.others:
            if self.joins:
                raise InputError("joins", [list(g) for g in self.joins], "empty for one cable")
            return self.cable
        others = {part.name: (part.cable, part.faults) for part in self.others}
        return Installation.of(self.cable, others, self.joins or None)

    @property
    def plan(self) -> Plan | None:
        """Where on its floor the cable lies; None where the scenario does not say."""
        if self.floor is None or not self.floor.has_route:
            return None
        from cablesim.site.plan import plan_of

        return plan_of(self.floor, float(self.cable.heated_length_m))

    def __eq__(self, other: object) -> bool:
        if not isinstance(other, Scenario):
            return NotImplemented
        return self._content() == other._content()

    def __hash__(self) -> int:
        return hash(self._content()[:3])

    def _content(self) -> tuple[Any, ...]:
        return (
            self.title,
            self.established,
            self.supply_volt,
            len(self.entries),
            astuple(self.cable),
            tuple((type(fault), astuple(fault)) for fault in self.faults),
            self.entries,
            self.meters,
            self.floor,
            tuple(
                (p.name, astuple(p.cable), tuple((type(f), astuple(f)) for f in p.faults))
                for p in self.others
            ),
            self.joins,
            self.after_repair,
            self.practice,
        )


def _check_meter_name(name: str, meter: Meter) -> None:
    if meter.name != name:
        raise InputError("meters", name, f"the meter's own name, {meter.name}")
    if name in METER_KINDS and name != meter.kind:
        raise InputError(
            f"meter {name!r} has the name of a kind but is a {meter.kind}",
            try_this="give it another name",
        )
