"""``cablesim limits``: which reading places which fault, and how well at best."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.alone import only_one_cable
from cablesim.cli.caution import mind_odd_values
from cablesim.cli.files import check_writable, write_file
from cablesim.cli.lengths import metres
from cablesim.cli.screen import note, show, show_json, waiting
from cablesim.errors import InputError, ScenarioError

__all__ = ["limits"]


def limits(
    scenario: Annotated[str, typer.Argument(metavar="SCENARIO", help="A scenario file.")],
    at: Annotated[
        float | None,
        typer.Option(
            metavar="M",
            parser=metres,
            help="Place of the damage in m from the cold joint; that of the file's fault, or the "
            "middle, unless given.",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print one JSON object.")] = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the table into this file.")
    ] = None,
    force: Annotated[bool, typer.Option("--force", help="Replace existing files.")] = False,
) -> None:
    """Say which reading places which damage, and how well at best.

    The meters are those of the file, and the usual ones where it has none of a kind.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.locate.reach import every_kind, full_bag, reach
    from cablesim.scenario.reading import load_scenario

    found = load_scenario(scenario)
    only_one_cable(found, "limits", scenario)
    mind_odd_values(found)
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

        with waiting("drawing"):
            image = reach_png(reached, title)
        write_file(figure, image, force=force)
        note(f"drawn into {figure}")
    if as_json:
        show_json(reached.to_dict())
        return
    from cablesim.report.reach_table import reach_view

    show(reach_view(reached, found.cable, title))
