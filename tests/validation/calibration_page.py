"""The page and the figures of the calibration check, from its records."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
from validation.calibration import NARROWED, Record
from validation.calibration_cases import BAGS, BELIEVED, CABLES, RUNGS
from validation.calibration_figures import error_figure, figure
from validation.calibration_groups import (
    Efficiency,
    classical,
    efficiency,
    held,
    kind_of,
    placed,
    ranks,
)
from validation.calibration_measures import (
    BINS,
    LEVELS,
    Chances,
    Check,
    coverage,
    likeliest,
    log_score,
    passes,
    reliability,
    rms,
    ruled_out,
    sharpened,
    uniform,
    verdict_checks,
)

from cablesim import __version__

FIGURE, ERRORS = "calibration.png", "calibration-errors.png"
# What is off by chance in fewer groups than one in so many is listed.
_LISTED = 1e-3


def place_checks(records: Sequence[Record]) -> list[Check]:
    """Of places and resistances, with what is broken known."""
    cases = placed(records)
    return [
        *coverage(held(cases)),
        uniform(ranks(cases), "rank of the place, chi square"),
        uniform(ranks(cases, "rank_ohm"), "rank of the resistance, chi square"),
        ruled_out([record.ruled_out for record in records]),
    ]


def chance_checks(
    records: Sequence[Record], change: Callable[[Chances], Chances] = list
) -> list[Check]:
    """Of the probabilities of what is broken."""
    cases = [change(record.chances) for record in records if record.chances]
    return [likeliest(cases), log_score(cases)]


def overconfident_checks(records: Sequence[Record]) -> dict[str, list[Check]]:
    """The same checks of answers that are surer than they should be."""
    cases = placed(records)
    asked = [r for r in cases if r.believed_out is not None]
    return {
        f"places drawn together to {NARROWED:g} of their spread": [
            *coverage(held(cases, "narrow_held")),
            uniform(ranks(cases, "narrow_rank"), "rank of the place, chi square"),
        ],
        f"meters believed to err {BELIEVED:g} times as much as they do": [
            *coverage(held(asked, "believed_held")),
            uniform(ranks(asked, "believed_rank"), "rank of the place, chi square"),
        ],
        "probabilities of what is broken squared": chance_checks(records, sharpened),
    }


def check_table(checks: Sequence[Check]) -> str:
    lines = [
        "| measure | n | should be | is | spread | p |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for c in checks:
        share = "nat" not in c.name and "chi" not in c.name
        tell = (lambda v: f"{100 * v:.1f} %") if share else (lambda v: f"{v:.3g}")
        lines.append(
            f"| {c.name} | {c.n} | {tell(c.wanted)} | {tell(c.found)} | {tell(c.spread)} "
            f"| {told_p(c.p)} |"
        )
    return "\n".join(lines)


def told_p(p: float) -> str:
    return f"{p:.2g}" if p >= 1e-4 or p == 0 else f"{p:.0e}"


def outcome(checks: Sequence[Check]) -> str:
    least = min(checks, key=lambda check: check.p)
    word = "passes" if passes(checks) else "fails"
    return f"**{word}** (least p {told_p(least.p)} of {len(checks)}, {least.name}, n = {least.n})"


def by_group(records: Sequence[Record], key: Callable[[Record], str], head: str) -> str:
    """Coverage of each group, with the truths that were ruled out."""
    cases = placed(records)
    lines = [
        f"| {head} | n | truth ruled out | "
        + " | ".join(f"{level:.0%}" for level in LEVELS)
        + " | rank, p | resistance, p |",
        "| --- " * (5 + len(LEVELS)) + "|",
    ]
    for name in sorted({key(r) for r in cases}):
        group = [r for r in cases if key(r) == name]
        shares = coverage(held(group))
        cells = [f"{100 * c.found:.1f} ± {100 * c.spread:.1f}" for c in shares]
        p = [
            told_p(uniform(values, "").p) if len(values) >= 5 * BINS else "-"
            for values in (ranks(group), ranks(group, "rank_ohm"))
        ]
        out = sum(r.ruled_out for r in group)
        lines.append(f"| {name} | {len(group)} | {out} | " + " | ".join([*cells, *p]) + " |")
    return "\n".join(lines)


def answered_table(records: Sequence[Record]) -> str:
    """As a person is told it: where the verdict is right and there is one place."""
    lines = [
        "| kind | verdict right | 95 % interval holds | called placed, and held "
        "| error, RMS [m] | error of those placed, RMS [m] |",
        "| --- " * 6 + "|",
    ]
    right = [r for r in records if r.answered_held]
    for name in [*sorted({r.kind for r in right}), *(["all"] if right else [])]:
        group = [r for r in right if name in (r.kind, "all")]
        found = [r for r in group if r.placed]
        good = sum(bool(r.answered_held and r.answered_held[2]) for r in group)
        inside = sum(bool(r.answered_held and r.answered_held[2]) for r in found)
        near = f"{rms([r.error_m or 0.0 for r in found]):.2f}" if found else "-"
        lines.append(
            f"| {name} | {len(group)} | {good} ({good / len(group):.1%}) | {inside}/{len(found)} "
            f"| {rms([r.error_m or 0.0 for r in group]):.2f} | {near} |"
        )
    return "\n".join(lines)


def page(records: Sequence[Record], cases: int, seed: int) -> str:
    """All measures, as Markdown."""
    full = [r for r in records if r.chances]
    of_place, of_chance = place_checks(records), chance_checks(records)
    over = overconfident_checks(records)
    possible = [r for r in records if not r.ruled_out]
    of_rest = place_checks([r for r in possible if r.places < 2])
    of_other_chances = chance_checks(possible)
    chances = [r.chances or [] for r in full]
    sizes = [r.size for r in records if not r.ruled_out and r.places] or [np.nan]
    two = [r.size for r in records if not r.ruled_out and r.places == 2] or [np.nan]
    lost_words = "\n".join(
        f"- case {r.case}: {kind_of(r)}, {r.cable}, {r.bag}" for r in records if r.ruled_out
    )
    return f"""# Is `locate` calibrated?

