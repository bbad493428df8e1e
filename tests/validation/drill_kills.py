"""Kill a drill again and again with SIGKILL, at moments drawn at random, and see what is lost.

Usage: PYTHONPATH=tests python tests/validation/drill_kills.py 50 2026

A script is played by ``cablesim practice run``; the process is killed after a random number of
lines and a random while; the same command goes on, and at last to its end. After every kill the
lines whose results were on the screen are counted in the journal. At last the log is held against
that of a drill that nobody disturbed.
"""

from __future__ import annotations

import random
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from threading import Timer

import typer
from training.drill_cases import a_case

from cablesim.training.case import save_case

# Enough lines that kills find something to do; readings are the slow ones.
_ROUND = ("read c1 c2", "log", "read c1 b", "log", "read c2 b", "log", "take ohmmeter", "zero")
_BEGIN = ("off", "lock", "prove", "disconnect", "take ohmmeter")
_LONGEST_S = 600.0
_END = ("suspect short c1 b", "mark 7.4 within 0.2", "finish")


def play(folder: Path, journal: str, log: str) -> subprocess.Popen[str]:
    """Start the drill; it goes on where its journal ends."""
    command = [sys.executable, "-m", "cablesim", "practice", "run", "hall.toml"]
    command += ["--script", "job.txt", "--journal", journal, "--log", log]
    return subprocess.Popen(
        command,
        cwd=folder,
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def kill_often(folder: Path, kills: int, seed: int) -> dict[str, int]:
    """Play with kills; how many there were, and how many shown lines were lost."""
    rng = random.Random(seed)
    journal = folder / "killed.journal"
    found = {"kills": 0, "lines shown": 0, "lines lost": 0, "lines torn": 0}
    while found["kills"] < kills:
        had = lines_of(journal)
        process = play(folder, "killed.journal", "killed.log.json")
        assert process.stdout is not None
        wanted, prompts = rng.randint(0, 15), 0
        # A drill that says nothing more is killed as well, so that no line is waited for forever.
        guard = Timer(_LONGEST_S, process.kill)
        guard.start()
        try:
            while prompts < wanted and (line := process.stdout.readline()):
                prompts += line.startswith("[")
            time.sleep(rng.uniform(0.0, 0.1))
        finally:
            guard.cancel()
            process.send_signal(signal.SIGKILL)
        rest, err = process.communicate(timeout=_LONGEST_S)
        if process.returncode != -signal.SIGKILL:
            raise SystemExit(err or "the script is too short for so many kills")
        found["kills"] += 1
        # A line's prompt is printed, then it is done: all prompts but the last have their result.
        prompts += sum(line.startswith("[") for line in rest.splitlines())
        shown = max(0, prompts - 1)
        found["lines shown"] += shown
        found["lines lost"] += max(0, had + shown - lines_of(journal))
        found["lines torn"] += journal.exists() and not journal.read_bytes().endswith(b"\n")
    return found


def lines_of(journal: Path) -> int:
    """Whole lines of a journal, without its first."""
    return max(0, journal.read_bytes().count(b"\n") - 1) if journal.exists() else 0


def main(kills: int, seed: int) -> None:
    """Kill, go on, compare; exit code 1 where something was lost."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        save_case(a_case(), folder)
        script = [*_BEGIN, *_ROUND * (3 * kills), *_END]
        (folder / "job.txt").write_text("\n".join(script) + "\n")
        found = kill_often(folder, kills, seed)
        played = lines_of(folder / "killed.journal")
        for journal, log in (
            ("killed.journal", "killed.log.json"),
            ("whole.journal", "whole.json"),
        ):
            process = play(folder, journal, log)
            try:
                _, err = process.communicate(timeout=_LONGEST_S)
            finally:
                process.kill()
            if process.returncode:
                raise SystemExit(err)
        same = (folder / "killed.log.json").read_bytes() == (folder / "whole.json").read_bytes()
        typer.echo(f"{found['kills']} kills over {played} of {len(script)} lines: {found}")
        typer.echo(f"the log is {'the same, byte for byte' if same else 'ANOTHER ONE'}")
        if not same or found["lines lost"]:
            raise SystemExit(1)


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
