"""Are practice cases what they say? Many are made, read anew, and answered by `locate`.

Run by hand, in the background; it goes on where it was stopped:

    PYTHONPATH=tests python -m validation.practice_cases CASES SEED FOLDER

makes the cases into FOLDER (both files of each, and ``cases.jsonl`` with one row for each answer).
The readings of a row are not those that the making looked at: the same meters, but every display
drawn anew, and the least set of readings that the key states. `validation.practice_page` makes the
page of it.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from time import process_time

from cablesim.errors import InputError
from cablesim.locate import locate
from cablesim.locate.unsteady import loosened
from cablesim.report.marking import mark
from cablesim.training.bags import first_probes, probes_of
from cablesim.training.bench import Bench
from cablesim.training.case import Case, save_case
from cablesim.training.difficulty import width_of
from cablesim.training.evidence import loosened_probes, taken
from cablesim.training.making import make_case
from cablesim.training.syllabus import Syllabus

# Numbers of the actions, far from those that the making uses.
FRESH = 1001


def syllabus_of(number: int, seed: int, cases: int = 1000) -> Syllabus:
    """Of ten cases: five with the full bag, three with the usual one, one unsteady, one special."""
    k = number % 10
    if k < 5:
        return Syllabus(number=cases, seed=seed)
    if k < 8:
        return Syllabus(number=cases, seed=seed, bag=("usual",), levels=(1, 2, 3, 4))
    if k == 8:
        return Syllabus(number=cases, seed=seed, unsteady=True, levels=())
    if number % 20 == 9:
        return Syllabus(number=cases, seed=seed, faults=2, levels=())
    return Syllabus(number=cases, seed=seed, bag=("usual",), hopeless=True, levels=())


def needed_probes(case: Case) -> tuple[object, ...]:
    """The ohm readings and the fewest others that the key counts; all of them where hopeless."""
    meters = case.scenario.meters
    probes = probes_of(case.cable, meters)
    if not case.key.locatable:
        return probes
    width = width_of(case.cable, case.faults, loosened_probes(case.cable, case.faults, probes))
    chosen = (*first_probes(case.cable, meters), *(probes[k] for k in width.needed))
    return tuple(dict.fromkeys(chosen))


def answered(case: Case) -> dict[str, object]:
    """How `locate` does on fresh readings."""
    bench = Bench(case.true_cable, case.faults, case.key.seed)
    readings = loosened(taken(bench, needed_probes(case), first=FRESH))
    estimate = locate(case.cable, readings)
    marked = mark(estimate, case.faults)
    assert marked is not None  # every case has a fault
    worst_m = None
    if estimate.faults and len({f.position_m for f in estimate.faults}) > 1:
        spots = sorted(f.position_m for f in estimate.faults)
        true = sorted(float(f.position_m) for f in case.faults)
        worst_m = max(abs(a - b) for a, b in zip(spots, true, strict=False))
    return {
        "verdict": estimate.verdict,
        "right": marked.right,
        "located": estimate.locatable,
        "error_m": worst_m if worst_m is not None else marked.error_m,
        "inside": marked.inside_interval,
        "open_m": max((f.open_m for f in estimate.faults), default=None),
        "reason": estimate.reason,
    }


def row_of(number: int, seed: int, folder: Path) -> dict[str, object]:
    """Make and answer one case."""
    start = process_time()
    try:
        case = make_case(syllabus_of(number, seed), number)
    except InputError as error:
        return {"number": number, "failed": str(error), "seconds": process_time() - start}
    save_case(case, folder, force=True)
    making_s = process_time() - start
    key = case.key
    return {
        "number": number,
        "name": case.name,
        "group": ("full", "usual", "unsteady", "two faults", "hopeless")[_group(number)],
        "construction": case.cable.construction.name,
        "length_m": float(case.cable.heated_length_m),
        "kinds": [fault.kind for fault in case.faults],
        "level": key.level,
        "locatable": key.locatable,
        "half_width_m": key.half_width_m,
        "readings": key.readings_needed,
        "plausible": key.plausible,
        **answered(case),
        "making_s": making_s,
        "seconds": process_time() - start,
    }


def _group(number: int) -> int:
    k = number % 10
    return 0 if k < 5 else 1 if k < 8 else 2 if k == 8 else 3 if number % 20 == 9 else 4


def run(cases: int, seed: int, folder: Path) -> list[dict[str, object]]:
    """Make and answer what the folder does not hold yet."""
    folder.mkdir(parents=True, exist_ok=True)
    log = folder / "cases.jsonl"
    rows = [json.loads(line) for line in log.read_text().splitlines()] if log.exists() else []
    known = {row["number"] for row in rows}
    with log.open("a", encoding="utf-8") as file:
        for number in range(1, cases + 1):
            if number in known:
                continue
            rows.append(row_of(number, seed, folder))
            file.write(json.dumps(rows[-1]) + "\n")
            file.flush()
    return rows


if __name__ == "__main__":
    run(int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]))
