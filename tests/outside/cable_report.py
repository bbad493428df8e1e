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


def page() -> str:
    text = _HEAD
    for title, checks in SECTIONS.items():
        text += f"\n## {title}\n\n{table_of(checks)}"
    return text + f"\nWritten with Python {platform.python_version()}, numpy {np.__version__}.\n"


if __name__ == "__main__":
    if len(sys.argv) > 1:
        Path(sys.argv[1]).write_text(page())
    else:
        sys.stdout.write(page())
