"""``cablesim insulation``: an insulation test as time goes by."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.alone import only_one_cable
from cablesim.cli.files import check_writable, write_file
from cablesim.cli.screen import note, show, show_json, waiting

__all__ = ["insulation"]


def insulation(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="A scenario file.")],
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the first test into this file.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace existing files.")] = False,
) -> None:
    """Say how an insulation test goes on, and what charge is left.

    The tests are those of the file, or the usual one where it has none.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.insulation import CAUTIONS, insulation_pairs, insulation_view
    from cablesim.scenario.reading import load_scenario

    found = load_scenario(scenario)
    only_one_cable(found, "insulation", scenario)
    with waiting("charging the cable"):
        pairs = insulation_pairs(found)
    if not found.faults:
        note(f"{scenario} states no fault: damaged is the same as healthy.")
    if figure is not None:
        from cablesim.report.insulation_figure import insulation_png

        write_file(figure, insulation_png(pairs[0], found.title), force=force)
        note(f"drawn into {figure}")
    if as_json:
        show_json({"tests": [pair.to_dict() for pair in pairs], "cautions": list(CAUTIONS)})
        return
    show(insulation_view(pairs, found.title or scenario))
