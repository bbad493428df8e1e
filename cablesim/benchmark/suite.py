"""Suites: frozen cases in a file whose first line names it and holds the hash of the rest."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec

from cablesim import __version__
from cablesim.benchmark.case import GROUPS, Case, json_line
from cablesim.benchmark.making import Plan, cases_of
from cablesim.errors import InputError, looked_up
from cablesim.scenario.shipped import shipped_directory

__all__ = ["FORMAT", "Correction", "Suite", "corrections", "load_suite", "made", "shipped_suites"]

FORMAT = 1
_ENDING = ".jsonl"
_MEND = "take the suite as it was published"


class _Head(msgspec.Struct, forbid_unknown_fields=True):
    format: int
    suite: str
    version: int
    title: str
    cases: int
    seed: int
    generator: dict[str, str]
    sha256: str


class Correction(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What was found wrong in a published suite.

    Parameters
    ----------
    suite
        Name and version, such as ``full-1``.
    date
        When it was published.
    cases
        Numbers of the cases that it touches; empty for all.
    what
        What was wrong, and what it did to results.
    mended_in
        The version in which it is right.
    """

    suite: str
    date: str
    cases: tuple[int, ...]
    what: str
    mended_in: str


@dataclass(frozen=True, slots=True)
class Suite:
    """Frozen cases.

    Parameters
    ----------
    name
        Name and version, such as ``small-1``.
    title
        One line for people.
    seed
        That it was made from.
    generator
        Version of the program and formulation that made it.
    sha256
        Hash of its lines.
    lines
        One for each case, JSON.
    """

    name: str
    title: str
    seed: int
    generator: dict[str, str]
    sha256: str
    lines: tuple[str, ...]

    def case(self, number: int) -> Case:
        """Read one case.

        Raises
        ------
        InputError
            If there is no such case.
        """
        if not 0 <= number < len(self.lines):
            raise InputError(
                f"case of suite {self.name}", number, f"from 0 to {len(self.lines) - 1}"
            )
        return Case.read(self.lines[number], f"suite {self.name}, case {number}")

    def only(self, wanted: dict[str, str]) -> tuple[int, ...]:
        """Numbers of the cases that belong to these groups.

        Parameters
        ----------
        wanted
            For some of kind, construction, meters and difficulty the one that is wanted.
        """
        numbers = range(len(self.lines))
        if not wanted:
            return tuple(numbers)
        for name in wanted:
            looked_up("group", name, dict.fromkeys(GROUPS))
        raw = [msgspec.json.decode(line) for line in self.lines]
        for name, value in wanted.items():
            looked_up(name, value, dict.fromkeys(sorted({row[name] for row in raw})))
        chosen = [k for k in numbers if all(raw[k][n] == value for n, value in wanted.items())]
        if not chosen:
            raise InputError(f"no case of suite {self.name} is in all of these groups")
        return tuple(chosen)


def load_suite(name: str) -> Suite:
    """Read a suite, by its name or its file.

    Parameters
    ----------
    name
        A shipped one, such as ``small`` (its newest version) or ``small-1``; or a path ending in
        ``.jsonl``.

    Raises
    ------
    InputError
        If there is none, it cannot be read, or its lines are not those that were frozen.

    Examples
    --------
    >>> suite = load_suite("small")
    >>> suite.case(0).kind
    'healthy'
    """
    if not name.endswith(_ENDING):
        shipped = shipped_suites()
        newest = {stem.rpartition("-")[0]: path for stem, path in shipped.items()}
        path = looked_up("suite", name, {**newest, **shipped})
    else:
        path = Path(name)
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else "no text"
        raise InputError(f"the suite {path} cannot be read ({why})", try_this=_MEND) from None
    return _parsed(text, str(path))


def _parsed(text: str, file: str) -> Suite:
    first, _, rest = text.partition("\n")
    try:
        head = msgspec.json.decode(first, type=_Head)
    except msgspec.MsgspecError as error:
        raise InputError(
            f"{file} is no suite: its first line is no head ({error})", try_this=_MEND
        ) from None
    if head.format != FORMAT:
        raise InputError(
            f"{file}: format", head.format, f"{FORMAT}", "take a version of cablesim that reads it"
        )
    found = _hash(rest)
    if found != head.sha256:
        raise InputError(
            f"{file} is not the suite that was frozen: the hash of its cases begins with "
            f"{found[:12]} and not with {head.sha256[:12]}",
            try_this=_MEND,
        )
    lines = tuple(rest.splitlines())
    if len(lines) != head.cases:
        raise InputError(f"{file}: number of cases", len(lines), f"{head.cases} as its head says")
    name = f"{head.suite}-{head.version}"
    return Suite(name, head.title, head.seed, head.generator, head.sha256, lines)


def _hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def made(plan: Plan, cases: Iterable[Case] | None = None) -> str:
    """The whole file of a suite.

    Parameters
    ----------
    plan
        What it shall hold.
    cases
        Its cases; drawn unless given.
    """
    lines = "".join(json_line(case.to_dict()) for case in cases or cases_of(plan))
    head: dict[str, Any] = {
        "format": FORMAT,
        "suite": plan.name,
        "version": plan.version,
        "title": plan.title,
        "cases": lines.count("\n"),
        "seed": plan.seed,
        "generator": {"cablesim": __version__, "formulation": plan.formulation.said},
        "sha256": _hash(lines),
    }
    return json_line(head) + lines


def _folder() -> Path:
    return shipped_directory() / "suites"


def shipped_suites() -> dict[str, Path]:
    """Every suite that comes with cablesim, by name and version, older versions first."""
    found = {
        path.stem: path
        for path in _folder().glob(f"*{_ENDING}")
        if re.fullmatch(r"[a-z_]+-\d+", path.stem)
    }
    return dict(sorted(found.items(), key=lambda item: _order(item[0])))


def _order(name: str) -> tuple[str, int]:
    stem, _, version = name.rpartition("-")
    return stem, int(version)


def corrections(suite: str) -> tuple[Correction, ...]:
    """What was found wrong in a suite since it was published.

    Parameters
    ----------
    suite
        Name and version.
    """
    path = _folder() / "corrections.json"
    try:
        found = msgspec.json.decode(path.read_bytes(), type=list[Correction])
    except (OSError, msgspec.MsgspecError) as error:
        raise InputError(f"{path} holds no list of corrections ({error})") from None
    return tuple(one for one in found if one.suite == suite)
