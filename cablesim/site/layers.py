"""What a floor is made of: materials with their sources, layers, and the cable's depth in them."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from cablesim.cable.lengths import length_from_text
from cablesim.cable.numbers import require
from cablesim.errors import InputError, looked_up

__all__ = [
    "EN_1264_W_PER_M2_K",
    "ISO_6946_RESISTANCE_M2_K_PER_W",
    "MATERIALS",
    "USUAL_DEPTH_MM",
    "USUAL_LAYERS",
    "Floor",
    "Layer",
    "Material",
    "floor_of",
    "layer_from_words",
    "odd_layers",
    "usual_floor",
]

EN_1264_W_PER_M2_K = 10.8
"""Heat that a heated floor gives up to the room, convection and radiation together [W/(m2 K)];
from memory of EN 1264."""

ISO_6946_RESISTANCE_M2_K_PER_W = {"up": 0.10, "level": 0.13, "down": 0.17}
"""Surface resistance inside a building by the direction of the heat [m2 K/W]; from memory of
ISO 6946. One over it is an exchange: 10.0 up, 7.7 level, 5.9 down."""

_ISO_10456 = "from memory of ISO 10456, table 3"
_AS_MORTAR = f"common practice, no source: taken as cement mortar, {_ISO_10456}"
_THICKEST_MM = 10_000.0
# From a foil to a slab; common practice, no source.
_THINNEST_USUAL_MM, _THICKEST_USUAL_MM = 0.2, 500.0
# Between a gas and a metal: what lies outside is a slip of units.
_LEAST_CONDUCTIVITY, _MOST_CONDUCTIVITY = 0.005, 500.0


@dataclass(frozen=True, slots=True)
class Material:
    """A material of a floor.

    Parameters
    ----------
    name
        Name as used in a scenario file and on the command line.
    conductivity_w_per_m_k
        Thermal conductivity [W/(m K)].
    density_kg_per_m3
        Density [kg/m3].
    heat_capacity_j_per_kg_k
        Specific heat capacity [J/(kg K)].
    source
        Where the three values were taken from.
    """

    name: str
    conductivity_w_per_m_k: float
    density_kg_per_m3: float
    heat_capacity_j_per_kg_k: float
    source: str


MATERIALS: dict[str, Material] = {
    row.name: row
    for row in (
        Material("tile", 1.30, 2300.0, 840.0, f"ceramic or porcelain tiles, {_ISO_10456}"),
        Material("adhesive", 1.00, 1800.0, 1000.0, _AS_MORTAR),
        Material("screed", 1.00, 1800.0, 1000.0, _AS_MORTAR),
        Material("mortar", 1.00, 1800.0, 1000.0, f"cement mortar, {_ISO_10456}"),
        Material("concrete", 1.35, 2000.0, 1000.0, _ISO_10456),
        Material("dense_concrete", 2.00, 2400.0, 1000.0, _ISO_10456),
        Material("gypsum", 0.57, 1300.0, 1000.0, f"gypsum plaster, {_ISO_10456}"),
        Material("granite", 2.80, 2600.0, 1000.0, _ISO_10456),
        Material("marble", 3.50, 2800.0, 1000.0, _ISO_10456),
        Material("wood", 0.13, 500.0, 1600.0, f"timber of 500 kg/m3, {_ISO_10456}"),
        Material("dense_wood", 0.18, 700.0, 1600.0, f"timber of 700 kg/m3, {_ISO_10456}"),
        Material("linoleum", 0.17, 1200.0, 1400.0, _ISO_10456),
        Material("plastic", 0.20, 1000.0, 1000.0, f"plastic tiles, {_ISO_10456}"),
        Material("cork", 0.05, 200.0, 1500.0, _ISO_10456),
        Material("eps", 0.035, 20.0, 1450.0, f"expanded polystyrene, {_ISO_10456}"),
    )
}


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer of a floor.

    Parameters
    ----------
    name
        What to call it.
    thickness_mm
        Thickness [mm].
    conductivity_w_per_m_k, density_kg_per_m3, heat_capacity_j_per_kg_k
        As for `Material`.

    Raises
    ------
    InputError
        If a value is not a number or outside its range.

    Examples
    --------
    >>> Layer.of("tile", 10.0).conductivity_w_per_m_k
    1.3
    """

    name: str
    thickness_mm: float
    conductivity_w_per_m_k: float
    density_kg_per_m3: float
    heat_capacity_j_per_kg_k: float

    def __post_init__(self) -> None:
        require("thickness_mm", self.thickness_mm, above=0.0, at_most=_THICKEST_MM)
        require(
            "conductivity_w_per_m_k",
            self.conductivity_w_per_m_k,
            at_least=_LEAST_CONDUCTIVITY,
            at_most=_MOST_CONDUCTIVITY,
        )
        require("density_kg_per_m3", self.density_kg_per_m3, at_least=1.0, at_most=25_000.0)
        require(
            "heat_capacity_j_per_kg_k", self.heat_capacity_j_per_kg_k, at_least=50.0, at_most=1e4
        )

    @classmethod
    def of(cls, material: str, thickness_mm: float) -> Layer:
        """Make a layer of a material by name.

        Parameters
        ----------
        material
            A name of `MATERIALS`.
        thickness_mm
            Thickness [mm].

        Raises
        ------
        InputError
            If the material is unknown; the message gives the nearest known one.
        """
        row = looked_up("material", material, MATERIALS)
        return cls(
            row.name,
            thickness_mm,
            row.conductivity_w_per_m_k,
            row.density_kg_per_m3,
            row.heat_capacity_j_per_kg_k,
        )

    @property
    def resistance_m2_k_per_w(self) -> float:
        """Thermal resistance from one face to the other [m2 K/W]."""
        return self.thickness_mm / 1000.0 / self.conductivity_w_per_m_k

    @property
    def capacity_j_per_m3_k(self) -> float:
        """Heat capacity of a cubic metre [J/(m3 K)]."""
        return self.density_kg_per_m3 * self.heat_capacity_j_per_kg_k

    @property
    def diffusivity_m2_per_s(self) -> float:
        """Thermal diffusivity [m2/s]."""
        return self.conductivity_w_per_m_k / self.capacity_j_per_m3_k


