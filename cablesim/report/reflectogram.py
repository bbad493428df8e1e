"""What a pulse echo meter shows of a scenario, and what its echoes mean."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.echo_finding import FoundEcho, entering, find_echoes
from cablesim.instruments.pulse_echo import PulseEcho
from cablesim.instruments.standard import usual_meter
from cablesim.line.pulse import Incident, Trace, echo_trace
from cablesim.line.reflection import (
    Echo,
    echo_delay_ns,
    echo_position_m,
    echoes,
    end_of_leads,
    joint_echo,
    wave_impedance_ohm,
)
from cablesim.line.terminals import Hookup
from cablesim.report.words import fault_words
from cablesim.scenario.scenario import EchoTraces, Scenario

__all__ = ["Reflectogram", "SeenEcho", "reflectogram"]

_POINTS = 1500
# The most of them: a step may be as long as the rise, and no longer.
_MOST_POINTS = 20_000
# Coverage of the stated interval: two standard deviations of the time, and all of the tolerance of
# the speed.
_DEVIATIONS = 2.0
# How much longer than the way to the far end and back the trace is.
_LONGER = 2.2
_MOST = 8


@dataclass(frozen=True, slots=True)
class SeenEcho:
    """An echo on a trace, and what it means.

    Parameters
    ----------
    found
        Time, uncertainty, size.
    position_m
        Where it comes from, if straight from there [m from the cold joint].
    interval_m
        The same with the tolerance of the speed and the uncertainty of the time.
    likely
        What it likely is, in words.
    from_fault
        Whether it is taken for that of a fault.
    """

    found: FoundEcho
    position_m: float
    interval_m: tuple[float, float]
    likely: str
    from_fault: bool

    def to_dict(self) -> dict[str, Any]:
        """One entry of ``cablesim echo --json``."""
        return {
            "delay_ns": round(self.found.delay_ns, 3),
            "uncertainty_ns": round(self.found.uncertainty_ns, 3),
            "sign": self.found.sign,
            "size": round(self.found.size, 5),
            "position_m": round(self.position_m, 3),
            "interval_m": [round(end, 3) for end in self.interval_m],
            "likely": self.likely,
        }


@dataclass(frozen=True, slots=True)
class Reflectogram:
    """Traces and echoes of one hook-up.

    Parameters
    ----------
    title
        Of the scenario.
    cable, meter, hookup
        What was looked at, with what.
    damaged, healthy
        Traces as shares of the step that enters, which is half up at time 0. `healthy` is computed
        from the cable's data unless it was recorded.
    recorded
        Whether `damaged` was recorded, or computed from the stated faults.
    echoes
        Those found, in order of time.
    expected
        Computed front of the cold joint where it sends one back, of each stated fault and of the
        far end, with its name.
    """

    title: str
    cable: Cable
    meter: PulseEcho
    hookup: Hookup
    damaged: Trace
    healthy: Trace
    recorded: bool
    echoes: tuple[SeenEcho, ...]
    expected: tuple[tuple[str, Echo], ...]

    @property
    def far_delay_ns(self) -> float:
        """When the far end should answer [ns]."""
        return float(self.expected[-1][1].delay_ns)

    @property
    def joint_delay_ns(self) -> float:
        """When the cold joint passes [ns]."""
        end = end_of_leads(self.cable, self.hookup)
        at_m = 0.0 if end == "near" else self.cable.heated_length_m
        return float(echo_delay_ns(self.cable, at_m, end=end))

    def position_m(self, delay_ns: FloatArray | float) -> FloatArray:
        """Place whose echo comes at this time, at the nominal speed [m from the cold joint]."""
        return np.asarray(_position_m(self.cable, self.hookup, delay_ns))

    def to_dict(self) -> dict[str, Any]:
        """The object of ``cablesim echo --json``."""
        return {
            "meter": self.meter.name,
            "across": list(self.hookup.across),
            "recorded": self.recorded,
            "velocity_factor": float(self.cable.velocity_factor),
            "wave_impedance_ohm": round(float(wave_impedance_ohm(self.cable, self.hookup)), 3),
            "echoes": [echo.to_dict() for echo in self.echoes],
            "expected": [
                {
                    "of": name,
                    "position_m": round(float(echo.position_m), 3),
                    "delay_ns": round(float(echo.delay_ns), 3),
                    "size": round(float(echo.size), 5),
                }
                for name, echo in self.expected
            ],
        }


def reflectogram(scenario: Scenario, across: tuple[str, str] | None = None) -> Reflectogram:
    """Show a scenario on a pulse echo meter: its own recorded traces, or computed ones.

    Parameters
    ----------
    scenario
        The cable, its faults or its traces, and the meter; a usual one where it has none.
    across
        What the two leads touch; those of its first echo reading unless given, else the first core
        and the braid.

    Raises
    ------
    InputError
        If these leads have no echo, or the cable is too long for pulses that rise so fast.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> shown = reflectogram(Scenario.of(cable, [Short(("core1", "braid"), 12.4, 20.0)]))
    >>> first = shown.echoes[0]
    >>> print(f"{first.found.delay_ns:.1f} ns, {first.likely}, {first.position_m:.2f} m")
    154.0 ns, short or leak, 12.40 m
    """
    cable = scenario.cable
    meter, hookup, traces = _chosen(scenario, across)
    incident = meter.incident
    faults = () if traces else scenario.faults
    expected = tuple(
        (fault_words(faults[echo.source]) if echo.source >= 0 else "far end", echo)
        for echo in echoes(cable, faults, hookup, meter.source_ohm, rise_s=incident.rise_s)
    )
    joint = joint_echo(cable, hookup, meter.source_ohm)
    if joint is not None:
        expected = (("cold joint", joint), *expected)
    until_s = 1e-9 * _LONGER * float(expected[-1][1].delay_ns) + 6 * incident.rise_s
    if until_s > 0.99 * _MOST_POINTS * incident.rise_s:
        raise InputError(
            "the cable is too long for the meter's pulse: its far end answers after "
            f"{float(expected[-1][1].delay_ns):.4g} ns, and a trace holds at most {_MOST_POINTS} "
            f"times the rise time of {meter.rise_ns:g} ns",
            try_this="check heated_length_m, or state a longer rise_ns for the meter",
        )
    how = {"until_s": until_s, "points": _points(until_s, incident)}
    computed = echo_trace(cable, (), hookup, incident, **how)  # type: ignore[arg-type]
    healthy = traces.healthy if traces and traces.healthy else computed
    if traces:
        damaged = traces.damaged
    else:
        damaged = echo_trace(cable, faults, hookup, incident, **how)  # type: ignore[arg-type]
    damaged, healthy = (_in_shares(trace, incident) for trace in (damaged, healthy))
    compared = healthy if faults or (traces and traces.healthy) else None
    noise = meter.noise_percent / 100
    found = list(find_echoes(damaged, incident, noise_volt=noise, most=_MOST))
    by_change: list[FoundEcho] = []
    if compared is not None:
        by_change = [
            echo
            for echo in find_echoes(
                damaged,
                incident,
                healthy=compared,
                noise_volt=noise,
                healthy_noise_volt=noise if traces else 0.0,
                most=_MOST,
            )
            if all(abs(echo.delay_ns - other.delay_ns) > meter.rise_ns for other in found)
        ]
    found = [echo for echo in (*found, *by_change) if echo.delay_ns < 1e9 * until_s]
    found.sort(key=lambda echo: echo.delay_ns)
    far_size = float(echoes(cable, (), hookup, meter.source_ohm)[-1].size)
    seen = _meanings(found, by_change, cable, hookup, meter, far_size, joint)
    return Reflectogram(
        scenario.title, cable, meter, hookup, damaged, healthy, bool(traces), seen, expected
    )


def _chosen(
    scenario: Scenario, across: tuple[str, str] | None
) -> tuple[PulseEcho, Hookup, EchoTraces | None]:
    """Meter, hook-up, and recorded traces of that hook-up where there are any."""
    entries = [e for e in scenario.entries if isinstance(e.probe.meter, PulseEcho)]
    wanted = Hookup.of(scenario.cable, across) if across else None
    if wanted is None and entries:
        wanted = next((e for e in entries if e.traces), entries[0]).probe.hookup
    if wanted is None:
        wanted = Hookup.of(scenario.cable, ("core1", "braid"))
    same = [e for e in entries if e.probe.hookup == wanted]
    meters = [e.probe.meter for e in (*same, *entries)] + list(scenario.meters.values())
    own = next((meter for meter in meters if isinstance(meter, PulseEcho)), None)
    meter = own or usual_meter("pulse_echo")
    assert isinstance(meter, PulseEcho)  # what was asked for
    return meter, wanted, next((e.traces for e in same if e.traces), None)


def _points(until_s: float, incident: Incident) -> int:
    """Enough samples for four in a rise time."""
    return int(np.clip(4 * until_s / incident.rise_s, _POINTS, _MOST_POINTS))


def _in_shares(trace: Trace, incident: Incident) -> Trace:
    """The trace as a share of the step that enters, which is half up at time 0."""
    starts_s, volt = entering(trace, incident)
    base = float(trace.volt[0])
    return replace(trace, time_s=trace.time_s - starts_s, volt=(trace.volt - base) / volt)


def _position_m(cable: Cable, hookup: Hookup, delay_ns: FloatArray | float) -> Any:
    return echo_position_m(cable, np.asarray(delay_ns), end=end_of_leads(cable, hookup))


def _meanings(
    found: Sequence[FoundEcho],
    by_change: Sequence[FoundEcho],
    cable: Cable,
    hookup: Hookup,
    meter: PulseEcho,
    far_size: float,
    joint: Echo | None,
) -> tuple[SeenEcho, ...]:
    """Say of each echo what it likely is; those by change show only beside the healthy trace."""
    tolerance = [percent / 100 for percent in cable.velocity_tolerance_percent]
    near = end_of_leads(cable, hookup) == "near"
    far_ns = float(
        echo_delay_ns(cable, cable.last_m if near else cable.first_m, end="near" if near else "far")
    )
    seen: list[SeenEcho] = []
    firsts: list[float] = []  # delays of what is no repeat
    for echo in found:
        off_ns = _DEVIATIONS * echo.uncertainty_ns + meter.accuracy_percent / 100 * echo.delay_ns
        ends = [
            float(_position_m(cable, hookup, (echo.delay_ns + sign * off_ns) * (1 + part)))
            for sign, part in zip((-1, 1), tolerance, strict=True)
        ]
        low, high = sorted(ends)
        near_ns = max(off_ns, meter.rise_ns)
        latest_ns = far_ns / (1 + tolerance[0]) + near_ns
        earliest_ns = far_ns / (1 + tolerance[1]) - near_ns
        repeat = any(
            abs(echo.delay_ns - one - other) < near_ns for one in firsts for other in firsts
        )
        at_joint = (
            joint is not None
            and (echo.size > 0) == (float(joint.size) > 0)
            and abs(echo.delay_ns - float(joint.delay_ns)) < near_ns
            and echo not in by_change
        )
        at_end = earliest_ns <= echo.delay_ns <= latest_ns
        fault = False
        if at_end and (echo.size > 0) == (far_size > 0):
            likely = "far end"
        elif at_end and echo in by_change:
            likely = "far end, weaker than healthy"
        elif at_joint:
            likely = "cold joint"
        elif echo.delay_ns > latest_ns or repeat:
            likely = "repeat"
        else:
            likely = "short or leak" if echo.size < 0 else "break or bad joint"
            fault = True
        if likely != "repeat":
            firsts.append(echo.delay_ns)
        place = float(_position_m(cable, hookup, echo.delay_ns))
        inside = (max(low, float(cable.first_m)), min(high, float(cable.last_m)))
        seen.append(SeenEcho(echo, place, inside if fault else (low, high), likely, fault))
    return tuple(seen)
