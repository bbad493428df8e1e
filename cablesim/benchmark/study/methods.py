"""The methods that a study maps: what each reads, what it is meant for, and what it answers."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from cablesim.benchmark.estimator import estimator_named, estimator_names
from cablesim.benchmark.grades import graded
from cablesim.benchmark.study.damages import DAMAGES, Damage
from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError, looked_up
from cablesim.instruments.meters import Meter, Setting
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.instruments.standard import standard_probes, usual_meter, usual_setting
from cablesim.line.terminals import Hookup
from cablesim.locate.batch import answers
from cablesim.locate.budget import Declined
from cablesim.locate.effort import USUAL_EFFORT
from cablesim.locate.recipes import RECIPES

__all__ = ["METHODS", "Method", "Said", "method_named", "methods_for"]

# Arms of a Varley bridge; common practice, no source.
_ARMS = (10.0, 10.0)

_Wanted = tuple[str, tuple[str, ...], Setting, tuple[tuple[str, ...], ...]]


@dataclass(frozen=True, slots=True)
class Said:
    """Answers held against the truth; arrays of shape (...).

    Parameters
    ----------
    place_m
        Places [m from the cold joint]; NaN where declined.
    half_width_m
        Half of the length of the interval, or of several together [m]; NaN where declined.
    held
        Whether the interval holds the truth; false where declined.
    """

    place_m: FloatArray
    half_width_m: FloatArray
    held: NDArray[np.bool]


@dataclass(frozen=True, slots=True)
class Method:
    """A method of locating, as a study needs it.

    Parameters
    ----------
    name
        A classical one, or a registered estimator.
    damages
        Names of the damage that it is meant for, the main one first.
    wanted
        From cable and damage to the readings: kind of meter, what its leads touch, setting, links.
    """

    name: str
    damages: tuple[str, ...]
    wanted: Callable[[Cable, Damage], tuple[_Wanted, ...]]

    def probes(
        self, cable: Cable, damage: Damage, bag: Mapping[str, Meter] | None = None
    ) -> tuple[Probe, ...]:
        """The readings that it takes, with the meters of a bag by kind, or usual ones.

        Raises
        ------
        InputError
            If the cable lacks what the leads should touch.
        """
        if not self.classical:
            found = standard_probes(cable)
        else:
            made = []
            for kind, across, setting, links in self.wanted(cable, damage):
                meter = usual_meter(kind)
                hookup = Hookup.of(cable, across, links)
                made.append(Probe(meter, hookup, usual_setting(meter, setting)))
            found = tuple(made)
        return graded(found, bag or {})

    def unfit(self, cable: Cable, damage: Damage) -> str:
        """Why it does not serve this damage on this cable, as a clause; empty where it does."""
        if damage.name not in self.damages:
            return f"is not meant for: {damage.words} (it is for {', '.join(self.damages)})"
        if not damage.fits(cable):
            return "needs two cores"
        if not self.classical:
            informed = estimator_named(self.name).informed
            return "must be told the true cable, which no method is" if informed else ""
        try:
            probes = self.probes(cable, damage)
        except InputError:
            return f"reads leads that a {cable.construction.name} cable lacks"
        if any(p.meter.kind == "loop_bridge" for p in probes) and not _loops(cable):
            return "needs a loop: cores joined at the far end, or both ends at hand"
        # Any value will do: what a recipe declines then is the cable.
        found = RECIPES[self.name](cable, [Reading(probe, 0.4) for probe in probes])
        if isinstance(found, Declined):
            return found.reason
        (placed, *_), (broken, *_) = found.damage(0.0, 1.0), damage.faults(cable, 0.0, 1.0, 0.0)
        pairs = {getattr(fault, "between", ()) for fault in (placed, broken)}
        return "" if len(pairs) == 1 else f"places another damage on this cable than {damage.name}"

    def said(
        self,
        cable: Cable,
        probes: Sequence[Probe],
        shown: FloatArray,
        truth_m: FloatArray,
        *,
        level: float,
    ) -> Said:
        """What it says to each set of displays, held against the truth.

        An answer whose whole interval lies off the cable counts as declined: it says that the
        method does not fit what is broken. So does one of an estimator that calls the damage not
        locatable.

        Parameters
        ----------
        cable
            As rated.
        probes, shown
            What was read, and the displays, shape (..., readings).
        truth_m : ndarray
            True places, to be broadcast to shape (...) [m].
        level
            Probability that the intervals are meant to hold.

        Raises
        ------
        InputError
            If an estimator states intervals of another level.
        """
        if not self.classical:
            return _one_by_one(self.name, cable, probes, shown, truth_m, level)
        found = answers(self.name, cable, probes, shown, level=level)
        low, high = found.place_m - found.half_width_m, found.place_m + found.half_width_m
        found = found.without((high < float(cable.first_m)) | (low > float(cable.last_m)))
        if self.name == "echo_time":
            found = found.without(_from_the_end(cable, probes[0], shown[..., 0]))
        held = np.abs(found.place_m - truth_m) <= found.half_width_m
        return Said(found.place_m, found.half_width_m, held)

    @property
    def classical(self) -> bool:
        """Whether it is a closed form, answered for a whole batch at once."""
        return self.name in RECIPES

    @property
    def formulation(self) -> str:
        """What makes the readings: the ladder where the answer inverts the exact circuit."""
        return "exact" if self.classical else "ladder"

    def minutes(self, probes: Sequence[Probe]) -> float:
        """Minutes of work that its readings cost."""
        return sum(USUAL_EFFORT[probe.meter.kind].minutes for probe in probes)

    def risk(self, probes: Sequence[Probe]) -> str:
        """Most dangerous of its readings, one of `cablesim.locate.effort.RISKS`."""
        return max((USUAL_EFFORT[p.meter.kind] for p in probes), key=lambda cost: cost.rank).risk


def method_named(name: str) -> Method:
    """Look a method up: a classical one, or any registered estimator on the usual readings.

    Raises
    ------
    InputError
        If there is none of this name; the message gives the nearest.
    """
    looked_up("method", name, dict.fromkeys(estimator_names()))
    return METHODS.get(name) or Method(name, tuple(DAMAGES), _always())


def methods_for(cable: Cable, damage: Damage) -> tuple[Method, ...]:
    """Every classical method that serves this damage on this cable."""
    return tuple(method for method in METHODS.values() if not method.unfit(cable, damage))


def _loops(cable: Cable) -> bool:
    return cable.construction.returns or cable.far_end == "joined"


def _from_the_end(cable: Cable, probe: Probe, shown: FloatArray) -> NDArray[np.bool]:
    """Echoes that may be as late as a healthy cable's first one, at the speeds held possible."""
    healthy_ns = float(predict(cable, (), [probe])[..., 0])
    fastest = 1 + cable.velocity_tolerance_percent[1] / 100
    meter = probe.meter
    step_ns = float(meter.step_of(0.0, probe.setting))
    apart_ns = (meter.accuracy_counts + 0.5) * step_ns + meter.accuracy_percent / 100 * shown
    return np.asarray(shown + apart_ns >= healthy_ns / fastest)


