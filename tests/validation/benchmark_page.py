"""The page that compares all shipped estimators, from what ``cablesim benchmark run`` has left.

    for suite in full outside; do
        cablesim benchmark run $suite --first N --output FOLDER/$suite --estimator ...; done
    PYTHONPATH=tests python -m validation.benchmark_scaling > FOLDER/scaling.json
    PYTHONPATH=tests python -m validation.benchmark_page FOLDER PAGE FIGURES

writes PAGE, ``docs/validation/benchmark.md``, and its figures into FIGURES, ``docs/figures``. All
numbers are made from the results, but for what `validation.benchmark_findings` says.
"""

from __future__ import annotations

import json
import sys
import textwrap
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import Any

from validation.benchmark_findings import CHECKS, FINDINGS

from cablesim.benchmark import report_figures
from cablesim.benchmark.baselines import shrunk
from cablesim.benchmark.compare import Comparison, compared
from cablesim.benchmark.metrics import Value, share
from cablesim.benchmark.page import CAUTION, Table, facts_of, markdown, tables_of
from cablesim.benchmark.results import Report, reported, results_in
from cablesim.benchmark.summary import Row
from cablesim.report.saving import png_of

FIGURES = {
    "score": report_figures.score_figure,
    "coverage": report_figures.coverage_figure,
    "kinds": report_figures.by_kind_figure,
}
ALT = {
    "score": "Filled CRPS of every estimator with its interval, best first",
    "coverage": "Share of the intervals that hold the truth, beside 95 %",
    "kinds": "Median distance from place to truth by kind of damage",
}
# Which tables of a report stand on the page: ranks, and all metrics.
SHOWN = 2
MANY = 1_000_000_000
CORES = 1000
YEAR_S = 3.156e7


def told(value: Value, digits: int = 2) -> str:
    """A value with its interval."""
    if value.low != value.low:
        return f"{value.value:.{digits}f} (of {value.cases} cases, no interval)"
    return f"{value.value:.{digits}f} ({value.low:.{digits}f} to {value.high:.{digits}f})"


def plain(number: float) -> str:
    """Three digits, and no powers of ten."""
    return f"{float(f'{number:.3g}'):,g}"


def wrapped(text: str) -> str:
    """A paragraph in lines of the usual width."""
    return textwrap.fill(text, 118, break_long_words=False, break_on_hyphens=False)


def against(found: Comparison, score: str) -> str:
    """What a paired comparison says, in one clause."""
    one = found.scores[score]
    apart = "apart" if one.significant else "not to be told apart"
    cases = f"n = {one.mean.cases}"
    return f"{found.first} less {found.second} {told(one.mean, 3)} m, {cases}: {apart}"


def bounds_of(report: Report) -> list[str]:
    """Where floor, ceiling, posterior and negative control are."""
    results, lines = report.results, []
    for first, second in (
        ("ceiling", "posterior"),
        ("posterior", "floor"),
        ("posterior", "least_squares"),
        ("posterior", "overconfident"),
    ):
        if {first, second} <= set(results.rows):
            lines.append(f"- Filled CRPS, {against(compared(results, first, second), CRPS)}.")
    limits = [name for name in ("ceiling", "floor") if name in results.rows]
    if len(limits) == 2:
        better = [
            name
            for name in report.values
            if name != "ceiling" and _ahead(compared(results, name, "ceiling"))
        ]
        worse = [name for name in report.values if _ahead(compared(results, "floor", name))]
        lines.append(f"- Significantly better than the ceiling: {_listed(better)}.")
        lines.append(f"- Significantly worse than the floor: {_listed(worse)}.")
    for name in ("posterior", "ceiling", "least_squares", "overconfident"):
        if name not in report.values:
            continue
        found = report.values[name]["all"]["coverage"]
        lines.append(
            f"- {name} holds the truth in {told(found, 3)} of {found.cases}: {says(found)}."
        )
    if "overconfident" not in report.values and "posterior" in report.values:
        found = halved(results.rows["posterior"])
        lines.append(
            f"- overconfident, its intervals worked out from the posterior's rows, holds the truth "
            f"in {told(found, 3)} of {found.cases}: {says(found)}."
        )
    return lines


CRPS = "crps_filled_m"


def halved(rows: Sequence[Row]) -> Value:
    """Coverage of the overconfident one, from what the posterior answered."""
    held = []
    for row in rows:
        if row["place_m"] is None or not row.get("intervals_m"):
            continue
        intervals = shrunk(row["intervals_m"], row["position_m"])
        held.append(any(low <= row["place_m"] <= high for low, high in intervals))
    return share(held)


def _ahead(found: Comparison) -> bool:
    one = found.scores[CRPS]
    return one.significant and one.mean.high < 0


def _listed(names: Sequence[str]) -> str:
    return ", ".join(f"`{name}`" for name in names) or "none"


def says(coverage: Value) -> str:
    """What a coverage says about the promise of 95 %."""
    if coverage.high < 0.95:
        return "less than it promises"
    if coverage.low > 0.95:
        return "more than it promises"
    return "in keeping with 95 %"


