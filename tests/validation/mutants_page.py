"""What became of the mutants, as a page.

    PYTHONPATH=tests python -m validation.mutants_page FOLDER docs/validation/mutation.md

FOLDER is that of `validation.mutants_run`. Why a survivor was left alive is said by hand in
`validation.mutants_findings`; one without a reason is called that.
"""

from __future__ import annotations

import json
import sys
from collections import Counter
from collections.abc import Mapping, Sequence
from pathlib import Path

from scipy.stats import binomtest
from validation.mutants import PACKAGES, Mutant
from validation.mutants_findings import FINDINGS, REASONS
from validation.mutants_run import SURVIVED, TESTS_S, read_results

from cablesim import __version__

_HEAD = """# Are the tests sharp?

Written by `python -m validation.mutants_page FOLDER docs/validation/mutation.md` with `PYTHONPATH=tests`,
from what `validation.mutants_run` found (seed {seed}); cablesim {version}.

A mutant is the code with one small damage: a sign turned round, a number one larger, an argument
left out, a condition forced. A test that fails kills it; one that survives shows what no test
looks at. [mutmut](https://mutmut.readthedocs.io) makes them. There are {made:,} in these packages;
{sampled} were drawn at random, so many of each package, and each met the tests that reach its statement, quick
ones first and up to {tests_s:.0f} s of them, until one failed. Damaged are functions, methods, properties and constants
of `cablesim/line`, `cablesim/instruments` and, of `cablesim/locate`, the closed forms, the recipes and `fitting`,
`likelihood`, `linear`, `parameters`, `prior` and `propagation`.
Left out are docstrings and annotations, what stands in a `raise`, text with a blank in it, `__all__`, and decorators.

| package | mutants | tried | killed | timed out | survived | of these reached by no test | score | 95 % interval |
| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |
"""  # noqa: E501
_AFTER = """
The score is the share that the tests noticed, by failing or by taking too long. The interval is
Wilson's of a binomial share: how well the sample speaks for all mutants of the package.

## After new tests

Every survivor was read. Where it showed a gap a test was written, and it was tried again: on
today's tests, on slower ones of the package and on those of the layer above, then on the type
checker, which is as much a part of the check of a commit as the tests are. Since the tests were
written for this sample, its new score says nothing of the other mutants: the score to quote is the
one above.

| package | survived | killed now | refused by the type checker | gone with the code | left |
| --- | ---: | ---: | ---: | ---: | ---: |
"""
_LEFT = """
## What is left alive, and why

"""


def page(
    first: Sequence[Mutant],
    second: Sequence[Mutant],
    made: Mapping[str, int],
    seed: int,
    reasons: Mapping[str, str] = REASONS,
) -> str:
    """The whole text."""
    text = _HEAD.format(
        seed=seed,
        version=__version__,
        made=sum(made.values()),
        sampled=len(first),
        tests_s=TESTS_S,
    )
    for package in PACKAGES:
        text += _first_row(package.name, first, made.get(package.name, 0))
    text += _AFTER
    now = {mutant.key: mutant.fate for mutant in second}
    alive: list[Mutant] = []
    for package in PACKAGES:
        survived = [m for m in first if m.package == package.name and m.fate in SURVIVED]
        fates = Counter(now.get(mutant.key, "gone") for mutant in survived)
        left = [m for m in survived if now.get(m.key) in SURVIVED]
        alive += left
        killed = fates["killed"] + fates["timed out"]
        text += f"| {package.name} | {len(survived)} | {killed} | {fates['not typed']} "
        text += f"| {fates['gone']} | {len(left)} |\n"
    text += _LEFT
    for mutant in alive:
        reason = reasons.get(mutant.key, "**no reason found yet**")
        text += f"- `{mutant.path}`: {_code(mutant.removed)} became {_code(mutant.added)}.\n"
        text += f"  {reason}\n"
    return text + "\n" + FINDINGS


def _first_row(name: str, first: Sequence[Mutant], made: int) -> str:
    fates = Counter(mutant.fate for mutant in first if mutant.package == name)
    tried, survived = fates.total(), fates["survived"] + fates["not reached"]
    killed = tried - survived
    interval = ""
    score = ""
    if tried:
        low, high = binomtest(killed, tried).proportion_ci(0.95, method="wilson")
        score, interval = f"{killed / tried:.0%}", f"{low:.0%} to {high:.0%}"
    return (
        f"| {name} | {made} | {tried} | {fates['killed']} | {fates['timed out']} | {survived} "
        f"| {fates['not reached']} | {score} | {interval} |\n"
    )


def _code(text: str) -> str:
    return f"`{text}`" if "`" not in text else f"`` {text} ``"


if __name__ == "__main__":
    folder, target = Path(sys.argv[1]), Path(sys.argv[2])
    sample = json.loads((folder / "sample.json").read_text())
    results = [read_results(folder / name) for name in ("first.jsonl", "second/second.jsonl")]
    target.write_text(page(*results, sample["made"], sample["seed"]), encoding="utf-8")
