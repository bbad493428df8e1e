"""Where bridges stand and ohmmeters fail: one unsteady leak, read both ways.

Run it from the top of the checkout, with the tests' folder on the path::

    PYTHONPATH=tests python -m validation.unsteady docs/validation/unsteady.md
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded
from cablesim.instruments.meters import LoopBridge, Ohmmeter, Setting
from cablesim.instruments.readings import Probe, measure
from cablesim.line.terminals import Hookup
from cablesim.locate.closed_forms import murray, varley

CABLE = Cable.rated("twin", 30.0, 88.2, insulation_gigaohm_m=1e5)
AT_M = 12.0
OHMS = (1e2, 1e3, 1e4, 1e5, 1e6)
COUNT = 2000
# A better hand-held meter, its leads nulled out; common practice, no source.
METER = Ohmmeter(
    name="good", accuracy_percent=0.2, accuracy_counts=2.0, counts=50_000, resolution=0.01,
    top_range=50e6, lead_ohm=0.0, lead_ohm_tolerance=0.0,
)  # fmt: skip
LOW = LoopBridge(name="bridge", battery_volt=9.0, galvanometer_microamp=0.01)
HIGH = LoopBridge(name="bridge", battery_volt=1000.0, galvanometer_microamp=0.01)
# Heated core worth as much as the cold lead of one core.
LEAD_M = CABLE.cold_lead_m * CABLE.cold_lead_ohm_per_m / CABLE.core_ohm_per_m[0]


@dataclass(frozen=True)
class Row:
    """Half of the width that holds 95 % of the places found [m]."""

    ohm: float
    drift_percent: float
    ohmmeter_m: float
    murray_low_m: float
    murray_high_m: float
    varley_high_m: float


def half_width_m(places_m: np.ndarray) -> float:
    """Half of the interval about the truth that holds 95 % of the places."""
    return float(np.quantile(np.abs(places_m - AT_M), 0.95))


def row(ohm: float, drift_percent: float) -> Row:
    """Read the leak many times and place it by closed forms."""
    leak = Degraded.at(("core1", "braid"), AT_M, np.full(COUNT, ohm), drift_percent)
    pairs = [("core1", "core2"), ("core1", "braid"), ("core2", "braid")]
    three = [Probe(METER, Hookup.of(CABLE, pair)) for pair in pairs]
    rng = np.random.default_rng(2026)
    read = measure(CABLE, (leak,), three, rng=rng)
    lead_ohm = CABLE.cold_lead_m * CABLE.cold_lead_ohm_per_m
    by_ohms = [_placed(values, lead_ohm) for values in read]
    leads = Hookup.of(CABLE, ("core2", "core1", "braid"))
    found = {}
    for name, bridge in (("low", LOW), ("high", HIGH)):
        probe = Probe(bridge, leads, Setting(method="murray"))
        shares = measure(CABLE, (leak,), [probe], rng=rng)[:, 0]
        found[name] = murray(np.clip(shares, 0.0, 1.0), 30.0, cold_lead_m=LEAD_M)
    box = Probe(HIGH, leads, Setting(method="varley", arms=(1000.0, 1000.0)))
    boxes = measure(CABLE, (leak,), [box], rng=rng)[:, 0]
    loop_ohm = float(CABLE.loop_resistance_ohm) + 2 * lead_ohm
    by_box = varley(boxes, loop_ohm, CABLE.core_ohm_per_m[0], cold_lead_ohm=lead_ohm)
    return Row(
        ohm,
        drift_percent,
        half_width_m(np.array(by_ohms)),
        half_width_m(np.asarray(found["low"])),
        half_width_m(np.asarray(found["high"])),
        half_width_m(np.asarray(by_box)),
    )


def _placed(values: np.ndarray, lead_ohm: float) -> float:
    """Place by three readings, held inside the cable as anybody would."""
    loop, one, two = values
    length = float(CABLE.heated_length_m)
    return float(np.clip(length * (1 + (one - two) / (loop - 2 * lead_ohm)), 0.0, length))


def page() -> str:
    """The page of the documentation."""
    lines = [
        "# An unsteady leak: three ohm readings against a bridge",
        "",
        "This page is written by `PYTHONPATH=tests python -m validation.unsteady "
        "docs/validation/unsteady.md`.",
        f"A twin cable of 30 m and 88.2 ohm leaks from core1 to the braid at {AT_M:g} m. Each of "
        f"{COUNT} rows of readings",
        "is placed by closed form; the table gives the distance from the truth that 95 % of them "
        "keep.",
        "Ohmmeter: 50,000 counts, 0.2 % + 2 counts, leads nulled out. Bridge: slide of 1000",
        "divisions, 0.1 % + 0.5 divisions, galvanometer of 0.01 uA; at 9 V, and at 1000 V.",
        "",
        "| leak | drift | three ohm readings | Murray, 9 V | Murray, 1000 V | Varley, 1000 V |",
        "| ---: | ---: | ---: | ---: | ---: | ---: |",
    ]
    for drift in (0.0, 5.0, 50.0):
        for ohm in OHMS:
            r = row(ohm, drift)
            told = (r.ohmmeter_m, r.murray_low_m, r.murray_high_m, r.varley_high_m)
            cells = " | ".join(f"{value:.2g} m" for value in told)
            lines.append(f"| {ohm:g} ohm | {drift:g} % | {cells} |")
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write the page to the named file, or to standard output."""
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(page())
    else:
        sys.stdout.write(page())


if __name__ == "__main__":
    main()
