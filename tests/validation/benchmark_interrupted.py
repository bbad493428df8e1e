"""A run that is interrupted at random moments, again and again, comes to the same results.

Run by hand (some minutes):

    PYTHONPATH=tests python -m validation.benchmark_interrupted [TIMES] [SEED]

starts ``cablesim benchmark run`` in a process of its own, ends it after a random time by SIGINT or
by SIGKILL in turn, starts it again, and so on; what the last, undisturbed one leaves is compared
with a run that nobody disturbed. Whenever a run is complete before its time it begins anew.
"""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

import numpy as np
from validation.benchmark_engines import hashes

NAMES = ("floor", "three_readings", "three_capacitances", "two_ends", "both_ends", "murray")


def command(folder: Path, workers: int) -> list[str]:
    """The command line of the run."""
    asked = [part for name in NAMES for part in ("--estimator", name)]
    more = ["--chunk", "2", "--workers", str(workers), "--output", str(folder)]
    return [sys.executable, "-m", "cablesim", "benchmark", "run", "small", *asked, *more]


def run_time(folder: Path, workers: int) -> float:
    """Seconds that an undisturbed run takes."""
    began = time.monotonic()
    subprocess.run(command(folder, workers), check=True, capture_output=True, timeout=600)
    return time.monotonic() - began


def main(times: int, seed: int) -> int:
    """Interrupt, resume, compare."""
    rng = np.random.default_rng(seed)
    ended: Counter[str] = Counter()
    with tempfile.TemporaryDirectory() as base:
        whole = Path(base) / "whole"
        takes_s = {0: run_time(whole, 0), 1: run_time(Path(base) / "local", 1)}
        wanted = hashes(whole)
        folder = Path(base) / "disturbed"
        for number in range(times):
            workers = int(rng.random() < 0.25)
            how = (signal.SIGINT, signal.SIGKILL)[number % 2]
            process = subprocess.Popen(
                command(folder, workers), stdout=subprocess.DEVNULL, stderr=subprocess.PIPE
            )
            try:
                process.wait(rng.uniform(0.02, 1.0) * takes_s[workers])
            except subprocess.TimeoutExpired:
                process.send_signal(how)
            # However it was ended, it must not linger.
            code = process.wait(60)
            told = process.stderr.read().decode() if process.stderr else ""
            ended[f"ended with {code}"] += 1
            if "Traceback" in told:
                sys.stdout.write(told)
                return 1
            if code == 0:
                if hashes(folder) != wanted:
                    sys.stdout.write(f"DIFFERENT after {number + 1} starts\n")
                    return 1
                shutil.rmtree(folder)
        run_time(folder, 0)
        same = hashes(folder) == wanted
        left = sorted(p.name for p in folder.iterdir() if p.suffix not in (".jsonl", ".json"))
    for name, count in sorted(ended.items()):
        sys.stdout.write(f"{name}: {count}\n")
    sys.stdout.write(f"{times} starts disturbed; left over: {left}\n")
    sys.stdout.write("the same results\n" if same else "DIFFERENT results\n")
    return 0 if same else 1


if __name__ == "__main__":
    numbers = [int(text) for text in sys.argv[1:]]
    sys.exit(main(*(numbers + [50, 2026][len(numbers) :])))
