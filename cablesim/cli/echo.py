"""``cablesim echo``: what a pulse echo meter shows, and what its echoes mean."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, draw
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import note, show, show_json, waiting

__all__ = ["echo"]


def echo(
    scenario: ScenarioFile,
    across: Annotated[
        tuple[str, str] | None,
        typer.Option(metavar="LEAD LEAD", help="What the two leads touch, such as core1 braid."),
    ] = None,
    as_json: AsJson = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the trace into this file.")
    ] = None,
    force: Force = False,
) -> None:
    """Say which echoes a pulse sends back, from where and from what.

    The trace is the one recorded, where the file names one, else that of the stated faults.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.reflectogram import reflectogram

    found = loaded(scenario, alone="echo")
    with waiting("following the pulse"), blaming(scenario):
        shown = reflectogram(found, across)
    if not shown.recorded and not found.faults:
        note(f"{scenario} states no fault and no trace: this is the healthy cable.")
    if figure is not None:
        from cablesim.report.reflectogram_figure import reflectogram_png

        draw(figure, lambda: reflectogram_png(shown), force=force)
    if as_json:
        show_json(shown.to_dict())
        return
    from cablesim.report.reflectogram_table import echoes_view

    show(echoes_view(shown, scenario))
