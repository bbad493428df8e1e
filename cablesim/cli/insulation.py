"""``cablesim insulation``: an insulation test as time goes by."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import check_writable, draw
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import note, show, show_json, waiting

__all__ = ["insulation"]


def insulation(
    scenario: ScenarioFile,
    as_json: AsJson = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the first test into this file.")
    ] = None,
    force: Force = False,
) -> None:
    """Say how an insulation test goes on, and what charge is left.

    The tests are those of the file, or the usual one where it has none.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.insulation import CAUTIONS, insulation_pairs, insulation_view

    found = loaded(scenario, alone="insulation")
    with waiting("charging the cable"):
        pairs = insulation_pairs(found)
    if not found.faults:
        note(f"{scenario} states no fault: damaged is the same as healthy.")
    if figure is not None:
        from cablesim.report.insulation_figure import insulation_png

        draw(figure, lambda: insulation_png(pairs[0], found.title), force=force)
    if as_json:
        show_json({"tests": [pair.to_dict() for pair in pairs], "cautions": list(CAUTIONS)})
        return
    show(insulation_view(pairs, found.title or scenario))
