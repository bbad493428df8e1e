"""``cablesim energise``: what a damaged cable does on its supply, beside the healthy one."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, draw
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import note, show, show_json

__all__ = ["energise"]


def energise(
    scenario: ScenarioFile,
    volt: Annotated[
        float | None, typer.Option(help="Supply voltage [V]; that of the file unless given.")
    ] = None,
    live: Annotated[str, typer.Option(help="The terminal on the live lead.")] = "core1",
    rcd_milliamp: Annotated[
        float, typer.Option(help="Rating of the residual-current device [mA].")
    ] = 30.0,
    fuse_ampere: Annotated[float | None, typer.Option(help="Rating of the fuse [A].")] = None,
    as_json: AsJson = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the heat into this file.")
    ] = None,
    force: Force = False,
) -> None:
    """Say what a damaged cable does on its supply.

    Nothing is switched on: this is arithmetic, and it says what to mind before anybody does.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.energised import energised_answer

    found = loaded(scenario)
    if not any(part.faults for part in found.parts):
        note(f"{scenario} states no fault: damaged is the same as healthy.")
    with blaming(scenario, "volt", "rcd_milliamp", "fuse_ampere"):
        answer = energised_answer(
            found, volt=volt, live=live, rcd_milliamp=rcd_milliamp, fuse_ampere=fuse_ampere
        )
    if figure is not None:
        from cablesim.report.energised_figure import energised_png

        draw(figure, lambda: energised_png(answer), force=force)
    if as_json:
        show_json(answer.to_dict())
        return
    from cablesim.report.energised_table import energised_view

    show(energised_view(answer, found.title or scenario))
