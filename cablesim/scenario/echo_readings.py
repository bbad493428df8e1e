"""Readings of a pulse echo meter: a time as read off, or traces on which the echo is looked for."""

from __future__ import annotations

import csv
import math
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.instruments.echo_finding import FoundEcho, entering, find_echoes
from cablesim.instruments.meter import Setting
from cablesim.instruments.pulse_echo import PulseEcho
from cablesim.line.pulse import Trace
from cablesim.line.reflection import end_of_leads
from cablesim.line.terminals import Hookup
from cablesim.scenario.checking import Place, only_value
from cablesim.scenario.scenario import EchoTraces

__all__ = ["MOST_TRACE_BYTES", "MOST_TRACE_ROWS", "echo_value", "load_trace"]

MOST_TRACE_BYTES: Final = 4 * 1024 * 1024
MOST_TRACE_ROWS: Final = 100_000
_HEADING: Final = ["time_ns", "volt"]


def echo_value(
    given: Mapping[str, Any], meter: PulseEcho, cable: Cable, hookup: Hookup, place: Place
) -> tuple[Setting, float | None, EchoTraces | None]:
    """Setting and value of an echo; infinite where none was seen, None for a probe.

    Raises
    ------
    ScenarioError
        If the leads have no echo, several values are given, or a trace cannot be used.
    """
    try:
        end_of_leads(cable, hookup)
    except InputError as error:
        raise place.at(error) from None
    setting = Setting(sign=given.get("sign"))
    keys, values = [], []
    if "echo_ns" in given:
        keys.append("echo_ns")
        values.append(float(given["echo_ns"]))
    if given.get("over_range"):
        keys.append("over_range")
        values.append(math.inf)
    if "trace" not in given:
        if "healthy_trace" in given:
            raise place.error(
                "healthy_trace stands without trace",
                try_this="give the damaged cable's recording as trace",
            )
        return setting, only_value(keys, values, place), None
    only_value([*keys, "trace"], [*values, 0.0], place)
    damaged = _named(given, "trace", place)
    healthy = _named(given, "healthy_trace", place) if "healthy_trace" in given else None
    traces = EchoTraces(damaged, healthy)
    try:
        found = _first_echo(traces, meter, setting.sign)
    except InputError as error:
        raise place.at(error) from None
    if found is None:
        return setting, math.inf, traces
    # The display rounds; its sign is part of what is known.
    return Setting(sign=found.sign), float(meter.shown(found.delay_ns, setting)), traces


def _first_echo(traces: EchoTraces, meter: PulseEcho, sign: str | None) -> FoundEcho | None:
    """The first echo on a trace that counts."""
    incident = meter.incident
    # Noise is told as a share of the step that enters the cable.
    _, entered = entering(traces.damaged, incident)
    noise = meter.noise_percent / 100 * entered
    found = find_echoes(
        traces.damaged,
        incident,
        healthy=traces.healthy,
        noise_volt=noise,
        healthy_noise_volt=noise,
    )
    return next((e for e in found if sign in (None, e.sign) and e.delay_ns > 0), None)


def _named(given: Mapping[str, Any], key: str, place: Place) -> Trace:
    folder = Path(place.file).parent if place.file else Path()
    try:
        return load_trace(folder / given[key])
    except InputError as error:
        raise place.error(
            f"{key}: {error.what}", error.got, error.allowed, error.try_this
        ) from None


def load_trace(path: str | os.PathLike[str]) -> Trace:
    """Read a trace: text in columns ``time_ns`` and ``volt``, with these two names above them.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    InputError
        If it cannot be read, or a line of it is no pair of numbers.
    """
    name = Path(path).name
    rows: list[tuple[float, float]] = []
    try:
        if Path(path).exists() and not Path(path).is_file():
            raise InputError(f"{name} is no regular file", try_this="name a CSV file")
        with open(path, encoding="utf-8-sig", newline="") as file:
            size = os.fstat(file.fileno()).st_size
            if size > MOST_TRACE_BYTES:
                raise InputError(f"bytes of {name}", size, f"at most {MOST_TRACE_BYTES}")
            lines = csv.reader(file)
            heading = [cell.strip() for cell in next(lines, [])]
            if heading != _HEADING:
                raise InputError(f"line 1 of {name}", ",".join(heading)[:60], "time_ns,volt")
            for number, cells in enumerate(lines, start=2):
                if cells:
                    rows.append(_pair(cells, number, name))
    except InputError:
        raise
    except (OSError, ValueError, csv.Error) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else "no UTF-8 text"
        raise InputError(
            f"{name} cannot be read ({why})",
            try_this="name a CSV file, relative to the scenario file",
        ) from None
    if not 8 <= len(rows) <= MOST_TRACE_ROWS:
        raise InputError(f"rows of {name}", len(rows), f"8 to {MOST_TRACE_ROWS}")
    table = np.array(rows)
    return Trace(1e-9 * table[:, 0], table[:, 1])


def _pair(cells: list[str], number: int, name: str) -> tuple[float, float]:
    try:
        time_ns, volt = (float(cell) for cell in cells)
    except ValueError:
        time_ns = volt = math.nan
    if not (math.isfinite(time_ns) and math.isfinite(volt)):
        raise InputError(
            f"line {number} of {name}", ",".join(cells)[:60], "two numbers, time in ns and volt"
        )
    return time_ns, volt
