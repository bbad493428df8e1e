"""Acts that hurt people or destroy what is sound: each stops a drill, with the reason.

The rules are those of general trade practice (no source); local codes and licensed practice come
first wherever they ask for more.
"""

from __future__ import annotations

from dataclasses import dataclass

from cablesim.instruments.meter import Meter
from cablesim.locate.effort import RISKS, USUAL_EFFORT
from cablesim.site.opening import CLEAR_M
from cablesim.training.acts import Act, Disconnect, Open, Read, Repair, Switch, Touch
from cablesim.training.state import State, World, same_leads

__all__ = [
    "Danger",
    "danger",
    "missing_steps",
    "needs_leave",
    "puts_high_voltage",
    "risk_of",
]

_FIRST = " Local codes and licensed practice come first."


@dataclass(frozen=True, slots=True)
class Danger:
    """A rule, and what breaking it does.

    Parameters
    ----------
    rule
        Its short name.
    why
        One or two sentences.
    """

    rule: str
    why: str

    def of(self, *values: object) -> Danger:
        """The same with values put into its words."""
        return Danger(self.rule, self.why.format(*values))


_LIVE = Danger(
    "live work",
    "A supply that is not switched off, locked off and proved dead, in this "
    "order, can kill whoever touches the cable or opens the floor over it.",
)
_ON_FLOOR = Danger(
    "people on the floor",
    "Somebody may be on the floor or at the ends. This test puts a high voltage on the cable and, "
    "through its damage, perhaps on the floor: send everybody away first, and keep them away.",
)
_CONNECTED = Danger(
    "not isolated",
    "The cable is still in the thermostat. High voltage goes on a cable only once all its ends are "
    "taken out and kept apart: it would reach the thermostat and whatever is wired to it.",
)
_CHARGED = Danger(
    "not discharged",
    "The cable was not discharged after the {}. Whatever a test has shown, a cable counts as "
    "charged until it has been discharged through a resistor and shorted: sound insulation holds "
    "its charge for minutes.",
)
_OVER_OPEN = Danger(
    "supply on over an open floor",
    "The supply goes on over an open floor. Bare or freshly mended cable is not energised before "
    "it has been read again and covered.",
)
_OVER_RUN = Danger(
    "cut over a run",
    "The first cut lies {:.0f} mm from the middle of a run: it goes into sound cable. Break the "
    "covering between the runs.",
)
_BLIND = Danger(
    "cut over a run",
    "The covering is broken over the run and not beside it: that goes into sound cable. Break it "
    "between the runs.",
)
_TOO_EARLY = Danger(
    "test without leave",
    "A test that energises the damage comes after the required steps, as the last means. Still "
    "missing: {}.",
)


def risk_of(meter: Meter) -> str:
    """How dangerous a reading with a meter is, one of `cablesim.locate.effort.RISKS`.

    >>> from cablesim.instruments.standard import usual_meter
    >>> risk_of(usual_meter("ohmmeter")), risk_of(usual_meter("withstand_tester"))
    ('none', 'high-voltage')
    """
    effort = USUAL_EFFORT.get(meter.kind)
    # What is in no table of readings is a test on the supply or with a withstand tester.
    return effort.on(meter).risk if effort is not None else RISKS[-1]


def puts_high_voltage(meter: Meter) -> bool:
    """Whether a reading puts a high voltage on the cable, from which people keep away."""
    return risk_of(meter) != RISKS[0]


def needs_leave(meter: Meter) -> bool:
    """Whether a reading energises the damage, for which leave is asked first."""
    return risk_of(meter) == RISKS[-1]


def danger(state: State, act: Act, world: World) -> Danger | None:
    """Why an act stops the drill; None where it does not.

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
    return None if found is None else Danger(found.rule, found.why + _FIRST)


def _danger(state: State, act: Act, world: World) -> Danger | None:
    if isinstance(act, Switch) and act.on:
        return None if state.closed else _OVER_OPEN
    if not isinstance(act, Disconnect | Touch | Read | Open | Repair):
        return None
    reads = isinstance(act, Read)
    if isinstance(act, Touch) and not state.meter:
        return None  # no leads to touch it with
    if reads and (not state.meter or not state.across):
        return None  # nothing is hooked up, so nothing is touched
    if not state.dead:
        return _LIVE
    if state.charged and not (reads and state.charged == state.meter):
        return _CHARGED.of(state.charged.replace("_", " "))
    if reads:
        return _of_reading(state, world)
    return _of_opening(act, world) if isinstance(act, Open) else None


def _of_reading(state: State, world: World) -> Danger | None:
    meter = world.meters[state.meter]
    if not puts_high_voltage(meter):
        return None
    if state.connected:
        return _CONNECTED
    if not state.clear:
        return _ON_FLOOR
    if needs_leave(meter) and not state.leave:
        missing = missing_steps(state, world) or ["leave"]
        return _TOO_EARLY.of("; ".join(missing))
    return None


def _of_opening(act: Open, world: World) -> Danger | None:
    if act.between is False:
        return _BLIND
    if act.first_m is None or world.plan is None:
        return None
    _, off_m = world.plan.nearest(act.first_m)
    return _OVER_RUN.of(1e3 * off_m) if off_m < CLEAR_M else None


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
