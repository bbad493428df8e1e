"""``cablesim benchmark list``, ``compare`` and ``report``: what there is, and what came of it."""

from pathlib import Path
from typing import Annotated

import typer

from cablesim.cli.files import check_writable, write_file
from cablesim.cli.screen import emit, show, show_json
from cablesim.errors import InputError

__all__ = ["compare", "list_all", "report"]

_Folder = Annotated[Path, typer.Argument(metavar="DIR", help="A folder of results.")]
_Json = Annotated[bool, typer.Option("--json", help="Print one JSON object.")]
_Force = Annotated[bool, typer.Option("--force", help="Replace existing files.")]


def list_all(as_json: _Json = False) -> None:
    """List the suites and the estimators that there are."""
    from cablesim.benchmark.estimator import estimator_names
    from cablesim.benchmark.suite import load_suite, shipped_suites

    suites = [load_suite(name) for name in shipped_suites()]
    if as_json:
        show_json(
            {
                "suites": [
                    {"name": s.name, "title": s.title, "cases": len(s.lines), "sha256": s.sha256}
                    for s in suites
                ],
                "estimators": list(estimator_names()),
            }
        )
        return
    lines = [f"{suite.name}: {suite.title} ({len(suite.lines)} cases)" for suite in suites]
    emit("\n".join(["Suites", *lines, "", "Estimators", *estimator_names()]) + "\n")


def compare(
    folder: _Folder,
    names: Annotated[
        list[str] | None,
        typer.Argument(metavar="[A B]", help="Two estimators; all of them unless given."),
    ] = None,
    as_json: _Json = False,
) -> None:
    """Rank estimators, or compare two of them case by case.

    Ranks differ only where the difference is significant.
    """
    from cablesim.benchmark.compare import compared
    from cablesim.benchmark.results import reported, results_in

    results = results_in(folder)
    if names:
        if len(names) != 2:
            raise InputError("estimators to compare", names, "two, or none for all")
        found = compared(results, names[0], names[1])
        if as_json:
            show_json(found.to_dict())
        else:
            from cablesim.benchmark.terminal import comparison_table

            show(comparison_table(found))
        return
    from cablesim.benchmark.terminal import rank_table

    report = reported(results)
    if as_json:
        show_json({"ranks": report.to_dict()["ranks"]})
    elif report.ranks:
        show(rank_table(report))
    else:
        emit(f"No estimator in {folder} names a place in any case, so there is nothing to rank.\n")


def report(
    folder: _Folder,
    html: Annotated[
        Path | None,
        typer.Option(metavar="HTML", help="The page; DIR/report.html unless given."),
    ] = None,
    force: _Force = False,
) -> None:
    """Write a page of tables and figures, CSV and JSON beside it."""
    import json

    from cablesim.benchmark.page import html_page
    from cablesim.benchmark.results import reported, results_in

    page = html or folder / "report.html"
    results = results_in(folder)
    beside = {".csv": page.with_suffix(".csv"), ".json": page.with_suffix(".json")}
    check_writable(page, "--html", force=force, suffix=".html")
    for suffix, path in beside.items():
        check_writable(path, "--html", force=force, suffix=suffix)
    found = reported(results)
    contents = {
        page: html_page(found),
        beside[".csv"]: found.to_csv(),
        beside[".json"]: json.dumps(found.to_dict(), indent=2, allow_nan=False) + "\n",
    }
    for path, text in contents.items():
        write_file(path, text.encode(), force=force)
        emit(f"{path}\n")
