"""``cablesim repair``: which readings to expect after a repair, limits, and what was read then."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.files import check_writable, draw, write_file
from cablesim.cli.lengths import metres
from cablesim.cli.loading import loaded
from cablesim.cli.options import AsJson, Force, ScenarioFile
from cablesim.cli.screen import note, show, show_json, waiting
from cablesim.errors import InputError

__all__ = ["repair"]

_RECORD_HEAD = """\
# The record of a repair, to keep with the papers of the house.
#
# What the meters read after the splice goes into the scenario, {scenario},
# with when = "after repair" or "after covering". Then write this record again, with --force, and
# fill it in last: date, done_by, licence, done = true for each step that was done, signed.

"""


def repair(
    scenario: ScenarioFile,
    joint_ohm: Annotated[
        float, typer.Option(help="Resistance of each joint in each conductor [ohm].")
    ] = 0.01,
    removed_m: Annotated[
        float,
        typer.Option(metavar="M", parser=metres, help="Length of cable cut out at each place."),
    ] = 0.0,
    inserted_m: Annotated[
        float,
        typer.Option(metavar="M", parser=metres, help="Length of cold cable put in at each place."),
    ] = 0.0,
    as_json: AsJson = False,
    record: Annotated[
        Path | None,
        typer.Option(metavar="TOML", help="Write the record to fill in and keep into this file."),
    ] = None,
    figure: Annotated[
        Path | None,
        typer.Option(metavar="PNG", help="Draw readings and limits into this file."),
    ] = None,
    force: Force = False,
) -> None:
    """Say what to read after a repair, and judge what was read.

    Every stated fault is mended, or, where none is stated, the place where the readings point.
    Readings with when = "after repair" or "after covering" are held against the limits.
    """
    if record is not None:
        check_writable(record, "--record", force=force, suffix=".toml")
        if record.exists() and Path(scenario).exists() and record.samefile(scenario):
            raise InputError(
                f"--record: {record} is the scenario itself", try_this="name another file"
            )

    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.repair import record_of, repair_answer
    from cablesim.report.words import one_line

    found = loaded(scenario, alone="repair")
    with waiting("mending"), blaming(scenario, "joint_ohm", "removed_m", "inserted_m"):
        answer = repair_answer(
            found, joint_ohm=joint_ohm, removed_m=removed_m, inserted_m=inserted_m
        )
    if record is not None:
        import tomlkit

        text = _RECORD_HEAD.format(scenario=one_line(scenario)) + tomlkit.dumps(record_of(answer))
        write_file(record, text.encode(), force=force)
        note(f"the record to keep is in {record}")
    if figure is not None:
        from cablesim.report.repair_figure import repair_png

        draw(figure, lambda: repair_png(answer), force=force)
    if as_json:
        show_json(answer.to_dict())
        return
    from cablesim.report.repair_table import repair_view

    show(repair_view(answer, found.title or scenario))
