"""What ``cablesim insulation`` says: an insulation test as time goes by, healthy beside damaged."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Any

from rich.console import Group
from rich.table import Table
from rich.text import Text

from cablesim.cable.materials import REFERENCE_TEMPERATURE_C
from cablesim.cable.numbers import finite_or_none
from cablesim.instruments.absorption import READ_AT_S, InsulationTest, insulation_test
from cablesim.instruments.discharge import SAFE_VOLT
from cablesim.instruments.insulation_tester import InsulationTester
from cablesim.instruments.readings import Probe
from cablesim.instruments.standard import standard_probes
from cablesim.locate.advice import ALWAYS, INSULATION
from cablesim.report.headed import headed_table
from cablesim.report.quantities import across_words, display_words, meter_words, quantity_words
from cablesim.report.tables import minded
from cablesim.report.words import one_line
from cablesim.scenario.scenario import Scenario

__all__ = ["CAUTIONS", "InsulationPair", "duration_words", "insulation_pairs", "insulation_view"]

CAUTIONS = (
    *ALWAYS,
    *INSULATION,
    "Keep the conductors joined after the discharge: what the insulation has absorbed comes back "
    "as a voltage once they are parted.",
)

_ROWS = tuple(f"{t:g} s" if t < 600 else f"{t / 60:g} min" for t in READ_AT_S)


@dataclass(frozen=True, slots=True, eq=False)
class InsulationPair:
    """One insulation test on the cable as it should be and as it is.

    Parameters
    ----------
    probe
        The tester and its leads.
    healthy, damaged
        What it finds.
    """

    probe: Probe
    healthy: InsulationTest
    damaged: InsulationTest

    def to_dict(self) -> dict[str, Any]:
        """One entry of ``tests`` of ``cablesim insulation --json``."""
        return {
            "meter": self.probe.meter.name,
            "across": list(self.probe.hookup.across),
            "test_volt": self.probe.setting.test_volt,
            "healthy": _told(self.healthy),
            "damaged": _told(self.damaged),
        }


def insulation_pairs(scenario: Scenario) -> tuple[InsulationPair, ...]:
    """Run every insulation test that a scenario has, or the usual one where it has none.

    Parameters
    ----------
    scenario
        The scenario; the times of its readings make no difference here.
    """
    asked = [p for p in scenario.probes if isinstance(p.meter, InsulationTester)]
    if not asked:
        usual = standard_probes(scenario.cable)
        asked = [p for p in usual if isinstance(p.meter, InsulationTester)]
    steady = dict.fromkeys(replace(p, setting=replace(p.setting, seconds=None)) for p in asked)
    cable = scenario.cable
    return tuple(
        InsulationPair(p, insulation_test(cable, (), p), insulation_test(cable, scenario.faults, p))
        for p in steady
    )


def _told(test: InsulationTest) -> dict[str, Any]:
    left = test.discharge
    return {
        "readings": [
            {"seconds": seconds, "megohm": finite_or_none(ohm / 1e6)}
            for seconds, ohm in zip(READ_AT_S, test.read_ohm, strict=True)
        ],
        "steady_megohm": finite_or_none(test.steady_ohm / 1e6),
        "minute_at_20_c_megohm": finite_or_none(test.minute_ohm_at_20_c / 1e6),
        "absorption_ratio": test.absorption_ratio,
        "polarization_index": test.polarization_index,
        "index_means_something": test.index_means_something,
        "capacitance_nanofarad": test.insulation.capacitance_farad * 1e9,
        "absorption_exponent": float(test.insulation.absorption.exponent),
        "absorption_factor": float(test.insulation.absorption.factor),
        "discharge": {
            "volt": left.volt,
            "stored_joule": left.stored_joule,
            "alone_seconds": finite_or_none(left.alone_seconds),
            "by_tester_seconds": finite_or_none(left.by_tester_seconds),
            "returned_volt": left.returned_volt,
        },
    }


def duration_words(seconds: float) -> str:
    """A time in the unit that suits it.

    >>> duration_words(0.0144), duration_words(222.6), duration_words(4e5)
    ('14 ms', '3.7 min', '4.6 days')
    """
    if math.isinf(seconds):
        return "over 30 years"
    for size, unit in ((86400.0, "days"), (3600.0, "h"), (60.0, "min"), (1.0, "s")):
        if seconds >= size:
            return f"{seconds / size:.2g} {unit}"
    return f"{seconds * 1e3:.2g} ms" if seconds > 0 else "at once"


def insulation_view(pairs: tuple[InsulationPair, ...], title: str) -> Group:
    """A table for each test, and the cautions.

    Parameters
    ----------
    pairs
        The tests.
    title
        One line above them.
    """
    parts = [_table(pair, title if k == 0 else "") for k, pair in enumerate(pairs)]
    return Group(*parts, minded(CAUTIONS))


def _volts(volt: float) -> str:
    return f"{volt:.0f} V" if volt >= 10 else f"{volt:.2g} V" if volt >= 0.01 else "0 V"


def _table(pair: InsulationPair, title: str) -> Table:
    probe = pair.probe
    named = f"{meter_words(probe)}, {across_words(probe.hookup.across)}"
    table = headed_table(f"{one_line(title)}\n{named}" if title else named)
    table.add_column("")
    for name in ("Healthy", "Damaged", "Display"):
        table.add_column(name, justify="right")
    both = (pair.healthy, pair.damaged)
    for k, name in enumerate(_ROWS):
        ohm = pair.damaged.read_ohm[k]
        shown = float(probe.meter.shown(ohm / probe.meter.unit_size, probe.setting))
        cells = [quantity_words(t.read_ohm[k], "ohm") for t in both]
        table.add_row(f"after {name}", *cells, display_words(probe, shown))
    table.add_row("steady", *(quantity_words(t.steady_ohm, "ohm") for t in both), "")
    if pair.damaged.temperature_c != REFERENCE_TEMPERATURE_C:
        cells = [quantity_words(t.minute_ohm_at_20_c, "ohm") for t in both]
        table.add_row(f"after 60 s, from {pair.damaged.temperature_c:g} C to 20 C", *cells, "")
    table.add_row("absorption ratio, 60 s / 30 s", *(f"{t.absorption_ratio:.3f}" for t in both), "")
    table.add_row(
        "polarization index, 10 min / 1 min", *(f"{t.polarization_index:.3f}" for t in both), ""
    )
    left = [t.discharge for t in both]
    table.add_row("charge left, voltage", *(_volts(d.volt) for d in left), "")
    table.add_row(
        f"  below {SAFE_VOLT:g} V by itself after",
        *(duration_words(d.alone_seconds) for d in left),
        "",
    )
    returned = (_volts(d.returned_volt) for d in left)
    table.add_row("  comes back after a second's short", *returned, "")
    if not all(t.index_means_something for t in both):
        table.caption = Text(
            "Above 5 Gohm at one minute the polarization index says nothing (IEEE 43-2013, as "
            "quoted)."
        )
        table.caption_justify = "left"
    return table
