"""What a run costs on one core and on two, beside a peer that only counts.

Run by hand (half a minute of CPU, and 25 s for each round):

    PYTHONPATH=tests python -m validation.benchmark_scaling [ROUNDS] [ESTIMATOR] > scaling.json

In each round the same cases are done in this process and by two local ones, and a loop of plain
arithmetic once alone and twice at once. How much faster two processes are is told beside how much
faster the loops are, so that what else the machine does weighs on both alike.
"""

from __future__ import annotations

import json
import os
import resource
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from statistics import median

from cablesim.benchmark.asking import Who
from cablesim.benchmark.engines import Engine, local, serial
from cablesim.benchmark.run import run
from cablesim.benchmark.suite import load_suite

CASES = tuple(range(6, 18))  # shorts and breaks
LOOP = "x = 0\nfor k in range(40_000_000): x += k & 3"


def cpu_s() -> float:
    """CPU time of this process [s]."""
    used = resource.getrusage(resource.RUSAGE_SELF)
    return used.ru_utime + used.ru_stime


def clocked(work: Callable[[], object]) -> float:
    """Seconds by the clock that something takes."""
    began = time.monotonic()
    work()
    return time.monotonic() - began


def loops(count: int) -> None:
    """So many loops at once."""
    running = [subprocess.Popen([sys.executable, "-c", LOOP]) for _ in range(count)]
    try:
        for one in running:
            one.wait(600)
    finally:
        for one in running:
            one.kill()


def main(rounds: int, name: str) -> None:
    """Measure and print."""
    suite = load_suite("small")

    def cases_by(engine: Engine) -> float:
        """Do them all; CPU that the estimator itself took [s]."""
        with tempfile.TemporaryDirectory() as folder:
            run(
                *("small", suite, [Who(name)], Path(folder)),
                cases=CASES,
                engine=engine,
                chunk=1,
            )
            times = (Path(folder) / f"{name}.times.jsonl").read_text(encoding="utf-8")
        return sum(float(json.loads(line)["cpu_s"]) for line in times.splitlines())

    cases_by(serial)  # loads what is loaded once
    before = cpu_s()
    asked_s = cases_by(serial)
    whole_s = cpu_s() - before
    ratios, peers = [], []
    for _ in range(rounds):
        one, two = clocked(lambda: cases_by(serial)), clocked(lambda: cases_by(local(2)))
        alone, both = clocked(lambda: loops(1)), clocked(lambda: loops(2))
        ratios.append(one / two)
        peers.append(2 * alone / both)
    found = {
        "estimator": name,
        "cases": len(CASES),
        "own_s_per_case": (whole_s - asked_s) / len(CASES),
        "rounds": rounds,
        "two_processes_faster": ratios,
        "two_loops_faster": peers,
        "median": [median(ratios), median(peers)],
        "load": os.getloadavg()[1],
    }
    sys.stdout.write(json.dumps(found) + "\n")


if __name__ == "__main__":
    given = sys.argv[1:]
    main(int(given[0]) if given else 3, given[1] if given[1:] else "least_squares")
