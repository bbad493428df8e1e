"""Acts that hurt people or destroy what is sound: each stops a drill, with the reason.

The rules are those of general trade practice (no source); local codes and licensed practice come
first wherever they ask for more.
"""

from __future__ import annotations

from cablesim.instruments.meter import Meter
from cablesim.locate.effort import RISKS, USUAL_EFFORT
from cablesim.site.opening import CLEAR_M
from cablesim.training.acts import Act, Disconnect, Open, Read, Repair, Switch, Touch
from cablesim.training.state import State, World, same_leads

__all__ = ["danger", "missing_steps", "risk_of"]

_RULE = " Local codes and licensed practice come first."
_LIVE = (
    "this is live work. A supply that is not switched off, locked off and proved dead, in this "
    "order, can kill whoever touches the cable or opens the floor over it."
)
_ON_FLOOR = (
    "somebody may be on the floor or at the ends. The test puts a high voltage on the cable and, "
    "through its damage, perhaps on the floor: send everybody away first, and keep them away."
)
_CONNECTED = (
    "the cable is still in the thermostat. High voltage goes on a cable only once both its ends "
    "are taken out and kept apart: it would reach the thermostat and whatever is wired to it."
)
_CHARGED = (
    "the cable is still charged by the {}. It holds its charge for minutes: discharge it through a "
    "resistor, and short it, before anybody touches it."
)
_OVER_OPEN = (
    "the supply goes on over an open floor. Bare or freshly mended cable is never energised before "
    "it has been read again and covered."
)
_OVER_RUN = (
    "the first cut goes over a run, {:.0f} mm from the cable: it cuts the sound cable too. Break "
    "the covering between the runs."
)
_BLIND = (
    "the covering is broken over the run and not beside it: that cuts the sound cable too. Break "
    "it between the runs."
)
_TOO_EARLY = (
    "high voltage before the required steps. Still missing: {}. It is the last means and not the "
    "first, and needs leave."
)


def risk_of(meter: Meter) -> str:
    """How dangerous a reading with a meter is, one of `cablesim.locate.effort.RISKS`.

    >>> from cablesim.instruments.standard import usual_meter
    >>> risk_of(usual_meter("ohmmeter")), risk_of(usual_meter("withstand_tester"))
    ('none', 'high-voltage')
    """
    effort = USUAL_EFFORT.get(meter.kind)
    # What is in no table of readings is a test on the supply or with a withstand tester.
    return effort.risk if effort is not None else RISKS[-1]


def danger(state: State, act: Act, world: World) -> str:
    """Why an act stops the drill; empty where it does not.

    Parameters
    ----------
    state
        Where the drill stands.
    act
        What is about to be done.
    world
        Its bag and its floor.
    """
    found = _danger(state, act, world)
    return found[:1].upper() + found[1:] + _RULE if found else ""


def _danger(state: State, act: Act, world: World) -> str:
    if isinstance(act, Switch) and act.on:
        return "" if state.closed else _OVER_OPEN
    if not isinstance(act, Disconnect | Touch | Read | Open | Repair):
        return ""
    reads = isinstance(act, Read)
    if reads and (not state.meter or not state.across):
        return ""  # nothing is hooked up, so nothing is touched
    if not state.dead:
        return _LIVE
    if state.charged and not (reads and state.charged == state.meter):
        return _CHARGED.format(state.charged)
    if reads:
        return _of_reading(state, world)
    return _of_opening(act, world) if isinstance(act, Open) else ""


def _of_reading(state: State, world: World) -> str:
    risk = risk_of(world.meters[state.meter])
    if risk == RISKS[0]:
        return ""
    if state.connected:
        return _CONNECTED
    if not state.clear:
        return _ON_FLOOR
    if risk == RISKS[-1] and not state.leave:
        missing = missing_steps(state, world) or ["leave"]
        return _TOO_EARLY.format("; ".join(missing))
    return ""


def _of_opening(act: Open, world: World) -> str:
    if act.between is False:
        return _BLIND
    if act.first_m is None or world.plan is None:
        return ""
    _, off_m = world.plan.nearest(act.first_m)
    return _OVER_RUN.format(1e3 * off_m) if off_m < CLEAR_M else ""


def missing_steps(state: State, world: World) -> list[str]:
    """What must be done before leave for high voltage is given, and is not done yet.

    Parameters
    ----------
    state
        Where the drill stands.
    world
        Its cable and its bag.

    Returns
    -------
    list of str
        Each step in words; empty where all are done.
    """
    missing = []
    if not state.dead:
        missing.append("switch off, lock off and prove dead")
    if state.connected:
        missing.append("take the cable out of the thermostat")
    damage = [line.shown for line in state.lines if not line.when]
    if world.has("ohmmeter"):
        missing += [
            f"log the resistance {across[0]} to {across[1]}"
            for across in world.resistances
            if not any(
                s.probe.meter.kind == "ohmmeter" and same_leads(s.probe, across) for s in damage
            )
        ]
    if world.has("insulation_tester") and not any(
        s.probe.meter.kind == "insulation_tester" for s in damage
    ):
        missing.append("log an insulation test")
    if not state.suspected:
        missing.append("say what may be broken")
    if state.charged:
        missing.append("discharge the cable")
    if not state.clear:
        missing.append("send everybody off the floor")
    return missing
