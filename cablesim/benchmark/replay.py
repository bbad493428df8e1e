"""One row again: the same case, the same estimator, and whether the same comes out."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cablesim.benchmark.asking import Who, opened
from cablesim.benchmark.case import Case, json_line
from cablesim.benchmark.results import results_in
from cablesim.benchmark.row import row_of
from cablesim.benchmark.suite import Suite, load_suite
from cablesim.errors import InputError

__all__ = ["Replayed", "replayed"]

_ROW = re.compile(r"^(?P<suite>.+)/(?P<case>\d{1,9})/(?P<name>[A-Za-z][\w-]*)$")


@dataclass(frozen=True, slots=True)
class Replayed:
    """A row made again.

    Parameters
    ----------
    case
        The case.
    row
        The row as it comes out now.
    before
        As it stands in a folder of results; None where none was given.
    """

    case: Case
    row: Mapping[str, Any]
    before: Mapping[str, Any] | None

    @property
    def same(self) -> bool | None:
        """Whether both are the same to the last bit; None where there is nothing to compare."""
        return None if self.before is None else json_line(self.row) == json_line(self.before)


def replayed(row: str, who: Who | None = None, *, folder: Path | None = None) -> Replayed:
    """Make a row of results again.

    Parameters
    ----------
    row
        As rows are called: ``small-1/7/posterior``.
    who
        Who is asked; the registered estimator of that name, or the program that the folder's
        results are of, unless given.
    folder
        Results to compare with; its suite is taken, also where that has a path.

    Raises
    ------
    InputError
        If there is no such row.
    """
    found = _ROW.match(row)
    if found is None:
        raise InputError("row", row, "SUITE/CASE/ESTIMATOR, such as small-1/7/posterior")
    name, number = found["name"], int(found["case"])
    suite: Suite
    before: Mapping[str, Any] | None = None
    if folder is None:
        suite = load_suite(found["suite"])
    else:
        results = results_in(folder)
        suite = results.suite
        rows = {one["row"]: one for one in results.rows.get(name, [])}
        if row not in rows:
            raise InputError(f"{folder} has no row {row}", try_this="name one of its rows")
        before = rows[row]
        command = results.about[name]["command"]
        if command is not None and who is None:
            from cablesim.benchmark.program import Program

            who = Who(name, Program(command))
    case = suite.case(number)
    with opened(who or Who(name)) as ask:
        again = row_of(suite.name, case, name, ask(case))
    return Replayed(case, json.loads(json_line(again)), before)
