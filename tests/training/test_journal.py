"""The journal: what was shown is on disk, what is torn was never shown, what is wrong is said."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from training.drill_cases import SAFE, a_case, three_readings

from cablesim.errors import InputError
from cablesim.training import acts
from cablesim.training.drill import replayed
from cablesim.training.journal import Journal, Opening, acts_of, read_journal
from cablesim.training.playing import Drill, world_of
from cablesim.training.recording import log_of

CASE = a_case()
OPENING = Opening(CASE.name, CASE.key.trainee_sha256, "Ada")
DONE = (*SAFE, acts.Take("ohmmeter"), *three_readings(), acts.Mark(7.4, within_m=0.2))


@pytest.fixture
def path(tmp_path):
    path = tmp_path / "hall.journal"
    with Journal(path, OPENING) as journal:
        for act in DONE:
            journal.append([act])
    return path


def test_a_drill_goes_on_where_it_was_left(path):
    drill = Drill.at(CASE, path, trainee="somebody else")
    assert drill.acts == DONE and drill.trainee == "Ada"
    assert drill.state == replayed(world_of(CASE), DONE)
    drill.do(drill.hear("sheet"))
    drill.do(drill.hear("read c1 b"))
    drill.journal.close()
    with Journal(path, OPENING) as journal:
        assert acts_of(journal.entries) == (*DONE, acts.Touch(("core1", "braid")), acts.Read())


@given(st.data())
@settings(max_examples=30)
def test_a_journal_torn_anywhere_holds_every_line_that_was_whole(tmp_path_factory, data):
    path = tmp_path_factory.mktemp("torn") / "hall.journal"
    with Journal(path, OPENING) as journal:
        for act in DONE[:8]:
            journal.append([act])
    whole = path.read_bytes()
    cut = data.draw(st.integers(0, len(whole)))
    path.write_bytes(whole[:cut])
    kept = max(0, whole[:cut].count(b"\n") - 1)
    with Journal(path, OPENING) as journal:
        assert acts_of(journal.entries) == DONE[:kept]
        for act in DONE[kept:8]:
            journal.append([act])
    assert path.read_bytes() == whole


@pytest.mark.parametrize(
    ("number", "line", "said"),
    [
        (1, "{}", "does not begin"),
        (1, '{"journal": 1, "case": "attic"}', "of another case, called attic"),
        (3, "nonsense", "line 3 is no JSON object"),
        (3, "[]", "line 3 is no JSON object"),
        (3, '{"acts": 3}', "line 3 is no entry"),
        (3, '{"acts": [], "when": 2}', "line 3 is no entry"),
        (3, '{"acts": [{"act": "dig"}]}', "line 3: act is"),
        (3, '{"acts": [], "line": -1}', "line 3 names no line"),
        (3, "[" * 100_000, "line 3 is no JSON object"),
    ],
)  # fmt: skip
def test_a_spoilt_journal_is_refused_in_one_sentence_and_left_as_it_is(path, number, line, said):
    lines = path.read_text().splitlines()
    lines[number - 1] = line
    path.write_text("\n".join(lines) + "\n")
    before = path.read_bytes()
    with pytest.raises(InputError) as raised:
        Journal(path, OPENING)
    assert said in str(raised.value) and "--journal" in str(raised.value)
    assert path.read_bytes() == before


def test_two_drills_do_not_share_a_journal(path):
    pytest.importorskip("fcntl")
    with Journal(path, OPENING), pytest.raises(InputError, match="another drill"):
        Journal(path, OPENING)


def test_begun_anew_it_is_empty(path):
    with Journal(path, OPENING, anew=True):
        pass
    assert read_journal(path, OPENING)[1] == ()


@pytest.mark.parametrize("anew", [False, True])
@pytest.mark.parametrize(
    "held",
    [
        b"Tuesday: ring the customer",
        b"notes\nmore notes\n",
        b'{"format": 1, "case": "hall"}\n',
        b'{"journal": 1, "case": "attic", "trainee_sha256": "0"}\n',
        b"\xff\xfe",
    ],
)
def test_what_is_no_journal_of_this_case_is_never_replaced(tmp_path, held, anew):
    path = tmp_path / "mine.journal"
    path.write_bytes(held)
    with pytest.raises(InputError, match="name another --journal"):
        Journal(path, OPENING, anew=anew)
    assert path.read_bytes() == held


def test_a_journal_is_named_like_nothing_else(tmp_path):
    for name in ("hall.toml", "hall.key.toml", "notes.txt", "hall"):
        with pytest.raises(InputError, match=r"ending in \.journal"):
            Journal(tmp_path / name, OPENING, anew=True)
        assert not (tmp_path / name).exists()


def test_a_name_that_no_log_can_hold_is_refused_at_the_beginning(tmp_path):
    path = tmp_path / "hall.journal"
    with pytest.raises(InputError, match="at most 100 characters"):
        Drill.at(CASE, path, trainee="x" * 101)
    assert not path.exists()
    with Drill.at(CASE, path, trainee="x" * 100).journal:
        pass


def test_a_journal_knows_no_truth(path):
    # The place and the resistance of the short of this case, 7.4 m and 55 ohm, and its kind.
    told = [json.loads(line) for line in path.read_text().splitlines()[1:-1]]
    assert "7.4" not in json.dumps(told) and "55" not in json.dumps(told)


def test_a_log_counts_every_minute_once_and_holds_readings_and_answer():
    done = (*DONE, acts.Suspect("short", ("core1", "braid")))
    log = log_of(CASE, done, "Ada")
    assert sum(action.minutes for action in log.actions) == replayed(world_of(CASE), done).minutes
    assert [a.reading.across for a in log.actions if a.__struct_config__.tag == "read"] == [
        ["core1", "core2"], ["core1", "braid"], ["core2", "braid"],
    ]  # fmt: skip
    assert log.answer.verdict == "short" and log.answer.locatable
    assert log.answer.faults[0].interval_m == pytest.approx((7.2, 7.6))


@pytest.mark.parametrize(
    ("said", "verdict", "locatable", "places"),
    [
        ([], None, None, None),
        ([acts.Suspect("short", ("core1", "braid"))], None, None, None),
        ([acts.Suspect("short", ("core1", "braid")), acts.Mark()], "short", False, [None]),
        ([acts.Suspect("healthy")], "healthy", True, []),
        ([acts.Suspect("undecided"), acts.Mark()], "undecided", False, []),
        (
            [
                acts.Suspect("break", ("core1",)),
                acts.Suspect("short", ("core1", "braid"), also=True),
                acts.Mark(3.0),
            ],
            "several",
            True,
            [3.0, 3.0],
        ),
    ],
)
def test_the_answer_is_what_was_said_last(said, verdict, locatable, places):
    from cablesim.training.log import dump_log, parse_log

    log = parse_log(dump_log(log_of(CASE, said)))
    if verdict is None:
        assert log.answer is None
        return
    assert (log.answer.verdict, log.answer.locatable) == (verdict, locatable)
    assert [found.position_m for found in log.answer.faults] == places
