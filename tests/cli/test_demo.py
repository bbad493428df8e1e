"""``cablesim demo``: the first command that a newcomer runs, and the second time it is run."""

import json

import pytest

from cablesim import load_scenario

NAMES = ["cablesim-demo.json", "cablesim-demo.png", "cablesim-demo.toml"]


@pytest.fixture
def here(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    return tmp_path


def names_in(folder):
    return sorted(entry.name for entry in folder.iterdir())


def test_shows_the_job_names_the_files_and_may_be_run_again(cablesim, here):
    done = cablesim("demo")
    assert (done.code, done.err) == (0, "")
    assert names_in(here) == NAMES
    assert done.out.index("Damaged") < done.out.index("Verdict") < done.out.index("Files")
    last = done.out[done.out.index("Files") :]
    assert all(name in last for name in NAMES)
    told = json.loads((here / "cablesim-demo.json").read_text())
    assert told["verdict"] == "short"
    assert told["marked"]["inside_interval"]
    assert load_scenario(here / "cablesim-demo.toml").readings
    assert (here / "cablesim-demo.png").read_bytes().startswith(b"\x89PNG")
    # A second time changes nothing, and succeeds.
    before = {name: (here / name).stat().st_mtime_ns for name in NAMES}
    done = cablesim("demo")
    assert done.code == 0
    assert "the same" in done.out
    assert {name: (here / name).stat().st_mtime_ns for name in NAMES} == before


def test_files_of_another_content_stay_unless_forced(cablesim, here):
    mine = here / "cablesim-demo.json"
    mine.write_text("mine")
    assert cablesim("demo").code == 0
    assert mine.read_text() == "mine"
    assert names_in(here) == [
        "cablesim-demo-2.json",
        "cablesim-demo-2.png",
        "cablesim-demo-2.toml",
        "cablesim-demo.json",
    ]
    assert cablesim("demo", "--force").code == 0
    json.loads(mine.read_text())


def test_another_folder_must_be_there(cablesim, refused, here):
    (here / "out").mkdir()
    done = cablesim("demo", "--output", "out")
    assert done.code == 0
    assert names_in(here / "out") == NAMES
    assert names_in(here) == ["out"]
    assert "--output" in refused("demo", "--output", "nowhere")
