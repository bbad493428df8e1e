"""``cablesim demo``: the main job on a shipped scenario, from prediction to a marked answer."""

import json
from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import write_together
from cablesim.cli.options import Force
from cablesim.cli.screen import emit, show, waiting
from cablesim.errors import InputError

__all__ = ["demo"]


def demo(
    output: Annotated[
        Path, typer.Option(metavar="DIR", help="Folder for the files that it writes.")
    ] = Path(),
    force: Force = False,
) -> None:
    """Show the whole job on a shipped scenario.

    Predicts what meters show, locates the damage from what they showed, and draws the answer.

    Writes the scenario, the answer and a figure into the current folder. Files of another content
    that are there already stay; the new ones then get a number.
    """
    if not output.is_dir():
        raise InputError("--output", str(output), "an existing folder")

    from rich.text import Text

    from cablesim.report.answer import answered
    from cablesim.report.figures import answer_png
    from cablesim.report.predicted import predicted
    from cablesim.report.tables import answer_view, readings_table
    from cablesim.scenario.reading import load_scenario
    from cablesim.scenario.shipped import shipped_directory

    source = shipped_directory() / "demo.toml"
    scenario = load_scenario(source)
    rows = predicted(scenario.cable, scenario.faults, scenario.probes)
    taken = [entry.reading for entry in scenario.entries]
    show(
        Text("1. What each meter shows with this damage", style="bold"),
        readings_table(rows, scenario.title, taken),
    )
    with waiting("weighing what may be broken, and drawing it"):
        answer = answered(scenario)
        image = answer_png(answer)
    show(
        Text("2. What the readings that were taken say", style="bold"),
        answer_view(answer),
    )
    told = json.dumps(answer.to_dict(), indent=2, ensure_ascii=False, allow_nan=False) + "\n"
    contents = {".toml": source.read_bytes(), ".json": told.encode(), ".png": image}
    emit("\n3. Files\n\n")
    for path, written in write_together(output, "cablesim-demo", contents, force=force):
        emit(f"  {path}{'' if written else '  (was there already, the same)'}\n")
