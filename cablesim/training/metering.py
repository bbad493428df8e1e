"""Reading meters: taken, zeroed, set, hooked up, read, and written down."""

from __future__ import annotations

from dataclasses import replace

from cablesim.errors import InputError
from cablesim.instruments.heat_survey import EDGE
from cablesim.instruments.meters import HeatSurvey, LoopBridge, Meter, WithstandTester
from cablesim.instruments.readings import Probe
from cablesim.instruments.standard import usual_setting
from cablesim.line.terminals import Hookup
from cablesim.locate.effort import USUAL_EFFORT
from cablesim.report.quantities import across_words, display_words
from cablesim.training import acts
from cablesim.training.dangers import missing_steps, needs_leave, puts_high_voltage
from cablesim.training.settings import checked_setting, setting_words
from cablesim.training.state import Line, State, Suspected, World
from cablesim.training.work import MINUTES, Done, later

__all__ = ["KINDS", "ask", "log", "read", "set_meter", "suspect", "take", "touch", "zero"]

KINDS = {
    "healthy": (0, 0),
    "short": (2, 2),
    "break": (1, 3),
    "degraded": (2, 2),
    "joint": (1, 1),
    "flashover": (2, 2),
    "undecided": (0, 0),
}
"""What can be suspected, and of how many conductors at least and at most."""

_NEEDS = ("names no conductors", "names the broken conductor", "names the two that touch")
_SUCH_AS = ("leave them out", "such as: suspect {} c1", "such as: suspect {} c1 b")

_HINTS = {
    "insulation_tester": "It tests with 500 V unless it is set.",
    "capacitance_meter": "It reads at 1 kHz unless it is set.",
    "loop_bridge": "It has three leads, in this order: the end of the sound core, that of the "
    "faulty one, the braid. Set murray for a slide.",
    "pulse_echo": "It shows the time of the first echo; set + or - for the first of one sign.",
    "heat": "Set spot for a hot spot, or edge for where the warmth ends.",
    "withstand_tester": "It raises its voltage until it trips.",
}
_SAY_LEADS = (
    "such as: touch c1 b; ends on one lead are joined by +, such as c1+c2",
    "such as: touch c2 c1 b, the sound core, the faulty core, the braid",
)
# An insulation test of up to a minute is in its minutes.
_INCLUDED_S = 60.0
# An end of the cable lies bare where what is bare comes so near to it [m].
_AT_END_M = 0.02


def take(state: State, act: acts.Take, world: World) -> Done:
    """Take a meter out of the bag; leads that fit it stay where they are."""
    meter = world.meters.get(act.meter)
    if meter is None:
        raise InputError("the meter", act.meter, "one of the bag: " + ", ".join(world.meters))
    across = state.across if len(state.across) == meter.leads else ()
    links = state.links if across else ()
    taken = replace(state, meter=act.meter, across=across, links=links, display=None)
    hint = _HINTS.get(meter.kind, "")
    if meter.kind == "ohmmeter":
        hint = "Its leads are " + ("zeroed." if meter.name in state.zero_ohm else "not zeroed.")
    return taken, f"You hold the {_called(meter)}. {hint}".rstrip()


def zero(state: State, act: acts.Zero, world: World) -> Done:
    """Touch the leads together, and have the meter take off what they have."""
    meter = _in_hand(state, world)
    if state.charged == meter.name:
        raise InputError("the leads are on a charged cable", try_this="discharge it first")
    ohm = world.bench.zero_ohm(meter, state.number)
    probe = Probe(meter, Hookup.of(world.cable, world.resistances[0]))
    kept = {**state.zero_ohm, meter.name: ohm}
    told = f"Leads touched together: {display_words(probe, ohm)}. Zeroed."
    return later(state, MINUTES["zero"], zero_ohm=kept, display=None), told


def set_meter(state: State, act: acts.Set, world: World) -> Done:
    """Set the meter in hand."""
    meter = _in_hand(state, world)
    setting = checked_setting(meter, act, state.settings.get(meter.name))
    kept = {**state.settings, meter.name: setting}
    told = f"{_named(meter)} set to {setting_words(setting)}."
    return replace(state, settings=kept, display=None), told


def touch(state: State, act: acts.Touch, world: World) -> Done:
    """Put the leads somewhere."""
    meter = _in_hand(state, world)
    if state.connected:
        raise InputError("the cable's ends are in the thermostat", try_this="disconnect it first")
    hookup = Hookup.of(world.cable, act.across, act.links)
    if len(act.across) != meter.leads:
        raise InputError(
            f"the {_called(meter)} has {meter.leads} leads, and {len(act.across)} are on the cable",
            try_this=_SAY_LEADS[meter.leads == 3],
        )
    _check_reach(state, world, hookup)
    told = f"The leads touch {across_words(hookup.across)}"
    if act.links:
        told += ", with " + " and ".join("+".join(group) for group in act.links) + " linked"
    return replace(state, across=hookup.across, links=act.links, display=None), told + "."