Written by `python tests/validation/calibration.py {cases} {seed} docs/validation/calibration.md`
with `PYTHONPATH=tests`; cablesim {__version__}.

{len(records)} cases of {cases} were reached in the time there was. Their truth is drawn from the
prior that `locate` states: hypothesis, place, resistances, tolerance of the cores, capacitances,
insulation, braid, leads, gains, counts, rounding. {len(CABLES)} invented cables
({", ".join(CABLES)}) meet {len(BAGS)} bags of
meters ({", ".join(BAGS)}). The readings come from the lumped ladder of {RUNGS} rungs a
piece, the answers from the exact line. {len(full)} cases are drawn with the weights of the
hypotheses and answered among all of them; the other {len(records) - len(full)} take each kind of
damage equally often and are answered with what is broken known.

![Intervals, ranks, probabilities](../figures/{FIGURE})

An answer **passes** where the least of its k p values is at least 0.01 / k. A p value says how
often chance alone would be so far off or farther.

## Places, with what is broken known

The answer {outcome(of_place)}.

{check_table(of_place)}

"Should be" of a chi square is its degrees of freedom. The rank is the share of the posterior that
lies below the truth, in {BINS} bins; of two places one is taken. A truth that was ruled out (no
point of its posterior has any weight) is in no interval and has no rank; an answer that computes
what it states never rules a truth out, so that one such case fails the check:

{lost_words or "- none"}

{by_group(records, kind_of, "kind")}

{by_group(records, lambda r: r.bag, "bag of meters")}

{by_group(records, lambda r: r.cable, "cable")}

Intervals in per cent; after ± the binomial standard deviation of a calibrated answer. Groups that
are off more than chance allows once in a thousand:

{off(records)}

With the truths that were ruled out, and all cases of two places, left aside, the rest
{outcome(of_rest)}. This split was made after failures of an earlier run; it says where they lay,
not that they do not count.

{check_table(of_rest)}

Half of the posteriors consist of more than {np.median(sizes):.0f} points of equal weight, a tenth
of fewer than {np.quantile(sizes, 0.1):.0f}; with two places these are {np.median(two):.0f} and
{np.quantile(two, 0.1):.0f}. Few points cannot tell an interval exactly.

## What is broken

