"""The layers of the floor that heat goes through: typed, or of a scenario, or the usual ones."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from cablesim.cli.caution import mind_odd_layers
from cablesim.errors import InputError, ScenarioError, in_file

if TYPE_CHECKING:
    from cablesim.scenario.scenario import Scenario
    from cablesim.site.layers import Floor, Layer

__all__ = ["floor_for", "floor_from"]


def floor_from(file: str | None, typed: Sequence[str], depth_mm: float | None) -> Floor:
    """Layers as typed, else those that a file must state, else, without a file, the usual ones.

    Parameters
    ----------
    file
        A scenario file.
    typed
        Layers as `cablesim.site.layers.layer_from_words` reads them, from the top downwards.
    depth_mm
        Depth of the cable's axis [mm].

    Raises
    ------
    InputError
        If a layer cannot be read, if the file has none, or if it is not said how deep the cable
        lies in layers that are not the usual ones.
    """
    from cablesim.scenario.reading import load_scenario

    if typed or file is None:
        return _floor(typed, (), depth_mm)
    stack = _stated(load_scenario(file), file)
    if not stack:
        raise ScenarioError(
            "the floor has no layers",
            try_this='add them to [floor], or write them as --layer "tile 10"',
            file=file,
        )
    mind_odd_layers((row.name, row.thickness_mm) for row in stack)
    return _floor((), stack, depth_mm)


def floor_for(scenario: Scenario, file: str, typed: Sequence[str], depth_mm: float | None) -> Floor:
    """The same of a scenario that is loaded: it may state no layers, and is warned of elsewhere.

    Parameters
    ----------
    scenario, file
        The scenario and its file, for messages.
    typed, depth_mm
        As in `floor_from`.
    """
    return _floor(typed, () if typed else _stated(scenario, file), depth_mm)


def _floor(typed: Sequence[str], stated: Sequence[Layer], depth_mm: float | None) -> Floor:
    from cablesim.site.layers import USUAL_DEPTH_MM, Floor, layer_from_words, usual_floor

    stack = tuple(layer_from_words(words) for words in typed) or tuple(stated)
    if not stack:
        return Floor(usual_floor().layers, USUAL_DEPTH_MM if depth_mm is None else depth_mm)
    if typed:
        mind_odd_layers((row.name, row.thickness_mm) for row in stack)
    if depth_mm is None:
        raise InputError("--depth-mm is missing", try_this="say how deep the cable's axis lies")
    return Floor(stack, depth_mm)


def _stated(scenario: Scenario, file: str) -> tuple[Layer, ...]:
    """The layers that a scenario's floor states."""
    from cablesim.site.layers import Layer

    stack = []
    for number, row in enumerate(scenario.floor.layers if scenario.floor else (), start=1):
        with in_file(file, f"floor.layers[{number}]"):
            stack.append(Layer.of(row.material, row.thickness_mm))
    return tuple(stack)