def read(state: State, act: acts.Read, world: World) -> Done:
    """Look at the display."""
    meter = _in_hand(state, world)
    if not state.across:
        raise InputError(
            "the leads touch nothing", try_this="say what they touch, such as: touch core1 braid"
        )
    setting = usual_setting(meter, state.settings.get(meter.name))
    if isinstance(meter, LoopBridge) and setting.method is None:
        raise InputError("the bridge is not set", try_this="say: set murray")
    hookup = Hookup.of(world.cable, state.across, state.links)
    _check_reach(state, world, hookup)
    probe = Probe(meter, hookup, setting)
    bench = world.bench_at(state)
    shown = bench.display(probe, state.number, state.zero_ohm.get(meter.name, 0.0))
    minutes = _minutes(meter, setting.method)
    minutes += max(0.0, (setting.seconds or 0.0) - _INCLUDED_S) / 60.0
    charged = meter.name if puts_high_voltage(meter) else ""
    done = later(state, minutes, display=shown, charged=charged)
    done = replace(done, display_at=(state.number, done.minutes))
    set_to = setting_words(setting)
    told = f"{_named(meter)}{' ' + set_to if set_to else ''}, {across_words(state.across)}:"
    told = f"{told}\n    {shown.words}"
    if charged:
        told += "\nThe cable counts as charged now: discharge it before anybody touches it."
    return done, told


def log(state: State, act: acts.Log, world: World) -> Done:
    """Write down what the display says."""
    if state.display is None:
        raise InputError("the display shows nothing to log", try_this="read first")
    number, minutes = state.display_at
    if any(line.number == number for line in state.lines):
        raise InputError("this reading is logged already", try_this="read again, or go on")
    name = state.display.probe.meter.name
    line = Line(number, minutes, state.display, state.zero_ohm.get(name), state.when)
    lines = (*state.lines, line)
    return later(state, MINUTES["log"], lines=lines), f"Logged as line {len(lines)}."


def suspect(state: State, act: acts.Suspect, world: World) -> Done:
    """Say what may be broken."""
    if act.kind not in KINDS:
        raise InputError("what you suspect", act.kind, "one of " + ", ".join(KINDS))
    known = world.cable.conductors
    for name in act.conductors:
        if name not in known or act.conductors.count(name) > 1:
            raise InputError("the conductor", name, "one of " + ", ".join(known) + ", named once")
    least, most = KINDS[act.kind]
    if not least <= len(act.conductors) <= most:
        raise InputError(
            f"suspect {act.kind} {_NEEDS[least]}", try_this=_SUCH_AS[least].format(act.kind)
        )
    if act.also and not state.suspected:
        raise InputError("nothing is suspected yet", try_this="leave also out")
    said = Suspected(state.number, act.kind, act.conductors, act.also)
    of = f", {' and '.join(act.conductors)}" if act.conductors else ""
    told = f"Noted, you{' also' if act.also else ''} suspect: {act.kind}{of}."
    if act.also:
        told += " To take it back, say suspect without also: that begins afresh."
    return later(state, MINUTES["suspect"], suspected=(*state.suspected, said)), told


def ask(state: State, act: acts.Ask, world: World) -> Done:
    """Ask leave to energise the damage, which is given once all that comes before it is done."""
    if not any(needs_leave(meter) for meter in world.meters.values()):
        high = [f"the {_called(m)}" for m in world.meters.values() if puts_high_voltage(m)]
        if not high:
            raise InputError("nothing in the bag works with high voltage, so no leave is needed")
        raise InputError(
            "no meter of this bag needs leave",
            try_this=f"the high voltage of {' and '.join(high)} needs the cable out of the "
            "thermostat and the floor clear, and a discharge afterwards",
        )
    missing = missing_steps(state, world)
    asked = later(state, MINUTES["ask"])
    if missing:
        return asked, "No leave yet. Still to do:\n" + "\n".join(f"  - {m}" for m in missing)
    told = (
        "Leave is given, as long as everybody stays away. Raise the voltage slowly, hold it for a "
        "second or two at most, and discharge afterwards."
    )
    return replace(asked, leave=True), told


def _minutes(meter: Meter, method: str | None) -> float:
    """Minutes of a reading; warmth is looked for on the supply, or between bursts of a tester."""
    if isinstance(meter, HeatSurvey):
        return USUAL_EFFORT["thermal_camera" if method == EDGE else "withstand_and_camera"].minutes
    if isinstance(meter, WithstandTester):
        return MINUTES["withstand"]
    return USUAL_EFFORT[meter.kind].minutes


def _check_reach(state: State, world: World, hookup: Hookup) -> None:
    """Refuse leads on a far end that lies under the floor."""
    cable = world.cable
    if cable.construction.returns or all(found.end == "near" for found in hookup.terminals):
        return
    end_m = float(cable.last_m)
    bare = [high for opening in state.opened for _, high in opening.bare_m]
    if not world.covered or (not state.closed and max(bare, default=0.0) >= end_m - _AT_END_M):
        return
    raise InputError(
        "the far end of this cable lies under the floor",
        try_this=f"open the floor over it first, with open {end_m:g}",
    )


def _in_hand(state: State, world: World) -> Meter:
    if not state.meter:
        raise InputError("no meter is in your hand", try_this="take one out of the bag")
    return world.meters[state.meter]


def _named(meter: Meter) -> str:
    name = _called(meter)
    return name[:1].upper() + name[1:]


def _called(meter: Meter) -> str:
    """A meter's name in words; warmth is looked for with a camera."""
    return "camera" if meter.name == meter.kind == "heat" else meter.name.replace("_", " ")
