"""The drill as a pure machine: where it stands and one act give where it stands then.

`step` never raises on an act, whatever it is and whenever it comes: what cannot be done is refused
in one sentence, what is dangerous stops the drill. It draws on nothing but the world, so the acts
alone make the drill again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any

from cablesim.errors import InputError
from cablesim.training import acts, isolating, metering, opening
from cablesim.training.acts import Act
from cablesim.training.dangers import danger
from cablesim.training.state import STOPPED, State, World
from cablesim.training.work import Done

__all__ = ["MOST_ACTS", "Seen", "replayed", "step"]

MOST_ACTS = 2000
"""More than any drill needs."""

# Fields of a hook-up, as one says them who holds the leads.
_SAID_AS = {"across": ("the leads cannot touch", " to "), "links": ("a link cannot join", "+")}


@dataclass(frozen=True, slots=True)
class Seen:
    """What an act brings to light.

    Parameters
    ----------
    text
        In words, a sentence or two.
    refused
        Whether nothing was done.
    """

    text: str
    refused: bool = False


def step(state: State, act: Act, world: World) -> tuple[State, Seen]:
    """Do one act.

    Parameters
    ----------
    state
        Where the drill stands.
    act
        What is done.
    world
        What it is played in.

    Returns
    -------
    state, seen
        Where it stands then, and what is seen. A drill that is over stays as it is.

    Examples
    --------
    >>> from cablesim.cable.cable import Cable
    >>> from cablesim.training.bench import Bench
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> world = World(cable, {}, Bench(cable, (), seed=1))
    >>> state, seen = step(State(), acts.Switch(on=False), world)
    >>> state.live, seen.text
    (False, 'The supply is switched off.')
    >>> step(state, acts.Disconnect(), world)[0].over  # neither locked off nor proved dead
    'stopped'
    """
    if state.over:
        return state, Seen("The drill is over.", refused=True)
    if state.number >= MOST_ACTS and not isinstance(act, acts.Finish):
        return state, Seen(f"A drill has at most {MOST_ACTS} acts: finish it.", refused=True)
    now = replace(state, number=state.number + 1)
    broken = danger(state, act, world)
    if broken is not None:
        stopped = replace(now, over=STOPPED, rule=broken.rule, reason=broken.why)
        return stopped, Seen(f"STOP: {broken.rule}. {broken.why}")
    try:
        done, told = _DO[type(act)](now, act, world)
    except InputError as error:
        text = str(_in_words(error))
        told = text[:1].upper() + text[1:]
        return replace(now, refused=state.refused + 1), Seen(told, refused=True)
    return done, Seen(told)


def _in_words(error: InputError) -> InputError:
    """The same as one says it who holds the leads, without the brackets of a program."""
    if error.what not in _SAID_AS or not isinstance(error.got, list | tuple):
        return error
    said, joined = _SAID_AS[error.what]
    mend = error.try_this
    if mend is None or "[" in mend:  # as one writes it in a file
        mend = error.allowed and f"it takes {error.allowed}"
    return InputError(f"{said} {joined.join(map(str, error.got))}", try_this=mend)


def replayed(world: World, done: Iterable[Act], state: State | None = None) -> State:
    """Where a drill stands after these acts.

    Parameters
    ----------
    world
        What it is played in.
    done
        The acts in order.
    state
        Where it stood before; at its beginning where left out.
    """
    state = State() if state is None else state
    for act in done:
        state, _ = step(state, act, world)
    return state


_DO: dict[type[Act], Callable[[State, Any, World], Done]] = {
    acts.Switch: isolating.switch,
    acts.Lock: isolating.lock,
    acts.Prove: isolating.prove,
    acts.Disconnect: isolating.disconnect,
    acts.Clear: isolating.clear,
    acts.Discharge: isolating.discharge,
    acts.Take: metering.take,
    acts.Zero: metering.zero,
    acts.Set: metering.set_meter,
    acts.Touch: metering.touch,
    acts.Read: metering.read,
    acts.Log: metering.log,
    acts.Suspect: metering.suspect,
    acts.Ask: metering.ask,
    acts.Mark: opening.mark,
    acts.Open: opening.open_floor,
    acts.Repair: opening.repair,
    acts.Close: opening.close,
    acts.Finish: opening.finish,
}
