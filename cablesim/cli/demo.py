"""``cablesim demo``: the main job on a shipped scenario, from prediction to a marked answer."""

import json
from itertools import count
from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import write_file
from cablesim.cli.screen import emit, show, waiting
from cablesim.errors import InputError

__all__ = ["demo"]


def demo(
    output: Annotated[
        Path, typer.Option(metavar="DIR", help="Folder for the files that it writes.")
    ] = Path(),
    force: Annotated[bool, typer.Option("--force", help="Replace existing files.")] = False,
) -> None:
    """Show the whole job on a shipped scenario: predict, locate, draw.

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
    show(
        Text("1. What each meter shows with this damage", style="bold"),
        readings_table(rows, scenario.title),
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
    for path, written in _put(output, contents, force=force):
        emit(f"  {path}{'' if written else '  (was there already, the same)'}\n")


def _put(folder: Path, contents: dict[str, bytes], *, force: bool) -> list[tuple[Path, bool]]:
    """Write the files under one name, numbered where another content has that name already."""
    for number in count(1):
        stem = "cablesim-demo" + (f"-{number}" if number > 1 else "")
        paths = {suffix: folder / f"{stem}{suffix}" for suffix in contents}
        if force or all(_free(paths[suffix], content) for suffix, content in contents.items()):
            break
    done = []
    for suffix, content in contents.items():
        new = force or not paths[suffix].exists()
        if new:
            write_file(paths[suffix], content, force=force)
        done.append((paths[suffix], new))
    return done


def _free(path: Path, content: bytes) -> bool:
    """Whether nothing is there, or the very same."""
    if not path.exists():
        return True
    return path.is_file() and path.stat().st_size == len(content) and path.read_bytes() == content