def time_table(report: Report, scaling: Mapping[str, Any]) -> list[str]:
    """CPU per case, cases a second, and what 1e9 cases would take."""
    sizes, own_s = sizes_of(report), scaling["own_s_per_case"]
    lines = [
        f"| estimator | CPU per case [ms] | cases a second | 1e9 cases [core years] | on {CORES} |",
        "| --- | ---: | ---: | ---: | ---: |",
    ]
    for name, value in sorted(report.cpu_s.items(), key=lambda one: -one[1].value):
        # Here it was given the answers that the posterior had found already.
        if name == "overconfident":
            continue
        total_s = (value.value + own_s) * MANY
        hours = total_s / CORES / 3600
        lasts = f"{hours / 24:.0f} days" if hours > 48 else f"{hours:.1f} h"
        lines.append(
            f"| {name} | {plain(1000 * value.value)} | {plain(1 / value.value)} "
            f"| {plain(total_s / YEAR_S)} | {lasts} |"
        )
    return [
        *lines,
        "",
        f"Cases a second are of one core and of the estimator alone. In the last two columns "
        f"{1000 * own_s:.0f} ms",
        "a case are added to read, score and write it. Cores are taken to be as that measured.",
        "`overconfident` takes what `posterior` does.",
        "",
        f"A case is {sizes['case']:.0f} bytes and a row {sizes['row']:.0f}: 1e9 are "
        f"{sizes['case'] / 1000:.1f} TB of suites, and {sizes['row'] / 1000:.1f} TB of rows for",
        "each estimator. A run keeps its suite in memory, and each chunk is a file until the run "
        "is whole; a cluster takes about",
        "a millisecond to hand over a chunk (from memory). So it is thousands of suites of 1e5 to "
        "1e6 cases, each a run of its",
        "own, in chunks of 1000 and more. That has not been tried.",
    ]


def scaling_text(scaling: Mapping[str, Any]) -> list[str]:
    """What two processes brought, beside two loops."""
    if "median" not in scaling:
        return [
            "How much faster two processes are than one could not be measured: others kept both",
            "cores of the machine busy all the time. `validation.benchmark_scaling` measures it.",
        ]
    processes, loops = scaling["median"]
    return [
        f"`{scaling['estimator']}` on {scaling['cases']} cases, median of {scaling['rounds']} "
        f"rounds: two processes were {processes:.2f} times as fast as one,",
        f"start of the workers included; two loops of plain arithmetic were {loops:.2f} times as "
        "fast as one in the same minutes.",
        f"The machine has two cores and was shared ({scaling['load']:.1f} processes wanted them at "
        "the end), so the second number is",
        "what there was to gain.",
    ]


def without(table: Table, *heads: str) -> Table:
    """A table without some columns, and without places where nothing is broken."""
    kept = [
        k
        for k, head in enumerate(table.heads)
        if head not in heads and not head.endswith(" healthy")
    ]
    return Table(
        table.title,
        [table.heads[k] for k in kept],
        [[row[k] for k in kept] for row in table.rows],
        table.note,
    )


def page(
    reports: Mapping[str, Report],
    scaling: Mapping[str, Any],
) -> str:
    """The whole page."""
    lines = [
        "# All shipped estimators, held against each other and the limit",
        "",
        "Written by `python -m validation.benchmark_page` from runs of `cablesim benchmark run`.",
        "What the suites hold and how scores are made:",
        "[a benchmark of estimators](../benchmark.md).",
        "",
        wrapped(CAUTION),
        "",
        FINDINGS.rstrip(),
    ]
    for name, report in reports.items():
        lines += [
            "",
            f"## Suite {report.results.suite.name}",
            "",
            *map(wrapped, facts_of(report)),
            "",
        ]
        for key in FIGURES:
            lines += [f"![{ALT[key]}](../figures/benchmark-{name}-{key}.png)", ""]
        lines += ["### Floor, ceiling, and the negative control", "", *bounds_of(report), ""]
        for table in tables_of(report)[:SHOWN]:
            lines += [f"### {table.title}", "", markdown(table), ""]
        for title in ("CRPS, filled [m] by group", "Coverage by group"):
            table = next(table for table in tables_of(report) if table.title == title)
            lines += [f"### {title}", "", markdown(without(table, "difficulty none")), ""]
    lines += ["## Throughput, and 1e9 cases on paper", ""]
    lines += [*time_table(next(iter(reports.values())), scaling), ""]
    lines += [*scaling_text(scaling), "", "## The same whatever does the work", "", CHECKS]
    return "\n".join(lines).rstrip() + "\n"


def sizes_of(report: Report) -> dict[str, float]:
    """Mean bytes of a case and of a row of the posterior, or of whoever comes first."""
    results = report.results
    rows = results.rows.get("posterior") or next(iter(results.rows.values()))
    lines = [results.suite.lines[case] for case in results.run.cases]
    return {
        "case": sum(map(len, lines)) / len(lines),
        "row": sum(len(json.dumps(row, separators=(",", ":"))) for row in rows) / len(rows),
    }


def main(folder: Path, out: Path, figures: Path) -> None:
    """Write the page and its figures."""
    reports = {
        name: reported(results_in(folder / name))
        for name in ("full", "outside")
        if (folder / name / "run.json").exists()
    }
    for name, report in reports.items():
        for key, draw in FIGURES.items():
            path = figures / f"benchmark-{name}-{key}.png"
            path.write_bytes(png_of(partial(draw, report)))
    scaling = json.loads((folder / "scaling.json").read_text(encoding="utf-8"))
    out.write_text(page(reports, scaling), encoding="utf-8")


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:4]))
