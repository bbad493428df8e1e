"""A report as one page of HTML that needs nothing else, and its tables as Markdown."""

from __future__ import annotations

from base64 import b64encode
from collections.abc import Sequence
from functools import partial
from html import escape
from itertools import groupby

from cablesim.benchmark.compare import SCORE_NOTE
from cablesim.benchmark.metrics import Value
from cablesim.benchmark.results import Report
from cablesim.benchmark.summary import METRICS
from cablesim.report.saving import png_of

__all__ = ["CAUTION", "Table", "facts_of", "html_page", "markdown", "tables_of"]

CAUTION = (
    "A benchmark says how estimators do on made-up cases. Before a floor is opened the place is "
    "confirmed by a second, independent method; work is done dead, and local codes and licensed "
    "practice come first."
)
_STYLE = """
:root{color-scheme:light dark;--ink:#1a1a1a;--paper:#fff;--grey:#555;--line:#c8c8c8}
@media screen and (prefers-color-scheme:dark){
:root{--ink:#ededed;--paper:#15181b;--grey:#b9b9b9;--line:#5a6066}}
body{font:15px/1.5 system-ui,sans-serif;color:var(--ink);background:var(--paper);max-width:62rem;
margin:2rem auto;padding:0 1rem}
h1{font-size:1.5rem}h2{font-size:1.15rem;margin-top:2.2rem}
table{border-collapse:collapse;margin:.6rem 0 1rem;font-size:.82rem;
font-variant-numeric:tabular-nums}
.wide{overflow-x:auto}
th,td{padding:.22rem .55rem;text-align:right;white-space:nowrap;
border-bottom:1px solid var(--line)}
th:first-child{text-align:left}tbody th{font-weight:400}
img{max-width:100%;min-width:35rem;height:auto;background:#fff}
.note{color:var(--grey);font-size:.88rem}code{overflow-wrap:anywhere}
@media print{@page{margin:14mm}html,body{font-size:10pt}body{margin:0}h2{break-after:avoid}
table,img{break-inside:avoid}table{font-size:8pt}img{min-width:0;max-width:150mm}}
"""
# Characters that have room beside each other at a desk and on paper, and what parts two columns.
_ABREAST, _BETWEEN = 112, 6
_BY_GROUP = ("crps_filled_m", "error_median_m", "coverage", "named")


class Table:
    """A table with a title: heads and rows of texts, the first column a name.

    Parameters
    ----------
    title
        Above it.
    heads
        Of the columns.
    rows
        Texts.
    note
        One line below; empty for none.
    """

    def __init__(
        self, title: str, heads: Sequence[str], rows: Sequence[Sequence[str]], note: str = ""
    ) -> None:
        self.title, self.heads, self.rows, self.note = title, heads, rows, note


def tables_of(report: Report) -> list[Table]:
    """Every table of a report.

    Parameters
    ----------
    report
        From `reported`.
    """
    groups = [group for group in report.groups if group != "all"]
    by_group = [_group_table(report, groups, key) for key in _BY_GROUP]
    return [_rank_table(report), _metric_table(report), *by_group, _time_table(report)]


def _rank_table(report: Report) -> Table:
    rows = [
        [
            rank.name,
            f"{rank.rank}",
            _told(rank.score, 3),
            _told(rank.behind.mean, 3) if rank.behind else "",
            f"{100 * rank.behind.better.value:.0f} %" if rank.behind else "",
        ]
        for rank in report.ranks
    ]
    return Table(
        "Ranks by the score of the place",
        ["estimator", "rank", "CRPS, filled [m]", "behind the best [m]", "better in"],
        rows,
        f"{SCORE_NOTE} Behind the best of its rank, or of the rank above where it begins one; "
        "paired case by case, and apart only where the interval leaves zero out (Bonferroni, "
        "95 % together).",
    )


def _metric_table(report: Report) -> Table:
    rows = []
    for rank in report.ranks:
        found = report.values[rank.name]["all"]
        told = (_told(found[key], metric.digits) for key, metric in METRICS.items())
        rows.append([rank.name, *told])
    return Table(
        "Every metric, all cases",
        ["estimator", *(metric.told for metric in METRICS.values())],
        rows,
        "In brackets the 95 % interval; of fewer than ten cases only a share has one.",
    )


def _group_table(report: Report, groups: Sequence[str], key: str) -> Table:
    metric = METRICS[key]
    rows = []
    for rank in report.ranks:
        found = report.values[rank.name]
        rows.append([rank.name, *(_short(found[g][key], metric.digits) for g in groups)])
    title = f"{metric.told} by group"
    return Table(
        title[:1].upper() + title[1:],
        ["estimator", *groups],
        rows,
        "The number of cases is in brackets.",
    )


def _time_table(report: Report) -> Table:
    rows = []
    for rank in report.ranks:
        cpu, clock = report.cpu_s[rank.name], report.clock_s[rank.name]
        outside = report.results.about[rank.name]["command"] is not None
        own = ("", "") if outside else (_ms(cpu), _rounded(1 / cpu.value))
        rows.append([rank.name, *own, _ms(clock)])
    return Table(
        "Time per case",
        ["estimator", "CPU [ms]", "cases a second of CPU", "by the clock [ms]"],
        rows,
        "The clock says more of what else the machine did; an external program's own CPU time "
        "is not seen.",
    )


def _told(value: Value, digits: int) -> str:
    if not value.cases:
        return "-"
    if value.low != value.low:
        return f"{value.value:.{digits}f}"
    return f"{value.value:.{digits}f} ({value.low:.{digits}f} to {value.high:.{digits}f})"


