"""``cablesim study``: how far a method reaches, which one comes first, what disturbs it."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import check_writable, draw, write_file
from cablesim.cli.loading import loaded
from cablesim.cli.numbers import whole
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import note, show, show_json, waiting
from cablesim.errors import InputError

__all__ = ["study"]

# The meters of the scenario file, beside the classes.
_OWN = "file"


def study(
    scenario: ScenarioFile,
    method: Annotated[
        str,
        typer.Option(
            metavar="NAME",
            help="A classical method, another estimator such as posterior, or all classical ones.",
        ),
    ] = "all",
    meter: Annotated[
        list[str] | None,
        typer.Option(
            metavar="CLASS",
            help="cheap, good or bench, or file for the file's own meters; may be given again. "
            "All three classes unless given; good for --first.",
        ),
    ] = None,
    damage: Annotated[
        str | None,
        typer.Option(
            metavar="KIND",
            help="short, cores, break, wet-break or cut; what a method is for unless given.",
        ),
    ] = None,
    first: Annotated[
        bool, typer.Option("--first", help="Say which method to take first, for each damage.")
    ] = False,
    sensitivity: Annotated[
        bool,
        typer.Option(
            "--sensitivity", help="Say how tolerance, temperature and an unsteady fault disturb."
        ),
    ] = False,
    places: Annotated[
        int | None,
        typer.Option(parser=whole, metavar="N", help="Places along the cable; usually 15."),
    ] = None,
    resistances: Annotated[
        int | None,
        typer.Option(parser=whole, metavar="N", help="Resistances of the damage; usually 28."),
    ] = None,
    draws: Annotated[
        int | None,
        typer.Option(parser=whole, metavar="N", help="Measurements in each cell; usually 100."),
    ] = None,
    seed: Annotated[
        int, typer.Option(parser=whole, metavar="N", help="Seed of the random numbers.")
    ] = 1,
    formulation: Annotated[
        str | None,
        typer.Option(
            metavar="NAME",
            help="What makes the readings, exact or ladder; usually exact for closed forms, the "
            "ladder for estimators, which invert the exact circuit.",
        ),
    ] = None,
    csv: Annotated[
        Path | None, typer.Option(metavar="CSV", help="Write every cell into this file.")
    ] = None,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the study into this file.")
    ] = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Map how far methods reach on this cable.

    By simulated measurements. What the file says is broken is not used: damage is laid at every
    place with every resistance.
    """
    if first and sensitivity:
        raise InputError("--first with --sensitivity", try_this="ask for one at a time")
    if first and (method != "all" or formulation is not None):
        raise InputError(
            "--first with --method or --formulation",
            try_this="leave that out: it weighs all classical methods, by the exact circuit",
        )
    if sensitivity and method == "all" and figure is not None:
        raise InputError("--sensitivity --figure of all methods", try_this="name one by --method")
    if csv is not None:
        check_writable(csv, "--csv", force=force, suffix=".csv")
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.benchmark.grades import GRADES
    from cablesim.benchmark.study import studies
    from cablesim.instruments.meter import first_of_kind

    found = loaded(scenario, alone="study")
    wanted = studies.Wanted(
        seed=seed,
        grades=tuple(meter or (["good"] if first else GRADES)),
        places=places,
        resistances=resistances,
        draws=draws,
        formulation=formulation,
        bags={**GRADES, _OWN: first_of_kind(found.meters.values())},
    )
    with waiting("simulating measurements"):
        if first:
            done = studies.study_of_first(found.cable, wanted, damage)
        else:
            pairs = studies.chosen(found.cable, method, damage)
            make = studies.study_of_sensitivity if sensitivity else studies.study_of_reach
            if not all(one.classical for one, _ in pairs):
                note(f"{method} answers one case after the other, which may take a second each")
            done = make(found.cable, pairs, wanted)
    title = found.title or scenario
    if csv is not None:
        from cablesim.benchmark.study.csv_file import to_csv

        write_file(csv, to_csv(done.maps).encode(), force=force)
        note(f"written into {csv}")
    if figure is not None:
        from cablesim.report.saving import png_of

        draw(figure, lambda: png_of(lambda: done.figure(title)), force=force)
    if as_json:
        show_json(done.told)
    else:
        show(done.view(title))
