"""``cablesim practice run``: a script plays a drill, a kill loses nothing that was shown."""

import doctest
import json
import os
import re
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from training.drill_cases import a_case

from cablesim.training.case import save_case

PAGE = Path(__file__).parents[2] / "docs" / "practice-drill.md"
(JOB,) = re.findall(r"```text\n(.*?)```", PAGE.read_text(), re.DOTALL)
TRUTH = "short between core1 and braid, 7.40 m"


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    save_case(a_case(), tmp_path)
    (tmp_path / "job.txt").write_text(JOB)
    return tmp_path


def test_the_examples_of_the_page_run():
    failed, tried = doctest.testfile(str(PAGE), module_relative=False)
    assert not failed and tried > 5


def test_a_script_plays_the_whole_job_and_leaves_a_log(cablesim, folder):
    done = cablesim("practice", "run", "hall.toml", "--script", "job.txt", "--trainee", "Ada")
    assert done.code == 0 and done.err == ""
    seen, _, end = done.out.partition("The job is handed back.")
    assert TRUTH in end and TRUTH not in seen
    log = json.loads((folder / "hall.log.json").read_text())
    assert log["trainee"] == "Ada" and log["answer"]["repaired"]
    assert log["answer"]["faults"][0]["position_m"] == 7.4
    # Once more: the drill is over, its log is there, and both stay as they are.
    again = cablesim("practice", "run", "hall.key.toml", "--script", "job.txt")
    assert again.code == 0 and TRUTH in again.out
    assert json.loads((folder / "hall.log.json").read_text()) == log


def test_begun_anew_it_can_be_left_and_gone_on_with(cablesim, folder):
    (folder / "stop.txt").write_text("disconnect\n")
    cablesim("practice", "run", "hall.toml", "--script", "stop.txt")
    assert (folder / "hall.log.json").exists()
    (folder / "part.txt").write_text("off\nlock\n")
    anew = cablesim("practice", "run", "hall.toml", "--script", "part.txt", "--force")
    assert anew.code == 0 and not (folder / "hall.log.json").exists()
    going_on = cablesim("practice", "run", "hall.toml", "--script", "part.txt")
    assert going_on.code == 0 and "Going on" in going_on.out


def test_a_danger_ends_it_with_the_reason(cablesim, folder):
    (folder / "job.txt").write_text("off\ntake ohmmeter\nread c1 b\ndisconnect\n")
    done = cablesim("practice", "run", "hall.toml", "--script", "job.txt")
    assert done.code == 0 and "STOP: live work" in done.out and "local codes" in done.out.lower()
    assert "7.40 m" not in done.out and "for another try" in done.out
    log = json.loads((folder / "hall.log.json").read_text())
    assert log["actions"][-1]["rule"] == "live work" and log["actions"][-1]["stopped"]


def test_a_script_that_ends_early_is_kept_and_goes_on_where_it_stopped(cablesim, folder):
    (folder / "job.txt").write_text("\n".join(JOB.splitlines()[:9]) + "\n")
    first = cablesim("practice", "run", "hall.toml", "--script", "job.txt")
    assert "goes on with it" in first.out and not (folder / "hall.log.json").exists()
    (folder / "job.txt").write_text(JOB)
    done = cablesim("practice", "run", "hall.toml", "--script", "job.txt")
    assert TRUTH in done.out and "] prove" not in done.out


@pytest.mark.parametrize(
    ("script", "said"),
    [
        (b"off\nlokc\n", "line 2: 'lokc' is not understood; did you mean lock?"),
        (b"off\n\xff\xfe\n", "the script is no text"),
        (b"mark 1,2,3", "line 1: the point is"),
        (None, "the script cannot be read"),
    ],
)
def test_a_script_that_cannot_be_used_is_told_in_one_sentence(cablesim, folder, script, said):
    if script is None:
        (folder / "job.txt").unlink()
    else:
        (folder / "job.txt").write_bytes(script)
    done = cablesim("practice", "run", "hall.toml", "--script", "job.txt")
    assert done.code == 2 and said in done.err and done.err.count("\n") == 1


