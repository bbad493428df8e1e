"""``cablesim practice mark``: what was made of the cases, held against what was possible."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import check_writable, draw, write_file
from cablesim.cli.options import AsJson, Force
from cablesim.cli.screen import note, show, show_json, waiting
from cablesim.errors import InputError

__all__ = ["practice_mark"]


def practice_mark(
    key: Annotated[
        Path, typer.Argument(metavar="KEY", help="The key of a case, or a folder of keys.")
    ],
    logs: Annotated[list[Path], typer.Argument(metavar="LOG...", help="Logs, JSON.")],
    csv: Annotated[
        Path | None, typer.Option(metavar="CSV", help="Write one row for each log.")
    ] = None,
    figure: Annotated[
        Path | None, typer.Option(metavar="PNG", help="Draw the class by topic.")
    ] = None,
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Mark logs: damage, place, interval, readings, opening, safety, and the next case to take.

    What was said is held against the best answer that the readings taken allowed: bad luck with a
    meter is not blamed, and good luck is not praised.
    """
    if csv is not None:
        check_writable(csv, "--csv", force=force, suffix=".csv")
    if figure is not None:
        check_writable(figure, "--figure", force=force, suffix=".png")

    from cablesim.report.words import counted
    from cablesim.training.case import KEY_SUFFIX, Case, load_case
    from cablesim.training.class_table import ClassTable, csv_of
    from cablesim.training.log import dump_log, load_log, played
    from cablesim.training.marking import mark_case

    paths = sorted(key.glob(f"*{KEY_SUFFIX}")) if key.is_dir() else [key]
    if not paths:
        raise InputError(
            f"there is no key in {key}", try_this=f"name a folder with files *{KEY_SUFFIX}"
        )
    cases: dict[str, Case] = {}
    for path in paths:
        case = load_case(path)
        cases[case.key.trainee_sha256] = case
    # Every log is read before any is marked: marking takes a while, and a slip is told at once.
    found = []
    first: dict[str, Path] = {}
    for name in logs:
        log = load_log(name)
        same = first.setdefault(dump_log(log), name)
        if same is not name:
            note(f"{name} says the same as {same}: it counts once")
            continue
        if log.trainee_sha256 not in cases:
            raise InputError(
                f"{name} is the log of {log.case}, and its key is not there",
                try_this="name the key of that case, or the folder that holds it",
            )
        case = cases[log.trainee_sha256]
        found.append((case, played(log, case.trainee, str(name))))
    with waiting(f"marking {counted(len(found), 'log')}"):
        table = ClassTable(tuple(mark_case(case, done) for case, done in found))
    if csv is not None:
        write_file(csv, csv_of(table).encode(), force=force)
        note(f"the class is in {csv}")
    if figure is not None:
        from cablesim.training.class_figure import class_png

        draw(figure, lambda: class_png(table), force=force)
    if as_json:
        show_json(table.to_dict())
        return
    from cablesim.training.mark_view import class_view

    show(class_view(table))
