"""``cablesim heat --energised``: the warm and the cold floor above a cable on its supply."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from cablesim.cli.blame import blaming
from cablesim.cli.files import draw
from cablesim.cli.heat_layers import floor_for
from cablesim.cli.loading import loaded
from cablesim.cli.screen import note, show, show_json, waiting
from cablesim.errors import InputError

if TYPE_CHECKING:
    from cablesim.report.warm import WarmAnswer

__all__ = ["heat_energised"]

# The colours of the floor end at this many times what the cable alone does, or the least that the
# camera shows: a spot far hotter would leave all else dark.
_BEYOND_CABLE, _BEYOND_CAMERA = 1.5, 10.0


def heat_energised(
    scenario: str | None,
    layers: Sequence[str],
    depth_mm: float | None,
    *,
    uncovered: bool,
    volt: float | None,
    after_s: float,
    camera_kelvin: float,
    as_json: bool,
    figure: Path | None,
    force: bool,
) -> None:
    """Say where the floor gets warm.

    Parameters
    ----------
    scenario
        The file; must be given.
    layers, depth_mm, uncovered, volt, after_s, camera_kelvin, as_json, figure, force
        As the options of ``cablesim heat`` say; the time in seconds.
    """
    if scenario is None:
        raise InputError("SCENARIO is missing", try_this="--energised needs a cable to energise")
    from cablesim.report.energised import energised_answer
    from cablesim.report.warm import warm_answer
    from cablesim.report.warm_table import warm_view

    found = loaded(scenario, alone="heat --energised")
    floor = floor_for(found, scenario, layers, depth_mm)
    with blaming(scenario, "volt", "camera_kelvin", depth_mm="--depth-mm"):
        with waiting("following the heat"):
            answer = warm_answer(
                energised_answer(found, volt=volt),
                floor.uncovered() if uncovered else floor,
                found.plan,
                after_s=after_s,
                camera_kelvin=camera_kelvin,
            )
        if figure is not None:
            draw(figure, lambda: _png(answer, found.title or scenario), force=force)
    if not found.faults:
        note(f"{scenario} states no fault: this is the healthy cable.")
    if found.floor is None or not found.floor.layers:
        note("the file states no layers: those of --layer, or the usual ones, are taken.")
    if as_json:
        show_json(answer.to_dict())
        return
    show(warm_view(answer, found.title or scenario))


def _png(answer: WarmAnswer, title: str) -> bytes:
    """The floor where it is known, else the rise along the cable."""
    from cablesim.report.saving import png_of
    from cablesim.report.warm_figures import above_cable_figure, warm_floor_figure

    most_kelvin = max(
        _BEYOND_CABLE * float(answer.cable_kelvin.max()), _BEYOND_CAMERA * answer.camera_kelvin
    )
    if answer.plan is None:
        return png_of(
            lambda: above_cable_figure(
                answer.at_m,
                answer.rise_kelvin,
                answer.camera_kelvin,
                title=title,
                told=answer.told + ".",
                most_kelvin=most_kelvin,
            )
        )
    image = answer.image()
    route = answer.plan.stretch(0.0, answer.plan.heated_length_m)
    return png_of(
        lambda: warm_floor_figure(
            image.x_m,
            image.y_m,
            image.rise_kelvin,
            route,
            title=title,
            told=answer.told + ".",
            marks=answer.marks(),
            most_kelvin=most_kelvin,
        )
    )
