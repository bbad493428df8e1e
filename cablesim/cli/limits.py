"""``cablesim limits``: which reading places which fault, and how well at best."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import check_writable, draw
from cablesim.cli.lengths import metres
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import show, show_json, waiting
from cablesim.errors import InputError, ScenarioError

__all__ = ["limits"]


def limits(
    scenario: ScenarioFile,
    at: Annotated[
        float | None,
        typer.Option(
            metavar="M",
            parser=metres,
            help="Place of the damage in m from the cold joint; that of the file's fault, or the "
            "middle, unless given.",
        ),
    ] = None,
    as_json: AsJson = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the table into this file.")
    ] = None,
    force: Force = False,
) -> None:
    """Say which reading places which damage, and how well at best.

    The meters are those of the file, and the usual ones where it has none of a kind.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.locate.reach import every_kind, full_bag, reach

    found = loaded(scenario, alone="limits")
    try:
        kinds = every_kind(found.cable, at, found.faults)
    except InputError as error:
        raise ScenarioError(
            "--at", error.got, error.allowed, error.try_this, file=scenario
        ) from None
    with waiting("taking the slopes of every reading"):
        reached = reach(found.cable, kinds, full_bag(found.cable, found.meters))
    title = found.title or scenario
    if figure is not None:
        from cablesim.report.reach_figure import reach_png

        draw(figure, lambda: reach_png(reached, title), force=force)
    if as_json:
        show_json(reached.to_dict())
        return
    from cablesim.report.reach_table import reach_view

    show(reach_view(reached, found.cable, title))
