"""Write how far pulses and echoes are from outside checks, and how far an echo reaches.

Run it from the top of the checkout, with the tests' folder on the path::

    PYTHONPATH=tests python -m outside.pulses_report docs/validation/echo.md docs/figures
"""

from __future__ import annotations

import platform
import shutil
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
from outside import against_pulses
from outside.against_pulses import coaxial, spice_deviation
from outside.report import row_of

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Fault, Joint, Short
from cablesim.instruments.echo_finding import find_echoes
from cablesim.instruments.meter import Setting
from cablesim.instruments.pulse_echo import PulseEcho
from cablesim.line.pulse import Incident, Trace, echo_trace, travel_s
from cablesim.line.reflection import echo_delay_ns, echoes, wave_impedance_ohm
from cablesim.line.terminals import Hookup
from cablesim.report.reflectogram import reflectogram
from cablesim.report.reflectogram_figure import reflectogram_png
from cablesim.scenario.scenario import Scenario

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
ACROSS = Hookup.of(TWIN, ("core1", "braid"))
METER = PulseEcho(name="pulse_echo")
FIGURES: dict[str, tuple[str, Fault]] = {
    "echo-short": ("A short of 20 ohm to the braid", Short(("core1", "braid"), 12.4, 20.0)),
    "echo-break": ("One core cut through", Break(("core1",), 12.4)),
}
_HEAD = """# Pulses and echoes, checked from outside

This page is written by
`PYTHONPATH=tests python -m outside.pulses_report docs/validation/echo.md docs/figures`;
the same checks run with the tests. Deviations are the largest of all cases of a row.

| what | against | cases | largest deviation | allowed | because | source |
| --- | --- | ---: | ---: | ---: | --- | --- |
"""


def stairs_deviation(error: float) -> float:
    """Largest difference of a trace to the staircase of a line without losses."""
    cable = coaxial(52.0, 20.0, 0.645)
    hookup, source = Hookup.of(cable, ("core1", "braid")), Incident(2e-9, source_ohm=20.0)
    trace = echo_trace(cable, (), hookup, source, error=error)
    z0 = float(wave_impedance_ohm(cable, hookup))
    enters, back = z0 / (z0 + 20.0), (20.0 - z0) / (20.0 + z0)
    there_and_back_s = float(2 * travel_s(cable, 0.0, 20.0))
    stairs = enters * source.against_time(trace.time_s)
    for k in range(1, 5):
        later = source.against_time(trace.time_s - k * there_and_back_s)
        stairs += enters * (1 + back) * back ** (k - 1) * later
    return float(np.abs(trace.volt - stairs).max())


def timing(
    noise: float, *, known: bool, cases: int = 120
) -> tuple[int, float, float, float, float]:
    """Of random faults: how many are found, error and stated uncertainty [ns], false echoes."""
    rng = np.random.default_rng(20)
    source = METER.incident
    healthy = echo_trace(TWIN, (), ACROSS, source, points=1024)
    z0 = float(wave_impedance_ohm(TWIN, ACROSS))
    entered = z0 / (z0 + source.source_ohm)
    off, stated, false, visible = [], [], 0, 0
    for _ in range(cases):
        at_m = rng.uniform(1.0, 28.0)
        fault = (
            Short(("core1", "braid"), at_m, 10 ** rng.uniform(0, 2))
            if rng.random() < 0.5
            else Joint("core1", at_m, 10 ** rng.uniform(1.3, 3))
        )
        trace = echo_trace(TWIN, (fault,), ACROSS, source, points=1024)
        volt = trace.volt + noise * entered * rng.standard_normal(1024)
        found = find_echoes(
            Trace(trace.time_s, volt),
            source,
            healthy=healthy if known else None,
            noise_volt=noise * entered,
        )
        wanted = echoes(TWIN, (fault,), ACROSS, source.source_ohm)[0]
        if abs(float(wanted.size)) < 0.05:
            continue
        visible += 1
        near = [e for e in found if abs(e.delay_ns - float(wanted.delay_ns)) < 4]
        false += sum(e.delay_ns < float(wanted.delay_ns) - 4 for e in found)
        if near:
            off.append(near[0].delay_ns - float(wanted.delay_ns))
            stated.append(near[0].uncertainty_ns)
    rms, mean = float(np.sqrt(np.mean(np.square(off)))), float(np.mean(stated))
    return visible, len(off) / visible, rms, mean, false / visible


