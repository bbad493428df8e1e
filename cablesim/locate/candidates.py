"""Every reading that could be taken next: the usual methods, each with all its hook-ups."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from cablesim.cable.cable import Cable
from cablesim.instruments.heat_survey import EDGE, SPOT
from cablesim.instruments.meter import first_of_kind
from cablesim.instruments.meters import Meter, Setting
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.standard import standard_probes, usual_meter, usual_setting
from cablesim.line.terminals import Hookup
from cablesim.locate.effort import harmless_volt

__all__ = ["Candidate", "candidates"]

_VARLEY_ARMS = (100.0, 100.0)


@dataclass(frozen=True, slots=True)
class Candidate:
    """A reading that could be taken.

    Parameters
    ----------
    method
        As in `cablesim.locate.effort.USUAL_EFFORT`.
    probe
        The meter and its hook-up. A thermal camera is a survey of warmth.
    """

    method: str
    probe: Probe

    @property
    def named(self) -> str:
        """The meter, or the method where that is no meter."""
        return _BY_CAMERA.get(self.method, self.probe.meter.name)

    @property
    def across(self) -> tuple[str, ...]:
        """What the leads touch; nothing for a camera."""
        return () if self.method in _BY_CAMERA else self.probe.hookup.across

    @property
    def setting(self) -> str:
        """Method of a bridge or a survey, or sign of an echo; empty where there is none."""
        return self.probe.setting.method or self.probe.setting.sign or ""

    @property
    def cautioned(self) -> str:
        """The method, as `cablesim.locate.advice.cautions` takes it; empty for a few volts."""
        return "" if harmless_volt(self.probe.meter) else self.method


_BY_CAMERA = {
    "thermal_camera": "thermal camera",
    "withstand_and_camera": "withstand tester",
}


def candidates(
    cable: Cable,
    bag: Sequence[Probe] = (),
    taken: Sequence[Reading] = (),
    *,
    faulty: str = "core1",
) -> tuple[Candidate, ...]:
    """What could be read next, the bag first.

    Parameters
    ----------
    cable
        As rated.
    bag
        Readings that were asked for, with one's own meters; the usual ones unless given. The first
        meter of a kind is used for all readings of that kind.
    taken
        Readings that are not proposed again. Where one did not settle, none of its kind is
        proposed: the next would not settle either.
    faulty
        The core that a bridge takes for the faulty one, where the cable has two; either finds
        damage on both.
    """
    asked = list(bag) or list(standard_probes(cable))
    restless = {reading.probe.meter.kind for reading in taken if reading.unsteady}
    own = first_of_kind(p.meter for p in [*(reading.probe for reading in taken), *asked])
    known = {_key(reading.probe) for reading in taken}
    found = []
    for candidate in [
        *(Candidate(p.meter.kind, p) for p in asked if p.meter.kind in _AT_TERMINALS),
        *_at_terminals(cable, own, faulty),
        *_by_camera(cable),
    ]:
        key = _key(candidate.probe, candidate.method)
        if key not in known and candidate.probe.meter.kind not in restless:
            known.add(key)
            found.append(candidate)
    return tuple(found)


_AT_TERMINALS = {
    "ohmmeter",
    "insulation_tester",
    "capacitance_meter",
    "loop_bridge",
    "pulse_echo",
}


def _key(probe: Probe, method: str = "") -> tuple[object, ...]:
    """What makes two readings the same: kind, leads in any order, method, sign.

    Of the three of a bridge the last is the return; the cores may be exchanged.
    """
    setting, leads = probe.setting, probe.hookup.leads
    ends = tuple(frozenset(lead) for lead in leads)
    unordered: tuple[object, ...] = (frozenset(ends[:2]), *ends[2:])
    if probe.meter.kind == "heat":
        unordered = ()
        method = "" if method == "thermal_camera" else method
    else:
        method = ""
    bridged = setting.method if probe.meter.kind in ("loop_bridge", "heat") else None
    return probe.meter.kind, unordered, probe.hookup.links, bridged, setting.sign, method


def _at_terminals(cable: Cable, own: dict[str, Meter], faulty: str) -> Iterator[Candidate]:
    def probe(kind: str, across: tuple[str, ...], setting: Setting | None = None) -> Candidate:
        meter = own.get(kind) or usual_meter(kind)
        hookup = Hookup.of(cable, across)
        return Candidate(kind, Probe(meter, hookup, usual_setting(meter, setting)))

    returns = cable.construction.returns
    if returns:
        pairs = [("core1", "core1@far"), ("core1", "braid"), ("core1@far", "braid")]
        echoes = [("core1", "braid")]
    else:
        pairs = [("core1", "core2"), ("core1", "braid"), ("core2", "braid")]
        echoes = list(pairs)
        pairs += [("core1+core2", "braid")]
        pairs += [("core1", "core2+braid"), ("core2", "core1+braid")]
    for kind in ("ohmmeter", "capacitance_meter", "insulation_tester"):
        for across in pairs:
            yield probe(kind, across)
    for across in echoes:
        for sign in ("-", "+"):
            yield probe("pulse_echo", across, Setting(sign=sign))
    loops = []
    if returns:
        loops = [("core1@far", "core1", "braid")]
    elif cable.far_end == "joined":
        (sound,) = (core for core in ("core1", "core2") if core != faulty)
        loops = [(sound, faulty, "braid")]
    for loop in loops:
        yield probe("loop_bridge", loop, Setting(method="murray"))
        yield probe("loop_bridge", loop, Setting(method="varley", arms=_VARLEY_ARMS))


def _by_camera(cable: Cable) -> Iterator[Candidate]:
    meter = usual_meter("heat")
    across = ("core1", "core1@far" if cable.construction.returns else "core2")
    hookup = Hookup.of(cable, across)
    for sought in (EDGE, SPOT):
        setting = usual_setting(meter, Setting(method=sought))
        yield Candidate("thermal_camera", Probe(meter, hookup, setting))
    weak = usual_setting(meter, Setting(method=SPOT))
    yield Candidate("withstand_and_camera", Probe(meter, hookup, weak))