The answer {outcome(of_chance)}.

{check_table(of_chance)}

With the truths that were ruled out left aside, the rest {outcome(of_other_chances)}:

{check_table(of_other_chances)}

The log score is the mean logarithm of the true hypothesis's probability; it should be the mean of
what the probabilities promise themselves, less their entropy. By verdict:

{check_table(verdict_checks(chances))}

Probabilities of all verdicts in bins:

{check_table(reliability(chances))}

## Would the check notice?

The same checks of answers that are surer than they should be, made of the same cases:

{chr(10).join(f"- {name}: {outcome(checks)}." for name, checks in over.items())}

{check_table([c for checks in over.values() for c in checks])}

## As a person is told

Where the verdict is right, has its 80 %, and there is one place:

{answered_table(records)}

A place counts as placed where its intervals are at most a tenth of the heated length, or 0.5 m. The
RMS over all is that of cases which the readings leave open over many metres.

## Error beside the bound, and beside classical formulas

![Errors](../figures/{ERRORS})

RMS error of the middle of the likeliest interval beside the Cramer-Rao bound with limits of cable
and meters (`cablesim.locate.limits`), of the cable as it truly is and in the ranges that the meters
were in. First the cases that `locate` calls placed, among all hypotheses, and whose bound places
them too (its 95 % interval is at most a tenth of the cable):

{efficiency_table(efficiency(records, located=True))}

Then all cases whose bound is at most a tenth of the cable, with what is broken known:

{efficiency_table(efficiency(records))}

Below 1 is no miracle: limits of accuracy end abruptly, which the bound does not use, and a place
near a joint is held likely beforehand, which the bound does not know. Above 1 the straight line of
the bound does not hold as far as the answer lies open: readings of a parallel cable, say, hardly
move with the resistance of a bad joint of kilohms, but one of a twentieth of that at the cold joint
reads the same. The median of errors that are normal and as large as the bound is 0.67 of it. Few
cases with large errors rule the RMS, the median is not moved by them.

The same readings in the classical formulas, leads taken off as rated, places off the cable moved to
its end, the formula for the true kind of damage chosen:

{classical_table(records)}
"""


def efficiency_table(rows: Sequence[Efficiency]) -> str:
    lines = [
        "| class | n | RMS error [m] | RMS bound [m] | ratio | median of error over bound |",
        "| --- " * 6 + "|",
    ]
    for row in rows:
        lines.append(
            f"| {row.name} | {row.n} | {row.error_m:.3f} | {row.bound_m:.3f} "
            f"| {row.error_m / row.bound_m:.2f} ± {row.ratio_spread:.2f} | {row.median:.2f} |"
        )
    return "\n".join(lines)


def off(records: Sequence[Record]) -> str:
    """Groups of cases whose intervals hold too seldom or too often."""
    cases = placed(records)
    keys = {"kind": kind_of, "bag": lambda r: r.bag, "cable": lambda r: r.cable}
    lines = []
    for key, of in keys.items():
        for name in sorted({of(r) for r in cases}):
            for check in coverage(held([r for r in cases if of(r) == name])):
                if check.p < _LISTED:
                    lines.append(
                        f"- {key} {name}: {check.name} holds in {100 * check.found:.1f} % "
                        f"of {check.n} (p {told_p(check.p)})"
                    )
    return "\n".join(lines) or "- nothing"


def classical_table(records: Sequence[Record]) -> str:
    lines = [
        "| formula | n | its RMS error [m] | `locate` | its median error [m] | `locate` |",
        "| --- " * 6 + "|",
    ]
    for name, n, *errors in classical(records):
        lines.append(f"| `{name}` | {n} | " + " | ".join(f"{e:.2f}" for e in errors) + " |")
    return "\n".join(lines)


def write(records: Sequence[Record], to: Path, cases: int, seed: int) -> None:
    """Write the page, and its figures beside those of the documentation."""
    if not records:
        raise SystemExit("no case was answered")
    figures = to.parent.parent / "figures"
    figures.mkdir(exist_ok=True)
    figure(records).savefig(figures / FIGURE)
    error_figure(records).savefig(figures / ERRORS)
    to.write_text(page(records, cases, seed), encoding="utf-8")
