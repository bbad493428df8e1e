"""The suites that come with cablesim, as plans from which they can be made again, bit for bit."""

from __future__ import annotations

from cablesim.benchmark.formulations import Ngspice
from cablesim.benchmark.making import Plan

__all__ = ["PLANS"]

PLANS: dict[str, Plan] = {
    f"{plan.name}-{plan.version}": plan
    for plan in (
        Plan(
            "small",
            1,
            "Every kind of damage on every construction, cheap and good meters: for quick checks",
            seed=1101,
            each=1,
            meters=("cheap", "good"),
        ),
        Plan(
            "full",
            1,
            "Every kind of damage on every construction with every class of meters",
            seed=1202,
            each=6,
        ),
        Plan(
            "outside",
            1,
            "Readings by the circuit simulator ngspice",
            seed=1303,
            each=3,
            meters=("cheap", "good", "bench"),
            formulation=Ngspice(),
        ),
    )
}
"""By name and version. A published plan never changes: a better one gets the next version."""
