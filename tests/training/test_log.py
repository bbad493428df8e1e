"""Logs: what is written is what is read, and what is wrong is told in one sentence."""

import json

import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Short
from cablesim.errors import InputError
from cablesim.instruments.meters import Ohmmeter
from cablesim.scenario.practice import Practice
from cablesim.scenario.scenario import Scenario
from cablesim.training.case import Case, load_case, save_case
from cablesim.training.log import dump_log, parse_log, played

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
TOLD = Scenario.of(
    TWIN,
    meters=[Ohmmeter(name="pocket")],
    title="A bathroom",
    practice=Practice("It trips as soon as it is switched on."),
)
CASE = Case.of("bath", TOLD, [Short(("core1", "braid"), 12.4, 55.0)], level=1, seed=7)


def log_text(**changes):
    reading = {"meter": "pocket", "across": ["core1", "braid"], "ohm": 74.4}
    raw = {
        "format": 1,
        "case": "bath",
        "trainee_sha256": CASE.key.trainee_sha256,
        "trainee": "A. Person",
        "actions": [
            {"what": "step", "did": "isolate", "minutes": 3.0},
            {"what": "read", "reading": reading, "minutes": 2.0, "seen": "74.4 ohm"},
            {"what": "read", "reading": reading | {"ohm": 74.1}, "zeroed": True, "minutes": 2.0},
            {"what": "hypothesis", "verdict": "short", "conductors": ["core1", "braid"]},
            {"what": "mark", "position_m": 12.3, "at_m": [1.0, 0.4]},
            {"what": "open", "tiles": [[3, 2], [4, 2]], "minutes": 20.0, "found": True},
            {"what": "danger", "rule": "insulation test with people near"},
            {"what": "repair", "position_m": 12.4, "minutes": 30.0},
            {"what": "retest", "reading": reading | {"ohm": 1e7}, "passed": True},
        ],
        "answer": {
            "verdict": "short",
            "faults": [
                {
                    "kind": "short",
                    "conductors": ["core1", "braid"],
                    "position_m": 12.3,
                    "interval_m": [12.1, 12.5],
                }
            ],
            "repaired": True,
        },
    }
    return json.dumps(raw | changes)


def test_what_is_written_is_what_is_read():
    log = parse_log(log_text())
    assert parse_log(dump_log(log)) == log
    assert dump_log(parse_log(dump_log(log))) == dump_log(log)


def test_a_log_is_counted_against_its_case():
    done = played(parse_log(log_text()), CASE.trainee)
    assert [r.shown for r in done.readings] == [74.4, 74.1]
    assert done.readings[1].probe.meter.lead_ohm == 0.0
    assert done.readings[1].probe.meter.name != done.readings[0].probe.meter.name
    assert done.minutes == 57.0
    assert done.tiles == {(3, 2), (4, 2)}
    assert len(done.dangers) == 1 and not done.stopped


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"format": 2}, "format is 2, but must be 1"),
        ({"trainee_sha256": "abc"}, "trainee_sha256 is 'abc'"),
        ({"aktions": []}, "aktions is not a known key; did you mean actions"),
        ({"actions": {}}, "actions is {}, but must be a list"),
        ({"actions": [{"what": "guess"}]}, "action 1: what is 'guess', but must be one of step"),
        ({"actions": [{"what": "step"}]}, "action 1: did is missing"),
        ({"actions": [{"what": "step", "did": "zero", "minutes": -1}]}, "minutes is -1"),
        ({"actions": [{"what": "read", "reading": 3}]}, "reading is 3, but must be a JSON object"),
        (
            {"actions": [{"what": "read", "reading": {"meter": "pocket", "across": "core1"}}]},
            "action 1: across is 'core1'",
        ),
        ({"actions": [{"what": "open", "tiles": [[1, "b"]]}]}, "action 1: tiles"),
        ({"answer": []}, "answer is [], but must be a JSON object"),
        ({"answer": {"verdict": "shortt"}}, "did you mean short"),
        ({"answer": {"verdict": "short"}}, "a verdict without a place"),
        (
            {
                "answer": {
                    "verdict": "short",
                    "faults": [
                        {
                            "kind": "short",
                            "conductors": ["core1", "braid"],
                            "position_m": 1.0,
                            "interval_m": [2.0, 1.0],
                        }
                    ],
                }
            },
            "interval_m is [2.0, 1.0], but must be [low, high]",
        ),
    ],
)
def test_what_is_wrong_is_told_in_one_sentence(changes, said):
    with pytest.raises(InputError) as caught:
        parse_log(log_text(**changes), file="answers.json")
    text = str(caught.value)
    assert said in text
    assert "answers.json" in text
    assert "\n" not in text


@pytest.mark.parametrize("text", ["", "[]", "nothing", "{", b"\xff\xfe", '{"format": 1}', "9" * 50])
def test_what_is_no_log_is_told_in_one_sentence(text):
    with pytest.raises(InputError) as caught:
        parse_log(text)
    assert "\n" not in str(caught.value)


def test_a_reading_that_the_cable_cannot_have_is_refused():
    wrong = {"meter": "pocket", "across": ["core1", "core9"], "ohm": 3.0}
    log = parse_log(log_text(actions=[{"what": "read", "reading": wrong}]))
    with pytest.raises(InputError, match="action 1: across: terminal is 'core9'"):
        played(log, CASE.trainee, "answers.json")


def test_a_log_of_another_case_is_refused():
    log = parse_log(log_text(trainee_sha256="0" * 64))
    with pytest.raises(InputError, match="of another case, called bath"):
        played(log, CASE.trainee)


class TestCase:
    """Two files that belong together, and nothing of the truth in the trainee's."""

    def test_it_is_read_as_it_was_written(self, tmp_path):
        told, key = save_case(CASE, tmp_path)
        assert load_case(key) == CASE
        assert told.read_text() == CASE.trainee_text

    def test_the_trainee_is_not_told(self, tmp_path):
        told, _ = save_case(CASE, tmp_path)
        text = told.read_text()
        for hidden in ("fault", "12.4", "55", "seed", "level", "sha256", "true", "key"):
            assert hidden not in text

    def test_nothing_is_replaced(self, tmp_path):
        (tmp_path / "bath.toml").write_text("mine")
        with pytest.raises(InputError, match="exists already"):
            save_case(CASE, tmp_path)
        assert (tmp_path / "bath.toml").read_text() == "mine"
        assert not (tmp_path / "bath.key.toml").exists()
        save_case(CASE, tmp_path, force=True)

    def test_a_file_that_was_changed_is_told(self, tmp_path):
        told, key = save_case(CASE, tmp_path)
        told.write_text(told.read_text().replace("88.2", "88.3"))
        with pytest.raises(InputError, match="not the file that the key was made for"):
            load_case(key)
        key.write_text(key.read_text().replace("88.2", "88.3"))
        with pytest.raises(InputError, match="key does not belong"):
            load_case(key)

    def test_the_trainees_file_is_no_key(self, tmp_path):
        told, _ = save_case(CASE, tmp_path)
        with pytest.raises(InputError, match="this is no key"):
            load_case(told)
