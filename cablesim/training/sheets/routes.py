"""From triage to place: how each kind of damage is reasoned out."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from cablesim.cable.faults import Break, Fault, Flashover, Joint
from cablesim.locate.advice import placed_m
from cablesim.training.sheets import sums
from cablesim.training.sheets.around import to_braid
from cablesim.training.sheets.breaks import broken
from cablesim.training.sheets.content import Sum
from cablesim.training.sheets.expert import Expert
from cablesim.training.sheets.solving import Method, Solved, echo_methods, values

__all__ = ["solved"]

# A closed form answers the damage if it comes so near, in halves of its own 95 % interval or in
# metres; else it fails here, and the key says so.
_NEAR_HALVES, _NEAR_M = 2.0, 0.3
_NOT_PLACED = "No closed form on the readings of this bag places it."


def solved(expert: Expert) -> Solved:
    """Reason a case out; takes the readings that this needs.

    Parameters
    ----------
    expert
        Who has taken the resistances and the insulation.
    """
    faults = expert.case.faults
    if not faults:
        return Solved("Everything is as the label says: nothing is found broken.", ())
    if len(faults) > 1:
        return _several(expert)
    (fault,) = faults
    for kind, route in _ROUTES:
        if kind(fault):
            found = route(expert, fault)
            true_m = float(fault.position_m)
            methods = sorted(found.methods, key=lambda m: m.half_m or math.inf)
            kinds = [_serves(expert, method, true_m) for method in methods]
            near, wide, failing = (
                tuple(m for m, told in zip(methods, kinds, strict=True) if told == kind)
                for kind in ("near", "wide", "failing")
            )
            advice = found.advice if near else (*found.advice, _NOT_PLACED)
            return replace(found, methods=near, wide=wide, failing=failing, advice=advice)
    raise AssertionError(f"no route for a {fault.kind}")  # every kind has one


def _serves(expert: Expert, method: Method, true_m: float) -> str:
    """Whether a closed form places the damage, holds it too widely (wide), or fails."""
    cable = expert.case.cable
    half = method.half_m or 0.0
    off = abs(method.sum.value - true_m)
    if off > max(_NEAR_M, _NEAR_HALVES * half) or 2 * half > float(cable.heated_length_m):
        return "failing"
    return "wide" if 2 * half > placed_m(cable) else "near"


def _between_cores(expert: Expert, fault: Fault) -> Solved:
    """The two cores touching: contact and way add up to one number."""
    cable = expert.case.cable
    loop = values(expert.taken[0] if expert.taken else None)
    bounds = (sums.farthest(loop[0], cable),) if loop else ()
    least = float(cable.loop_resistance_ohm) * (1 + cable.tolerance_percent[0] / 100)
    kind = (
        "The two cores touch and nothing goes to the braid: the way round reads less than it did. "
        "The contact and the way to it add up to one number, so ohms alone give a farthest place "
        "and no place."
    )
    if loop and loop[0] >= least:
        kind += " Here that number is one that a sound cable may have too."
    echo = echo_methods(expert, "core1", "core2", "-")
    return Solved(kind, echo, bounds)


def _joint(expert: Expert, fault: Fault) -> Solved:
    cable = expert.case.cable
    loop = values(expert.taken[0] if expert.taken else None)
    bounds = (sums.extra_ohm(loop[0], cable),) if loop else ()
    most = float(cable.loop_resistance_ohm) * (1 + cable.tolerance_percent[1] / 100)
    shows = not loop or loop[0] > most
    kind = (
        "The way round reads more than it should and nothing goes to the braid: a bad joint, extra "
        "ohms in series. They are the same wherever they sit, so ohms alone do not place them."
        if shows
        else "A bad joint adds ohms in series. Here they stay within what the label allows, so the "
        "ohms do not tell this cable from a sound one."
    )
    echo = echo_methods(expert, getattr(fault, "conductor", "core1"), "braid", "+")
    advice = () if echo else ("Look at the joints at both ends first.",)
    return Solved(kind, echo, bounds, advice=advice)


def _flashover(expert: Expert, fault: Fault) -> Solved:
    kind = (
        "Every reading at low voltage is sound; only high voltage shows the damage. With leave, a "
        "withstand tester trips, and a camera over the floor may see where it warms."
    )
    return Solved(kind, ())


def _several(expert: Expert) -> Solved:
    cable = expert.case.cable
    kind = (
        "No single damage explains every reading: there are two. A closed form that takes them for "
        "one gives a place between them, or off the cable."
    )
    bounds: list[Sum] = []
    ohms = values(*expert.taken[:3])
    if ohms is not None and not cable.construction.returns and cable.far_end == "joined":
        loop, first, second = ohms
        low, high = sorted((first, second))
        bounds.append(sums.three_resistances(loop, low, high, cable, "taken for one damage"))
    for across in (("core1", "core2+braid"), ("core2", "core1+braid"), ("core1+core2", "braid")):
        if len(cable.construction.cores) == 2:
            expert.read("capacitance_meter", *across)
    if cable.construction.returns:
        for end in ("core1", "core1@far"):
            expert.read("capacitance_meter", end, "braid")
    for sign, told in (("-", "negative"), ("+", "positive")):
        time = values(expert.read("pulse_echo", "core1", "braid", sign=sign))
        if time:
            bounds.append(sums.echo(time[0], cable, f"first {told} echo"))
    if cable.construction.returns:
        time = values(expert.read("pulse_echo", "core1@far", "braid@far", sign="+"))
        if time:
            bounds.append(sums.echo_from_far(time[0], cable, "first positive echo, far end"))
    advice = ("Mend what is sure, read again, and go on with what is left.",)
    return Solved(kind, (), tuple(bounds), advice=advice)


_ROUTES: tuple[tuple[Callable[[Fault], bool], Callable[[Expert, Fault], Solved]], ...] = (
    (lambda f: isinstance(f, Break), broken),
    (lambda f: isinstance(f, Joint), _joint),
    (lambda f: isinstance(f, Flashover), _flashover),
    (lambda f: "braid" in getattr(f, "between", ()), to_braid),
    (lambda f: True, _between_cores),
)
