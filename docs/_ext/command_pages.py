"""One page for each command, from what typer knows of it: the same words that ``--help`` says."""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterator
from typing import Any, get_args, get_type_hints

import typer
from typer.models import ArgumentInfo, OptionInfo

from cablesim.cli.app import app

_HEAD = """# Commands

Each page says what `cablesim COMMAND --help` says, and is written from the program itself.

| command | what it does |
| --- | --- |
"""
_EXITS = """
## Common to all

- The result goes to stdout. Progress, warnings and cautions go to stderr.
- Exit code 0: done, also where the honest answer is that the readings cannot place the fault.
  2: the input cannot be used; one sentence on stderr names the file, the field, the value and
  the mend.
- A file that exists is replaced with `--force` only. Files are written whole or not at all.
- A length may have a unit of its own: `--at 12.4`, `--at "40 ft"`, `--spot-mm "1/4 in"`.
- `--json` prints one JSON object; its numbers are in SI units, or in the unit that the key ends in.
- Shell completion: `cablesim --install-completion`, then open a new shell.
"""


def pages() -> dict[str, str]:
    """Pages by name: the list of commands, and one page for each, groups included."""
    commands = list(_commands(app, ()))
    rows = "".join(f"| [`{' '.join(w)}`]({_slug(w)}.md) | {_first(f)} |\n" for w, f in commands)
    tree = "\n```{toctree}\n:hidden:\n\n" + "\n".join(_slug(w) for w, _ in commands) + "\n```\n"
    made = {"commands/index": _HEAD + rows + _EXITS + tree}
    return made | {f"commands/{_slug(words)}": _page(words, call) for words, call in commands}


def _commands(
    group: typer.Typer, above: tuple[str, ...]
) -> Iterator[tuple[tuple[str, ...], Callable[..., Any]]]:
    for info in group.registered_commands:
        if info.callback is not None and not info.hidden:
            name = info.name or info.callback.__name__.replace("_", "-")
            yield (*above, name), info.callback
    for info in group.registered_groups:
        if info.typer_instance is not None and not info.hidden:
            name = info.name or info.typer_instance.info.name
            yield from _commands(info.typer_instance, (*above, name) if name else above)


def _slug(words: tuple[str, ...]) -> str:
    return "-".join(words)


def _first(call: Callable[..., Any]) -> str:
    return inspect.getdoc(call).split("\n\n")[0].replace("\n", " ")


def _page(words: tuple[str, ...], call: Callable[..., Any]) -> str:
    hints = get_type_hints(call, include_extras=True)
    arguments, options = [], []
    for name, parameter in inspect.signature(call).parameters.items():
        kind, *notes = get_args(hints[name]) or (hints[name],)
        for note in notes:
            if isinstance(note, ArgumentInfo):
                arguments.append((note.metavar or name.upper(), note, parameter.default))
            elif isinstance(note, OptionInfo) and not note.hidden:
                flags = _flags(name, note)
                takes = "" if kind is bool else f" {note.metavar or _takes(kind)}"
                flag = ", ".join(f"`{flag}{takes}`" for flag in flags)
                options.append((flag, note, parameter.default))
    usage = " ".join(
        ["cablesim", *words, *(_argument(*a) for a in arguments), *["[OPTIONS]"][: len(options)]]
    )
    text = f"# `cablesim {' '.join(words)}`\n\n{_prose(call)}\n\n```text\n{usage}\n```\n"
    if arguments:
        text += "\n| argument | what it is |\n| --- | --- |\n"
        text += "".join(f"| `{name}` | {_cell(note.help)} |\n" for name, note, _ in arguments)
    if options:
        text += "\n| option | default | what it does |\n| --- | --- | --- |\n"
        for flag, note, default in options:
            text += f"| {flag} | {_default(default)} | {_cell(note.help)} |\n"
    return text


def _flags(name: str, note: OptionInfo) -> list[str]:
    # In an annotation, what stands first is a flag, though typer keeps it as a default.
    first = note.default if isinstance(note.default, str) else None
    flags = [first, *(note.param_decls or ())] if first else list(note.param_decls or ())
    return flags or [f"--{name.replace('_', '-')}"]


def _prose(call: Callable[..., Any]) -> str:
    # A bare --option in running text is code.
    return re.sub(r"(?<![`\w-])(--[a-z][\w-]*)", r"`\1`", inspect.getdoc(call))


def _argument(name: str, note: ArgumentInfo, default: object) -> str:
    return (
        name if default is inspect.Parameter.empty and note.default in (..., None) else f"[{name}]"
    )


def _takes(kind: Any) -> str:
    parts = [part for part in get_args(kind) if part is not type(None)]
    plain = parts[0] if len(parts) == 1 else kind
    return {float: "NUMBER", int: "N", str: "TEXT"}.get(plain, "VALUE")


def _default(value: object) -> str:
    if value in (None, False, inspect.Parameter.empty) or str(value) == ".":
        return ""
    return f"`{value:g}`" if isinstance(value, float) else f"`{value}`"


def _cell(text: str | None) -> str:
    return (text or "").replace("|", "\\|").replace("<", "&lt;").replace("*", "\\*")
