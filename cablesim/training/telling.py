"""What a drill shows in words: job, bag, sheet, where it stands, and at its end the truth."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping

from cablesim.cable.cable import Cable
from cablesim.instruments.meter import Meter
from cablesim.instruments.meters import HeatSurvey, LoopBridge, Ohmmeter
from cablesim.report.quantities import across_words, quantity_words
from cablesim.report.words import one_line, true_fault_words
from cablesim.training.bench import Bench
from cablesim.training.case import Case
from cablesim.training.charplan import drawn_plan, listed_runs
from cablesim.training.settings import setting_words
from cablesim.training.state import STOPPED, State, World

__all__ = [
    "bag_words",
    "cable_words",
    "debrief_words",
    "job_words",
    "meter_card",
    "plan_words",
    "sheet_words",
    "state_words",
    "status_words",
]

_LEGEND = (
    "C cold joint, E far end, numbers along the cable: metres from C; X marked, : open; at the "
    "edges x and y of the room in metres."
)
_ENDS = {
    True: "c1 is the end from whose cold joint metres count, far c1 the other end",
    False: "c1 and c2 are the ends at the thermostat, from whose cold joint metres count; "
    "far c1 and far c2 lie in the floor",
}
_CONSTRUCTION = {
    "twin": "twin cable, two cores and a braid, cores joined at the far end",
    "single": "single-conductor cable, one core and a braid, both ends at the thermostat",
    "parallel": "parallel cable, two cores with the heating between them, far end open",
}


def cable_words(cable: Cable, supply_volt: float | None) -> list[str]:
    """What the label says, line by line."""
    ohm = float(cable.loop_resistance_ohm)
    low, high = cable.tolerance_percent
    told = [
        _CONSTRUCTION[cable.construction.name],
        f"heated length {float(cable.heated_length_m):g} m, "
        f"cold lead {float(cable.cold_lead_m):g} m",
        f"rated resistance {quantity_words(ohm, 'ohm')} ({low:+g} / {high:+g} %)",
    ]
    if supply_volt is not None:
        told.append(f"{supply_volt:g} V, {supply_volt**2 / ohm:.0f} W")
    return told


def job_words(case: Case, state: State | None = None) -> str:
    """The job as the trainee is given it.

    Parameters
    ----------
    case
        The case.
    state
        Where a drill stands that goes on; left out at its beginning.
    """
    covered = "The floor is closed." if case.covered else "The cable lies open, not yet covered."
    if state is not None and state.opened and case.covered:
        covered = "The floor was opened, and is closed again."
        if not state.closed:
            covered = f"The floor is open: {status_words(state).partition(', ')[2]}."
    told = [
        one_line(case.scenario.title) or case.name,
        "",
        *(one_line(line) for line in case.story.splitlines()),
        covered,
        "",
        "Label:",
        *(f"  {line}" for line in cable_words(case.cable, case.scenario.supply_volt)),
        f"  {_ENDS[case.cable.construction.returns]}",
        "",
        bag_words(case.scenario.meters),
    ]
    floor = case.scenario.floor
    if floor is not None and floor.suspects:
        told += ["", "Noticed on the floor:"]
        told += [
            f"  {one_line(s.why) or 'a spot'} at {s.at_m[0]:.2f},{s.at_m[1]:.2f}"
            for s in floor.suspects
        ]
    return "\n".join(told)


def bag_words(meters: Mapping[str, Meter]) -> str:
    """The bag."""
    return "\n".join(["In the bag:", *(f"  {meter_card(meter)}" for meter in meters.values())])


def meter_card(meter: Meter) -> str:
    """A meter in one line: its name, kind and accuracy.

    >>> meter_card(Ohmmeter(name="pocket", lead_ohm=0.2))
    'pocket: ohmmeter, +-(0.8 % + 3 counts), leads not zeroed'
    """
    told = f"{meter.name}: {meter.kind.replace('_', ' ')}"
    if isinstance(meter, LoopBridge):
        return f"{told}, slide of {meter.divisions:g} divisions, {meter.battery_volt:g} V"
    if isinstance(meter, HeatSurvey):
        return f"{told}, a camera over the floor: a hot spot, or where the warmth ends"
    if not meter.sees_places or meter.accuracy_percent:
        told += f", +-({meter.accuracy_percent:g} % + {meter.accuracy_counts:g} counts)"
    return told + (", leads not zeroed" if isinstance(meter, Ohmmeter) else "")


def plan_words(world: World, state: State, columns: int, rows: int) -> str:
    """The plan with what was marked and opened, where it fits; else the runs."""
    if world.plan is None:
        return "Nobody knows how this cable lies: places are said in metres from the cold joint."
    # Rather the plan without its legend than none.
    for legend in (textwrap.wrap(_LEGEND, columns), []):
        drawn = drawn_plan(
            world.plan,
            columns,
            rows - len(legend),
            marks_m=[m.at_m for m in state.marks if m.at_m is not None],
            opened_m=[(o.at_m - o.within_m, o.at_m + o.within_m) for o in state.opened],
        )
        if drawn is not None:
            return "\n".join([drawn, *legend])
    return "The plan does not fit this screen. Its runs:\n" + listed_runs(world.plan)


def sheet_words(state: State) -> str:
    """The sheet of readings."""
    if not state.lines:
        return "The sheet is empty: log writes down what the display says."
    told = []
    for number, line in enumerate(state.lines, start=1):
        shown = line.shown
        set_to = setting_words(shown.probe.setting)
        what = f"{shown.probe.meter.name}{' ' + set_to if set_to else ''}"
        zeroed = ", zeroed" if line.zero_ohm is not None else ""
        across = across_words(shown.probe.hookup.across)
        when = f" ({line.when})" if line.when else ""
        told.append(f"{number:3}  {what}{zeroed}, {across}: {shown.words}{when}")
    return "\n".join(told)


def state_words(state: State) -> str:
    """Where the drill stands."""
    told = [
        "Supply: "
        + ", ".join(
            [
                "on" if state.live else "off",
                "locked off" if state.locked else "not locked off",
                "proved dead" if state.dead else "not proved dead",
            ]
        ),
        f"Cable: {'in the thermostat' if state.connected else 'out of the thermostat'}, "
        f"{_charge_words(state)}",
        f"Floor: {'clear of people' if state.clear else 'people may be on it'}, "
        f"{'closed' if state.closed else 'open'}",
        f"In hand: {state.meter or 'nothing'}"
        + (f", leads on {across_words(state.across)}" if state.across else ""),
    ]
    for suspect in state.suspects:
        told.append(f"Suspected: {suspect.kind} {' and '.join(suspect.conductors)}".rstrip())
    for mark in state.marks:
        told.append("Marked: none" if mark.at_m is None else f"Marked: {mark.at_m:.2f} m")
    return "\n".join([*told, status_words(state)])


def _charge_words(state: State) -> str:
    if not state.charged:
        return "not charged"
    return f"not discharged since the {state.charged.replace('_', ' ')}"


def status_words(state: State) -> str:
    """Time and destruction so far.

    >>> status_words(State())
    '0 min, nothing opened'
    """
    opened = "nothing opened"
    if state.tiles:
        opened = f"{state.tiles} tile{'s' * (state.tiles != 1)} lifted"
    elif state.area_m2:
        opened = f"{state.area_m2:.2f} m2 opened"
    elif state.opened:
        opened = f"opened {len(state.opened)} time{'s' * (len(state.opened) != 1)}"
    return f"{state.minutes:.0f} min, {opened}"


def debrief_words(case: Case, state: State, bench: Bench) -> str:
    """The truth, held against what the trainee said and did.

    A drill that was stopped keeps it, so that the case can be tried again.

    Parameters
    ----------
    case, state, bench
        Of a drill that is over.
    """
    told = []
    if state.over == STOPPED:
        told.append(f"Stopped: {state.rule}. What is broken stays hidden, for another try.")
    else:
        told += ["What was broken:"]
        told += [f"  {true_fault_words(fault, case.cable)}" for fault in bench.faults]
        if not bench.faults:
            told.append("  nothing")
        if not case.key.locatable:
            told.append("  With this bag it cannot be located; saying so is the right answer.")
    told.append("What you said:")
    for suspect in state.suspects:
        told.append(f"  {suspect.kind} {' and '.join(suspect.conductors)}".rstrip())
    for mark in state.marks:
        if mark.at_m is None:
            told.append("  cannot be located with these readings")
            continue
        told.append(f"  at {mark.at_m:.2f} m, give or take {mark.within_m:g} m")
        if bench.faults and state.over != STOPPED:
            fault = min(
                bench.faults, key=lambda f: abs(float(f.position_m) - float(mark.at_m or 0))
            )
            off = mark.at_m - float(fault.position_m)
            inside = "holds" if abs(off) <= mark.within_m else "does not hold"
            told.append(f"    {abs(off):.2f} m off; your interval {inside} the place")
    if not state.suspects and not state.marks:
        told.append("  nothing")
    mended = len(set(state.mended))
    told.append(f"Work: {status_words(state)}")
    if bench.faults and state.over != STOPPED:
        told.append(f"Mended: {mended} of {len(bench.faults)}")
    return "\n".join(told)