def _short(value: Value, digits: int) -> str:
    return f"{value.value:.{digits}f} ({value.cases})" if value.cases else "-"


def _ms(value: Value) -> str:
    return _rounded(1000 * value.value)


def _rounded(value: float) -> str:
    """Three digits, without a power of ten.

    >>> _rounded(2061.7), _rounded(0.31649)
    ('2060', '0.316')
    """
    return f"{float(f'{value:.3g}'):.0f}" if value >= 100 else f"{value:.3g}"


def facts_of(report: Report) -> list[str]:
    """What a report is about, in sentences.

    Parameters
    ----------
    report
        From `reported`.
    """
    run, suite = report.results.run, report.results.suite
    made = suite.generator
    whole = len(run.cases) == len(suite.lines)
    facts = [
        f"Suite {suite.name}: {suite.title}.",
        f"{'All' if whole else 'Chosen:'} {len(run.cases)} of its {len(suite.lines)} cases, "
        f"hash {suite.sha256[:16]}; readings by {made['formulation']}, cablesim "
        f"{made['cablesim']}. Run with cablesim {run.cablesim}.",
    ]
    for one in report.corrections:
        cases = ", ".join(map(str, one.cases)) or "all"
        facts.append(
            f"Correction of {one.date} (cases {cases}): {one.what} Mended in {one.mended_in}."
        )
    if not report.corrections:
        facts.append("No correction of this suite has been published.")
    if report.silent:
        facts.append(f"Named no place in any case, so without a rank: {', '.join(report.silent)}.")
    return facts


def html_page(report: Report) -> str:
    """The whole page.

    Parameters
    ----------
    report
        From `reported`.
    """
    from cablesim.benchmark import report_figures as figures

    title = f"Estimators on {report.results.suite.name}"
    parts = [f"<h1>{escape(title)}</h1>"]
    parts += [f"<p>{escape(fact)}</p>" for fact in facts_of(report)]
    parts.append(f'<p class="note">{escape(CAUTION)}</p>')
    drawn = (
        ("Score of the place of each estimator, best first; the first table", figures.score_figure),
        ("Share of the intervals that hold the truth; the second table", figures.coverage_figure),
        ("Median distance from place to truth; the table by group", figures.by_kind_figure),
        ("Cases a second of each estimator; the last table", figures.speed_figure),
    )
    # Where nobody names a place there is nothing to draw.
    for name, draw in drawn if report.ranks else ():
        data = b64encode(png_of(partial(draw, report))).decode()
        parts.append(f'<p class="wide"><img alt="{name}" src="data:image/png;base64,{data}"></p>')
    parts += [_html_table(table) for table in tables_of(report)]
    parts.append("<h2>What the metrics mean</h2><ul>")
    parts += [
        f"<li><b>{escape(metric.told)}</b>: {escape(metric.means)}</li>"
        for metric in METRICS.values()
    ]
    parts.append("</ul><h2>Who was asked</h2><ul>")
    for name, about in report.results.about.items():
        source = about["command"] or f"package {about['from_package']}"
        parts.append(f"<li><b>{escape(name)}</b>: <code>{escape(source)}</code></li>")
    parts.append("</ul>")
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8"><title>{escape(title)}'
        f'</title><meta name="viewport" content="width=device-width"><style>{_STYLE}</style>'
        f"</head><body>\n" + "\n".join(parts) + "\n</body></html>\n"
    )


def _html_table(table: Table) -> str:
    parts = []
    for columns in _abreast(table):
        heads = "".join(f'<th scope="col">{escape(table.heads[k])}</th>' for k in (0, *columns))
        rows = "\n".join(
            f'<tr><th scope="row">{escape(row[0])}</th>'
            + "".join(f"<td>{escape(row[k])}</td>" for k in columns)
            + "</tr>"
            for row in table.rows
        )
        parts.append(
            f'<div class="wide"><table><thead><tr>{heads}</tr></thead>'
            f"<tbody>\n{rows}\n</tbody></table></div>"
        )
    note = f'<p class="note">{escape(table.note)}</p>' if table.note else ""
    return f"<h2>{escape(table.title)}</h2>{''.join(parts)}{note}"


def _abreast(table: Table) -> list[list[int]]:
    """Columns after the first, in parts that fit a page; those of one first word stay together.

    >>> heads = ["estimator", "kind a", "kind b", "meter a"]
    >>> _abreast(Table("", heads, [["x", "1" * 30, "2", "3" * 60]]))
    [[1, 2], [3]]
    """
    columns = zip(table.heads, *table.rows, strict=True)
    first, *widths = [max(map(len, column)) + _BETWEEN for column in columns]
    parts: list[list[int]] = [[]]
    room = _ABREAST - first
    for _, group in groupby(range(len(widths)), key=lambda k: table.heads[k + 1].split(" ")[0]):
        alike = list(group)
        wide = sum(widths[k] for k in alike)
        if parts[-1] and wide > room:
            parts.append([])
            room = _ABREAST - first
        parts[-1] += [k + 1 for k in alike]
        room -= wide
    return parts


def markdown(table: Table) -> str:
    """A table as Markdown, without its title.

    Parameters
    ----------
    table
        From `tables_of`.
    """
    lines = ["| " + " | ".join(table.heads) + " |", "| " + " | ".join("---" for _ in table.heads)]
    lines[1] += " |"
    lines += ["| " + " | ".join(row) + " |" for row in table.rows]
    return "\n".join([*lines, *(["", table.note] if table.note else [])])
