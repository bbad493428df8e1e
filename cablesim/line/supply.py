"""What an energised cable is connected to."""

from __future__ import annotations

from dataclasses import dataclass

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import Real, require
from cablesim.errors import InputError
from cablesim.line.several import Installation, at_thermostat, part_of
from cablesim.line.terminals import Hookup, Terminal, node_of

__all__ = ["Supply", "usual_supply"]


@dataclass(frozen=True, slots=True)
class Supply:
    """A supply without internal resistance.

    Parameters
    ----------
    volt
        Voltage between the live and the neutral lead [V].
    hookup
        What the live lead touches, what the neutral lead touches, and, third, what is earthed; the
        supply's neutral is earthed too. Without a third lead the braid floats.
    """

    volt: Real
    hookup: Hookup

    def __post_init__(self) -> None:
        require("volt", self.volt, at_least=0.0)
        if len(self.hookup.leads) not in (2, 3) or self.hookup.links:
            raise InputError(
                "supply",
                list(self.hookup.across),
                "two or three leads without links: live, neutral, and what is earthed",
            )


def usual_supply(
    cable: Cable | Installation, volt: Real, *, live: str = "core1", earthed: bool = True
) -> Supply:
    """The supply at the thermostat.

    Parameters
    ----------
    cable
        The cable: two cores are supplied between them, one core from both of its ends. Of an
        installation its main cable is; what is joined to that is supplied with it.
    volt
        Voltage [V].
    live
        The terminal on the live lead; the other one is on the neutral.
    earthed
        Whether the braid is earthed, at each of its ends that the thermostat reaches.

    Raises
    ------
    InputError
        If a cable is not supplied there.
    """
    *cores, braid = at_thermostat(part_of(cable, ""))
    ends = [str(found) for (found,) in cores]
    if live not in ends:
        raise InputError("live", live, " or ".join(ends))
    neutral = ends[1 - ends.index(live)]
    earth: dict[Terminal, str] = {node_of(found, cable): str(found) for found in braid}
    return Supply(volt, Hookup.of(cable, (live, neutral, *["+".join(earth.values())] * earthed)))
