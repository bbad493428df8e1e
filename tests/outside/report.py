"""Write the table of all outside checks of the electrics into the documentation.

Run it from the top of the checkout, with the tests' folder on the path::

    PYTHONPATH=tests python -m outside.report docs/validation/electrics.md
"""

from __future__ import annotations

import platform
import shutil
import sys
from collections.abc import Iterable
from pathlib import Path

import numpy as np
from outside import (
    against_energised,
    against_ladder,
    against_ngspice,
    against_precise,
    against_published,
    against_scikit_rf,
    against_transient,
)
from outside.check import Check, every_case
from outside.core_resistance import FREQUENCY_HZ, rows

SECTIONS = {
    "Many digits": against_precise.CHECKS,
    "Second formulation": against_ladder.CHECKS,
    "Microwave network library": against_scikit_rf.CHECKS,
    "Circuit simulator": [
        *against_ngspice.CHECKS,
        *against_energised.CHECKS,
        *against_transient.CHECKS,
    ],
    "Published numbers and closed forms": against_published.CHECKS,
}
_HEAD = """# The electrics, checked from outside

This page is written by `PYTHONPATH=tests python -m outside.report docs/validation/electrics.md`;
the same checks run with the tests, where each states what it allows and why. A deviation is
relative, and the largest of all cases of its row. Where a printed number has few digits, the
deviation is that of the printed number, not of the program.

SEEN: inputs and answer were read in the source itself. SEEN-C: they were read in a program that
works the textbook's numbered example anew. What is cited from memory says so.
"""
_CORE = """
## When the resistance of the core may be neglected in a capacitance reading

A capacitance meter is predicted from the full admittance, so nothing is neglected. The table shows
how much would be: a single cable of {capacitance:g} pF/m, core to braid, far end open, no leakage,
{frequency:g} Hz. With R the resistance of core and braid and C the capacitance, each over the whole
length, the reading lies below C by 2/15 (wRC)^2 as long as wRC is small, and the loss factor is
wRC/3. A meter of 2.5 % cannot tell the difference below wRC = 0.4: with 1.5 ohm/m up to some 600 m,
with 10 ohm/m up to some 250 m.

| core, ohm/m | length, m | C, nF | read, nF | below C by | rule | loss factor |
| ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""


def row_of(check: Check) -> str:
    with every_case():
        outcome = check.run()
    if not outcome.largest <= check.allowed:
        raise SystemExit(f"{check.name} is off by {outcome.largest:.2g}: {outcome.at}")
    largest = f"{outcome.largest:.1e}" if outcome.largest else "below 1e-16"
    cells = (check.what, check.against, outcome.cases, largest, f"{check.allowed:.1e}")
    return "| " + " | ".join(map(str, (*cells, check.why, check.source))) + " |\n"


def table_of(checks: Iterable[Check]) -> str:
    text = "| what | against | cases | largest deviation | allowed | because | source |\n"
    text += "| --- | --- | ---: | ---: | ---: | --- | --- |\n"
    return text + "".join(row_of(check) for check in checks)


def page() -> str:
    text = _HEAD
    for title, checks in SECTIONS.items():
        text += f"\n## {title}\n\n{table_of(checks)}"
    found = rows()
    per_m = found[0].plain_nanofarad * 1000 / found[0].length_m
    text += _CORE.format(capacitance=round(per_m, 6), frequency=FREQUENCY_HZ)
    for row in found:
        rule = f"{row.rule:.2g}" if row.rule < 0.1 else "not small"
        text += (
            f"| {row.core_ohm_per_m:g} | {row.length_m:g} | {row.plain_nanofarad:.4g} "
            f"| {row.read_nanofarad:.5g} | {row.effect:.2g} | {rule} | {row.loss_factor:.2g} |\n"
        )
    text += f"\nWritten with Python {platform.python_version()} and numpy {np.__version__}.\n"
    return text


def main() -> None:
    if shutil.which("ngspice") is None:
        raise SystemExit("the program ngspice is not installed")
    text = page()
    if len(sys.argv) > 1:
        path = Path(sys.argv[1])
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main()