def _one_by_one(
    name: str,
    cable: Cable,
    probes: Sequence[Probe],
    shown: FloatArray,
    truth_m: FloatArray,
    level: float,
) -> Said:
    """What a registered estimator answers, one case after the other."""
    estimator = estimator_named(name)
    shape = shown.shape[:-1]
    truth = np.broadcast_to(truth_m, shape)
    place, half = np.full(shape, np.nan), np.full(shape, np.nan)
    held = np.zeros(shape, bool)
    for where in np.ndindex(shape):
        readings = [Reading(p, float(value)) for p, value in zip(probes, shown[where], strict=True)]
        found = estimator.answer(cable, readings)
        if found.position_m is None or not found.locatable:
            continue
        if abs(found.level - level) > 1e-9:
            raise InputError("level", level, f"{found.level:g}, which {name} states")
        place[where], half[where] = found.position_m, found.open_m / 2
        held[where] = found.holds(float(truth[where]))
    return Said(place, half, held)


def _row(kind: str, *across: str, links: tuple[tuple[str, ...], ...] = (),
         **setting: Any) -> _Wanted:  # fmt: skip
    return (kind, across, Setting(**setting), links)


def _other_end(cable: Cable) -> str:
    """The sound way round to the fault: the other core, or the far end of the only one."""
    return "core1@far" if cable.construction.returns else "core2"


