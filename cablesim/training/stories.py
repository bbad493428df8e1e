"""What an invented customer says: true of the damage, silent about the place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Fault, Joint, Short

__all__ = ["told_story", "told_title"]

_ROOMS = (
    *("bathroom", "shower room", "kitchen", "hall", "utility room", "conservatory"),
    *("guest bathroom", "landing", "playroom", "porch"),
)
_CLIENTS = (
    *("Alder", "Birchall", "Corrigan", "Dunmore", "Ellery", "Farrow", "Greaves", "Hollis"),
    *("Ingram", "Jessop", "Kendrick", "Lorimer", "Maddox", "Norwood", "Orchard", "Penrose"),
)
_SINCE = (
    "Nobody has touched the floor, they say, but there has been work in the room this month.",
    "It began the day after new furniture was screwed in place.",
    "It has been like that since the winter. The house was empty for some weeks before.",
    "The tiler was back twice to replace loose tiles.",
    "They bought the house in spring and have never seen it work properly.",
    "A plumber worked there last week, and then somebody cleaned everything with a lot of water.",
    "It was all right last season. Nothing has been done since, as far as anyone remembers.",
)
# Share of the rated resistance below which the current of a short between cores opens a breaker.
_TRIPS_SHARE = 0.5
# A path to the braid of less than this trips an earth-leakage breaker of 30 mA at 230 V.
_LEAKS_OHM = 230.0 / 0.030


def told_title(rng: np.random.Generator) -> str:
    """Whose floor it is.

    Parameters
    ----------
    rng
        Source of the client and the room.
    """
    client = _CLIENTS[int(rng.integers(len(_CLIENTS)))]
    return f"{client}, {_ROOMS[int(rng.integers(len(_ROOMS)))]}"


def told_story(cable: Cable, faults: Sequence[Fault], rng: np.random.Generator) -> str:
    """What the customer says on the phone.

    Parameters
    ----------
    cable
        The cable.
    faults
        What is broken; the story is true of it and says nothing of where.
    rng
        Source of the rest.
    """
    seen = dict.fromkeys(_symptom(cable, fault) for fault in faults)
    if _STAYS_COLD in seen:
        seen.pop(_WARMS_LESS, None)
        seen.pop(_PARTLY_WARM, None)
    since = _SINCE[int(rng.integers(len(_SINCE)))]
    return " ".join([*seen, since])


_STAYS_COLD = "The floor stays cold, although the thermostat calls for heat."
_WARMS_LESS = "It still works, but the thermostat behaves oddly and the floor is slow to warm."
_PARTLY_WARM = "Part of the floor gets warmer than it used to, and the rest stays cold."


def _symptom(cable: Cable, fault: Fault) -> str:
    if isinstance(fault, Break):
        cut = set(fault.conductors) & set(cable.construction.cores)
        return _STAYS_COLD if cut else _WARMS_LESS
    if isinstance(fault, Joint):
        large = float(fault.resistance_ohm) > float(cable.loop_resistance_ohm)
        return _STAYS_COLD if large else _WARMS_LESS
    ohm = float(fault.resistance_ohm) if isinstance(fault, Short | Degraded) else np.inf
    if isinstance(fault, Short) and "braid" not in fault.between:
        far = float(fault.at_m) / float(cable.heated_length_m) + ohm / float(
            cable.loop_resistance_ohm
        )
        return (
            "The breaker goes as soon as it is switched on." if far < _TRIPS_SHARE else _PARTLY_WARM
        )
    if ohm < _LEAKS_OHM:
        return "The earth-leakage breaker trips as soon as the heating is switched on."
    return (
        "The earth-leakage breaker trips every few days, more often in damp weather, and not only "
        "because of the heating, they think."
    )
