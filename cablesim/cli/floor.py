"""``cablesim floor``: where on the plan the damage lies, and where to open the floor."""

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, draw
from cablesim.cli.lengths import metres
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import show, show_json, waiting
from cablesim.errors import InputError

if TYPE_CHECKING:
    from cablesim.report.floor import FloorAnswer
    from cablesim.scenario.scenario import Scenario

__all__ = ["floor"]

_FIGURES = (".png", ".svg", ".pdf")
_USUAL_WITHIN_M = 0.25


def floor(
    scenario: ScenarioFile,
    as_json: AsJson = False,
    at: Annotated[
        float | None,
        typer.Option(
            metavar="POSITION",
            parser=metres,
            help="Show this place instead, in m from the cold joint.",
        ),
    ] = None,
    within: Annotated[
        float | None,
        typer.Option(
            metavar="M",
            parser=metres,
            help="How far off that place may be, either way; default 0.25.",
        ),
    ] = None,
    survey: Annotated[
        Path | None,
        typer.Option(metavar="DXF", help="Take walls and cable from this drawing instead."),
    ] = None,
    figure: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Draw the plan: PNG, SVG or PDF.")
    ] = None,
    dxf: Annotated[
        Path | None, typer.Option(metavar="FILE", help="Write the plan as a DXF drawing.")
    ] = None,
    force: Force = False,
) -> None:
    """Show on the plan where the damage lies, which tiles to lift.

    The place is what the readings say, or the one given with --at. The file needs a [floor].
    """
    if figure is not None:
        suffix = figure.suffix.lower()
        if suffix not in _FIGURES:
            raise InputError("--figure", str(figure), "a name ending in .png, .svg or .pdf")
        check_writable(figure, "--figure", force=force, suffix=suffix)
    if dxf is not None:
        check_writable(dxf, "--dxf", force=force, suffix=".dxf")
    if within is not None and at is None:
        raise InputError(
            "--within goes with --at only", try_this="give --at POSITION, or leave it out"
        )

    found = loaded(scenario, alone="floor")
    if survey is not None:
        found = _surveyed(found, survey)
    answer = _answered(found, scenario, at, _USUAL_WITHIN_M if within is None else within)
    if figure is not None:
        from cablesim.report.floor_figures import floor_image

        kind = figure.suffix.lower().removeprefix(".")
        draw(figure, lambda: floor_image(answer, kind), force=force)
    if dxf is not None:
        from cablesim.site.drawing import drawing_of

        draw(dxf, lambda: drawing_of(answer.plan, answer.intervals, answer.ranking), force=force)
    if as_json:
        show_json(answer.to_dict())
        return
    from cablesim.report.floor_tables import floor_view

    show(floor_view(answer))


def _surveyed(found: "Scenario", survey: Path) -> "Scenario":
    """The scenario on the floor of a drawing; tiles, layers and spots stay those of the file."""
    from dataclasses import replace

    from cablesim.site.drawing import read_drawing
    from cablesim.site.survey import Survey

    drawn = read_drawing(survey)
    return replace(
        found,
        floor=replace(found.floor or Survey(), room=drawn.room, route_m=drawn.route_m, rule=None),
    )


def _answered(found: "Scenario", name: str, at_m: float | None, within_m: float) -> "FloorAnswer":
    from cablesim.report.floor import floor_of_estimate, floor_of_position

    with blaming(name, at_m="--at", within_m="--within"):
        if at_m is not None:
            return floor_of_position(found, at_m, within_m)
        if found.plan is None:
            # Said before the readings are weighed, which takes longer.
            return floor_of_position(found, 0.0, 0.0)
        from cablesim.report.answer import answered

        with waiting("weighing what may be broken"):
            return floor_of_estimate(found, answered(found).estimate)
