"""From the raw table of a cable to the cable itself."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from msgspec import UNSET, structs

from cablesim.cable.cable import Cable
from cablesim.cable.geometry import Geometry
from cablesim.cable.numbers import require
from cablesim.cable.stated import LEAST_LENGTH_M, check_stated, least_loop_ohm
from cablesim.errors import InputError
from cablesim.scenario.checking import Place, read_table
from cablesim.scenario.geometry import GEOMETRY_KEYS, geometry_from, geometry_place
from cablesim.scenario.schema import CableTable

__all__ = ["cable_from"]

# What a label may give instead of a resistance.
_POWER = re.compile(r"(?i)(\w*_)?(watts?|power|w|wattage)")
_OHM_OF_POWER = "give loop_resistance_ohm: volts squared by watts, as in 230 * 230 / 480 = 110.2"


def cable_from(raw: Mapping[str, Any], place: Place) -> tuple[Cable, float | None]:
    """Make the cable, and the supply voltage where it is given."""
    for key in raw:
        if key in GEOMETRY_KEYS:
            where = "write it under [cable.geometry]"
            raise place.error(f"{key} says how the cable is made", try_this=where)
        if _POWER.fullmatch(key):
            raise place.error(f"{key} is no key of a cable", try_this=_OHM_OF_POWER)
    table = read_table(CableTable, raw, place, but=("geometry",))
    given = {key: value for key, value in structs.asdict(table).items() if value is not UNSET}
    made = None
    if "geometry" in raw:
        made = given["geometry"] = geometry_from(raw["geometry"], place)
    supply_volt = given.pop("supply_volt", None)
    other = "heating_ohm_m" if table.construction == "parallel" else "core_ohm_per_m"
    if "heating_ohm_m" in given and other != "heating_ohm_m":
        raise place.error(
            "heating_ohm_m is for a parallel cable, whose heating lies between its cores",
            try_this="leave it out",
        )
    if "loop_resistance_ohm" in given and other in given:
        raise place.error(
            f"loop_resistance_ohm and {other} are both given",
            try_this="keep the one that the label states",
        )
    if "loop_resistance_ohm" not in given and other not in given and not _says(made, other):
        raise place.error(
            f"loop_resistance_ohm is missing, and so is {other}",
            try_this="add the one that the label states, such as loop_resistance_ohm = 88.2",
        )
    if "core_ohm_per_m" in given:
        given["core_ohm_per_m"] = tuple(given["core_ohm_per_m"])
    try:
        require("heated_length_m", table.heated_length_m, at_least=LEAST_LENGTH_M)
        cable = Cable.rated(given.pop("construction"), **given)
        check_stated(cable)
    except InputError as error:
        if "loop_resistance_ohm" in given and error.what in ("core_ohm_per_m", "heating_ohm_m"):
            # The value per metre stands in no file.
            least = least_loop_ohm(table.construction, table.heated_length_m)
            raise place.error(
                "loop_resistance_ohm",
                given["loop_resistance_ohm"],
                f"at least {least:g} at this length",
                "is it in ohms?",
            ) from None
        here = geometry_place(place) if error.what in GEOMETRY_KEYS else place
        raise here.at(error) from None
    return cable, supply_volt


def _says(made: Geometry | None, key: str) -> bool:
    """Whether what a cable is made of says how strongly it heats."""
    if made is None:
        return False
    return made.zone_m is not None if key == "heating_ohm_m" else made.core is not None
