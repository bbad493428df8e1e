"""How fast `locate` is: every shipped scenario warm, and many cases of one damage.

Run by hand, on a quiet machine, from the top of the checkout:

    PYTHONPATH=tests python -m speed.locate CASES SEED docs/validation/locate-speed.md

Times are of one thread, and processor time but for the many cases; the peer of each row runs right
after it.
"""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from multiprocessing import Pool
from pathlib import Path
from time import perf_counter

import numpy as np
from speed import peers
from speed.electrics import CABLE as PEER_CABLE
from speed.electrics import drawn as drawn_faults
from speed.electrics import load, one_of, seconds, written_on
from validation.calibration_cases import draw_case
from validation.posteriors import shipped

from cablesim.cable.cable import Cable
from cablesim.instruments.readings import Reading
from cablesim.locate import locate, posterior
from cablesim.locate.prior import Hypothesis, hypotheses
from cablesim.scenario.scenario import Scenario

_LEAST_S = 1.0
MANY = 100_000


@dataclass(frozen=True)
class Warm:
    """One scenario: how many things may be broken, seconds of each table, and of the peer."""

    name: str
    readings: int
    hypotheses: int
    all_s: float
    one_damage_s: float
    peer_s: float


def of_one_damage(cable: Cable) -> list[Hypothesis]:
    """The table without pairs of damages."""
    return [hypothesis for hypothesis in hypotheses(cable) if len(hypothesis.faults) < 2]


def warm(name: str, scenario: Scenario, least_s: float = _LEAST_S) -> Warm:
    """Time the answer to one scenario, and the peer beside it."""
    cable, readings = scenario.cable, scenario.readings
    table = hypotheses(cable)
    one = of_one_damage(cable)
    return Warm(
        name,
        len(readings),
        len(table),
        seconds(lambda: locate(cable, readings), least_s),
        seconds(lambda: locate(cable, readings, table=one), least_s),
        peer_s(least_s / 4),
    )


def peer_s(least_s: float) -> float:
    """One set of three ohm readings by a ladder of 200 rungs and a sparse solver [s]."""
    faults = one_of(drawn_faults("shorts", 1, 1), 0)
    return seconds(lambda: peers.ohms(peers.sparse_ladder(PEER_CABLE, faults)), least_s)


def many(cases: int, seed: int, workers: int) -> float:
    """Wall time of so many cases of one damage, answered among all of one damage [s]."""
    drawn: list[tuple[Cable, tuple[Reading, ...]]] = []
    number = 0
    while len(drawn) < cases:
        case = draw_case(np.random.default_rng((seed, number)), all_kinds=True)
        number += 1
        if len(case.faults) == 1:
            drawn.append((case.cable, case.readings))
    with Pool(workers) as pool:
        pool.map(_answered, drawn[: 4 * workers])  # so that all is loaded
        start = perf_counter()
        pool.map(_answered, drawn, chunksize=1)
        return perf_counter() - start


def _answered(case: tuple[Cable, tuple[Reading, ...]]) -> float:
    cable, readings = case
    return float(posterior(cable, readings, table=of_one_damage(cable))[0].probability)


def page(cases: int, seed: int) -> str:
    """The whole page."""
    before = load()
    rows = [warm(name, scenario) for name, scenario in shipped()]
    workers = os.cpu_count() or 1
    took_s = many(cases, seed, workers)
    table = "\n".join(
        f"| {r.name} | {r.readings} | {r.hypotheses} | {1e3 * r.all_s:.0f} "
        f"| {1e3 * r.one_damage_s:.0f} | {r.all_s / r.peer_s:.0f} "
        f"| {r.one_damage_s / r.peer_s:.0f} |"
        for r in rows
    )
    middle = np.median([[r.all_s, r.one_damage_s] for r in rows], axis=0)
    fast = sum(r.all_s < 0.05 for r in rows)
    return f"""# How fast `locate` is

Written by `PYTHONPATH=tests python -m speed.locate {cases} {seed} docs/validation/locate-speed.md`.
Nothing in the tests asserts a time.

## One answer

Each shipped scenario with readings, warm: `locate` among all hypotheses and pairs, and among those
of one damage. Processor time of one thread, best of the runs that fit in a second. The peer
works out one set of three ohm readings by a ladder of {peers.RUNGS} rungs and `scipy.sparse`, right
after: the last columns say how many such sets it makes meanwhile. The answer to `demo` weighs
170,000 sets, that of one damage 17,000 (counted once).

| scenario | readings | hypotheses | all [ms] | one damage [ms] | peer's sets: all | one damage |
| --- | ---: | ---: | ---: | ---: | ---: | ---: |
{table}

Half of the scenarios take less than {1e3 * middle[0]:.0f} ms among all hypotheses, and less than
{1e3 * middle[1]:.0f} ms among those of one damage. The aim was 50 ms among all: {fast} of
{len(rows)} meet it.

## Many cases of one damage

{cases} cases of one damage, drawn as for [the check of calibration](calibration.md): their
posteriors among all hypotheses of one damage took {took_s:.0f} s of wall time by {workers}
processes, {1e3 * took_s / cases:.0f} ms a case. At that rate {MANY:,} cases would take
{took_s / cases * MANY / 60:.0f} minutes (extrapolated, not run).

{written_on(before)}"""


if __name__ == "__main__":
    written = page(int(sys.argv[1]), int(sys.argv[2]))
    Path(sys.argv[3]).write_text(written, encoding="utf-8")
