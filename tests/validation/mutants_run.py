"""Try a sample of mutants, each on the tests that reach its statement.

Run by hand, half an hour or more; it resumes::

    pip install -e '.[test,lint,mutation]'
    PYTHONPATH=tests python -m validation.mutants_run choose FOLDER 2026
    PYTHONPATH=tests python -m validation.mutants_run run FOLDER
    PYTHONPATH=tests python -m validation.mutants_run again FOLDER
    PYTHONPATH=tests python -m validation.mutants_page FOLDER docs/validation/mutation.md

`choose` copies the checkout, runs the tests once to see which reach which line, and draws the
sample. `run` writes one damaged module at a time into the copy and lets the tests that reach the
statement run in a fork, the quick ones first, until one fails. `again` takes what survived to the
tests and the type checker of today's checkout.
"""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
import traceback
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, replace
from pathlib import Path

from validation.mutants import PACKAGES, ROOT, Mutant, Package, chosen, mutants_of

COPIED = ("cablesim", "tests", "scenarios", "docs", "pyproject.toml", "README.md", "DEVELOPERS.md")
# One statement's tests, quick ones first, up to so many seconds of them.
TESTS_S = 40.0
# A run may take so much, and so many times what its tests took when nothing was damaged.
GRACE_S, PATIENCE = 20.0, 4.0
SURVIVED = ("survived", "not reached")


# --- the tests that reach a line ------------------------------------------------------------------


class Recorder:
    """A plugin of pytest: seconds of every test, and where coverage looks the lines it reaches."""

    def __init__(self, coverage: object | None = None, seconds: dict[str, float] | None = None):
        self.coverage = coverage
        self.seconds: dict[str, float] = {}
        self.known_s = seconds or {}
        self.failed: list[str] = []

    def pytest_collection_modifyitems(self, items: list) -> None:
        items.sort(key=lambda item: self.known_s.get(item.nodeid, 0.0))

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        if self.coverage is not None:
            self.coverage.switch_context(nodeid)

    def pytest_runtest_logreport(self, report: object) -> None:
        self.seconds[report.nodeid] = self.seconds.get(report.nodeid, 0.0) + report.duration
        if report.failed:
            self.failed.append(report.nodeid)


def _copy_to(folder: Path) -> None:
    shutil.rmtree(folder, ignore_errors=True)
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, folder / name, ignore=shutil.ignore_patterns("_build"))
        else:
            folder.mkdir(exist_ok=True, parents=True)
            shutil.copy2(source, folder / name)


def _stand_in(folder: Path) -> None:
    """Let this process and its forks import the copy, never the checkout."""
    os.chdir(folder)
    sys.path[:] = [str(folder), str(folder / "tests"), *(p for p in sys.path if p not in _ours())]
    sys.dont_write_bytecode = True
    os.environ |= {"CI": "true", "PYTHONPATH": str(folder)}
    for name in [n for n in sys.modules if n.split(".")[0] in ("cablesim", "outside")]:
        del sys.modules[name]


def _ours() -> set[str]:
    return {"", str(ROOT), str(ROOT / "tests"), os.getcwd()}


def measured(copy: Path, *, more: bool = False) -> dict[str, dict]:
    """Seconds of every test in its own, and of every line the tests that reach it."""
    answer = copy.parent / "measured.json"
    child = os.fork()
    if child == 0:
        os._exit(_measure(copy, answer, more))
    _, status = os.waitpid(child, 0)
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        raise SystemExit("the tests do not run")
    seen = json.loads(answer.read_text())
    # A test that fails by itself kills nothing.
    for name in seen["failed"]:
        sys.stderr.write(f"left out, for it fails before anything is damaged: {name}\n")
    return seen


