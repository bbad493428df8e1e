"""Results as they lie in a folder, read back and put into one report."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cablesim.benchmark.metrics import Value, mean
from cablesim.benchmark.store import Run, Store
from cablesim.benchmark.suite import Correction, Suite, corrections, load_suite
from cablesim.benchmark.summary import Rank, Row, groups_of, ranked, summarised
from cablesim.errors import InputError

__all__ = ["Report", "Results", "reported", "results_in"]


@dataclass(frozen=True, slots=True)
class Results:
    """What a folder holds.

    Parameters
    ----------
    run
        Which cases of which suite.
    suite
        That suite.
    rows
        Of each estimator that is done, in the order of their names.
    cpu_s
        CPU seconds of each case of each; of an external program those of the benchmark alone.
    clock_s
        Seconds by the clock.
    about
        Where each comes from.
    """

    run: Run
    suite: Suite
    rows: Mapping[str, list[Row]]
    cpu_s: Mapping[str, list[float]]
    clock_s: Mapping[str, list[float]]
    about: Mapping[str, dict[str, Any]]


def results_in(folder: Path) -> Results:
    """Read a folder of results.

    Parameters
    ----------
    folder
        Made by `cablesim.benchmark.run.run`.

    Raises
    ------
    InputError
        If it is none, if a file in it is broken, or if no estimator is done.
    """
    run = Store.held(folder)
    suite = load_suite(run.suite)
    if suite.sha256 != run.sha256:
        raise InputError(
            f"{folder} holds results of another suite than {run.suite} is now",
            try_this="run it anew in another folder",
        )
    rows: dict[str, list[Row]] = {}
    cpu_s: dict[str, list[float]] = {}
    clock_s: dict[str, list[float]] = {}
    about: dict[str, dict[str, Any]] = {}
    for path in sorted(folder.glob("*.about.json")):
        name = path.name.removesuffix(".about.json")
        if not (folder / f"{name}.jsonl").exists():
            continue
        about[name] = _lines(path)[0]
        rows[name] = [*_lines(folder / f"{name}.jsonl")]
        if [row.get("case") for row in rows[name]] != list(run.cases):
            raise InputError(
                f"{folder / name}.jsonl does not hold each case of the run once",
                try_this="remove that file and run it again",
            )
        times = _lines(folder / f"{name}.times.jsonl")
        cpu_s[name] = [float(one["cpu_s"]) for one in times]
        clock_s[name] = [float(one["clock_s"]) for one in times]
    if not rows:
        raise InputError(
            f"{folder} holds no estimator that is done", try_this="let the run go to its end"
        )
    return Results(run, suite, rows, cpu_s, clock_s, about)


def _lines(path: Path) -> list[dict[str, Any]]:
    try:
        found = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    except (OSError, ValueError) as error:
        why = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise InputError(
            f"{path} cannot be read ({why})", try_this="remove it and run that estimator again"
        ) from None
    if not found or not all(isinstance(one, dict) for one in found):
        raise InputError(f"{path} holds no rows", try_this="remove it and run it again")
    return found


@dataclass(frozen=True, slots=True)
class Report:
    """Every number that a report shows.

    Parameters
    ----------
    results
        Where they are from.
    values
        For each estimator and group every metric.
    ranks
        Best first.
    cpu_s, clock_s
        Mean time of a case, CPU and by the clock [s].
    corrections
        What was found wrong in the suite since it was published.
    """

    results: Results
    values: Mapping[str, Mapping[str, Mapping[str, Value]]]
    ranks: tuple[Rank, ...]
    cpu_s: Mapping[str, Value]
    clock_s: Mapping[str, Value]
    corrections: tuple[Correction, ...]

    @property
    def silent(self) -> tuple[str, ...]:
        """Estimators that name no place in any case: they have no rank."""
        ranks = {rank.name for rank in self.ranks}
        return tuple(name for name in self.values if name not in ranks)

    @property
    def groups(self) -> tuple[str, ...]:
        """Every group of cases, ``all`` first."""
        return tuple(next(iter(self.values.values())))

    def to_dict(self) -> dict[str, Any]:
        """All of it, ready for JSON."""
        run, suite = self.results.run, self.results.suite
        return {
            "suite": suite.name,
            "title": suite.title,
            "sha256": suite.sha256,
            "generator": suite.generator,
            "cablesim": run.cablesim,
            "cases": len(run.cases),
            "corrections": [
                {name: getattr(one, name) for name in one.__struct_fields__}
                for one in self.corrections
            ],
            "ranks": [
                {
                    "rank": rank.rank,
                    "estimator": rank.name,
                    "crps_filled_m": rank.score.to_dict(),
                    "behind_m": rank.behind.mean.to_dict() if rank.behind else None,
                }
                for rank in self.ranks
            ],
            "estimators": {
                name: {
                    "about": self.results.about[name],
                    "cpu_s": self.cpu_s[name].to_dict(),
                    "clock_s": self.clock_s[name].to_dict(),
                    "groups": {
                        group: {metric: value.to_dict() for metric, value in metrics.items()}
                        for group, metrics in groups.items()
                    },
                }
                for name, groups in self.values.items()
            },
        }

    def to_csv(self) -> str:
        """One line for each estimator, group and metric."""
        lines = ["estimator,group,metric,value,low,high,cases"]
        for name, groups in self.values.items():
            for group, metrics in groups.items():
                for metric, found in metrics.items():
                    ends = (found.value, found.low, found.high)
                    numbers = ",".join("" if end != end else f"{end:.6g}" for end in ends)
                    lines.append(f"{name},{group},{metric},{numbers},{found.cases}")
        return "\n".join(lines) + "\n"


def reported(results: Results) -> Report:
    """Work out every number of a report.

    Parameters
    ----------
    results
        From `results_in`.
    """
    values = {
        name: {group: summarised(chosen) for group, chosen in groups_of(rows).items()}
        for name, rows in results.rows.items()
    }
    naming = {
        name: rows for name, rows in results.rows.items() if any("error_m" in row for row in rows)
    }
    return Report(
        results=results,
        values=values,
        ranks=tuple(ranked(naming)),
        cpu_s={name: mean(times) for name, times in results.cpu_s.items()},
        clock_s={name: mean(times) for name, times in results.clock_s.items()},
        corrections=corrections(results.suite.name),
    )
