"""Marking a place, opening the floor over it, mending what lies bare, closing, handing back."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.report.quantities import across_words
from cablesim.report.words import place_words
from cablesim.site.opening import CLEAR_M
from cablesim.site.plan import Plan
from cablesim.site.repair import mends_for
from cablesim.training import acts
from cablesim.training.floorwork import bared, place_of
from cablesim.training.state import FINISHED, Marked, Opened, State, World, same_leads
from cablesim.training.work import MINUTES, Done, later

__all__ = ["close", "finish", "mark", "open_floor", "repair"]

_OPEN_MINUTES = {
    "tiles": MINUTES["open a tile"],
    "patch": MINUTES["open a patch"],
    "chase": MINUTES["open a chase"],
    "look": MINUTES["look"],
}
_CLOSE_MINUTES = {
    "tiles": MINUTES["close a tile"],
    "patch": MINUTES["close a patch"],
    "chase": MINUTES["close a chase"],
    "look": 0.0,
}
# A cut beside a run is sought in such steps, so far out [m].
_STEP_M, _ASIDE_M = 0.005, 0.3
# Where nobody said how far a place may be off [m].
_USUAL_WITHIN_M = 0.25


def mark(state: State, act: acts.Mark, world: World) -> Done:
    """Mark a place on the plan, or say that there is none to mark."""
    within = _USUAL_WITHIN_M if act.within_m is None else act.within_m
    whole = float(world.cable.last_m - world.cable.first_m)
    if not 0.0 < within <= whole:
        raise InputError("how far it may be off", within, f"above 0 m and at most {whole:g} m")
    if act.also and not any(marked.at_m is not None for marked in state.marks):
        raise InputError("nothing is marked yet", try_this="leave also out")
    if act.at_m is None and act.xy_m is None:
        marked = Marked(state.number, None, within)
        told = "Noted: with these readings it cannot be located."
    else:
        at_m = place_of(world, act.at_m, act.xy_m)
        marked = Marked(state.number, at_m, within, act.also)
        told = f"Marked {place_words(at_m, world.cable)}{_on_plan(world, at_m)}, give or take "
        told += f"{within:g} m: the place should lie within that 95 times in 100."
        if act.within_m is None:
            told += (
                f" You said no width, so it is {within:g} m; add within and metres for your own."
            )
        if act.also:
            told += " To take it back, say mark without also: that begins afresh."
    return later(state, MINUTES["mark"], marked=(*state.marked, marked)), told


def open_floor(state: State, act: acts.Open, world: World) -> Done:
    """Open the floor over a place, and look."""
    last = state.marked[-1] if state.marked else None
    if act.at_m is None and act.xy_m is None:
        if last is None or last.at_m is None:
            raise InputError("no place is marked", try_this="mark one first, such as: mark 12.4")
        at_m: float = last.at_m
    else:
        at_m = place_of(world, act.at_m, act.xy_m)
    within = last.within_m if last is not None and last.at_m == at_m else _USUAL_WITHIN_M
    found = bared(world, at_m, within)
    cut = _first_cut(act, found.patch, world.plan) if world.covered else ""
    had = {tile for opening in state.opened for tile in opening.tiles}
    how = found.how if world.covered else "look"
    tiles = tuple(tile for tile in found.tiles if tile not in had) if how == "tiles" else ()
    area_m2 = found.area_m2 if how == "patch" else 0.0
    seen = tuple(k for k in found.damage if k not in state.mended)
    opened = Opened(state.number, at_m, within, how, tiles, area_m2, found.bare_m, seen)
    bare = sum(high - low for low, high in found.bare_m)
    told = f"{cut}{_opened_words(opened)}, {bare:.2f} m of cable lies bare.\n"
    told += "Damage is to be seen on it." if seen else "No damage is to be seen on it."
    told += _back_at_work(state)
    done = later(
        state, _OPEN_MINUTES[how] * _pieces(opened), opened=(*state.opened, opened), clear=False
    )
    return replace(done, display=None, closed=False), told


def _pieces(opened: Opened) -> int:
    return len(opened.tiles) if opened.how == "tiles" else 1


def _opened_words(opened: Opened) -> str:
    if opened.how == "tiles":
        count = len(opened.tiles)
        return f"{count} tile{'s' * (count != 1)} lifted" if count else "No further tile to lift"
    if opened.how == "patch":
        return f"{opened.area_m2:.2f} m2 of the floor opened"
    return "Opened along the cable" if opened.how == "chase" else "Nothing covers the cable here"


def _first_cut(act: acts.Open, patch: Any, plan: Plan | None) -> str:
    """Have it said where the covering is broken first; words for a place beside a run."""
    said = act.first_m is not None or act.beside_m is not None
    if patch is None or plan is None:
        if act.between is None and not said:
            raise InputError(
                "it is not said where the covering is broken first",
                try_this="add between (between the runs) or over (over the run)",
            )
        return ""
    left, low, right, high = patch.bounds
    within = f"x from {left:.2f} to {right:.2f} and y from {low:.2f} to {high:.2f}"
    if act.beside_m is not None:
        x, y, off_m = _beside(plan, patch, act.beside_m)
        return f"First cut at {x:.2f},{y:.2f}, {1e3 * off_m:.0f} mm from the nearest run. "
    if act.first_m is None:
        raise InputError(
            "it is not said where the covering is broken first",
            try_this=f"add first and a point between the runs, with {within}, "
            "or first beside and a metre mark of the cable",
        )
    if not _holds(patch, np.array([act.first_m]))[0]:
        x, y = act.first_m
        raise InputError(f"the first cut at {x:g},{y:g} is off this opening", try_this=within)
    return ""


def _beside(plan: Plan, patch: Any, mark_m: float) -> tuple[float, float, float]:
    """The point of an opening straight beside a mark that is farthest from every run [m]."""
    if not 0.0 <= mark_m <= plan.heated_length_m:
        raise InputError(
            "the mark beside which is cut", mark_m, f"from 0 to {plan.heated_length_m:g} m"
        )
    ends_m = np.clip([mark_m - _STEP_M, mark_m + _STEP_M], 0.0, plan.heated_length_m)
    before, after = plan.at(ends_m)
    along = (after - before) / np.hypot(*(after - before))
    out = np.arange(_STEP_M, _ASIDE_M, _STEP_M)
    aside = np.concatenate([-out, out])[:, None] * np.array([-along[1], along[0]])
    points = plan.at(mark_m) + aside
    inside = points[_holds(patch, points)].tolist()
    off_m, (x, y) = max(
        ((plan.nearest(point)[1], point) for point in inside), default=(0.0, (0, 0))
    )
    if off_m < CLEAR_M:
        raise InputError(
            f"there is no room for a cut beside {mark_m:g} m in this opening",
            try_this="another mark under it, or a point between the runs",
        )
    return x, y, off_m


def _holds(patch: Any, xy_m: FloatArray) -> Any:
    import shapely

    return shapely.contains_xy(patch.buffer(1e-6), *xy_m.T)


def repair(state: State, act: acts.Repair, world: World) -> Done:
    """Cut out and splice all damage that lies bare."""
    if state.closed:
        raise InputError("nothing is open", try_this="open the floor over the place first")
    bare = sorted({k for opening in state.opened for k in opening.damage} - set(state.mended))
    if not bare:
        raise InputError("no damage lies bare", try_this="sound cable is not cut: open elsewhere")
    mends = mends_for([world.bench.faults[k] for k in bare])
    done = later(
        state,
        MINUTES["repair"] * len(mends),
        mended=(*state.mended, *bare),
        splices_m=(*state.splices_m, *(mend.at_m for mend in mends)),
        repaired=state.number,
        clear=False,
        display=None,
    )
    told = "The damage is cut out and spliced, every sleeve sealed."
    return done, f"{told} Read the cable again before you close.{_back_at_work(state)}"


def close(state: State, act: acts.Close, world: World) -> Done:
    """Close every opening, once a mended cable is read again."""
    if state.closed:
        raise InputError("nothing is open")
    if state.charged:
        raise InputError("the cable is charged", try_this="discharge it first")
    missing = _unread(state, world) if state.repaired else []
    if missing:
        raise InputError(
            "the floor is not closed before the mended cable is read again",
            try_this="still to be logged: " + "; ".join(missing),
        )
    minutes = sum(_CLOSE_MINUTES[opening.how] * _pieces(opening) for opening in state.opened)
    told = "The floor is closed. When it may be walked on and heated, its makers say."
    told += _back_at_work(state)
    return later(state, minutes, closed=True, clear=False, display=None), told


def _unread(state: State, world: World) -> list[str]:
    """What must be logged after a repair and is not yet: the resistances, and the insulation."""
    since = [line.shown.probe for line in state.lines if line.number > state.repaired]
    missing = [
        across_words(across)
        for across in world.resistances
        if world.has("ohmmeter")
        and not any(p.meter.kind == "ohmmeter" and same_leads(p, across) for p in since)
    ]
    if world.has("insulation_tester") and not any(
        p.meter.kind == "insulation_tester" for p in since
    ):
        missing.append("an insulation test")
    return missing


def finish(state: State, act: acts.Finish, world: World) -> Done:
    """Hand the job back."""
    if state.charged:
        raise InputError("the cable is charged", try_this="discharge it first")
    if not state.closed:
        raise InputError("the floor is open", try_this="close it first")
    if not state.suspects:
        raise InputError(
            "nobody knows yet what you found", try_this="say it, such as: suspect short c1 b"
        )
    sought = any(suspect.kind not in ("healthy", "undecided") for suspect in state.suspects)
    if sought and not state.marks:
        raise InputError(
            "nobody knows yet where you found it", try_this="mark the place, or say: mark none"
        )
    placed = any(marked.at_m is not None for marked in state.marks)
    if placed and not state.repaired and not state.asked_back:
        told = (
            "A place is marked, and nothing has been mended. Say finish again to hand it back so."
        )
        return replace(state, asked_back=True), told
    return replace(state, over=FINISHED), "The job is handed back."


def _back_at_work(state: State) -> str:
    """Say it where work at the floor ends its being clear of people."""
    if not state.clear:
        return ""
    return "\nYou are at work on the floor: it is no longer clear. Clear it before the next test."


def _on_plan(world: World, at_m: float) -> str:
    if world.plan is None or not 0.0 <= at_m <= world.plan.heated_length_m:
        return ""
    x, y = world.plan.at(at_m)
    return f", on the plan at {x:.2f},{y:.2f}"
