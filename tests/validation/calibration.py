"""Calibration of `locate`: cases drawn from its own prior, answered, and held against the truth.

Run by hand:

    PYTHONPATH=tests python tests/validation/calibration.py CASES SEED PAGE.md \
        [--workers 2] [--minutes 25]

Each case becomes one JSON line beside the page, so that an interrupted run keeps what it has and
the same command goes on with the rest. The page is made of all lines there are
(`calibration_page`), by the measures of `calibration_measures`.

Every third case is drawn with the weights of the hypotheses and answered among all of them. The
others take each kind of damage equally often and are answered with what is broken known: given the
hypothesis, the place is calibrated by itself, and that costs a tenth. The readings come from the
lumped ladder, the answers from the exact line.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from dataclasses import asdict, dataclass, field
from functools import partial
from multiprocessing import Pool
from pathlib import Path
from time import perf_counter, process_time

import numpy as np
from validation.calibration_cases import Case, alike, believed, closed_form, draw_case, least_m
from validation.calibration_measures import LEVELS

from cablesim.cable.numbers import FloatArray
from cablesim.locate import posterior
from cablesim.locate.advice import placed_m
from cablesim.locate.answer import DECIDED
from cablesim.locate.prior import Hypothesis
from cablesim.locate.summary import intervals_of, weighted_quantile
from cablesim.locate.weighing import Posterior

# By how much the overconfident twin of an answer draws its places together.
NARROWED = 0.5
# Which cases are answered once more with meters held to be better than they are: what that is off
# by shows in a few hundred.
BELIEVED_EVERY = 8


@dataclass
class Record:
    """What one case came to: one line of JSON.

    `rank` is the share of the posterior below the true place, in the posterior of the true
    hypothesis; `held` whether each level's intervals hold it. `narrow_` is the same with places
    drawn together by half, `believed_` with meters held twice as accurate as they are.
    """

    case: int
    seed: int
    cable: str
    bag: str
    kind: str
    places: int
    seconds: float = 0.0
    # Of the true hypothesis alone.
    ruled_out: bool = False
    size: float = 0.0  # effective number of points
    rank: float | None = None
    held: list[bool] = field(default_factory=list)
    rank_ohm: float | None = None
    narrow_rank: float | None = None
    narrow_held: list[bool] = field(default_factory=list)
    believed_out: bool | None = None
    believed_rank: float | None = None
    believed_held: list[bool] = field(default_factory=list)
    # Among all hypotheses: verdict, probability, and whether it is the true one.
    chances: list[tuple[str, float, bool]] | None = None
    # As answered, where the verdict is right and there is one place.
    answered_held: list[bool] | None = None
    error_m: float | None = None
    placed: bool | None = None
    # The error with the true hypothesis known, of the same by a closed form, and the least one.
    known_error_m: float | None = None
    classical: str | None = None
    classical_error_m: float | None = None
    bound_m: float | None = None


def told_apart(
    hypothesis: Hypothesis, places: list[FloatArray], ohms: list[FloatArray]
) -> tuple[list[FloatArray], list[FloatArray]]:
    """Of two damages that are alike the nearer one comes first: nothing else tells them apart."""
    if not alike(hypothesis):
        return places, ohms
    swapped = places[0] > places[1]
    places = [np.where(swapped, b, a) for a, b in (places, places[::-1])]
    return places, [np.where(swapped, b, a) for a, b in (ohms, ohms[::-1])] if ohms else []


def rank_of(values: FloatArray, weights: FloatArray, truth: float) -> float:
    """Share of the weight below the truth, half of what lies on it included."""
    below = weights[values < truth].sum() + weights[values == truth].sum() / 2
    return float(below / weights.sum())


def held_at(values: FloatArray, weights: FloatArray, truth: float) -> list[bool]:
    """Whether the intervals of each level hold the truth."""
    found = (intervals_of(values, weights, level).intervals_m for level in LEVELS)
    return [any(bool(low <= truth <= high) for low, high in intervals) for intervals in found]


def weighed(answer: Posterior) -> tuple[list[FloatArray], list[FloatArray], FloatArray] | None:
    """Places, resistances and weights of a posterior; None where it is ruled out."""
    points = answer.points
    if points is None or points.evidence <= 0:
        return None
    unknowns = answer.unknowns
    places, ohms = told_apart(
        answer.hypothesis, unknowns.places_m(points.z), unknowns.resistances_ohm(points.z)
    )
    return places, ohms, points.weight


def answer_case(number: int, seed: int) -> Record:
    """Draw and answer one case."""
    start = process_time()
    rng = np.random.default_rng((seed, number))
    all_kinds = number % 3 == 0
    case = draw_case(rng, all_kinds=all_kinds)
    true = case.table[case.number]
    record = Record(number, seed, case.cable_name, case.bag_name, true.verdict, len(case.places_m))
    if all_kinds:
        table = case.table
        answers = posterior(case.cable, case.readings, table=table)
        record.chances = [
            (a.hypothesis.verdict, float(a.probability), a.hypothesis is table[case.number])
            for a in answers
            if a.probability > 1e-9 or a.hypothesis is table[case.number]
        ]
        mine = next(a for a in answers if a.hypothesis is table[case.number])
        _as_answered(record, case, answers)
    else:
        (mine,) = posterior(case.cable, case.readings, table=[true])
    which = int(rng.integers(max(len(case.places_m), 1)))
    _true_hypothesis(record, case, mine, which)
    if case.places_m and number % BELIEVED_EVERY == 0:
        _believed(record, case, true, which)
    record.seconds = process_time() - start
    return record


def _truth(case: Case) -> tuple[list[float], list[float]]:
    """True places and resistances, told apart as in the posterior."""
    places, ohms = told_apart(
        case.table[case.number],
        [np.array([p]) for p in case.places_m],
        [np.array([o]) for o in case.ohms],
    )
    return [float(p[0]) for p in places], [float(o[0]) for o in ohms]


def _true_hypothesis(record: Record, case: Case, mine: Posterior, which: int) -> None:
    """Hold the truth against the posterior of the true hypothesis."""
    found = weighed(mine)
    record.ruled_out = found is None
    if found is None:
        return
    places, ohms, weights = found
    record.size = float(weights.sum() ** 2 / (weights**2).sum())
    if not places:
        return
    truth, true_ohms = _truth(case)
    at, values = truth[which], places[which]
    record.rank = rank_of(values, weights, at)
    record.held = held_at(values, weights, at)
    if ohms:
        record.rank_ohm = rank_of(ohms[0], weights, true_ohms[0])
    middle = weighted_quantile(values, weights, 0.5)
    narrow = middle + NARROWED * (values - middle)
    record.narrow_rank, record.narrow_held = (
        rank_of(narrow, weights, at),
        held_at(narrow, weights, at),
    )
    if len(truth) > 1:
        return
    record.known_error_m = intervals_of(values, weights, 0.95).position_m - at
    record.bound_m = least_m(case)
    record.classical, found_m = closed_form(case)
    if found_m is not None:
        record.classical_error_m = found_m - at


def _believed(record: Record, case: Case, true: Hypothesis, which: int) -> None:
    """The same with meters held to be more accurate than they are."""
    readings = [believed(reading) for reading in case.readings]
    (answer,) = posterior(case.cable, readings, table=[true])
    found = weighed(answer)
    record.believed_out = found is None
    if found is None:
        return
    places, _, weights = found
    at = _truth(case)[0][which]
    record.believed_rank = rank_of(places[which], weights, at)
    record.believed_held = held_at(places[which], weights, at)


def _as_answered(record: Record, case: Case, answers: Sequence[Posterior]) -> None:
    """Hold the truth against what a person is told, where the verdict is right."""
    verdicts: dict[str, float] = {}
    for answer in answers:
        name = answer.hypothesis.verdict
        verdicts[name] = verdicts.get(name, 0.0) + answer.probability
    if verdicts[record.kind] < DECIDED or len(case.places_m) != 1:
        return
    top = next(a for a in answers if a.hypothesis.verdict == record.kind)
    found = weighed(top)
    if found is None or len(found[0]) != 1:
        return
    values, weights = found[0][0], found[2]
    told = intervals_of(values, weights, 0.95)
    record.answered_held = held_at(values, weights, case.places_m[0])
    record.error_m = told.position_m - case.places_m[0]
    open_m = sum(high - low for low, high in told.intervals_m)
    record.placed = bool(open_m <= placed_m(case.cable))


def recorded(path: Path, seed: int) -> Iterator[Record]:
    """The cases of a seed that a file holds; a line cut off by an interruption does not count."""
    if not path.exists():
        return
    for line in path.read_text(encoding="utf-8").splitlines():
        try:
            record = Record(**json.loads(line))
        except (json.JSONDecodeError, TypeError):
            continue
        if record.seed == seed:
            yield record


def run(cases: int, seed: int, path: Path, *, workers: int = 1, minutes: float = np.inf) -> None:
    """Answer the cases that a file does not hold yet, and write them to it as they come."""
    done = {record.case for record in recorded(path, seed)}
    wanted = [number for number in range(cases) if number not in done]
    start = perf_counter()
    answered = partial(answer_case, seed=seed)
    with path.open("a", encoding="utf-8") as file, ExitStack() as stack:
        if path.stat().st_size and not path.read_text(encoding="utf-8").endswith("\n"):
            file.write("\n")  # after a line that an interruption cut off
        if workers > 1:
            records = stack.enter_context(Pool(workers)).imap_unordered(answered, wanted)
        else:
            records = map(answered, wanted)
        for record in records:
            file.write(json.dumps(asdict(record)) + "\n")
            file.flush()
            if perf_counter() - start > 60 * minutes:
                break


def main() -> None:
    from validation.calibration_page import write

    parser = argparse.ArgumentParser(description="Is locate calibrated?")
    parser.add_argument("cases", type=int)
    parser.add_argument("seed", type=int)
    parser.add_argument("page", type=Path)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--minutes", type=float, default=np.inf)
    given = parser.parse_args()
    lines = given.page.with_suffix(".jsonl")
    run(given.cases, given.seed, lines, workers=given.workers, minutes=given.minutes)
    records = sorted(recorded(lines, given.seed), key=lambda r: r.case)
    write([r for r in records if r.case < given.cases], given.page, given.cases, given.seed)


if __name__ == "__main__":
    main()
