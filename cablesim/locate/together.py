"""Answer the questions of many searches at once: one batch of circuits for all hypotheses.

Each search (`cablesim.locate.explore`) asks for what ideal meters would show at points of its own
cube. A few hundred circuits cost little more than one, and all hypotheses with the same number of
places are one circuit: at each place there may be paths between any two conductors and something in
series with any of them, infinite or zero where a hypothesis has no such thing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace
from typing import Any, TypeVar

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Joint, Short
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import manners
from cablesim.line.circuit import terminal_network
from cablesim.line.piece import uniform_piece
from cablesim.line.terminals import Terminal
from cablesim.locate.fitting import Asking
from cablesim.locate.parameters import Unknowns
from cablesim.locate.prior import Hypothesis

__all__ = ["answered_together"]

_T = TypeVar("_T")
_LEAST_OHM = 1e-15


def answered_together(unknowns: Sequence[Unknowns], asking: Sequence[Asking[_T]]) -> list[_T]:
    """Run searches side by side until each has returned.

    Parameters
    ----------
    unknowns
        The cube of each search; all of one cable and the same readings.
    asking
        The searches, generators that yield points and are sent exact values.

    Returns
    -------
    list
        What each search returned.
    """
    found: dict[int, _T] = {}
    waiting: dict[int, FloatArray] = {}
    answers: dict[int, FloatArray | None] = dict.fromkeys(range(len(asking)))
    while answers:
        for number, answer in answers.items():
            try:
                search = asking[number]
                waiting[number] = next(search) if answer is None else search.send(answer)
            except StopIteration as done:
                found[number] = done.value
                waiting.pop(number, None)
        answers = {}
        for places in {unknowns[number].places for number in waiting}:
            group = [n for n in waiting if unknowns[n].places == places]
            points = [waiting[n] for n in group]
            values = _exact([unknowns[n] for n in group], points)
            answers |= dict(zip(group, values, strict=True))
    return [found[number] for number in range(len(asking))]


def _exact(unknowns: Sequence[Unknowns], points: Sequence[FloatArray]) -> list[FloatArray]:
    """`Unknowns.exact` of each at its points, all in one batch of circuits.

    Of meters that give up, what they would show if they did not; how far they are past their limits
    stands in further columns.
    """
    probes = unknowns[0].probes
    # What is uncertain about the cable depends on the readings only: any hypothesis has it.
    factors = [z[:, u.fault_size : u.circuit_size] for u, z in zip(unknowns, points, strict=True)]
    nothing = replace(unknowns[0], hypothesis=Hypothesis("healthy", 1.0))
    factors_of_all = np.concatenate(factors)
    cable = nothing.cable_at(factors_of_all)
    ends = np.cumsum([len(z) for z in points]).tolist()
    rows = [slice(end - len(z), end) for z, end in zip(points, ends, strict=True)]
    together = _all_at_once(cable, unknowns, points, rows)
    limits = [k for k, probe in enumerate(probes) if probe.meter.gives_up]
    values = np.empty((len(factors_of_all), len(probes) + len(limits)))
    for k, probe in enumerate(probes):
        meter, hookup, setting = probe.meter, probe.hookup, probe.setting
        if meter.sees_places:
            for u, z, its in zip(unknowns, points, rows, strict=True):
                part, own = _rows(cable, its), u.faults_at(z)
                values[its, k] = meter.exact_of(part, own, hookup, setting)
    for (frequency_hz, seconds), chosen in manners(probes).items():
        terminals = frozenset[Terminal]().union(*(probes[k].hookup.terminals for k in chosen))
        network = terminal_network(cable, together, terminals, frequency_hz, seconds=seconds)
        for k in chosen:
            meter, hookup, setting = probes[k].meter, probes[k].hookup, probes[k].setting
            if meter.gives_up:
                column = len(probes) + limits.index(k)
                values[:, k], values[:, column] = meter.past_limit(network, hookup, setting)
            else:
                values[:, k] = meter.exact_in(network, together, hookup, setting, uniform_piece)
    values = nothing.finite(values)
    return [values[its] for its in rows]


def _all_at_once(
    cable: Cable,
    unknowns: Sequence[Unknowns],
    points: Sequence[FloatArray],
    rows: Sequence[slice],
) -> tuple[Fault, ...]:
    """Faults that in each row are those of its hypothesis, and nothing where it has none."""
    size = rows[-1].stop
    at_m = np.empty((unknowns[0].places, size))
    shunts: dict[tuple[int, str, str, str], FloatArray] = {}
    series: dict[tuple[int, str], FloatArray] = {}
    for u, z, its in zip(unknowns, points, rows, strict=True):
        for place, where in enumerate(u.places_m(z)):
            at_m[place, its] = where
        for fault, place, ohm in zip(
            u.hypothesis.faults, u.hypothesis.place_of, u.fault_ohms(z), strict=True
        ):
            if isinstance(fault, Break | Joint):
                for name in fault.conductors:
                    series.setdefault((place, name), np.zeros(size))[its] += ohm
                continue
            a, b = sorted(fault.between, key=cable.conductors.index)
            siemens = 1.0 / np.maximum(ohm, _LEAST_OHM)
            sides = [fault.side] if isinstance(fault, Short) else ["near", "far"]
            for side in sides:
                path = shunts.setdefault((place, a, b, side), np.zeros(size))
                path[its] += siemens / len(sides)
    merged: list[Fault] = []
    for (place, a, b, side), siemens in shunts.items():
        ohm = np.divide(1.0, siemens, out=np.full(size, np.inf), where=siemens > 0)
        merged.append(Short((a, b), at_m[place], ohm, side))
    merged += [Break((name,), at_m[place], ohm) for (place, name), ohm in series.items()]
    return tuple(merged)


def _rows(cable: Cable, rows: slice) -> Cable:
    """Some rows of a cable whose numbers are arrays over the batch."""
    changes: dict[str, Any] = {}
    for field in fields(cable):
        value = getattr(cable, field.name)
        if isinstance(value, tuple) and any(np.ndim(v) for v in value):
            changes[field.name] = tuple(v[rows] if np.ndim(v) else v for v in value)
        elif isinstance(value, np.ndarray) and value.ndim:
            changes[field.name] = value[rows]
    return replace(cable, **changes)
