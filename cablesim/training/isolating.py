"""Making a cable safe to touch: the supply, the thermostat, people on the floor, the charge."""

from __future__ import annotations

from dataclasses import replace

from cablesim.errors import InputError
from cablesim.training import acts
from cablesim.training.state import State, World
from cablesim.training.work import MINUTES, Done, later

__all__ = ["clear", "discharge", "disconnect", "lock", "prove", "switch"]


def switch(state: State, act: acts.Switch, world: World) -> Done:
    """Switch the supply off, or on again with its lock."""
    if act.on:
        on = later(state, MINUTES["switch"], live=True, locked=False, proved=False)
        return on, "The lock is off and the supply is on."
    if not state.live:
        raise InputError("the supply is off already")
    return later(state, MINUTES["switch"], live=False), "The supply is switched off."


def lock(state: State, act: acts.Lock, world: World) -> Done:
    """Lock it off."""
    if state.live:
        raise InputError("a switch that is on cannot be locked off", try_this="switch off first")
    if state.locked:
        raise InputError("the switch is locked off already")
    told = "The switch is locked off; you keep the key."
    return later(state, MINUTES["lock"], locked=True), told


def prove(state: State, act: acts.Prove, world: World) -> Done:
    """Prove it dead; that counts once it is locked off."""
    if state.live:
        return later(state, MINUTES["prove"]), "The voltage tester lights up: it is live."
    if not state.locked:
        told = "No voltage. But anybody may switch it on again: lock off, then prove once more."
        return later(state, MINUTES["prove"]), told
    told = "Tester tried on a live point, no voltage here, tester tried again: it is dead."
    return later(state, MINUTES["prove"], proved=True), told


def disconnect(state: State, act: acts.Disconnect, world: World) -> Done:
    """Take the cable out of the thermostat."""
    if not state.connected:
        raise InputError("the cable is out of the thermostat already")
    told = "The cable's ends are out of the thermostat, apart from each other and free to read."
    return later(state, MINUTES["disconnect"], connected=False), told


def clear(state: State, act: acts.Clear, world: World) -> Done:
    """Send everybody away, until work goes on at the floor."""
    if state.clear:
        raise InputError("everybody is off the floor already")
    told = "Everybody is off the floor and away from the ends; a sign hangs at the door."
    return later(state, MINUTES["clear"], clear=True), told


def discharge(state: State, act: acts.Discharge, world: World) -> Done:
    """Discharge the cable; its minutes are those of the test."""
    if not state.charged:
        return state, "The cable holds no charge."
    return replace(state, charged=""), "Discharged through a resistor, and shorted for a while."
