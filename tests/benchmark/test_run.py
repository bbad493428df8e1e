"""Runs: the same whatever does the work, and whatever interrupts it."""

import json
import sys
import time
import types
from concurrent.futures import Future
from concurrent.futures.process import BrokenProcessPool
from contextlib import nullcontext
from dataclasses import replace

import pytest

from cablesim.benchmark import run as run_module
from cablesim.benchmark.answer import Answer
from cablesim.benchmark.asking import Chunk, Who, do_chunk
from cablesim.benchmark.engines import Serial, cluster, local, serial
from cablesim.benchmark.estimator import Registered
from cablesim.benchmark.page import html_page
from cablesim.benchmark.replay import replayed
from cablesim.benchmark.report_figures import score_figure
from cablesim.benchmark.results import reported, results_in
from cablesim.benchmark.run import run as whole_run
from cablesim.benchmark.suite import load_suite
from cablesim.errors import InputError

WHOM = [Who("floor"), Who("three_readings"), Who("three_capacitances")]
CASES = tuple(range(2, 14))
CHUNK = 2
CHUNKS = len(CASES) // CHUNK * len(WHOM)


def run(source, suite, whom, folder, **more):
    """A few cases in small chunks, unless told otherwise."""
    return whole_run(source, suite, whom, folder, **{"cases": CASES, "chunk": CHUNK} | more)


@pytest.fixture(scope="module")
def suite():
    return load_suite("small")


@pytest.fixture(scope="module")
def done(suite, tmp_path_factory):
    return run("small", suite, WHOM, tmp_path_factory.mktemp("done")).folder


def results(folder):
    return {
        path.name: path.read_bytes()
        for path in folder.glob("*.jsonl")
        if ".times." not in path.name
    }


def test_local_processes_give_the_same_files(suite, done, tmp_path):
    found = run("small", suite, WHOM, tmp_path / "out", engine=local(1), chunk=5)
    assert results(found.folder) == results(done)


class Dying(Serial):
    """Breaks after some chunks, as a pool does whose worker was killed."""

    def __init__(self, lives):
        self.lives = lives

    def submit(self, fn, /, *args, **kwargs):
        if self.lives == 0:
            future = Future()
            future.set_exception(BrokenProcessPool("a worker was killed"))
            return future
        self.lives -= 1
        return super().submit(fn, *args, **kwargs)


def test_a_worker_that_dies_costs_no_more_than_its_chunk(suite, done, tmp_path):
    found = run("small", suite, WHOM, tmp_path / "out", engine=lambda: Dying(2))
    assert results(found.folder) == results(done)


class Lost(Serial):
    """As the executor of Dask, which takes no other words, and whose scheduler dies."""

    def __init__(self, lives):
        self.lives = lives
        self.left = False

    def submit(self, fn, /, *args, **kwargs):
        self.lives -= 1
        if self.lives < 0:
            future = Future()
            future.cancel()
            future.set_running_or_notify_cancel()
            return future
        return super().submit(fn, *args, **kwargs)

    def shutdown(self, wait=True):
        self.left = not wait


class Distributed(types.ModuleType):
    """As much of Dask as is used, without its threads and sockets."""

    scheduler = types.SimpleNamespace(KilledWorker=type("KilledWorker", (Exception,), {}))

    def __init__(self, lives):
        super().__init__("distributed")
        self.made = Lost(lives)

    def Client(self, address, *, timeout, set_as_default):  # as it is called there
        if address.endswith(":1"):
            raise OSError("timed out")
        return types.SimpleNamespace(
            get_executor=lambda *, pure, retries: self.made, close=lambda timeout: None
        )


@pytest.mark.parametrize("lives", [99, 3])
def test_a_cluster_gives_the_same_files_or_says_that_it_is_lost(
    suite, done, tmp_path, monkeypatch, lives
):
    stub = Distributed(lives)
    monkeypatch.setitem(sys.modules, "distributed", stub)
    lost = pytest.raises(InputError, match=r"tcp://h:2 was lost .*goes on from there")
    with nullcontext() if lives > CHUNKS else lost, cluster("tcp://h:2") as engine:
        run("small", suite, WHOM, tmp_path / "out", engine=engine)
    assert stub.made.left
    run("small", suite, WHOM, tmp_path / "out")
    assert results(tmp_path / "out") == results(done)


@pytest.mark.parametrize(
    ("address", "told"),
    [("tcp://h:1", "no scheduler answers at tcp://h:1"), ("h", "an address and a port")],
)
def test_an_address_without_a_scheduler_is_told(monkeypatch, address, told):
    monkeypatch.setitem(sys.modules, "distributed", Distributed(0))
    with pytest.raises(InputError, match=told), cluster(address):
        pass


def test_a_worker_of_another_version_is_refused(suite):
    with pytest.raises(InputError, match="version of cablesim"):
        do_chunk(Chunk(0, suite.name, suite.lines[:1], WHOM[0], cablesim="0.0"))


def test_leaving_local_processes_waits_for_nobody():
    # The worker would sleep for an hour; it is ended, which breaks the pool.
    with local(1)() as executor:
        napping = executor.submit(time.sleep, 3600)
        assert executor.submit(abs, -1) is not None
    with pytest.raises(BrokenProcessPool):
        napping.result(timeout=60)


def test_workers_that_only_die_are_told(suite, tmp_path):
    with pytest.raises(InputError, match="workers died 5 times in a row"):
        run("small", suite, WHOM, tmp_path / "out", engine=lambda: Dying(0))