def _bridge(method: str, **setting: Any) -> Callable[[Cable, Damage], tuple[_Wanted, ...]]:
    def wanted(cable: Cable, _: Damage) -> tuple[_Wanted, ...]:
        across = (_other_end(cable), "core1", "braid")
        return (_row("loop_bridge", *across, method=method, **setting),)

    return wanted


def _with_loop(
    bridge: Callable[[Cable, Damage], tuple[_Wanted, ...]],
) -> Callable[[Cable, Damage], tuple[_Wanted, ...]]:
    def wanted(cable: Cable, damage: Damage) -> tuple[_Wanted, ...]:
        return (*bridge(cable, damage), _row("ohmmeter", "core1", _other_end(cable)))

    return wanted


def _with_insulation(cable: Cable, damage: Damage) -> tuple[_Wanted, ...]:
    cores = "+".join(cable.construction.cores)
    return (*_bridge("murray")(cable, damage), _row("insulation_tester", cores, "braid"))


def _always(*rows: _Wanted) -> Callable[[Cable, Damage], tuple[_Wanted, ...]]:
    return lambda _cable, _damage: rows


def _two_ends(cable: Cable, _: Damage) -> tuple[_Wanted, ...]:
    if cable.construction.returns:
        return (
            _row("ohmmeter", "core1", "core1@far"),
            _row("ohmmeter", "core1", "braid"),
            _row("ohmmeter", "core1@far", "braid"),
        )
    return (_row("ohmmeter", "core1", "core2"), _row("ohmmeter", "core1@far", "core2@far"))


def _all_cores(cable: Cable, _: Damage) -> tuple[_Wanted, ...]:
    return (_row("capacitance_meter", "+".join(cable.construction.cores), "braid"),)


def _echo(_: Cable, damage: Damage) -> tuple[_Wanted, ...]:
    pair = ("core1", "core2") if damage.name == "cores" else ("core1", "braid")
    return (_row("pulse_echo", *pair, sign="-" if damage.name in ("short", "cores") else "+"),)


_C = "capacitance_meter"
_BROKEN = ("break", "wet-break")
_ALL = (
    Method("three_readings", ("short",), _always(
        _row("ohmmeter", "core1", "core2"), _row("ohmmeter", "core1", "braid"),
        _row("ohmmeter", "core2", "braid"))),
    Method("two_ends", ("short", "cores"), _two_ends),
    Method("blavier", ("cores",), _always(
        _row("ohmmeter", "core1", "core2"),
        _row("ohmmeter", "core1", "core2", links=(("core1@far", "core2@far"),)))),
    Method("murray", ("short",), _bridge("murray")),
    Method("murray_unequal", ("short",), _with_loop(_bridge("murray"))),
    Method("varley", ("short",), _with_loop(_bridge("varley", arms=_ARMS))),
    Method("insulation_balance", ("short",), _with_insulation),
    Method("three_capacitances", _BROKEN, _always(
        _row(_C, "core1", "core2+braid"), _row(_C, "core2", "core1+braid"),
        _row(_C, "core1+core2", "braid"))),
    Method("two_capacitances", _BROKEN, _always(
        _row(_C, "core1", "braid"), _row(_C, "core2", "braid"))),
    Method("both_ends", _BROKEN, _always(
        _row(_C, "core1", "braid"), _row(_C, "core1@far", "braid"))),
    Method("good_core", _BROKEN, _always(
        _row(_C, "core1", "braid"), _row(_C, "core2", "braid"))),
    Method("capacitance_per_metre", ("cut",), _all_cores),
    Method("echo_time", tuple(DAMAGES), _echo),
)  # fmt: skip

METHODS: Final[Mapping[str, Method]] = {method.name: method for method in _ALL}
