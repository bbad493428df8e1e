"""Do the marks tell trainees apart? An expert, a beginner and a guesser answer the same cases.

Run by hand on the cases that `validation.practice_cases` has made; it goes on where it was stopped:

    PYTHONPATH=tests python -m validation.practice_trainees CASES FOLDER

- The expert zeroes the leads, takes the three ohm readings and then what `plan_next` recommends,
  while it pays, and states the best answer under the posterior of these readings.
- The beginner takes the three ohm readings, never zeroes, puts them into the three-reading formula
  whatever they are, and is sure of the place to 10 cm.
- The guesser takes one reading and guesses damage, place and interval.

Each opens what its own interval asks for. All three write logs, which are read again and marked.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from cablesim.instruments.meters import Ohmmeter
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.effort import USUAL_EFFORT
from cablesim.locate.plan import plan_next
from cablesim.locate.unsteady import loosened
from cablesim.locate.weighing import posterior
from cablesim.scenario.scenario import Entry
from cablesim.scenario.schema_readings import ReadingTable
from cablesim.scenario.writing import entry_table
from cablesim.site.opening import opening_for
from cablesim.training.bags import first_probes, probes_of
from cablesim.training.beliefs import Beliefs, beliefs_from, beliefs_of
from cablesim.training.bench import Bench
from cablesim.training.case import Case, load_case
from cablesim.training.log import ZEROED, dump_log, parse_log, played
from cablesim.training.log_tables import Answer, Found, Log, Opened, Read, Step
from cablesim.training.losses import best_intervals_m, best_statement
from cablesim.training.marking import Mark, evidence_of, mark_case

MOST_READINGS = 8
SURE, NEAR_M = 0.95, 0.1
_KNOWN: dict[tuple[str, tuple[Reading, ...]], Beliefs] = {}


@dataclass
class Notebook:
    """What a trainee has done so far."""

    case: Case
    name: str
    zeroed: bool = False
    actions: list = field(default_factory=list)
    readings: list[Reading] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.bench = Bench(self.case.true_cable, self.case.faults, self.case.key.seed)
        self.zero_ohm: dict[str, float] = {}

    def read(self, probe: Probe) -> Reading:
        """Take a reading with the meter of the bag, and note it."""
        meter = probe.meter
        ohms = isinstance(meter, Ohmmeter)
        if ohms and self.zeroed and meter.name not in self.zero_ohm:
            self.actions.append(Step(did="zero", minutes=0.5))
            self.zero_ohm[meter.name] = self.bench.zero_ohm(meter, len(self.actions))
        zero = self.zero_ohm.get(meter.name, 0.0)
        shown = self.bench.display(probe, len(self.actions) + 1, zero)
        reading = Reading(probe, shown.value, unsteady=shown.unsteady)
        self.actions.append(
            Read(
                reading=ReadingTable(**entry_table(Entry.of(reading))),
                minutes=USUAL_EFFORT[meter.kind].minutes,
                zeroed=bool(ohms and self.zeroed),
                zero_ohm=zero,
            )
        )
        if ohms and self.zeroed:
            nulled = replace(
                meter, name=meter.name + ZEROED, lead_ohm=0.0, lead_ohm_tolerance=meter.resolution
            )
            reading = replace(reading, probe=replace(probe, meter=nulled))
        self.readings.append(reading)
        return reading

    def answer(self, answer: Answer) -> str:
        """Open what the answer asks for, and write the log."""
        plan = self.case.scenario.plan
        tiles = {
            tile
            for found in answer.faults
            if found.interval_m is not None and plan is not None and answer.locatable
            for tile in opening_for(plan, _on_cable(found.interval_m, plan.heated_length_m)).tiles
        }
        if tiles:
            self.actions.append(Opened(tiles=sorted(tiles), minutes=5.0 * len(tiles)))
        log = Log(
            format=1,
            case=self.case.name,
            trainee_sha256=self.case.key.trainee_sha256,
            trainee=self.name,
            actions=self.actions,
            answer=answer,
        )
        return dump_log(log)


def _on_cable(interval: tuple[float, float], length_m: float) -> tuple[float, float]:
    low, high = (min(max(end, 0.0), length_m) for end in interval)
    return low, max(high, low)


def expert(case: Case) -> str:
    """Reads what pays, and says what the readings say."""
    book = Notebook(case, "expert", zeroed=True)
    probes = probes_of(case.cable, case.scenario.meters)
    for probe in first_probes(case.cable, case.scenario.meters):
        book.read(probe)
    missing = tuple(m for m in USUAL_EFFORT if m not in {p.meter.kind for p in probes})
    while True:
        evidence = loosened(book.readings)
        answers = posterior(case.cable, evidence)
        beliefs = beliefs_from(case.cable, answers)
        _KNOWN.clear()
        _KNOWN[case.name, evidence] = beliefs
        stated, loss_m = best_statement(case.cable, beliefs)
        sure = max(beliefs.verdicts.values()) >= SURE and loss_m <= NEAR_M
        if sure or len(book.readings) >= MOST_READINGS:
            break
        plan = plan_next(
            case.cable, evidence, answers, probes, steps=1, risk="insulation", without=missing
        )
        if not plan.steps:
            break
        wanted = plan.steps[0].candidate.probe
        own = next(m for m in case.scenario.meters.values() if m.kind == wanted.meter.kind)
        book.read(replace(wanted, meter=own))
    damage = max(beliefs.damages, key=lambda one: beliefs.damages[one])
    verdict = max(beliefs.verdicts, key=lambda one: beliefs.verdicts[one])
    if beliefs.verdicts[verdict] > beliefs.damages[damage]:
        damage = max(
            (b for b in beliefs.every if b.verdict == verdict), key=lambda b: b.probability
        ).damage
    return book.answer(_answer(beliefs, verdict, damage, stated))


def _answer(beliefs, verdict, damage, stated) -> Answer:
    if stated.healthy:
        return Answer(verdict="healthy")
    count = len(stated.places_m)
    intervals = best_intervals_m(beliefs.of(damage), count) if count else ()
    faults = []
    for number, (kind, conductors) in enumerate(damage):
        k = min(number, count - 1)
        faults.append(
            Found(
                kind=kind,
                conductors=list(conductors),
                position_m=stated.places_m[k] if count else None,
                interval_m=intervals[k] if count else None,
            )
        )
    return Answer(verdict=verdict, locatable=count > 0, faults=faults)


def beginner(case: Case) -> str:
    """The three-reading formula, always."""
    book = Notebook(case, "beginner")
    loop, one, other = (
        book.read(probe).shown for probe in first_probes(case.cable, case.scenario.meters)
    )
    length = float(case.cable.heated_length_m)
    top = 20e6
    far = np.isinf(loop)
    loop, one, other = (min(value, top) for value in (loop, one, other))
    single = case.cable.construction.returns
    # Both ends of a single are ends of one core; of a twin the two ways make up twice the length.
    share = 0.5 * (1 + (one - other) / loop) if single else 1 + (one - other) / loop
    share = share if share <= 1 else 2 - share
    place = float(np.clip(share, 0.0, 1.0)) * length
    cores = case.cable.construction.cores
    core = cores[0] if one <= other or single else cores[1]
    if far:
        kind, conductors = "break", [core]
    elif min(one, other) < top:
        kind, conductors = "short", [core, "braid"]
    else:
        kind, conductors = "joint", [core]
    found = Found(
        kind=kind,
        conductors=conductors,
        position_m=place,
        interval_m=(place - 0.1, place + 0.1),
    )
    return book.answer(Answer(verdict=kind, faults=[found]))


def guesser(case: Case) -> str:
    """One reading, and a guess."""
    rng = np.random.default_rng([case.key.seed, 99])
    book = Notebook(case, "guesser")
    book.read(first_probes(case.cable, case.scenario.meters)[0])
    length = float(case.cable.heated_length_m)
    kind = ("short", "break", "degraded", "joint")[rng.integers(4)]
    core = str(rng.choice(case.cable.construction.cores))
    place = float(rng.uniform(0.0, length))
    found = Found(
        kind=kind,
        conductors=[core, "braid"] if kind in ("short", "degraded") else [core],
        position_m=place,
        interval_m=(place - 0.5, place + 0.5),
    )
    return book.answer(Answer(verdict=kind, faults=[found]))


TRAINEES = {"expert": expert, "beginner": beginner, "guesser": guesser}


def marked(case: Case, name: str) -> Mark:
    """Let one trainee answer a case, read the log again, and mark it."""
    log = parse_log(TRAINEES[name](case).encode())
    done = played(log, case.trainee)
    evidence, misread = evidence_of(case, done)
    if misread:
        return mark_case(case, done)
    # The expert has worked out the same posterior already.
    beliefs = _KNOWN.get((case.name, evidence)) or beliefs_of(case.cable, evidence)
    return mark_case(case, done, beliefs, evidence)


def run(cases: int, folder: Path, names: Sequence[str] = tuple(TRAINEES)) -> list[dict]:
    """Mark what is not marked yet, of the first cases in a folder."""
    log = folder / "marks.jsonl"
    rows = [json.loads(line) for line in log.read_text().splitlines()] if log.exists() else []
    known = {(row["case"], row["trainee"]) for row in rows}
    with log.open("a", encoding="utf-8") as file:
        for path in sorted(folder.glob("*.key.toml"))[:cases]:
            case = load_case(path)
            for name in names:
                if (case.name, name) in known:
                    continue
                mark = marked(case, name)
                rows.append(mark.to_dict() | {"locatable": case.key.locatable})
                file.write(json.dumps(rows[-1]) + "\n")
                file.flush()
    return rows


if __name__ == "__main__":
    run(int(sys.argv[1]), Path(sys.argv[2]))
