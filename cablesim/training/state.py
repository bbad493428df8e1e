"""Where a drill stands: one frozen value, and the world it is played in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, TypeVar

from cablesim.cable.cable import Cable
from cablesim.instruments.meter import Meter, Setting
from cablesim.instruments.readings import Probe
from cablesim.instruments.standard import standard_probes
from cablesim.training.bench import Bench, Shown

if TYPE_CHECKING:
    from cablesim.site.plan import Plan

__all__ = [
    "FINISHED",
    "STOPPED",
    "Line",
    "Marked",
    "Opened",
    "State",
    "Suspected",
    "World",
    "same_leads",
]

STOPPED, FINISHED = "stopped", "finished"


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the sheet of readings.

    Parameters
    ----------
    number
        Of the act that read it.
    minutes
        When it was read.
    shown
        What the display said, with meter, hook-up and setting.
    zero_ohm
        What the meter took off since its leads were zeroed [ohm]; None where they were not.
    when
        Empty for a reading of the damage; else ``after repair`` or ``after covering``.
    """

    number: int
    minutes: float
    shown: Shown
    zero_ohm: float | None
    when: str


@dataclass(frozen=True, slots=True)
class Suspected:
    """What the trainee held broken; with `also`, beside what was held before."""

    number: int
    kind: str
    conductors: tuple[str, ...]
    also: bool = False


@dataclass(frozen=True, slots=True)
class Marked:
    """Where the trainee held it broken; without a place: that it cannot be located."""

    number: int
    at_m: float | None
    within_m: float
    also: bool = False


@dataclass(frozen=True, slots=True)
class Opened:
    """One opening of the floor.

    Parameters
    ----------
    number
        Of the act.
    at_m, within_m
        Where it was opened, and how far to either side [m from the cold joint].
    how
        ``tiles`` lifted, a ``patch`` cut, a ``chase`` opened where there is no plan, or a ``look``
        where nothing covers the cable.
    tiles
        Tiles lifted for it that no earlier opening had lifted, by column and row.
    area_m2
        Its area, where it is a patch; else 0.
    bare_m
        Stretches of cable that lie bare in it [m from the cold joint].
    damage
        Numbers of the faults of the case that are to be seen in it.
    """

    number: int
    at_m: float
    within_m: float
    how: str
    tiles: tuple[tuple[int, int], ...]
    area_m2: float
    bare_m: tuple[tuple[float, float], ...]
    damage: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class State:
    """Where a drill stands.

    Parameters
    ----------
    number
        Acts so far, refused ones included.
    minutes
        Of work so far.
    live, locked, proved
        Whether the supply is on, locked off, and proved dead since.
    connected
        Whether the cable is still in the thermostat.
    clear
        Whether nobody is on the floor or at the ends.
    charged
        Name of the meter whose voltage the cable still holds; empty where it is discharged.
    leave
        Whether leave for high voltage was given.
    meter
        Name of the meter in hand; empty for none.
    across, links
        What its leads touch.
    settings
        How each meter is set.
    zero_ohm
        What each ohmmeter takes off since its leads were zeroed [ohm].
    display
        What the display says; None where nothing was read since the leads moved.
    display_at
        Number and minutes of the act that read it.
    lines
        The sheet of readings.
    suspected, marked, opened
        What the trainee said and did, in order.
    mended
        Numbers of the faults of the case that are mended.
    splices_m
        Places of the splices [m from the cold joint].
    repaired
        Number of the last repair; 0 for none.
    closed
        Whether every opening is closed again.
    refused
        How many acts were refused.
    asked_back
        Whether handing back was answered by asking about the place that is marked and not mended.
    over
        `STOPPED`, `FINISHED`, or empty while it goes on.
    rule, reason
        Which rule it was stopped by, in short, and why.
    """

    number: int = 0
    minutes: float = 0.0
    live: bool = True
    locked: bool = False
    proved: bool = False
    connected: bool = True
    clear: bool = False
    charged: str = ""
    leave: bool = False
    meter: str = ""
    across: tuple[str, ...] = ()
    links: tuple[tuple[str, ...], ...] = ()
    settings: Mapping[str, Setting] = field(default_factory=dict)
    zero_ohm: Mapping[str, float] = field(default_factory=dict)
    display: Shown | None = None
    display_at: tuple[int, float] = (0, 0.0)
    lines: tuple[Line, ...] = ()
    suspected: tuple[Suspected, ...] = ()
    marked: tuple[Marked, ...] = ()
    opened: tuple[Opened, ...] = ()
    mended: tuple[int, ...] = ()
    splices_m: tuple[float, ...] = ()
    repaired: int = 0
    closed: bool = True
    refused: int = 0
    asked_back: bool = False
    over: str = ""
    rule: str = ""
    reason: str = ""

    @property
    def suspects(self) -> tuple[Suspected, ...]:
        """What the trainee holds broken now."""
        return _standing(self.suspected)

    @property
    def marks(self) -> tuple[Marked, ...]:
        """Where the trainee holds it broken now."""
        return _standing(self.marked)

    @property
    def dead(self) -> bool:
        """Whether the cable may be touched: switched off, locked off, proved dead."""
        return not self.live and self.locked and self.proved

    @property
    def tiles(self) -> int:
        """How many tiles were lifted."""
        return sum(len(opening.tiles) for opening in self.opened)

    @property
    def area_m2(self) -> float:
        """How much floor was opened where it has no tiles [m2]."""
        return sum(opening.area_m2 for opening in self.opened)

    @property
    def when(self) -> str:
        """What a reading taken now is a reading of, as a scenario file says it."""
        if not self.repaired:
            return ""
        return "after covering" if self.closed else "after repair"


