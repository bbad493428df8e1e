"""Write the table of all outside checks of the per-metre values into the documentation.

Run it from the top of the checkout, with the tests' folder on the path::

    PYTHONPATH=tests python -m outside.cable_report docs/validation/cable.md
"""

from __future__ import annotations

import platform
import sys
from pathlib import Path

import numpy as np
from outside import against_geometry
from outside.gaps import CORE_MM, rows
from outside.report import table_of

SECTIONS = {
    "Conductors": against_geometry.CONDUCTORS,
    "One core in a screen": against_geometry.ONE_CORE,
    "Two cores in a screen": against_geometry.TWO_CORES,
    "Partial capacitances from readings": against_geometry.PARTIAL,
}
_HEAD = """# Per-metre values from geometry, checked from outside

This page is written by `PYTHONPATH=tests python -m outside.cable_report docs/validation/cable.md`;
the same checks run with the tests, where each states what it allows and why. A deviation is
relative, and the largest of all cases of its row. Where a printed number has few digits, the
deviation is that of the printed number, not of the program.

SEEN-C: inputs and answer were read in a program that works the textbook's numbered example anew.
What is cited from memory says so.
"""
_GAPS = """
## When air fills the gaps

`cablesim` takes one insulation for all that the braid holds. Where two round insulated cores lie in
a round braid with air in the gaps, the field is another one. The table holds both against each
other: filled by `twin`, with air by finite differences, good to a per cent or so. Cores of
{core:g} mm lie against each other and the braid; capacitances are in pF/m.

| insulation, mm | permittivity | core to braid | with air | | core to core | with air | |
| ---: | ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""


def gaps() -> str:
    text = _GAPS.format(core=CORE_MM)
    for row in rows():
        text += f"| {row.insulation_mm:g} | {row.permittivity:g} "
        for filled, air in zip(row.filled_pf_per_m, row.gaps_pf_per_m, strict=True):
            text += f"| {filled:.1f} | {air:.1f} | {100 * (air / filled - 1):+.0f} % "
        text += "|\n"
    return text


def page() -> str:
    text = _HEAD
    for title, checks in SECTIONS.items():
        text += f"\n## {title}\n\n{table_of(checks)}"
    text += gaps()
    return text + f"\nWritten with Python {platform.python_version()}, numpy {np.__version__}.\n"


if __name__ == "__main__":
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(page())
    else:
        sys.stdout.write(page())
