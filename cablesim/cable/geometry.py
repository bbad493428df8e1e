"""From what a cable is made of to its per-metre values.

A `Geometry` says what is known of a cable's make; `derived` gives every field of a cable that
follows from that, and none that does not.
"""

from __future__ import annotations

from dataclasses import dataclass

from cablesim.cable.braid import Braid
from cablesim.cable.conductors import Conductor
from cablesim.cable.construction import Construction
from cablesim.cable.insulations import insulation as known_insulation
from cablesim.cable.materials import alloy
from cablesim.cable.numbers import Real, require
from cablesim.cable.screened import Partial, coaxial, insulation_gigaohm_m, twin
from cablesim.errors import InputError

__all__ = ["Geometry", "derived", "partial_of", "zone_heating_ohm_m"]


@dataclass(frozen=True, slots=True)
class Geometry:
    """What is known of how a cable is made; every part may be missing.

    Parameters
    ----------
    core
        Each core's conductor in the heated part; two cores are alike.
    insulation_mm
        Thickness of the insulation round each core [mm].
    braid_inside_mm
        Inner diameter of the braid [mm]; left out, it lies tightly round the insulated cores.
    braid
        The braid.
    braid_alloy
        What its wires are made of.
    cold_lead
        Each core's conductor in the cold lead, of copper.
    cold_lead_insulation_mm, cold_lead_braid_inside_mm
        The same of the cold lead as above of the heated part [mm].
    heating_wire_ohm_per_m
        Parallel construction: resistance of the heating wire per metre of cable at 20 C [ohm/m].
    zone_m
        Parallel construction: from one of its contacts with a core to the next, with the other core
        [m].

    Raises
    ------
    InputError
        If a length is out of all proportion.
    """

    core: Conductor | None = None
    insulation_mm: float | None = None
    braid_inside_mm: float | None = None
    braid: Braid | None = None
    braid_alloy: str = "copper"
    cold_lead: Conductor | None = None
    heating_wire_ohm_per_m: float | None = None
    zone_m: float | None = None
    cold_lead_insulation_mm: float | None = None
    cold_lead_braid_inside_mm: float | None = None

    def __post_init__(self) -> None:
        for part in ("", "cold_lead_"):
            name = f"{part}insulation_mm"
            if getattr(self, name) is not None:
                require(
                    name,
                    getattr(self, name),
                    at_least=0.05,
                    at_most=20.0,
                    try_this="it is the thickness in millimetres, such as 0.8",
                )
            name = f"{part}braid_inside_mm"
            if getattr(self, name) is not None:
                require(
                    name,
                    getattr(self, name),
                    at_least=0.2,
                    at_most=100.0,
                    try_this="it is a diameter in millimetres, such as 5.0",
                )
        alloy(self.braid_alloy, "braid_alloy")
        if (self.heating_wire_ohm_per_m is None) != (self.zone_m is None):
            raise InputError(
                "heating_wire_ohm_per_m and zone_m belong together",
                try_this="give both or neither",
            )
        if self.zone_m is not None and self.heating_wire_ohm_per_m is not None:
            require("heating_wire_ohm_per_m", self.heating_wire_ohm_per_m, above=0.0)
            require(
                "zone_m",
                self.zone_m,
                at_least=0.05,
                at_most=20.0,
                try_this="it is a length of cable in metres, such as 0.6",
            )

    def inside_mm(self, cores: int, *, heated: bool = True) -> float | None:
        """Inner diameter of the braid, as given or tightly round the insulated cores [mm]."""
        given_mm = self.braid_inside_mm if heated else self.cold_lead_braid_inside_mm
        if given_mm is not None:
            return given_mm
        each_mm = self.insulated_mm(heated=heated)
        return None if each_mm is None else each_mm * (1 if cores == 1 else 2)

    def insulated_mm(self, *, heated: bool = True) -> float | None:
        """Diameter of one insulated core of the heated part or cold lead [mm], where known."""
        core = self.core if heated else self.cold_lead
        thick_mm = self.insulation_mm if heated else self.cold_lead_insulation_mm
        return None if core is None or thick_mm is None else core.diameter_mm + 2 * thick_mm


