"""``cablesim practice make`` and ``mark``: files, messages, tables."""

import json

import pytest

MAKE = ("--number", "1", "--seed", "11", "--level", "1", "--kinds", "short", "--bag", "pocket")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    from cablesim.training.case import save_case
    from cablesim.training.making import make_case
    from cablesim.training.syllabus import Syllabus

    made = tmp_path_factory.mktemp("cases")
    syllabus = Syllabus(number=1, seed=11, levels=(1,), kinds=("short",), bag=("pocket",))
    save_case(make_case(syllabus, 1), made)
    return made


def log_in(folder, tmp_path, **changes):
    from cablesim.training.case import load_case

    case = load_case(folder / "case-01.key.toml")
    raw = {
        "format": 1,
        "case": "case-01",
        "trainee_sha256": case.key.trainee_sha256,
        "trainee": "Someone",
        "answer": {"verdict": "short", "locatable": False},
    }
    path = tmp_path / "someone.json"
    path.write_text(json.dumps(raw | changes))
    return path


def test_cases_are_made_once_and_never_written_over(cablesim, folder, tmp_path):
    done = cablesim("practice", "make", tmp_path / "new", *MAKE)
    assert done.code == 0
    assert "seed 11" in done.err and "case-01" in done.out
    for name in ("case-01.toml", "case-01.key.toml"):
        assert (tmp_path / "new" / name).read_bytes() == (folder / name).read_bytes()
    (tmp_path / "new" / "case-01.toml").write_text("mine")
    (tmp_path / "new" / "case-01.key.toml").unlink()
    again = cablesim("practice", "make", tmp_path / "new", *MAKE)
    assert again.code == 2
    assert "exists already" in again.err and again.err.count("\n") == 1
    assert (tmp_path / "new" / "case-01.toml").read_text() == "mine"
    assert not (tmp_path / "new" / "case-01.key.toml").exists()


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--level", "7"), "level is 7"),
        (("--kinds", "shrot"), "did you mean short"),
        (("--floor", "wet"), "covered or open"),
        (("--bag", "tongs"), "bag is 'tongs'"),
        (("--prefix", "../x"), "letters, digits"),
    ],
)
def test_what_cannot_be_made_is_told_in_one_sentence(cablesim, tmp_path, options, said):
    done = cablesim("practice", "make", tmp_path / "new", "--number", "1", *options)
    assert done.code == 2
    assert said in done.err and done.err.count("\n") == 1
    assert not (tmp_path / "new").exists()


def test_a_log_is_marked_into_a_table_json_csv_and_a_figure(cablesim, folder, tmp_path):
    log = log_in(folder, tmp_path)
    files = ("--csv", tmp_path / "class.csv", "--figure", tmp_path / "class.png")
    done = cablesim("practice", "mark", folder, log, *files, "--json")
    assert done.code == 0
    told = json.loads(done.out)
    assert told["marks"][0]["trainee"] == "Someone"
    assert told["trainees"][0]["next"]["level"] == 1
    assert (tmp_path / "class.csv").read_text().count("\n") == 2
    assert (tmp_path / "class.png").read_bytes().startswith(b"\x89PNG")
    (tmp_path / "copy.json").write_bytes(log.read_bytes())
    copy = tmp_path / "copy.json"
    table = cablesim("practice", "mark", folder / "case-01.key.toml", log, copy)
    alone = cablesim("practice", "mark", folder / "case-01.key.toml", log)
    assert table.out == alone.out and "it counts once" in table.err
    assert "Someone" in table.out and "next: level 1" in table.out
    assert max(len(line) for line in table.out.splitlines()) <= 80
    again = cablesim("practice", "mark", folder, log, *files)
    assert again.code == 2
    assert "exists already" in again.err


def test_what_cannot_be_marked_is_told_in_one_sentence(cablesim, folder, tmp_path):
    broken = tmp_path / "broken.json"
    broken.write_text("{")
    fault = {"kind": "short", "conductors": ["core1", "braid"], "position_m": 999.0}
    beyond = tmp_path / "beyond.json"
    log_in(folder, tmp_path, answer={"verdict": "short", "faults": [fault]}).rename(beyond)
    marked = tmp_path / "marked.json"
    log_in(folder, tmp_path, actions=[{"what": "mark", "position_m": 999.0}]).rename(marked)
    (tmp_path / "nan.json").write_text('{"case": "NaN",\n "x": NaN}')
    (tmp_path / "bare.json").write_text("{}")
    (tmp_path / "null.json").write_text("null")
    other = log_in(folder, tmp_path, trainee_sha256="0" * 64)
    for arguments, said in (
        ((folder, broken), "this is no JSON"),
        ((folder, tmp_path / "nan.json"), "NaN on line 2 is no number of a log"),
        ((folder, tmp_path / "bare.json"), "the log does not say its format"),
        ((folder, tmp_path / "null.json"), "a log is one JSON object, and this is none"),
        ((folder, beyond), "beyond.json, answer, fault 1: position_m is 999.0, but must be on the"),
        ((folder, marked), "marked.json, action 1: position_m is 999.0, but must be on the cable"),
        ((folder, other), "its key is not there"),
        ((folder, tmp_path / "none.json"), "there is no such log"),
        ((folder, tmp_path / "case-01.journal"), "the journal of a drill, not its log"),
        ((folder, tmp_path), "no regular file"),
        ((folder / "case-01.toml", broken), "this is no key"),
        ((tmp_path, broken), "there is no key in"),
    ):
        done = cablesim("practice", "mark", *arguments)
        assert done.code == 2
        assert said in done.err and done.err.count("\n") == 1
