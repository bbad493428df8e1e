"""The table ``[cable]`` of a scenario file: what was laid, healthy."""

from __future__ import annotations

from typing import Annotated, Literal

from msgspec import UNSET, Meta, Struct, UnsetType

from cablesim.cable.stated import (
    LEAST_HEATING_OHM_M,
    LEAST_INSULATION_GIGAOHM_M,
    LEAST_OHM_PER_M,
    LEAST_VELOCITY_FACTOR,
)
from cablesim.scenario.schema_geometry import GeometryTable

__all__ = ["CableTable"]

# Far beyond any cable, yet far from where floating-point numbers end.
_Positive = Annotated[float, Meta(gt=0, le=1e15)]


class CableTable(Struct, frozen=True, kw_only=True, forbid_unknown_fields=True):
    """The cable as laid and healthy."""

    construction: Annotated[
        Literal["twin", "single", "parallel"],
        Meta(
            description="twin: two cores joined at the far end; "
            "single: one core, both of its ends at the thermostat; "
            "parallel: two bus cores with heating between them along the length"
        ),
    ]
    heated_length_m: Annotated[
        float, Meta(gt=0, le=1e6, description="Length of the heated part [m].")
    ]
    loop_resistance_ohm: (
        Annotated[
            _Positive,
            Meta(
                description="Rated resistance of the heated part at 20 C [ohm]: core1 to core2 "
                "(twin), end to end (single), through the heating element (parallel). Either "
                "this or core_ohm_per_m, on a parallel cable either this or heating_ohm_m."
            ),
        ]
        | UnsetType
    ) = UNSET
    core_ohm_per_m: (
        Annotated[
            list[Annotated[float, Meta(ge=LEAST_OHM_PER_M, le=1e9)]],
            Meta(
                min_length=1,
                max_length=2,
                description="Resistance of each core at 20 C [ohm/m], where the cores differ; of "
                "the bus cores on a parallel cable.",
            ),
        ]
        | UnsetType
    ) = UNSET
    tolerance_percent: (
        Annotated[
            tuple[float, float],
            Meta(
                description="How far the true core resistance may lie under and over the rated "
                "one [%]; default [-5.0, 10.0]."
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_m: (
        Annotated[
            float,
            Meta(ge=0, le=1e6, description="Length of the cold lead, or of each of the two [m]."),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_ohm_per_m: (
        Annotated[
            float,
            Meta(
                ge=LEAST_OHM_PER_M,
                le=1e9,
                description="Resistance of each core in the cold lead [ohm/m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_capacitance_core_braid_pf_per_m: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=1e6,
                description="Partial capacitance of each core to braid in the cold lead [pF/m]; "
                "default that of the heated part.",
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_capacitance_core_core_pf_per_m: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=1e6,
                description="Partial capacitance of core1 to core2 in the cold lead [pF/m]; "
                "default that of the heated part.",
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_insulation_gigaohm_m: (
        Annotated[
            float,
            Meta(
                ge=LEAST_INSULATION_GIGAOHM_M,
                le=1e12,
                description="Insulation resistance times length in the cold lead [Gohm m]; "
                "default that of the heated part.",
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_velocity_factor: (
        Annotated[
            float,
            Meta(
                ge=LEAST_VELOCITY_FACTOR,
                le=1,
                description="Speed of pulses in the cold lead relative to that of light; default "
                "that of the heated part.",
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_loss_tangent: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=1,
                description="Loss tangent at 1 kHz in the cold lead; default that of the heated "
                "part.",
            ),
        ]
        | UnsetType
    ) = UNSET
    cold_lead_insulation: (
        Annotated[
            str,
            Meta(
                max_length=40,
                description="Insulating material of the cold lead, where it is another: gives "
                "cold_lead_velocity_factor and cold_lead_loss_tangent.",
            ),
        ]
        | UnsetType
    ) = UNSET
    braid_ohm_per_m: (
        Annotated[
            float,
            Meta(
                ge=LEAST_OHM_PER_M,
                le=1e9,
                description="Resistance of the braid, heated part and cold lead alike [ohm/m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    capacitance_core_braid_pf_per_m: (
        Annotated[
            float,
            Meta(ge=0, le=1e6, description="Partial capacitance of each core to braid [pF/m]."),
        ]
        | UnsetType
    ) = UNSET
    capacitance_core_core_pf_per_m: (
        Annotated[
            float,
            Meta(ge=0, le=1e6, description="Partial capacitance of core1 to core2 [pF/m]."),
        ]
        | UnsetType
    ) = UNSET
    capacitance_tolerance_percent: (
        Annotated[
            tuple[float, float],
            Meta(
                description="How far the true capacitances may lie under and over those above "
                "[%]; default [-50.0, 100.0]."
            ),
        ]
        | UnsetType
    ) = UNSET
    insulation_gigaohm_m: (
        Annotated[
            float,
            Meta(
                ge=LEAST_INSULATION_GIGAOHM_M,
                le=1e12,
                description="Insulation resistance times length of every two conductors [Gohm m].",
            ),
        ]
        | UnsetType
    ) = UNSET
    velocity_factor: (
        Annotated[
            float,
            Meta(
                ge=LEAST_VELOCITY_FACTOR,
                le=1,
                description="Speed of pulses relative to that of light; default 0.645.",
            ),
        ]
        | UnsetType
    ) = UNSET
    velocity_tolerance_percent: (
        Annotated[
            tuple[float, float],
            Meta(
                description="How far the true velocity may lie under and over that [%]; "
                "default [-5.0, 5.0]."
            ),
        ]
        | UnsetType
    ) = UNSET
    loss_tangent: (
        Annotated[
            float,
            Meta(ge=0, le=1, description="Loss tangent of the insulation at 1 kHz."),
        ]
        | UnsetType
    ) = UNSET
    absorption_exponent: (
        Annotated[
            float,
            Meta(
                ge=0.3,
                le=1,
                description="Exponent n of the absorption current, factor C V t^-n; left out, it "
                "follows from loss_tangent.",
            ),
        ]
        | UnsetType
    ) = UNSET
    absorption_factor: (
        Annotated[
            float,
            Meta(
                ge=0,
                le=1e6,
                description="Factor of the absorption current, t in seconds; left out, it follows "
                "from the exponent.",
            ),
        ]
        | UnsetType
    ) = UNSET
    heating_ohm_m: (
        Annotated[
            float,
            Meta(
                ge=LEAST_HEATING_OHM_M,
                le=1e12,
                description="Resistance of the heating element between the cores times length "
                "[ohm m], on a parallel cable instead of loop_resistance_ohm.",
            ),
        ]
        | UnsetType
    ) = UNSET
    temperature_c: (
        Annotated[
            float,
            Meta(
                ge=-60,
                le=250,
                description="Temperature of the heated part while it is read [C]; default 20.",
            ),
        ]
        | UnsetType
    ) = UNSET
    core_alloy: (
        Annotated[
            str,
            Meta(
                max_length=40,
                description="Alloy of the cores, which gives the temperature coefficient; "
                "default CuNi44.",
            ),
        ]
        | UnsetType
    ) = UNSET
    far_end: (
        Annotated[
            Literal["joined", "open"],
            Meta(
                description="How the cores end; default joined (twin), always open (single), open "
                "(parallel)."
            ),
        ]
        | UnsetType
    ) = UNSET
    insulation: (
        Annotated[
            str,
            Meta(
                max_length=40,
                description="Insulating material, which gives velocity_factor and loss_tangent, "
                "and with geometry the capacitances and insulation_gigaohm_m.",
            ),
        ]
        | UnsetType
    ) = UNSET
    geometry: (
        Annotated[
            GeometryTable,
            Meta(
                description="How the cable is made, as far as known; per-metre values that are not "
                "given follow from it."
            ),
        ]
        | UnsetType
    ) = UNSET
    supply_volt: (
        Annotated[
            float,
            Meta(gt=0, le=1000, description="Supply voltage [V]; states the rated power only."),
        ]
        | UnsetType
    ) = UNSET
