"""The log of a drill: what was done, seen and answered, from its acts alone."""

from __future__ import annotations

from collections.abc import Sequence

from cablesim.instruments.readings import Reading
from cablesim.scenario.scenario import Scenario
from cablesim.site.acceptance import judged, limit_of
from cablesim.training import acts
from cablesim.training.acts import Act
from cablesim.training.case import Case
from cablesim.training.drill import Seen, step
from cablesim.training.log import reading_row
from cablesim.training.log_tables import (
    HANDED_BACK,
    Action,
    Answer,
    Danger,
    Found,
    Hypothesis,
    Log,
    Marked,
    Opened,
    Read,
    Repaired,
    Retest,
    Step,
)
from cablesim.training.playing import world_of
from cablesim.training.state import Line, State, World

__all__ = ["answer_of", "log_of"]

_DID: dict[type[Act], str] = {
    acts.Switch: "isolate",
    acts.Lock: "lock-off",
    acts.Prove: "prove-dead",
    acts.Disconnect: "disconnect",
    acts.Clear: "clear-floor",
    acts.Discharge: "discharge",
    acts.Take: "take",
    acts.Zero: "zero",
    acts.Set: "set",
    acts.Touch: "touch",
    acts.Read: "look",
    acts.Log: "log",
    acts.Ask: "ask",
    acts.Close: "close",
    acts.Finish: HANDED_BACK,
}
_MOST_SEEN = 500


def log_of(case: Case, done: Sequence[Act], trainee: str = "") -> Log:
    """Make the log of a drill.

    Parameters
    ----------
    case
        What it was played on.
    done
        Its acts; those that were refused leave no trace.
    trainee
        Who practised.
    """
    world, state = world_of(case), State()
    actions: list[Action] = []
    for act in done:
        before = state
        state, seen = step(state, act, world)
        if not seen.refused:
            actions += _actions(case.trainee, world, act, before, state, seen)
    return Log(
        format=1,
        case=case.name,
        trainee_sha256=case.key.trainee_sha256,
        trainee=trainee,
        actions=actions,
        answer=answer_of(state),
    )


def _actions(
    told: Scenario, world: World, act: Act, before: State, state: State, seen: Seen
) -> list[Action]:
    """What one act leaves in a log."""
    minutes = state.minutes - before.minutes
    words = " ".join(seen.text.split())[:_MOST_SEEN]
    if state.over == "stopped":
        return [Danger(rule=state.rule, stopped=True, seen=words)]
    if isinstance(act, acts.Log):
        return [_logged(told, state, state.lines[-1], minutes)]
    if isinstance(act, acts.Suspect):
        named = list(act.conductors) or None
        return [Hypothesis(verdict=act.kind, conductors=named, minutes=minutes, seen=words)]  # type: ignore[arg-type]
    if isinstance(act, acts.Mark):
        at_m = state.marked[-1].at_m
        on_plan = act.xy_m
        return [Marked(position_m=at_m, at_m=on_plan, minutes=minutes, seen=words)]
    if isinstance(act, acts.Open):
        opened = state.opened[-1]
        area = opened.area_m2 if not opened.tiles and opened.area_m2 else None
        tiles, found = list(opened.tiles), bool(opened.damage)
        return [Opened(tiles=tiles, area_m2=area, found=found, minutes=minutes, seen=words)]
    if isinstance(act, acts.Repair):
        places = state.splices_m[len(before.splices_m) :]
        each = minutes / len(places)
        return [Repaired(position_m=place, minutes=each, seen=words) for place in places]
    if isinstance(act, acts.Finish) and not state.over:
        return [Step(did="asked back", minutes=minutes, seen=words)]
    did = "switch on" if isinstance(act, acts.Switch) and act.on else _DID[type(act)]
    return [Step(did=did, minutes=minutes, seen=words)]


def _logged(told: Scenario, state: State, line: Line, minutes: float) -> Action:
    """A line of the sheet: evidence of the damage, or a test of the repair."""
    shown = line.shown
    reading = Reading(shown.probe, shown.value, unsteady=shown.unsteady)
    row = reading_row(reading)
    if line.when:
        limit = limit_of(told.cable, shown.probe, told.supply_volt)
        passed = limit is None or judged(reading, limit)[0] == "pass"
        return Retest(reading=row, passed=passed, minutes=minutes, seen=shown.words)
    zero_ohm = line.zero_ohm or 0.0
    return Read(
        reading=row,
        zeroed=line.zero_ohm is not None,
        zero_ohm=zero_ohm,
        minutes=minutes,
        seen=shown.words,
    )


def answer_of(state: State) -> Answer | None:
    """What the trainee answers as it stands; None where something is left unsaid.

    Parameters
    ----------
    state
        Where the drill stands.
    """
    suspects = state.suspects
    if not suspects:
        return None
    damage = [s for s in suspects if s.kind not in ("healthy", "undecided")]
    marks = [mark for mark in state.marks if mark.at_m is not None]
    locatable = bool(marks)
    verdict = damage[0].kind if len(damage) == 1 else "several" if damage else suspects[0].kind
    if damage and not state.marks:
        return None
    faults = []
    for k, suspect in enumerate(damage):
        # Fewer places than suspects: those that are left share the last place.
        mark = marks[min(k, len(marks) - 1)] if marks else None
        at_m = None if mark is None else mark.at_m
        interval = None
        if mark is not None and at_m is not None:
            interval = (at_m - mark.within_m, at_m + mark.within_m)
        faults.append(
            Found(
                kind=suspect.kind,  # type: ignore[arg-type]
                conductors=list(suspect.conductors),
                position_m=at_m,
                interval_m=interval,
            )
        )
    return Answer(
        verdict=verdict,  # type: ignore[arg-type]
        locatable=locatable or verdict == "healthy",
        faults=faults,
        repaired=bool(state.repaired),
    )