def largest_short_ohm(core_ohm_per_m: float, at_m: float) -> float:
    """Largest resistance core to braid whose echo stands out of the usual meter's noise."""
    cable = replace(TWIN, heated_length_m=200.0, core_ohm_per_m=(core_ohm_per_m,) * 2)
    ohm = np.logspace(-2, 4, 2401)
    shorts = (Short(("core1", "braid"), at_m, ohm),)
    seen = np.isfinite(METER.exact_of(cable, shorts, ACROSS, Setting(sign="-")))
    return float(ohm[seen].max()) if seen.any() else 0.0


def page() -> str:
    text = _HEAD + "".join(
        row_of(check) for check in (*against_pulses.INSIDE, *against_pulses.NGSPICE)
    )
    text += "\n## A lumped ladder in ngspice comes to the exact line\n\n"
    text += "Echo of a short of 40 ohm halfway along 12 m, rise 8 ns; deviation of the step.\n\n"
    text += "| rungs | against the exact line | against our ladder of as many rungs |\n"
    text += "| ---: | ---: | ---: |\n"
    for rungs in (25, 50, 100, 200):
        exact, same = (spice_deviation(rungs, lumped=lumped) for lumped in (False, True))
        text += f"| 2 x {rungs} | {exact:.1e} | {same:.1e} |\n"
    text += "\n## The error asked for is kept\n\n"
    text += "A line without losses against its staircase of echoes, four of them.\n\n"
    text += "| asked for | found |\n| ---: | ---: |\n"
    for error in (1e-3, 1e-5, 1e-7, 1e-9, 1e-10):
        text += f"| {error:.0e} | {stairs_deviation(error):.1e} |\n"
    text += "\n## Echoes are found on time\n\n"
    text += (
        "Random shorts and bad joints on a 30 m twin cable whose front is at least 5 % of the "
        "step, rise 3 ns; false are those found before the fault's. Without a healthy trace and "
        "with very little noise, the bend where the heated part begins counts as well.\n\n"
        "| noise | healthy trace | cases | found | error, RMS, ns | stated uncertainty, ns "
        "| false per trace |\n| ---: | --- | ---: | ---: | ---: | ---: | ---: |\n"
    )
    for noise in (0.001, 0.005, 0.01):
        for known in (True, False):
            cases, found, rms, stated, false = timing(noise, known=known)
            text += (
                f"| {100 * noise:g} % | {'known' if known else 'unknown'} | {cases} "
                f"| {100 * found:.0f} % | {rms:.2f} | {stated:.2f} | {false:.3f} |\n"
            )
    text += "\n## How far an echo reaches\n\n"
    text += (
        "Largest resistance [ohm] between core1 and braid whose echo stands out of 0.5 % of noise "
        "five times, across these two, cold lead 2.5 m; a dash where not even a dead short "
        "does.\n\n"
    )
    places = (1.0, 5.0, 10.0, 20.0, 40.0, 80.0, 150.0)
    text += "| core, ohm/m | " + " | ".join(f"{place:g} m" for place in places) + " |\n"
    text += "| ---: " * (len(places) + 1) + "|\n"
    for core in (0.1, 0.5, 1.5, 5.0, 15.0):
        cells = [largest_short_ohm(core, place) for place in places]
        told = " | ".join(f"{ohm:.0f}" if ohm >= 0.5 else "-" for ohm in cells)
        text += f"| {core:g} | {told} |\n"
    delay = float(echo_delay_ns(TWIN, 12.4))
    text += (
        f"\nAn echo from 12.4 m on that 30 m cable takes {delay:.1f} ns; a velocity 5 % off moves "
        f"its place by {0.05 * 14.9:.2f} m.\n"
    )
    text += f"\nWritten with Python {platform.python_version()} and numpy {np.__version__}.\n"
    return text


def main() -> None:
    """Write the page, and the figures of the page on pulse echo."""
    if shutil.which("ngspice") is None:
        raise SystemExit("the program ngspice is not installed")
    Path(sys.argv[1]).write_text(page(), encoding="utf-8")
    for name, (title, fault) in FIGURES.items():
        image = reflectogram_png(reflectogram(Scenario.of(TWIN, [fault], title=title)))
        (Path(sys.argv[2]) / f"{name}.png").write_bytes(image)


if __name__ == "__main__":
    main()
