"""What the cable gives to the floor: watts per metre and per square metre, beside usual limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.site.layers import EN_1264_W_PER_M2_K
from cablesim.site.plan import Plan
from cablesim.site.runs import run_graph

__all__ = ["MOST_W_PER_M", "SURFACE_LIMITS_C", "Load", "load_of", "usual_spacing_m"]

MOST_W_PER_M = 54.0
"""Linear load of a heating cable in concrete [W/m]; from memory of NEC 424.44(A)."""

SURFACE_LIMITS_C = {"occupied": 29.0, "perimeter zone": 35.0, "bathroom": 33.0}
"""Temperature of the floor's surface [C]; from memory of EN 1264 and ISO 11855."""

_ROOM_C = 20.0
# Beyond this distance runs are not said to lie side by side [m].
_WIDEST_M = 1.0


@dataclass(frozen=True, slots=True)
class Load:
    """Rated power over length and area.

    Parameters
    ----------
    watt
        Rated power at the supply voltage [W].
    watt_per_m
        For each metre of heated cable [W/m].
    watt_per_m2
        For each square metre of the room that is not kept out [W/m2].
    watt_per_m2_between_runs
        Where runs lie side by side at their usual spacing [W/m2]; None for a single run.
    notes
        How that stands to usual limits, with their source.
    """

    watt: float
    watt_per_m: float
    watt_per_m2: float
    watt_per_m2_between_runs: float | None
    notes: tuple[str, ...]


def usual_spacing_m(plan: Plan) -> float | None:
    """The usual distance from a run to the nearest other one [m]; None for a single run.

    Parameters
    ----------
    plan
        Where the cable lies.
    """
    if plan.survey.rule is not None:
        return plan.survey.rule.spacing_m
    graph = run_graph(plan.route, _WIDEST_M)
    nearest = [
        min(data["distance_m"] for _, _, data in graph.edges(number, data=True))
        for number in graph.nodes
        if graph.degree(number)
    ]
    return float(np.median(nearest)) if nearest and np.median(nearest) > 0 else None


def load_of(plan: Plan, cable: Cable, supply_volt: float) -> Load:
    """Work out the rated power of a floor.

    Parameters
    ----------
    plan
        Where the cable lies.
    cable
        As rated.
    supply_volt
        Supply voltage [V].
    """
    watt = supply_volt**2 / float(cable.loop_resistance_ohm)
    per_m = watt / plan.heated_length_m
    spacing_m = usual_spacing_m(plan)
    between = per_m / spacing_m if spacing_m is not None else None
    notes = []
    if per_m > MOST_W_PER_M:
        notes.append(
            f"{per_m:.0f} W/m is above {MOST_W_PER_M:g} W/m, the limit for heating cable in "
            "concrete (from memory of NEC 424.44(A))"
        )
    rise_k = (between or watt / plan.room.free_area_m2) / EN_1264_W_PER_M2_K
    settles_c = _ROOM_C + rise_k
    passed = [f"{most:g} C ({zone})" for zone, most in SURFACE_LIMITS_C.items() if settles_c > most]
    if passed:
        notes.append(
            f"left on, a bare floor would settle near {settles_c:.0f} C in a room of "
            f"{_ROOM_C:g} C, above {', '.join(passed)}: the floor sensor must hold it lower "
            "(10.8 W/m2K and limits from memory of EN 1264)"
        )
    return Load(watt, per_m, watt / plan.room.free_area_m2, between, tuple(notes))