@dataclass(frozen=True, slots=True)
class World:
    """What a drill is played in.

    Parameters
    ----------
    cable
        As its label says.
    meters
        The bag, by name.
    bench
        The truth, and the chance of its meters.
    plan
        Where on the floor the cable lies; None where nobody knows.
    covered
        Whether the covering is closed over the cable.
    """

    cable: Cable
    meters: Mapping[str, Meter]
    bench: Bench
    plan: Plan | None = None
    covered: bool = True
    _mended: dict[tuple[tuple[int, ...], tuple[float, ...]], Bench] = field(
        default_factory=dict, init=False, repr=False, compare=False
    )

    def bench_at(self, state: State) -> Bench:
        """The bench as far as it is mended."""
        if not state.splices_m:
            return self.bench
        key = (state.mended, state.splices_m)
        if key not in self._mended:
            gone = tuple(self.bench.faults[k] for k in state.mended)
            self._mended[key] = self.bench.mended(gone, state.splices_m)
        return self._mended[key]

    @property
    def resistances(self) -> tuple[tuple[str, ...], ...]:
        """The readings that come first on any cable: the resistance between every two ends."""
        return tuple(
            probe.hookup.across
            for probe in standard_probes(self.cable)
            if probe.meter.kind == "ohmmeter"
        )

    def has(self, kind: str) -> bool:
        """Whether the bag holds a meter of a kind."""
        return any(meter.kind == kind for meter in self.meters.values())


_Said = TypeVar("_Said", Suspected, Marked)


def _standing(said: tuple[_Said, ...]) -> tuple[_Said, ...]:
    """The last thing said afresh, and all that was said beside it since."""
    fresh = max((k for k, one in enumerate(said) if not one.also), default=0)
    return said[fresh:]


def same_leads(probe: Probe, across: tuple[str, ...]) -> bool:
    """Whether a reading's leads touch this, in either order and without links."""
    wanted = [frozenset(lead.split("+")) for lead in across]
    touched = [frozenset(str(t) for t in lead) for lead in probe.hookup.leads]
    return not probe.hookup.links and touched in (wanted, wanted[::-1])
