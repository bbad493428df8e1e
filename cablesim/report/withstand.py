"""What ``cablesim withstand`` says: where it trips, what gives way, what each burst does."""

from __future__ import annotations

import math
from typing import Any

from rich import box
from rich.console import Group
from rich.table import Table
from rich.text import Text

from cablesim.cable.cable import Cable
from cablesim.instruments.discharge import SAFE_VOLT
from cablesim.instruments.readings import Probe
from cablesim.instruments.withstand import WithstandTest, withstand_test
from cablesim.instruments.withstand_tester import WithstandTester
from cablesim.line.terminals import Hookup
from cablesim.locate.advice import ALWAYS
from cablesim.report.insulation import duration_words
from cablesim.report.quantities import across_words, display_words, meter_words
from cablesim.report.tables import minded
from cablesim.report.words import fault_words, one_line, place_words
from cablesim.scenario.scenario import Scenario

__all__ = ["CAUTIONS", "withstand_dict", "withstand_tests", "withstand_view"]

CAUTIONS = (
    *ALWAYS,
    "A withstand tester puts up to thousands of volts on the cable: only a licensed person uses "
    "it, nobody stands on the floor or near either end, and the thermostat and every sensor are "
    "disconnected.",
    "Bursts of 1 to 2 s, at most 3 s, at the lowest voltage that trips it; each one chars the "
    "insulation further and can start a fire in what lies around it.",
    "Discharge the cable after each burst and keep its conductors joined before touching it.",
)


def withstand_tests(scenario: Scenario) -> tuple[WithstandTest, ...]:
    """Run every withstand test of a scenario, or one with all cores to the braid.

    Parameters
    ----------
    scenario
        The scenario.
    """
    cable = scenario.cable
    asked = [p for p in scenario.probes if isinstance(p.meter, WithstandTester)]
    if not asked:
        own = [m for m in scenario.meters.values() if isinstance(m, WithstandTester)]
        tester = own[0] if own else WithstandTester(name="withstand_tester")
        cores = "+".join(cable.construction.cores)
        asked = [Probe(tester, Hookup.of(cable, (cores, "braid")))]
    return tuple(withstand_test(cable, scenario.faults, p) for p in dict.fromkeys(asked))


def withstand_dict(test: WithstandTest) -> dict[str, Any]:
    """One entry of ``tests`` of ``cablesim withstand --json``.

    Parameters
    ----------
    test
        The test.
    """
    left, fault = test.discharge, test.fault
    return {
        "meter": test.probe.meter.name,
        "across": list(test.probe.hookup.across),
        "limit_milliamp": test.limit_ampere * 1e3,
        "trips": test.trips,
        "trip_volt": test.trip_volt if test.trips else None,
        "shown": _shown(test),
        "by": test.by or None,
        "between": list(test.between) if test.between else None,
        "position_m": None if fault is None else float(fault.position_m),
        "fault_volt": test.fault_volt if test.trips else None,
        "bursts": [
            {
                "seconds": burst.seconds,
                "watt": burst.watt,
                "from_cable_joule": burst.from_cable_joule,
                "joule": burst.joule,
            }
            for burst in test.bursts
        ],
        "discharge": {
            "volt": left.volt,
            "stored_joule": left.stored_joule,
            "alone_seconds": left.alone_seconds if math.isfinite(left.alone_seconds) else None,
        },
    }


def _shown(test: WithstandTest) -> str:
    probe = test.probe
    return display_words(probe, float(probe.meter.shown(test.trip_volt, probe.setting)))


def withstand_view(tests: tuple[WithstandTest, ...], cable: Cable, title: str) -> Group:
    """A table for each test, and the cautions.

    Parameters
    ----------
    tests
        The tests.
    cable
        The cable.
    title
        One line above them.
    """
    parts = [_table(test, cable, title if k == 0 else "") for k, test in enumerate(tests)]
    return Group(*parts, minded(CAUTIONS))


def _table(test: WithstandTest, cable: Cable, title: str) -> Table:
    probe = test.probe
    named = f"{meter_words(probe)}, {across_words(probe.hookup.across)}"
    table = Table(
        title=Text(f"{one_line(title)}\n{named}" if title else named, style="bold"),
        title_justify="left",
        box=box.SIMPLE,
        show_header=False,
        pad_edge=False,
    )
    table.add_column("")
    table.add_column("", overflow="fold")
    table.add_row("Display", Text(_shown(test), style="bold"))
    if test.trips:
        table.add_row("Trips at", f"{test.trip_volt:.1f} V, {_by(test)}")
        if test.fault is not None:
            place = place_words(float(test.fault.position_m), cable)
            table.add_row("Gives way", Text(f"{fault_words(test.fault)}, {place}"))
            drop = test.trip_volt - test.fault_volt
            lost = f"{drop:.2g} V" if drop >= 1e-3 else "under 1 mV"
            table.add_row("Across it", f"{test.fault_volt:.1f} V, {lost} lost on the way")
    for burst in test.bursts:
        told = f"{burst.joule:.3g} J in the damage, {burst.watt:.2g} W"
        if burst.from_cable_joule:
            told += f"; {burst.from_cable_joule:.2g} J of it the charge of the cable"
        table.add_row(f"Burst of {burst.seconds:g} s", told)
    left = test.discharge
    if left.alone_seconds > 0:
        table.add_row(
            "Charge left",
            f"{left.volt:.0f} V, {left.stored_joule:.2g} J; below {SAFE_VOLT:g} V by itself after "
            f"{duration_words(left.alone_seconds)}",
        )
    return table


def _by(test: WithstandTest) -> str:
    milliamp = f"{test.limit_ampere * 1e3:g} mA"
    if test.by == "flashover":
        return f"where an arc strikes and {milliamp} flow"
    return f"where the leakage draws {milliamp}, without an arc"
