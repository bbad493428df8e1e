"""What each metre of a cable is like, where each value came from, and which limits it keeps."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.conductors import IEC_60228_OHM_PER_KM, IEC_60228_SOURCE, Conductor
from cablesim.cable.insulations import insulation
from cablesim.cable.materials import REFERENCE_TEMPERATURE_C, alloy

__all__ = ["CableDescription", "Limit", "PerMetre", "described"]

GIVEN, DERIVED, USUAL, FOLLOWS = "given", "geometry", "usual", "follows"

# Fields of a cable that are values per metre, how people call them, and their unit.
_FIELDS = (
    ("cold_lead_ohm_per_m", "each core, cold lead", "ohm/m"),
    ("braid_ohm_per_m", "braid", "ohm/m"),
    ("heating_ohm_m", "heating between the cores, times length", "ohm m"),
    ("capacitance_core_braid_pf_per_m", "capacitance, each core to braid", "pF/m"),
    ("capacitance_core_core_pf_per_m", "capacitance, core1 to core2", "pF/m"),
    ("insulation_gigaohm_m", "insulation of each pair, times length", "Gohm m"),
    ("loss_tangent", "loss tangent at 1 kHz", ""),
    ("velocity_factor", "velocity factor of pulses", ""),
    (
        "cold_lead_capacitance_core_braid_pf_per_m",
        "capacitance, each core to braid, cold lead",
        "pF/m",
    ),
    (
        "cold_lead_capacitance_core_core_pf_per_m",
        "capacitance, core1 to core2, cold lead",
        "pF/m",
    ),
    ("cold_lead_insulation_gigaohm_m", "insulation times length, cold lead", "Gohm m"),
    ("cold_lead_loss_tangent", "loss tangent at 1 kHz, cold lead", ""),
    ("cold_lead_velocity_factor", "velocity factor of pulses, cold lead", ""),
)
# Label and make may differ by the tolerance of a heating cable; beyond this, one of them is wrong.
_DISAGREE = 0.15


@dataclass(frozen=True, slots=True)
class PerMetre:
    """One value.

    Parameters
    ----------
    field
        The field of the cable, or a name like it.
    words
        How people call it.
    value
        The value in its unit.
    unit
        Its unit.
    origin
        ``"given"``; ``"geometry"``: it follows from the make; ``"usual"``: the same as the default
        of the construction; ``"follows"``: from other values of this table.
    why
        The origin in words, with its source.
    """

    field: str
    words: str
    value: float
    unit: str
    origin: str
    why: str


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit, and how the cable stands to it.

    Parameters
    ----------
    words
        What is limited.
    value, unit
        What the cable has.
    limit
        The limit in words.
    source
        Where the limit stands.
    kept
        Whether the cable keeps it.
    """

    words: str
    value: float
    unit: str
    limit: str
    source: str
    kept: bool


@dataclass(frozen=True, slots=True)
class CableDescription:
    """All that ``cablesim cable`` says.

    Parameters
    ----------
    construction
        How the cable is built.
    heated_length_m
        Length of the heated part [m].
    loop_resistance_ohm
        Of what heats, at 20 C [ohm].
    values
        The values per metre.
    supply_volt, rated_watt
        Supply voltage [V] and the power at it [W], where known.
    limits
        Limits of installation and make.
    remarks
        Sentences about what does not fit together.
    """

    construction: str
    heated_length_m: float
    loop_resistance_ohm: float
    values: tuple[PerMetre, ...]
    supply_volt: float | None
    rated_watt: float | None
    limits: tuple[Limit, ...]
    remarks: tuple[str, ...]

    def to_dict(self) -> dict[str, Any]:
        """The object that ``cablesim cable --json`` prints."""
        rated = None
        if self.supply_volt is not None and self.rated_watt is not None:
            rated = {
                "supply_volt": self.supply_volt,
                "watt": self.rated_watt,
                "watt_per_m": self.rated_watt / self.heated_length_m,
            }
        return {
            "construction": self.construction,
            "heated_length_m": self.heated_length_m,
            "loop_resistance_ohm": self.loop_resistance_ohm,
            "values": [
                {
                    "name": row.field,
                    "what": row.words,
                    # JSON has no infinity: what does not conduct has no resistance to state.
                    "value": row.value if math.isfinite(row.value) else None,
                    "unit": row.unit,
                    "from": row.origin,
                    "why": row.why,
                }
                for row in self.values
            ],
            "rated": rated,
            "limits": [
                {
                    "what": limit.words,
                    "value": limit.value,
                    "unit": limit.unit,
                    "limit": limit.limit,
                    "source": limit.source,
                    "kept": limit.kept,
                }
                for limit in self.limits
            ],
            "remarks": list(self.remarks),
        }


