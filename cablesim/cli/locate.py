"""``cablesim locate``: what is broken, where, and how sure."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, draw, write_file
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import note, show, show_json, waiting
from cablesim.errors import ScenarioError

__all__ = ["locate"]


def locate(
    scenario: ScenarioFile,
    as_json: AsJson = False,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the answer into this file.")
    ] = None,
    page: Annotated[
        Path | None,
        typer.Option(
            metavar="HTML", help="Write the answer as one page to hand on, with all that follows."
        ),
    ] = None,
    budget: Annotated[
        bool, typer.Option("--budget", help="Say what the uncertainty of the place is made of.")
    ] = False,
    method: Annotated[
        str | None,
        typer.Option(
            metavar="NAME", help="Answer by this classical method as well, or by all of them."
        ),
    ] = None,
    force: Force = False,
) -> None:
    """Say from the readings what is broken, where, and how sure.

    Where the file also states the faults, the answer is held against them; where it has a floor,
    the place is shown on it.
    """
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")
    if page is not None:
        check_writable(page, "--page", force=force, suffix=".html")

    from cablesim.report.answer import answered, beside

    found = loaded(scenario)
    if method is not None:
        from cablesim.locate.classical import methods_named

        with blaming(scenario, "method"):
            methods_named(method)
    with waiting("weighing what may be broken"), blaming(scenario):
        answer = answered(found)
    if figure is not None:
        from cablesim.report.figures import answer_png

        draw(figure, lambda: answer_png(answer), force=force)
    if page is not None:
        from cablesim.report.page import page_html, page_source

        with waiting("writing the page"):
            told = page_html(page_source(found, answer, Path(scenario).name, _bytes_of(scenario)))
        write_file(page, told.encode(), force=force)
        note(f"the page is {page}")
    floor = None
    if found.plan is not None:
        from cablesim.report.floor import floor_of_estimate

        floor = floor_of_estimate(found, answer.estimate)
    more = beside(found, answer.estimate, budget=budget, method=method)
    if as_json:
        show_json(answer.to_dict() | more.to_dict() | ({"floor": floor.to_dict()} if floor else {}))
        return
    from cablesim.report.tables import answer_view

    show(answer_view(answer))
    if budget or method is not None:
        from cablesim.report.beside_tables import beside_view

        show(beside_view(more, answer.estimate))
    if floor is not None:
        from cablesim.report.floor_tables import floor_section

        show(floor_section(floor))


def _bytes_of(scenario: str) -> bytes:
    """The file once more, for its SHA-256."""
    try:
        return Path(scenario).read_bytes()
    except OSError as error:
        raise ScenarioError(
            f"it cannot be read any more ({error.strerror or error})",
            try_this="leave the file in its place",
            file=scenario,
        ) from None
