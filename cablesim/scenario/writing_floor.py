"""Writing the table of a floor."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from cablesim.site.survey import Survey

__all__ = ["floor_table"]

_ON_ONE_LINE = 6  # points


def floor_table(survey: Survey) -> dict[str, Any]:
    """The table of a floor, from which an equal survey is made.

    Parameters
    ----------
    survey
        What is known of the floor.

    Returns
    -------
    dict
        A table for tomlkit, with a line of its own for each point of a long list: the reader takes
        no endless lines.
    """
    return {key: _styled(value) for key, value in _plain_table(survey).items()}


def _plain_table(survey: Survey) -> dict[str, Any]:
    table: dict[str, Any] = {}
    if survey.room is not None:
        table["outline_m"] = _points(survey.room.outline_m)
        if survey.room.keep_out_m:
            table["keep_out_m"] = [_points(ring) for ring in survey.room.keep_out_m]
    if survey.route_m:
        table["route_m"] = _points(survey.route_m)
    if survey.rule is not None:
        rule = survey.rule
        table["run"] = {
            "spacing_m": float(rule.spacing_m),
            "margin_m": float(rule.margin_m),
            "start_m": list(rule.start_m),
        }
        if rule.bend_radius_m is not None:
            table["run"]["bend_radius_m"] = float(rule.bend_radius_m)
    if survey.layers:
        table["layers"] = [
            {"material": layer.material, "thickness_mm": float(layer.thickness_mm)}
            for layer in survey.layers
        ]
    if survey.tile_m is not None:
        table["tile_m"] = list(survey.tile_m)
    if survey.tile_origin_m != (0.0, 0.0):
        table["tile_origin_m"] = list(survey.tile_origin_m)
    if survey.suspects:
        table["suspect"] = [
            {"at_m": list(spot.at_m), "radius_m": float(spot.radius_m)}
            | ({"why": spot.why} if spot.why else {})
            for spot in survey.suspects
        ]
    return table


def _points(points: Iterable[Iterable[float]]) -> list[list[float]]:
    return [[float(value) for value in point] for point in points]


def _styled(value: Any) -> Any:
    import tomlkit

    if isinstance(value, dict):
        inline = tomlkit.inline_table()
        inline.update(value)
        return inline
    if isinstance(value, list) and not isinstance(value[0], float):
        array = tomlkit.array()
        array.extend(_styled(item) for item in value)
        return array.multiline(len(value) > _ON_ONE_LINE or isinstance(value[0], dict))
    return value