def described(cable: Cable, supply_volt: float | None = None) -> CableDescription:
    """Say what each metre of a cable is like.

    Parameters
    ----------
    cable
        The cable as laid; plain numbers, no arrays.
    supply_volt
        Supply voltage [V], where known.
    """
    loop_ohm = float(np.asarray(cable.loop_resistance_ohm))
    watt = None if supply_volt is None else supply_volt**2 / loop_ohm
    return CableDescription(
        cable.construction.name,
        float(np.asarray(cable.heated_length_m)),
        loop_ohm,
        (*_cores(cable), *_others(cable), *_inductances(cable)),
        supply_volt,
        watt,
        tuple(_limits(cable, supply_volt, watt)),
        tuple(_remarks(cable)),
    )


def _cores(cable: Cable) -> list[PerMetre]:
    metal = alloy(cable.core_alloy)
    made = cable.from_make.get("core_ohm_per_m")
    named: dict[tuple[float, str, str], list[str]] = {}
    for number, (name, value) in enumerate(
        zip(cable.construction.cores, cable.core_ohm_per_m, strict=True)
    ):
        if isinstance(made, tuple) and made[number] == value:
            origin, why = DERIVED, f"{_size_words(cable, 'core')}, {metal.name}; {metal.source}"
        elif cable.construction.heats_between and value == cable.cold_lead_ohm_per_m:
            origin, why = USUAL, "as in the cold lead"
        else:
            origin, why = GIVEN, "as rated"
        named.setdefault((float(np.asarray(value)), origin, why), []).append(name)
    rows = []
    for (ohm, origin, why), names in named.items():
        words = " and ".join(names)
        at_20 = f"{words}, at 20 C"
        rows.append(PerMetre("core_ohm_per_m", at_20, ohm, "ohm/m", origin, why))
        if cable.temperature_c != REFERENCE_TEMPERATURE_C:
            hot = ohm * metal.factor(cable.temperature_c)
            why = f"coefficient of {metal.name}; {metal.source}"
            field = "core_ohm_per_m_while_read"
            while_read = f"{words}, at {cable.temperature_c:g} C"
            rows.append(PerMetre(field, while_read, hot, "ohm/m", FOLLOWS, why))
    return rows


def _others(cable: Cable) -> list[PerMetre]:
    made, built = cable.from_make, cable.construction
    rows = []
    for field, words, unit in _FIELDS:
        if field == "heating_ohm_m" and not built.heats_between:
            continue
        if field.endswith("capacitance_core_core_pf_per_m") and len(built.cores) < 2:
            continue
        value = getattr(cable, field)
        if value is None:  # as in the heated part
            continue
        if field in made and made[field] == value:
            origin, why = DERIVED, _make_words(cable, field)
        elif value == getattr(built, field, None):
            origin, why = USUAL, f"usual of a {built.name} cable"
        else:
            origin, why = GIVEN, "as rated" if field == "heating_ohm_m" else "as given"
        rows.append(PerMetre(field, words, float(np.asarray(value)), unit, origin, why))
    return rows


def _inductances(cable: Cable) -> list[PerMetre]:
    why = "from capacitances and velocity"
    return [
        PerMetre(
            "inductance_henry_per_m",
            f"inductance, {name}",
            1e9 * float(np.asarray(henry)),
            "nH/m",
            FOLLOWS,
            why,
        )
        for name, henry in zip(cable.conductors, cable.inductance_henry_per_m, strict=True)
    ]


def _size_words(cable: Cable, part: str) -> str:
    conductor = getattr(cable.geometry, part)
    assert isinstance(conductor, Conductor)  # asked for where a value follows from it
    if conductor.iec_class is not None:
        return f"{conductor.nominal_mm2:g} mm2 class {conductor.iec_class}"
    if conductor.awg is not None:
        size = f"{conductor.awg:g} AWG ({conductor.area_mm2:.3g} mm2)"
    elif conductor.nominal_mm2 is not None:
        size = f"{conductor.nominal_mm2:g} mm2"
    else:
        return f"{conductor.strands} x {conductor.strand_mm:g} mm"
    return size if conductor.strands == 1 else f"{size} of {conductor.strands} wires"


