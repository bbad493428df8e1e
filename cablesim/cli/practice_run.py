"""``cablesim practice run``: a live drill in the terminal."""

import contextlib
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from cablesim.cli.files import check_writable, write_file
from cablesim.cli.screen import emit
from cablesim.errors import InputError, ScenarioError, in_file

if TYPE_CHECKING:
    from cablesim.training.playing import Drill

__all__ = ["key_of", "practice_run"]

_MOST_SCRIPT = 2**20
_WIDEST = 100
_CAUTION = (
    "A drill, with invented readings. On a real cable local codes and licensed practice come first."
)


def practice_run(
    case: Annotated[
        str, typer.Argument(metavar="CASE", help="A case: NAME.toml, its key beside it.")
    ],
    script: Annotated[
        str | None,
        typer.Option(metavar="FILE", help="Take the lines from this file; - is standard input."),
    ] = None,
    trainee: Annotated[str, typer.Option(metavar="NAME", help="Who practises.")] = "",
    journal: Annotated[
        Path | None,
        typer.Option(
            metavar="JOURNAL", help="Where the drill is kept, *.journal; default NAME.journal."
        ),
    ] = None,
    log: Annotated[
        Path | None,
        typer.Option(metavar="JSON", help="Where its log goes; default NAME.log.json."),
    ] = None,
    force: Annotated[
        bool, typer.Option("--force", help="Begin anew, and replace the journal and the log.")
    ] = False,
) -> None:
    """Play a case: ask for each reading, find the damage, mend it.

    The drill is kept in a journal and goes on where it was left. Type help for what can be said.
    """
    from cablesim.training.case import SUFFIX, load_case
    from cablesim.training.journal import SUFFIX as SUFFIX_OF_JOURNALS
    from cablesim.training.playing import Drill
    from cablesim.training.telling import job_words

    found = load_case(key_of(case))
    journal = journal or Path(f"{found.name}.journal")
    log = log or Path(f"{found.name}.log.json")
    lines = _script_lines(script)
    # Before a journal is begun, or dropped by --force.
    check_writable(journal, "--journal", force=True, suffix=SUFFIX_OF_JOURNALS)
    check_writable(log, "--log", force=True, suffix=".json")
    drill = Drill.at(found, journal, trainee=trainee, anew=force)
    with drill.journal:
        if not drill.state.over:
            if log.exists() and not force:
                raise _in_the_way(log, journal)
            if force:
                # Its drill is dropped now; left there, it would stand in the way of going on later.
                log.unlink(missing_ok=True)
        if drill.state.over:
            _say(f"This drill is over already: {journal}.")
        else:
            _say(f"{_CAUTION}\n\n{job_words(found, drill.state)}\n")
            if drill.state.number:
                _say(f"Going on where the drill was left: {journal}.")
        if drill.state.over:
            going_on = False
        elif lines is None:
            _say("Type help for what can be said.")
            going_on = _typed(drill)
        else:
            going_on = _played(drill, lines, script or "-")
        if going_on:
            _say(f"The drill is kept in {journal}; the same command goes on with it.")
            return
        _finish(drill, log, force, found.name + SUFFIX)


def key_of(name: str) -> str:
    """The key of a case, however the case is named.

    Parameters
    ----------
    name
        The trainee's file or the key.

    Raises
    ------
    InputError
        If the trainee's file is there and its key is not.
    """
    from cablesim.training.case import KEY_SUFFIX, SUFFIX

    if name.endswith(KEY_SUFFIX) or not name.endswith(SUFFIX):
        return name
    key = name.removesuffix(SUFFIX) + KEY_SUFFIX
    if Path(name).exists() and not Path(key).exists():
        raise InputError(
            f"the key {key} is missing", try_this="put both files of the case side by side"
        )
    return key


def _typed(drill: "Drill") -> bool:
    """Hold a dialogue until the drill is over or left; whether it goes on."""
    with contextlib.suppress(ImportError):
        import readline  # noqa: F401 - lines can be edited and called back
    while not drill.state.over:
        try:
            line = input(_prompt(drill))
        except EOFError:
            _say("")
            return True
        except KeyboardInterrupt:
            _say(f"\nThe drill is kept in {drill.journal.path}.")
            raise
        try:
            if not _heard(drill, line, None):
                return True
        except InputError as error:
            text = str(error)
            _say(text[:1].upper() + text[1:])
    return False


