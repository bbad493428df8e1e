"""What a floor-heating cable hardly ever is: a sentence for each value that looks like a slip.

Nothing here is refused. A cable may be anything, and the published examples of fault location are
telephone lines of many kilometres; but a length in feet or a load of a kilowatt per metre should
not go by in silence.
"""

from __future__ import annotations

import numpy as np

from cablesim.cable.cable import Cable

__all__ = ["LONGEST_USUAL_M", "MOST_USUAL_W_PER_M", "odd_load", "odd_values"]

# Heating cables for floors are sold from a few metres to some 250 m; common practice, no source.
LONGEST_USUAL_M = 500.0
_SHORTEST_USUAL_M = 1.0
_LONGEST_COLD_LEAD_M = 100.0
# Twice what NEC 424.44 (from memory) allows in concrete, and a third of what warms a floor: floor
# cables give some 8 to 20 W/m (common practice, no source), so that ten times the ohms are noticed.
MOST_USUAL_W_PER_M = 110.0
_LEAST_USUAL_W_PER_M = 3.0


def odd_values(cable: Cable, supply_volt: float | None = None) -> tuple[str, ...]:
    """Sentences about values that no floor-heating cable is likely to have.

    Parameters
    ----------
    cable
        The cable as laid; plain numbers, no arrays.
    supply_volt
        Supply voltage [V], where known; the load per metre is looked at only then.

    Returns
    -------
    tuple of str
        One sentence for each; empty where all is usual.

    Examples
    --------
    >>> odd_values(Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2), 230.0)
    ()
    >>> print(odd_values(Cable.rated("twin", heated_length_m=40e3, loop_resistance_ohm=88.2))[0])
    A heated length of 40000 m is far from that of a floor cable (1 to 500 m): is it in metres?
    """
    said = []
    length_m, lead_m = (
        float(np.asarray(cable.heated_length_m)),
        float(np.asarray(cable.cold_lead_m)),
    )
    if not _SHORTEST_USUAL_M <= length_m <= LONGEST_USUAL_M:
        said.append(
            f"A heated length of {_plain(length_m)} m is far from that of a floor cable "
            f"({_SHORTEST_USUAL_M:g} to {LONGEST_USUAL_M:g} m): is it in metres?"
        )
    if lead_m > _LONGEST_COLD_LEAD_M:
        said.append(
            f"A cold lead of {_plain(lead_m)} m is far longer than usual (up to "
            f"{_LONGEST_COLD_LEAD_M:g} m): is it in metres?"
        )
    load = odd_load(cable, supply_volt)
    return (*said, load) if load else tuple(said)


def odd_load(cable: Cable, supply_volt: float | None) -> str:
    """A sentence about a load per metre that no floor-heating cable has; empty where it is usual.

    Parameters
    ----------
    cable, supply_volt
        As for `odd_values`.
    """
    if supply_volt is None:
        return ""
    length_m = float(np.asarray(cable.heated_length_m))
    watt = supply_volt**2 / float(np.asarray(cable.loop_resistance_ohm)) / length_m
    if _LEAST_USUAL_W_PER_M <= watt <= MOST_USUAL_W_PER_M:
        return ""
    return (
        f"At {supply_volt:g} V this cable gives {watt:.3g} W per metre, far from what a "
        f"floor cable gives ({_LEAST_USUAL_W_PER_M:g} to {MOST_USUAL_W_PER_M:g} W/m): "
        "check length, resistance and voltage."
    )


def _plain(value: float) -> str:
    return f"{value:.0f}" if abs(value) >= 1000 else f"{value:g}"