@dataclass(frozen=True, slots=True)
class Floor:
    """A layered floor with a cable in it.

    Parameters
    ----------
    layers
        From the surface downwards.
    depth_mm
        Depth of the cable's axis below the surface [mm].
    surface_w_per_m2_k
        Exchange with the room by convection and radiation [W/(m2 K)]; 0 is an insulated surface.
    underside_w_per_m2_k
        Exchange below the lowest layer [W/(m2 K)]; 0, the default, lets no heat through.

    Raises
    ------
    InputError
        If there is no layer, or the cable does not lie in one.

    Examples
    --------
    >>> floor = Floor((Layer.of("tile", 10.0), Layer.of("screed", 50.0)), depth_mm=14.0)
    >>> floor.thickness_mm
    60.0
    """

    layers: tuple[Layer, ...]
    depth_mm: float
    surface_w_per_m2_k: float = EN_1264_W_PER_M2_K
    underside_w_per_m2_k: float = 0.0

    def __post_init__(self) -> None:
        if not self.layers:
            raise InputError("layers", allowed="one layer or more", try_this='add "tile 10"')
        whole = self.thickness_mm
        what = f"within the floor, which is {whole:g} mm thick"
        require("depth_mm", self.depth_mm, at_least=0.0, try_this="measure from the surface")
        if self.depth_mm >= whole:
            raise InputError("depth_mm", self.depth_mm, what, "add the layers below the cable")
        for name in ("surface_w_per_m2_k", "underside_w_per_m2_k"):
            require(name, getattr(self, name), at_least=0.0, at_most=1e6)

    @property
    def thickness_mm(self) -> float:
        """Thickness of all layers [mm]."""
        return math.fsum(layer.thickness_mm for layer in self.layers)

    @property
    def covering(self) -> tuple[Layer, ...]:
        """The layers above the one that holds the cable."""
        return self.layers[: self._bed()]

    def uncovered(self) -> Floor:
        """Take the covering off: the cable lies open on the layer that holds it.

        Returns
        -------
        Floor
            The cable flush with the surface of its bed, at depth 0.
        """
        bed = self._bed()
        return Floor(self.layers[bed:], 0.0, self.surface_w_per_m2_k, self.underside_w_per_m2_k)

    def _bed(self) -> int:
        below = 0.0
        for place, layer in enumerate(self.layers):
            below += layer.thickness_mm
            if self.depth_mm < below:
                return place
        return len(self.layers) - 1


USUAL_LAYERS = (("tile", 10.0), ("adhesive", 8.0), ("screed", 45.0), ("eps", 30.0))
"""A tiled floor with the cable in the adhesive: material and millimetres; common practice, no
source."""
USUAL_DEPTH_MM = 14.0


def usual_floor() -> Floor:
    """Tile, adhesive with the cable in it, screed and insulation; common practice, no source."""
    return Floor(tuple(Layer.of(*row) for row in USUAL_LAYERS), USUAL_DEPTH_MM)


def odd_layers(layers: Iterable[tuple[str, float]]) -> tuple[str, ...]:
    """Sentences about thicknesses that no layer of a floor is likely to have; nothing is refused.

    Parameters
    ----------
    layers
        Material and thickness [mm] of each.

    Examples
    --------
    >>> odd_layers([("tile", 10.0), ("screed", 45.0)])
    ()
    >>> print(odd_layers([("tile", 0.012)])[0])
    A layer of tile of 0.012 mm is far from usual (0.2 to 500 mm): is it in millimetres?
    """
    return tuple(
        f"A layer of {name} of {thickness_mm:g} mm is far from usual ({_THINNEST_USUAL_MM:g} to "
        f"{_THICKEST_USUAL_MM:g} mm): is it in millimetres?"
        for name, thickness_mm in layers
        if not _THINNEST_USUAL_MM <= thickness_mm <= _THICKEST_USUAL_MM
    )


def layer_from_words(words: str) -> Layer:
    """Read a layer as written on the command line.

    Parameters
    ----------
    words
        A material and its thickness in millimetres, or with a unit: ``"tile 10"``, ``"tile 3/8
        in"``.

    Raises
    ------
    InputError
        If it is not of this form, or the material is unknown.

    Examples
    --------
    >>> layer_from_words("screed 45").thickness_mm
    45.0
    >>> layer_from_words("tile 3/8 in").thickness_mm
    9.525
    """
    form = 'a material and millimetres, such as "tile 10"'
    material, _, thickness = words.strip().partition(" ")
    thickness_mm = length_from_text(thickness, "mm")
    try:
        return Layer.of(material, float(thickness) if thickness_mm is None else thickness_mm)
    except InputError:
        raise
    except ValueError:
        raise InputError("layer", words, form) from None


def floor_of(layers: Iterable[tuple[str, float]], depth_mm: float, **exchange: float) -> Floor:
    """Make a floor from names of materials and millimetres, from the surface downwards."""
    return Floor(tuple(Layer.of(*row) for row in layers), depth_mm, **exchange)
