"""``cablesim withstand``: where a withstand tester trips, and what that does."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import check_writable, draw
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import note, show, show_json, waiting

__all__ = ["withstand"]


def withstand(
    scenario: ScenarioFile,
    as_json: AsJson = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the first test into this file.")
    ] = None,
    force: Force = False,
) -> None:
    """Say where a withstand tester trips, and what gives way.

    The tests are those of the file, or all cores to the braid where it has none.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.withstand import (
        CAUTIONS,
        withstand_dict,
        withstand_tests,
        withstand_view,
    )

    found = loaded(scenario, alone="withstand")
    with waiting("raising the voltage"):
        tests = withstand_tests(found)
    if not found.faults:
        note(f"{scenario} states no fault: this is the healthy cable.")
    if figure is not None:
        from cablesim.report.withstand_figure import withstand_png

        draw(figure, lambda: withstand_png(tests[0], found.title), force=force)
    if as_json:
        show_json({"tests": [withstand_dict(test) for test in tests], "cautions": list(CAUTIONS)})
        return
    show(withstand_view(tests, found.cable, found.title or scenario))