def test_an_interrupted_run_goes_on_where_it_stopped(suite, done, tmp_path, monkeypatch):
    class Interrupted(Exception):
        pass

    for stop in (1, 4, 9):
        told = []

        def progress(count, total, told=told, stop=stop):
            told.append((count, total))
            if len(told) > stop:
                raise Interrupted

        with pytest.raises(Interrupted):
            run("small", suite, WHOM, tmp_path / "out", progress=progress)
        assert told[0][0] < told[-1][0]
    # Half a file of a run that was killed is cleared away.
    (tmp_path / "out" / ".floor.jsonl.half").write_text("{")
    begun = []
    whole = run_module.do_chunk
    monkeypatch.setattr(run_module, "do_chunk", lambda c: begun.append(c.number) or whole(c))
    run("small", suite, WHOM, tmp_path / "out")
    assert len(begun) == CHUNKS - (1 + 4 + 9)
    assert results(tmp_path / "out") == results(done)
    assert not list((tmp_path / "out").glob("*.parts")) + list((tmp_path / "out").glob(".*.half"))


def test_estimators_may_come_later(suite, done, tmp_path):
    for who in WHOM:
        run("small", suite, [who], tmp_path / "out")
    assert results(tmp_path / "out") == results(done)


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"chunk": 3}, "which differs in: chunk"),
        ({"cases": (1, 2)}, "which differs in: cases; .* choose the same cases"),
    ],
)
def test_another_run_is_not_mixed_in(suite, done, change, told):
    with pytest.raises(InputError, match=told):
        run("small", suite, WHOM, done, **change)


def test_a_folder_of_something_else_is_left_alone(suite, tmp_path):
    (tmp_path / "letter.txt").write_text("dear")
    with pytest.raises(InputError, match="is no folder of results"):
        run("small", suite, WHOM, tmp_path)
    assert [p.name for p in tmp_path.iterdir()] == ["letter.txt"]


def test_an_estimator_that_raises_is_a_row(suite, tmp_path, monkeypatch):
    def broken(cable, readings):
        raise ZeroDivisionError("at 0x7f0012345678")

    def refusing(cable, readings):
        raise InputError("readings", 3, "more")

    def leaving(cable, readings):
        raise SystemExit(4)

    def nowhere(cable, readings):
        return Answer(position_m=float("nan"))

    made = {
        "broken": broken,
        "refusing": refusing,
        "leaving": leaving,
        "nowhere": nowhere,
        "garbage": lambda cable, readings: 12.4,
    }
    for module in ("asking", "store"):
        monkeypatch.setattr(
            f"cablesim.benchmark.{module}.estimator_named", lambda n: Registered(n, made[n])
        )
    store = run("small", suite, [Who(name) for name in made], tmp_path / "out", cases=(6, 7))
    rows = {
        name: json.loads((store.folder / f"{name}.jsonl").read_text().splitlines()[0])
        for name in made
    }
    assert rows["broken"]["status"] == "failed"
    assert rows["broken"]["reason"] == "ZeroDivisionError: at 0x..."
    assert rows["refusing"]["status"] == "declined"
    assert "must be more" in rows["refusing"]["reason"]
    for name, told in (
        ("leaving", "SystemExit: 4"),
        ("nowhere", "no answer that can be: position_m is nan"),
        ("garbage", "no answer that can be: what the estimator returned is 12.4"),
    ):
        assert rows[name]["status"] == "failed" and rows[name]["reason"].startswith(told)
    # Nobody names a place: the page says so, and draws nothing.
    assert "<img" not in html_page(reported(results_in(store.folder)))


def test_any_row_can_be_made_again(done):
    found = replayed("small-1/6/three_readings", folder=done)
    assert found.same
    assert replayed("small-1/6/three_readings").same is None
    for row in ("small-1/99/floor", "small-1/floor", "small-1/6/murray"):
        with pytest.raises(InputError):
            replayed(row, folder=done)


def test_a_report_says_it_all_and_needs_nothing_else(done):
    report = reported(results_in(done))
    page = html_page(report)
    assert page.count("data:image/png;base64,") == 4
    assert "http" not in page and "<script" not in page
    assert "Before a floor is opened" in page
    json.dumps(report.to_dict(), allow_nan=False)
    lines = report.to_csv().splitlines()
    assert len({line.count(",") for line in lines}) == 1
    floor = report.values["floor"]["all"]
    assert floor["named"].value == 1.0 and floor["coverage"].cases == 8


def test_shades_of_the_scores_change_with_the_rank(done):
    report = reported(results_in(done))
    one, two, three = report.ranks
    # The first two share a rank, so that the third has the third.
    apart = (replace(one, rank=1), replace(two, rank=1), replace(three, rank=3))
    axes = score_figure(replace(report, ranks=apart)).axes[0]
    assert len(axes.patches) == 2


@pytest.mark.parametrize(
    ("name", "text", "told"),
    [
        ("floor.jsonl", "no JSON\n", "cannot be read"),
        ("floor.jsonl", "", "holds no rows"),
        ("floor.jsonl", "{}\n", "does not hold each case"),
        ("run.json", "{}", "is no folder of results"),
    ],
)
def test_broken_results_are_told(suite, tmp_path, name, text, told):
    run("small", suite, WHOM[:1], tmp_path / "out", cases=(6, 7))
    (tmp_path / "out" / name).write_text(text)
    with pytest.raises(InputError, match=told):
        results_in(tmp_path / "out")


def test_names_become_files(suite):
    with pytest.raises(InputError, match="name of an estimator"):
        Who("../up")


def test_the_serial_engine_is_an_executor():
    with serial() as executor:
        assert list(executor.map(abs, [-1, 2])) == [1, 2]