def _make_words(cable: Cable, field: str) -> str:
    make, material = cable.geometry, cable.insulation
    if field == "cold_lead_ohm_per_m" and make is not None and make.cold_lead is not None:
        if make.cold_lead.iec_class is not None:
            return f"{_size_words(cable, 'cold_lead')}, its maximum; {IEC_60228_SOURCE}"
        return f"{_size_words(cable, 'cold_lead')}, copper; {alloy('copper').source}"
    if field == "braid_ohm_per_m" and make is not None and make.braid is not None:
        words = f"{make.braid.straight_mm2:.3g} mm2 of {make.braid_alloy}"
        inside_mm = make.inside_mm(len(cable.construction.cores))
        covered = None if inside_mm is None else make.braid.coverage(inside_mm)
        return words if covered is None else f"{words}, which covers {100 * covered:.0f} %"
    if field == "heating_ohm_m" and make is not None:
        return f"heating wire in zones of {make.zone_m:g} m"
    if field.startswith("cold_lead_"):
        material = cable.cold_lead_insulation or material
    assert material is not None  # nothing else follows without an insulation
    source = insulation(material).source
    if field.endswith(("velocity_factor", "loss_tangent")):
        return f"{material}; {source}"
    return f"geometry and {material}; {source}"


def _limits(cable: Cable, supply_volt: float | None, watt: float | None) -> list[Limit]:
    limits = []
    length_m = float(np.asarray(cable.heated_length_m))
    if watt is not None:
        load = watt / length_m
        limits.append(
            Limit(
                "load of heating cable in concrete",
                load,
                "W/m",
                "at most 54 W/m",
                "NEC 424.44(A), from memory",
                load <= 54.0,
            )
        )
    lead = None if cable.geometry is None else cable.geometry.cold_lead
    classed = 5 if lead is None or lead.iec_class is None else lead.iec_class
    if lead is not None and lead.nominal_mm2 in IEC_60228_OHM_PER_KM[classed]:
        most = IEC_60228_OHM_PER_KM[classed][lead.nominal_mm2] / 1000
        ohm = float(np.asarray(cable.cold_lead_ohm_per_m))
        limits.append(
            Limit(
                f"cold lead of {lead.nominal_mm2:g} mm2",
                ohm,
                "ohm/m",
                f"class {classed}: at most {most:g} ohm/m",
                IEC_60228_SOURCE,
                ohm <= most * (1 + 1e-9),
            )
        )
    leads = 2 if cable.construction.returns else 1
    total_m = length_m + leads * float(np.asarray(cable.cold_lead_m))
    megohm = 1000 * float(np.asarray(cable.insulation_gigaohm_m)) / total_m
    megohm /= len(cable.construction.cores)
    limits.append(
        Limit(
            "insulation of all cores to braid, healthy",
            megohm,
            "Mohm",
            "at least 1 Mohm at 500 V",
            "IEC 60364-6 table 6.1, from memory",
            megohm >= 1.0,
        )
    )
    field = _field_kv_per_mm(cable, supply_volt)
    if field is not None and cable.insulation is not None:
        material = insulation(cable.insulation)
        limits.append(
            Limit(
                "highest field at a core",
                field,
                "kV/mm",
                f"{material.name} in sheets breaks down at {material.strength_kv_per_mm:g} kV/mm",
                material.source,
                field < material.strength_kv_per_mm,
            )
        )
    return limits


def _field_kv_per_mm(cable: Cable, supply_volt: float | None) -> float | None:
    """Peak field at a core's metal: V / (a ln(b / a)), a screen tight round its insulation."""
    make = cable.geometry
    insulated_mm = None if make is None else make.insulated_mm()
    if make is None or make.core is None or insulated_mm is None or supply_volt is None:
        return None
    core_mm = make.core.diameter_mm
    peak_kv = math.sqrt(2) * supply_volt / 1000
    return peak_kv / (core_mm / 2 * math.log(insulated_mm / core_mm))


def _remarks(cable: Cable) -> list[str]:
    made = cable.from_make.get("core_ohm_per_m")
    if not isinstance(made, tuple):
        return []
    found: dict[str, list[str]] = {}
    for name, label, own in zip(cable.construction.cores, cable.core_ohm_per_m, made, strict=True):
        rated, computed = float(np.asarray(label)), float(np.asarray(own))
        if not 1 - _DISAGREE < rated / computed < 1 + _DISAGREE:
            clause = (
                f"rated at {rated:.4g} ohm/m, but geometry and {cable.core_alloy} give "
                f"{computed:.4g} ohm/m; the rating is used."
            )
            found.setdefault(clause, []).append(name)
    return [
        f"{' and '.join(names)} {'are' if len(names) > 1 else 'is'} {clause}"
        for clause, names in found.items()
    ]