def _measure(copy: Path, answer: Path, more: bool) -> int:
    import coverage
    import pytest

    _stand_in(copy)
    cover = coverage.Coverage(data_file=None, config_file=False, source=[str(copy / "cablesim")])
    cover.start()
    recorder = Recorder(cover)
    tests = sorted({test for package in PACKAGES for test in _concerned(package, more)})
    code = pytest.main(["-q", "-n0", "-p", "no:cacheprovider", *tests], plugins=[recorder])
    cover.stop()
    data = cover.get_data()
    lines = {}
    for file in data.measured_files():
        reached = data.contexts_by_lineno(file)
        lines[str(Path(file).relative_to(copy))] = {
            line: sorted(name for name in names if name) for line, names in reached.items()
        }
    answer.write_text(
        json.dumps({"seconds": recorder.seconds, "failed": recorder.failed, "lines": lines})
    )
    return int(code)


def _concerned(package: Package, more: bool) -> tuple[str, ...]:
    return package.tests + package.more_tests * more


def reaching(
    mutant: Mutant, package: Package, seen: dict[str, dict], *, more: bool = False
) -> list[str]:
    """The tests concerned that reach a mutant's statement, quick ones first."""
    lines = seen["lines"].get(mutant.path, {})
    where = mutant.reach or tuple(int(line) for line in lines)
    names = {name for line in where for name in lines.get(str(line), [])}
    own = [
        name for name in names - set(seen["failed"]) if name.startswith(_concerned(package, more))
    ]
    took, kept = 0.0, []
    for name in sorted(own, key=lambda name: (seen["seconds"][name], name)):
        took += seen["seconds"][name]
        if kept and took > TESTS_S:
            break
        kept.append(name)
    return kept


# --- one mutant against its tests -----------------------------------------------------------------


@contextmanager
def damaged(mutant: Mutant, copy: Path) -> Iterator[None]:
    """Put a mutant into the copy for a while."""
    make_whole(copy)
    target, whole = copy / mutant.path, copy.parent / "whole.py"
    shutil.copy2(target, whole)
    (copy.parent / "damaged.txt").write_text(mutant.path)
    try:
        target.write_text(mutant.code, encoding="utf-8")
        yield
    finally:
        make_whole(copy)


def make_whole(copy: Path) -> None:
    """Put back what a run that was ended left damaged."""
    whole = copy.parent / "whole.py"
    if whole.exists():
        shutil.copy2(whole, copy / (copy.parent / "damaged.txt").read_text())
        whole.unlink()


def tried(mutant: Mutant, tests: list[str], copy: Path, seconds: dict[str, float]) -> Mutant:
    """What became of a mutant; the module in the copy is whole again afterwards."""
    if not tests:
        return replace(mutant, fate="not reached")
    log = copy.parent / "last.txt"
    limit_s = GRACE_S + PATIENCE * sum(seconds.get(name, 1.0) for name in tests)
    with damaged(mutant, copy), tempfile.NamedTemporaryFile("r", dir=copy.parent) as killer:
        child = os.fork()
        if child == 0:
            os._exit(_test(tests, copy, seconds, log, Path(killer.name)))
        code = _waited(child, limit_s)
        by = killer.read()
    if code is None:
        return replace(mutant, fate="timed out")
    if code == 0:
        return replace(mutant, fate="survived")
    if code not in (1, 2) and not by:
        raise SystemExit(f"no verdict (code {code}) on {mutant.key}: see {log}")
    return replace(mutant, fate="killed", by=by or "cannot be imported")


def _test(tests: list[str], copy: Path, seconds: dict[str, float], log: Path, killer: Path) -> int:
    """In a fork: the exit code of pytest; 3 where it does not come to one."""
    import pytest

    os.setsid()
    with log.open("w") as out:
        os.dup2(out.fileno(), 1)
        os.dup2(out.fileno(), 2)
    recorder = Recorder(seconds=seconds)
    # Hypothesis is imported already, and warnings are errors.
    options = ["-x", "-q", "-n0", "--tb=line", "-p", "no:cacheprovider"]
    options += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]
    try:
        code = int(pytest.main([*options, *tests], plugins=[recorder]))
    except BaseException:
        traceback.print_exc()
        code = 3
    killer.write_text("".join(recorder.failed[:1]))
    sys.stdout.flush()
    return code


def _waited(child: int, limit_s: float) -> int | None:
    """Exit code of a fork, None where it took too long and was ended."""
    end = time.monotonic() + limit_s
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.05)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return None


def _warm_up() -> None:
    """Import once, before all forks, what every test needs and no mutant changes."""
    import skrf  # noqa: F401


