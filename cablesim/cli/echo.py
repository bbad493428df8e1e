"""``cablesim echo``: what a pulse echo meter shows, and what its echoes mean."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.alone import only_one_cable
from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, write_file
from cablesim.cli.screen import note, show, show_json, waiting

__all__ = ["echo"]


def echo(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="A scenario file.")],
    across: Annotated[
        tuple[str, str] | None,
        typer.Option(metavar="LEAD LEAD", help="What the two leads touch, such as core1 braid."),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the trace into this file.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace existing files.")] = False,
) -> None:
    """Say which echoes a pulse sends back, from where and from what.

    The trace is the one recorded, where the file names one, else that of the stated faults.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.reflectogram import reflectogram
    from cablesim.scenario.reading import load_scenario

    found = load_scenario(scenario)
    only_one_cable(found, "echo", scenario)
    with waiting("following the pulse"), blaming(scenario):
        shown = reflectogram(found, across)
    if not shown.recorded and not found.faults:
        note(f"{scenario} states no fault and no trace: this is the healthy cable.")
    if figure is not None:
        from cablesim.report.reflectogram_figure import reflectogram_png

        with waiting("drawing"):
            image = reflectogram_png(shown)
        write_file(figure, image, force=force)
        note(f"drawn into {figure}")
    if as_json:
        show_json(shown.to_dict())
        return
    from cablesim.report.reflectogram_table import echoes_view

    show(echoes_view(shown, scenario))