def test_a_missing_key_and_a_log_in_the_way_are_refused_before_anything_is_played(cablesim, folder):
    (folder / "mine.json").write_text("{}")
    done = cablesim("practice", "run", "hall.toml", "--script", "job.txt", "--log", "mine.json")
    assert done.code == 2 and "exists already" in done.err and "--log OTHER.json" in done.err
    (folder / "hall.key.toml").unlink()
    done = cablesim("practice", "run", "hall.toml", "--script", "job.txt")
    assert done.code == 2 and "the key hall.key.toml is missing" in done.err


def test_neither_case_nor_key_nor_notes_become_a_journal(cablesim, folder):
    (folder / "notes.txt").write_text("ring the customer\n")
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    for name in ("hall.toml", "hall.key.toml", "notes.txt"):
        done = cablesim("practice", "run", "hall.toml", "--journal", name, "--force")
        assert done.code == 2 and ".journal" in done.err and done.err.count("\n") == 1
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_finished_drill_can_write_its_log_elsewhere(cablesim, folder):
    (folder / "stop.txt").write_text("disconnect\n")
    cablesim("practice", "run", "hall.toml", "--script", "stop.txt")
    log = (folder / "hall.log.json").read_bytes()
    (folder / "hall.log.json").write_text("{}")
    refused = cablesim("practice", "run", "hall.toml", "--script", "stop.txt")
    assert refused.code == 2 and "--log OTHER.json" in refused.err
    rescued = cablesim("practice", "run", "hall.toml", "--script", "stop.txt", "--log", "o.json")
    assert rescued.code == 0 and (folder / "o.json").read_bytes() == log


# A child that plays the script and kills itself, as kill -9 does, at a given write to the journal:
# before it, halfway through it, or after it.
CHILD = """
import os, sys
from cablesim.training import journal
from cablesim.cli.app import main

at, how, count = int(sys.argv[1]), sys.argv[2], 0
append = journal.Journal.append

def dying(self, acts, line=None):
    global count
    count += 1
    if count == at and how == "before":
        os.kill(os.getpid(), 9)
    if count == at and how == "torn":
        self._file.write(b'{"line": 3, "acts": [{"act')
        self._file.flush()
        os.kill(os.getpid(), 9)
    append(self, acts, line)
    if count == at:
        os.kill(os.getpid(), 9)

journal.Journal.append = dying
sys.argv = ["cablesim", "practice", "run", "hall.toml", "--script", "job.txt"]
main()
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_killed_again_and_again_it_comes_to_the_very_same_log(cablesim, folder):
    written = 0
    for at, how in [(3, "before"), (5, "torn"), (6, "after")]:
        killed = subprocess.run(
            [sys.executable, "-c", CHILD, str(at), how],
            cwd=folder,
            capture_output=True,
            text=True,
            stdin=subprocess.DEVNULL,
            timeout=120,
            env={**os.environ, "OPENBLAS_NUM_THREADS": "1"},
        )
        assert killed.returncode == -signal.SIGKILL, killed.stderr
        # The line in progress has its prompt on the screen and no result; all before it are kept.
        before, written = written, (folder / "hall.journal").read_text().count("\n") - 1
        prompts = sum(line.startswith("[") for line in killed.stdout.splitlines())
        assert prompts - 1 == at - 1
        assert written - before == (at if how == "after" else at - 1)
    done = cablesim("practice", "run", "hall.toml", "--script", "job.txt")
    assert TRUTH in done.out
    interrupted = (folder / "hall.log.json").read_bytes()
    kept = (folder / "hall.journal").read_bytes()
    wrong = cablesim("practice", "run", "hall.toml", "--force", "--log", "hall.txt")
    assert wrong.code == 2 and (folder / "hall.journal").read_bytes() == kept
    whole = cablesim("practice", "run", "hall.toml", "--script", "job.txt", "--force")
    assert TRUTH in whole.out
    assert (folder / "hall.log.json").read_bytes() == interrupted
