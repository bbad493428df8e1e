"""The same suite in this process, in two others, and on a cluster that loses a worker.

Run by hand (a minute or two; the cluster needs the extra ``dask``):

    PYTHONPATH=tests python -m validation.benchmark_engines [SUITE] [ESTIMATOR ...]

prints the hash of every file of results for each engine, and leaves with 1 where they differ.
"""

from __future__ import annotations

import hashlib
import os
import signal
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from cablesim.benchmark.asking import Who
from cablesim.benchmark.engines import Engine, cluster, local, serial
from cablesim.benchmark.run import Progress, run
from cablesim.benchmark.suite import load_suite

USUAL = ("floor", "three_readings", "three_capacitances", "least_squares")

# Gives an engine, and what is told after each chunk.
Opened = Callable[[], Iterator[tuple[Engine, Progress]]]


def hashes(folder: Path) -> dict[str, str]:
    """Hash of each file of results, times aside."""
    return {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.glob("*.jsonl"))
        if ".times." not in path.name
    }


@contextmanager
def here() -> Iterator[tuple[Engine, Progress]]:
    yield serial, lambda done, total: None


@contextmanager
def two_processes() -> Iterator[tuple[Engine, Progress]]:
    yield local(2), lambda done, total: None


@contextmanager
def cluster_that_loses_a_worker() -> Iterator[tuple[Engine, Progress]]:
    """Two workers; one of them is killed once some chunks are done, and a new one comes."""
    from distributed import LocalCluster

    with (
        LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as workers,
        cluster(workers.scheduler_address) as engine,
    ):
        killed: list[int] = []

        def kill_one(done: int, total: int) -> None:
            if not killed and done > total // 4:
                victim = next(iter(workers.workers.values()))
                killed.append(victim.pid)
                os.kill(victim.pid, signal.SIGKILL)
                sys.stdout.write(f"killed worker {killed[0]} at {done} of {total} cases\n")

        yield engine, kill_one
        if not killed:
            raise RuntimeError("no worker was killed: the run was over too soon")


def main(source: str, names: tuple[str, ...]) -> int:
    """Run the suite on every engine and compare."""
    suite = load_suite(source)
    whom = [Who(name) for name in names]
    found: dict[str, dict[str, str]] = {}
    for opened in (here, two_processes, cluster_that_loses_a_worker):
        with tempfile.TemporaryDirectory() as folder, opened() as (engine, told):
            run(source, suite, whom, Path(folder), engine=engine, chunk=4, progress=told)
            found[opened.__name__] = hashes(Path(folder))
    for name, files in found.items():
        sys.stdout.write(name + "\n")
        for file, digest in files.items():
            sys.stdout.write(f"  {digest}  {file}\n")
    same = len({tuple(files.items()) for files in found.values()}) == 1
    sys.stdout.write("identical\n" if same else "DIFFERENT\n")
    return 0 if same else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1] if sys.argv[1:] else "small", tuple(sys.argv[2:]) or USUAL))