# --- the three steps ------------------------------------------------------------------------------


def choose(folder: Path, seed: int) -> None:
    """Draw the sample and see which tests reach which line."""
    folder.mkdir(parents=True, exist_ok=True)
    sample, made = chosen(seed)
    _copy_to(folder / "first")
    measured(folder / "first")
    text = {"seed": seed, "made": made, "sample": [asdict(mutant) for mutant in sample]}
    (folder / "sample.json").write_text(json.dumps(text))


def run(folder: Path) -> None:
    """Try every mutant of the sample that has not been tried."""
    done = {mutant.key for mutant in read_results(folder / "first.jsonl")}
    left = [mutant for mutant in read_sample(folder) if mutant.key not in done]
    seen = json.loads((folder / "measured.json").read_text())
    _try_all(left, folder / "first", seen, folder / "first.jsonl")


def again(folder: Path) -> None:
    """Try the survivors on all the tests of today, then on the type checker.

    It goes on where it was stopped; delete the folder `second` to begin again.
    """
    first = [m for m in read_results(folder / "first.jsonl") if m.fate in SURVIVED]
    codes = {mutant.key: mutant.code for mutant in read_sample(folder)}
    copy, results = folder / "second" / "copy", folder / "second" / "second.jsonl"
    make_whole(copy)
    if not copy.exists():
        _copy_to(copy)
        measured(copy, more=True)
    seen = json.loads((copy.parent / "measured.json").read_text())
    done = {mutant.key for mutant in read_results(results)}
    now = []
    for path in dict.fromkeys(mutant.path for mutant in first):
        same = (copy / path).read_text() == (folder / "first" / path).read_text()
        # Where the code has changed since, the mutant may be there no longer: the page says so.
        today = (
            {} if same else {m.key: m for m in (write() for write in mutants_of(path, root=copy))}
        )
        for mutant in first:
            if mutant.path == path and (same or mutant.key in today):
                new = mutant if same else today[mutant.key]
                code = codes[mutant.key] if same else new.code
                now.append(replace(mutant, line=new.line, reach=new.reach, code=code))
    left = [mutant for mutant in now if mutant.key not in done]
    _try_all(left, copy, seen, results, more=True)


def _typed(mutant: Mutant, copy: Path) -> bool:
    """Whether the type checker lets a mutant pass."""
    with damaged(mutant, copy):
        call = [sys.executable, "-m", "mypy"]
        done = subprocess.run(call, cwd=copy, capture_output=True, check=False)
    return done.returncode == 0


def read_sample(folder: Path) -> list[Mutant]:
    """The sample that `choose` drew."""
    rows = json.loads((folder / "sample.json").read_text())["sample"]
    return [Mutant(**row | {"reach": tuple(row["reach"])}) for row in rows]


def read_results(file: Path) -> list[Mutant]:
    """All results so far."""
    rows = [json.loads(line) for line in file.read_text().splitlines()] if file.exists() else []
    return [Mutant(**row | {"reach": tuple(row["reach"])}) for row in rows]


def _try_all(
    mutants: list[Mutant], copy: Path, seen: dict, results: Path, *, more: bool = False
) -> None:
    packages = {package.name: package for package in PACKAGES}
    _warm_up()
    _stand_in(copy)
    for mutant in mutants:
        tests = reaching(mutant, packages[mutant.package], seen, more=more)
        begun = time.monotonic()
        tells = tried(mutant, tests, copy, seen["seconds"])
        if more and tells.fate in SURVIVED and not _typed(mutant, copy):
            tells = replace(tells, fate="not typed")
        with results.open("a", encoding="utf-8") as file:
            file.write(json.dumps(asdict(replace(tells, code=""))) + "\n")
        sys.stderr.write(
            f"{tells.fate} {time.monotonic() - begun:.1f} s, {len(tests)} tests: {mutant.key}\n"
        )


if __name__ == "__main__":
    step, where = sys.argv[1], Path(sys.argv[2]).resolve()
    if step == "choose":
        choose(where, int(sys.argv[3]))
    elif step == "run":
        run(where)
    else:
        again(where)
