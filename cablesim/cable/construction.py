"""How a cable is built: its conductors, how its far end is made, usual per-metre values.

The per-metre defaults stand in for values that an installation record rarely gives. They are rules
of the trade, not measurements of any one cable, so each says so; a scenario overrides them key by
key.
"""

from __future__ import annotations

from dataclasses import dataclass

from cablesim.errors import looked_up

__all__ = ["CONSTRUCTIONS", "Construction", "construction"]


@dataclass(frozen=True, slots=True)
class Construction:
    """A way of building a floor-heating cable.

    Parameters
    ----------
    name
        Name as used in the scenario file.
    cores
        Names of the insulated conductors.
    far_end
        How the cores end as delivered: ``"joined"`` in a sealed joint, or ``"open"``.
    returns
        Whether the far end comes back to the thermostat on a cold lead of its own.
    """

    name: str
    cores: tuple[str, ...]
    far_end: str
    returns: bool
    # 1.5 mm2 flexible copper: from memory of IEC 60228, class 5, 13.3 ohm/km at 20 C.
    cold_lead_ohm_per_m: float = 0.0133
    # Length of a usual cold lead; common practice, no source.
    cold_lead_m: float = 2.5
    # A braid of about 1 mm2 of copper; common practice, no source. 18.1 ohm/km from memory of IEC
    # 60228.
    braid_ohm_per_m: float = 0.0181
    # One core in its insulation inside a braid; common practice, no source.
    capacitance_core_braid_pf_per_m: float = 100.0
    # Two insulated cores side by side under one braid; common practice, no source.
    capacitance_core_core_pf_per_m: float = 40.0
    # New dry polymer insulation with its ends; common practice, no source.
    insulation_gigaohm_m: float = 1000.0
    # Cross-linked polyethylene of relative permittivity 2.4: 1 / sqrt(2.4); handbooks, from memory.
    velocity_factor: float = 0.645
    # Cross-linked polyethylene at 1 kHz; handbooks, from memory.
    loss_tangent: float = 0.0005
    # Alloy of the cores, for their temperature coefficient; common practice, no source.
    core_alloy: str = "CuNi44"
    # Whether heat comes from what lies between the cores, along the whole length, and not from the
    # cores themselves.
    heats_between: bool = False

    @property
    def conductors(self) -> tuple[str, ...]:
        """Every conductor: the cores, then the braid."""
        return (*self.cores, "braid")


CONSTRUCTIONS: dict[str, Construction] = {
    row.name: row
    for row in (
        Construction("twin", ("core1", "core2"), far_end="joined", returns=False),
        Construction("single", ("core1",), far_end="open", returns=True),
        Construction(
            "parallel",
            ("core1", "core2"),
            far_end="open",
            returns=False,
            core_alloy="copper",
            heats_between=True,
        ),
    )
}


def construction(name: str) -> Construction:
    """Look a construction up by name.

    Raises
    ------
    InputError
        If the name is unknown; the message gives the nearest known one.
    """
    return looked_up("construction", name, CONSTRUCTIONS)
