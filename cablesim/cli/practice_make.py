"""``cablesim practice make``: cases to practise on, of a stated difficulty."""

import secrets
from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.blame import blaming
from cablesim.cli.numbers import whole
from cablesim.cli.options import AsJson, Force
from cablesim.cli.screen import note, show, show_json, waiting
from cablesim.errors import InputError

__all__ = ["practice_make"]

_MOST_SEED = 2**53 - 1


def practice_make(
    folder: Annotated[Path, typer.Argument(metavar="DIR", help="Where to write the cases.")],
    number: Annotated[int, typer.Option(parser=whole, metavar="N", help="How many cases.")] = 10,
    seed: Annotated[
        int | None,
        typer.Option(parser=whole, metavar="S", help="Of all chance; drawn and told unless given."),
    ] = None,
    level: Annotated[
        list[int] | None,
        typer.Option(
            metavar="1-5",
            help="Levels in turn; unless given all with the full bag, else as they come.",
        ),
    ] = None,
    kinds: Annotated[
        str, typer.Option(metavar="KINDS", help="Kinds of damage, joined by commas.")
    ] = "short,break,degraded,joint",
    constructions: Annotated[
        str, typer.Option(metavar="NAMES", help="twin, single, joined by commas.")
    ] = "twin,single",
    bag: Annotated[
        str,
        typer.Option(
            metavar="NAMES",
            help="pocket, usual or full, or kinds of meters, joined by commas.",
        ),
    ] = "full",
    faults: Annotated[
        int, typer.Option(parser=whole, metavar="1|2", help="Faults in each case.")
    ] = 1,
    unsteady: Annotated[
        bool, typer.Option("--unsteady", help="Damage that changes from reading to reading.")
    ] = False,
    floor: Annotated[
        str, typer.Option(metavar="STATE", help="covered, or open before the covering.")
    ] = "covered",
    allow_hopeless: Annotated[
        bool,
        typer.Option(
            "--allow-hopeless",
            help="One case in five cannot be located; the right answer is to say so.",
        ),
    ] = False,
    prefix: Annotated[
        str, typer.Option(metavar="NAME", help="How the names of the cases begin.")
    ] = "case",
    as_json: AsJson = False,
    force: Force = False,
) -> None:
    """Make cases to practise on: a trainee's file and a key for each.

    The same options with the same seed make the same files. Keep the keys from the trainees, and
    the seed.
    """
    if floor not in ("covered", "open"):
        raise InputError("--floor", floor, "covered or open")
    from cablesim.report.words import counted
    from cablesim.training.case import KEY_SUFFIX, SUFFIX, save_case
    from cablesim.training.making import case_name, make_cases
    from cablesim.training.syllabus import Syllabus

    drawn = secrets.randbelow(_MOST_SEED) if seed is None else seed
    # Of other bags and damage not every level is to be had.
    every = bag == "full" and faults == 1 and not unsteady
    options = ("number", "seed", "level", "kinds", "constructions", "bag", "faults", "prefix")
    with blaming(None, *options):
        syllabus = Syllabus(
            number=number,
            seed=drawn,
            levels=tuple(level or ((1, 2, 3, 4, 5) if every else ())),
            kinds=_names(kinds),
            constructions=_names(constructions),
            bag=_names(bag),
            faults=faults,
            unsteady=unsteady,
            covered=floor == "covered",
            hopeless=allow_hopeless,
            prefix=prefix,
        )
    names = [case_name(syllabus, k) for k in range(1, number + 1)]
    for path in (folder / f"{name}{end}" for name in names for end in (SUFFIX, KEY_SUFFIX)):
        if path.exists() and not force:
            raise InputError(
                f"{path} exists already", try_this="name another folder, or add --force"
            )
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise InputError(
            f"the folder {folder} cannot be made ({error.strerror or error})",
            try_this="name another one",
        ) from None
    cases = []
    with waiting(f"making {counted(number, 'case')}"):
        for case in make_cases(syllabus):
            save_case(case, folder, force=force)
            cases.append(case)
    made = f"{counted(len(cases), 'case')} in {folder}"
    note(f"{made}; seed {drawn}. Keep the *{KEY_SUFFIX} from trainees.")
    from cablesim.training.case_view import case_row, cases_view

    if as_json:
        show_json({"seed": drawn, "cases": [case_row(case) for case in cases]})
        return
    show(cases_view(cases))


def _names(text: str) -> tuple[str, ...]:
    return tuple(dict.fromkeys(name.strip() for name in text.split(",") if name.strip()))