def _played(drill: "Drill", lines: Iterator[str], name: str) -> bool:
    """Play a script from where it stopped; whether the drill goes on."""
    numbered = name != "-"
    done = drill.script_line if numbered else 0
    for number, line in enumerate(lines, start=1):
        if drill.state.over:
            break
        if number <= done or not line.partition("#")[0].strip():
            continue
        _say(f"{_prompt(drill)}{line.strip()}")
        with in_file(name if numbered else "standard input", f"line {number}"):
            if not _heard(drill, line, number if numbered else None):
                return True
    return not drill.state.over


def _heard(drill: "Drill", line: str, number: int | None) -> bool:
    """Do what a line says; whether the drill is still being played."""
    said = drill.hear(line)
    if said.view == "quit":
        return False
    if said.view:
        _view(drill, said.view, said.about)
    for seen in drill.do(said, number):
        _say(seen.text)
    return True


def _view(drill: "Drill", view: str, about: str) -> None:
    from shutil import get_terminal_size

    from cablesim.training import telling
    from cablesim.training.help import PARTS, help_words

    if view == "help":
        size = get_terminal_size((80, 24))
        told = help_words(min(_WIDEST, size.columns), about)
        emit(told + "\n")
        if sys.stdout.isatty() and told.count("\n") + 2 > size.lines:
            _say("That is more than this screen holds. One part: help " + ", help ".join(PARTS))
    elif view == "job":
        _say(telling.job_words(drill.case, drill.state))
    elif view == "bag":
        _say(telling.bag_words(drill.world.meters))
    elif view == "sheet":
        _say(telling.sheet_words(drill.state))
    elif view == "state":
        _say(telling.state_words(drill.state))
    else:
        size = get_terminal_size((_WIDEST, 60 if not sys.stdout.isatty() else 24))
        rows = size.lines - 1 if sys.stdout.isatty() else 60
        emit(telling.plan_words(drill.world, drill.state, size.columns, rows) + "\n")


def _finish(drill: "Drill", log: Path, force: bool, case: str) -> None:
    """Tell the truth, and write the log."""
    from cablesim.training.log import dump_log
    from cablesim.training.recording import log_of
    from cablesim.training.state import STOPPED
    from cablesim.training.telling import debrief_words

    content = dump_log(log_of(drill.case, drill.acts, drill.trainee)).encode()
    kept = log.is_file() and log.read_bytes() == content
    if log.exists() and not kept and not force:
        raise _in_the_way(log, drill.journal.path)
    if not kept:
        write_file(log, content, force=force)
    _say("\n" + debrief_words(drill.case, drill.state, drill.world.bench))
    _say(f"The log is in {log}.")
    if drill.state.over == STOPPED:
        _say("With --force the same command begins anew.")


def _in_the_way(log: Path, journal: Path) -> InputError:
    """A log that stands where this drill's would go; to begin anew would lose the drill."""
    return InputError(
        f"{log} exists already and is not the log of this drill",
        try_this=f"say the same with --log OTHER.json: the drill itself is kept in {journal} "
        "(--force would drop it and begin anew)",
    )


def _prompt(drill: "Drill") -> str:
    from cablesim.training.telling import status_words

    return f"[{status_words(drill.state)}] "


def _say(text: str) -> None:
    """Print to the width of the screen; what is set in stays set in."""
    import textwrap
    from shutil import get_terminal_size

    width = min(_WIDEST, get_terminal_size((80, 24)).columns)
    told = []
    for line in text.split("\n"):
        indent = " " * (len(line) - len(line.lstrip()))
        told += textwrap.wrap(line, width, subsequent_indent=indent + "  " * bool(indent)) or [""]
    emit("\n".join(told) + "\n")


def _script_lines(script: str | None) -> Iterator[str] | None:
    """The lines of a script; None where a person types."""
    if script == "-" or (script is None and not sys.stdin.isatty()):
        return iter(sys.stdin)
    if script is None:
        return None
    try:
        with open(script, "rb") as file:
            data = file.read(_MOST_SCRIPT + 1)
        if len(data) > _MOST_SCRIPT:
            raise ScenarioError(f"the script is longer than {_MOST_SCRIPT} bytes", file=script)
        return iter(data.decode("utf-8-sig").splitlines())
    except OSError as error:
        raise ScenarioError(
            f"the script cannot be read ({error.strerror or error})",
            try_this="check the name and the rights",
            file=script,
        ) from None
    except UnicodeDecodeError:
        raise ScenarioError(
            "the script is no text", try_this="save it as UTF-8", file=script
        ) from None