def partial_of(
    geometry: Geometry,
    construction: Construction,
    relative_permittivity: float,
    *,
    heated: bool = True,
) -> Partial | None:
    """Capacitances of a cable of this make, or None where too little is known.

    One core lies in the middle of the braid, two lie against each other. What fills the braid
    besides is taken for the same insulation.

    Parameters
    ----------
    geometry
        How the cable is made.
    construction
        How many cores it has.
    relative_permittivity
        Of the insulation.
    heated
        Whether of the heated part, or of the cold lead.

    Raises
    ------
    InputError
        If the insulated cores do not fit into the braid.
    """
    cores = len(construction.cores)
    core = geometry.core if heated else geometry.cold_lead
    insulated_mm = geometry.insulated_mm(heated=heated)
    inside_mm = geometry.inside_mm(cores, heated=heated)
    if core is None or insulated_mm is None or inside_mm is None:
        return None
    least_mm = insulated_mm * cores
    # A tenth of a per mille: figures rounded to print must still fit.
    if inside_mm < least_mm * (1 - 1e-4):
        raise InputError(
            "braid_inside_mm" if heated else "cold_lead_braid_inside_mm",
            inside_mm,
            f"at least the insulated {'core' if cores == 1 else 'cores side by side'}, "
            f"{least_mm:.4g} mm",
            "leave it out where the braid lies tightly round",
        )
    if cores == 1:
        return coaxial(core.diameter_mm, inside_mm, relative_permittivity)
    return twin(core.diameter_mm, insulated_mm, inside_mm, relative_permittivity)


def zone_heating_ohm_m(heating_wire_ohm_per_m: float, zone_m: float) -> float:
    """Resistance between the cores times length, where a heating wire joins them by turns [ohm m].

    On each zone the wire goes from one core to the other: ``r z`` for each ``z`` of length.

    Parameters
    ----------
    heating_wire_ohm_per_m
        Resistance of the wire per metre of cable [ohm/m].
    zone_m
        From one contact to the next [m].

    Examples
    --------
    >>> zone_heating_ohm_m(heating_wire_ohm_per_m=9000.0, zone_m=0.6)
    3240.0
    """
    return heating_wire_ohm_per_m * zone_m**2


def derived(
    construction: Construction,
    core_alloy: str,
    geometry: Geometry | None,
    insulation: str | None,
    cold_lead_insulation: str | None = None,
) -> dict[str, Real | tuple[Real, ...]]:
    """Every field of a cable that follows from its make.

    Parameters
    ----------
    construction
        How many cores it has, and whether they heat.
    core_alloy
        What the cores of the heated part are made of, by name.
    geometry
        What is known of its make.
    insulation
        The insulating material by name, where known.
    cold_lead_insulation
        That of the cold lead, where it is another.

    Returns
    -------
    dict
        Fields of `cablesim.cable.cable.Cable` by name, at 20 C.

    Raises
    ------
    InputError
        If the parts do not fit together.
    """
    if geometry is not None and not isinstance(geometry, Geometry):
        raise InputError("geometry", geometry, "a Geometry", "make one with Geometry(...)")
    found: dict[str, Real | tuple[Real, ...]] = {}
    metal, copper = alloy(core_alloy), alloy("copper")
    material = None if insulation is None else known_insulation(insulation)
    if material is not None:
        found["velocity_factor"] = material.velocity_factor
        found["loss_tangent"] = material.loss_tangent
    of_lead = material
    if cold_lead_insulation is not None:
        of_lead = known_insulation(cold_lead_insulation, "cold_lead_insulation")
        found["cold_lead_velocity_factor"] = of_lead.velocity_factor
        found["cold_lead_loss_tangent"] = of_lead.loss_tangent
    if geometry is None:
        return found
    if geometry.core is not None:
        if geometry.core.iec_class is not None and metal is not copper:
            raise InputError(
                "core_class",
                geometry.core.iec_class,
                f"left out where core_alloy is {core_alloy}",
                "the classes of IEC 60228 are for copper",
            )
        each = geometry.core.ohm_per_m(metal)
        found["core_ohm_per_m"] = (each,) * len(construction.cores)
    if geometry.cold_lead is not None:
        found["cold_lead_ohm_per_m"] = geometry.cold_lead.ohm_per_m(copper)
    if geometry.braid is not None:
        found["braid_ohm_per_m"] = geometry.braid.ohm_per_m(alloy(geometry.braid_alloy))
    if geometry.zone_m is not None and geometry.heating_wire_ohm_per_m is not None:
        if not construction.heats_between:
            raise InputError("zone_m", geometry.zone_m, f"left out on a {construction.name} cable")
        found["heating_ohm_m"] = zone_heating_ohm_m(
            geometry.heating_wire_ohm_per_m, geometry.zone_m
        )
    for part, of_part in (("", material), ("cold_lead_", of_lead)):
        if of_part is None:
            continue
        permittivity = of_part.relative_permittivity
        partial = partial_of(geometry, construction, permittivity, heated=not part)
        if partial is not None:
            found[f"{part}capacitance_core_braid_pf_per_m"] = partial.core_braid_pf_per_m
            if len(construction.cores) > 1:
                found[f"{part}capacitance_core_core_pf_per_m"] = partial.core_core_pf_per_m
            found[f"{part}insulation_gigaohm_m"] = insulation_gigaohm_m(partial, of_part)
    return found
