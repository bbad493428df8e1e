"""Write the page of all checks of heat into the documentation.

Run it from the top of the checkout, with the tests' folder on the path and FiPy installed::

    PYTHONPATH=tests python -m outside.heat_report docs/validation/heat.md
"""

from __future__ import annotations

import importlib.util
import platform
import sys
from pathlib import Path

import numpy as np
import scipy
from outside import against_heat
from outside.report import row_of

SECTIONS = {
    "Closed forms": against_heat.CLOSED,
    "Other ways to the same floor": against_heat.SECOND,
    "Sums that must close": against_heat.SUMS,
}
_HEAD = """# Heat in the floor, checked from outside

This page is written by `PYTHONPATH=tests python -m outside.heat_report docs/validation/heat.md`;
the same checks run with the tests, where each states what it allows and why. A deviation is
relative, and the largest of all cases of its row. The formulas are in
[heat in the floor](../heat.md).
"""
_ORDER = """
## Order in space

Tile, adhesive and screed, a spot 14 mm deep, one mesh at a time: how far the rise above the spot is
from the integral transforms. Every halving of the cells divides it by four; the program marches
the first two meshes and takes a third of their difference off the second.

| rings | slices | cells | after 60 s | order | after 600 s | order |
| ---: | ---: | ---: | ---: | ---: | ---: | ---: |
"""
_SPEED = """
## Time, beside a general library

A ten-minute transient of the same three layers, at the rise above the spot after 1, 2, 5 and 10
minutes. FiPy (J. E. Guyer, D. Wheeler, J. A. Warren, Computing in Science and Engineering 11, 2009)
is a general finite-volume library. It gets the finer mesh of cablesim with the same conductances,
and steps by backward Euler. With short steps what is left of its error is that of one mesh, as in
the table above; cablesim's is what two meshes leave when they are extrapolated. The time includes
setting up; it is the least of {runs} runs in one process on one core.

"""


def orders_table(halvings: int) -> str:
    _, rows = against_heat.orders(halvings)
    text, before = "", None
    for rings, slices, cells, off in rows:
        order = ["", ""] if before is None else [f"{o:.3f}" for o in np.log2(before / off)]
        cells_text = f"| {rings} | {slices} | {cells} "
        text += cells_text + "".join(f"| {o:.2e} | {n} " for o, n in zip(off, order, strict=True))
        text += "|\n"
        before = off
    return text


def page() -> str:
    from speed import heat_against_fipy

    text = _HEAD
    for title, checks in SECTIONS.items():
        text += f"\n## {title}\n\n"
        text += "| what | against | cases | largest deviation | allowed | because | source |\n"
        text += "| --- | --- | ---: | ---: | ---: | --- | --- |\n"
        text += "".join(row_of(check) for check in checks)
    text += _ORDER + orders_table(3)
    text += _SPEED.format(runs=heat_against_fipy.RUNS) + heat_against_fipy.table()
    versions = f"Python {platform.python_version()}, numpy {np.__version__}, "
    text += f"\nWritten with {versions}scipy {scipy.__version__}.\n"
    return text


def main() -> None:
    if importlib.util.find_spec("fipy") is None:
        raise SystemExit("the library FiPy is not installed")
    text = page()
    if len(sys.argv) > 1:
        path = Path(sys.argv[1])
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text)
    else:
        sys.stdout.write(text)


if __name__ == "__main__":
    main()
