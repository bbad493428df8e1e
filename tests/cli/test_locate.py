"""``cablesim locate``: the contract of its JSON, the figure, and files that it must not touch."""

import hashlib
import json
import math
import re
import struct

import pytest

VERDICTS = {
    "healthy", "short", "break", "degraded", "joint", "flashover", "several", "undecided",
}  # fmt: skip


def check_fault(fault):
    assert fault["kind"] in VERDICTS - {"healthy", "several", "undecided"}
    assert (fault["between"] is None) != (fault["conductors"] is None)
    low, high = fault["interval_m"]
    assert low <= fault["position_m"] <= high
    assert [low, high] in fault["intervals_m"]
    assert fault["resistance_ohm"] is None or fault["resistance_ohm"] >= 0
    if fault["resistance_ohm"] is None:
        assert fault["resistance_interval_ohm"] is None
    else:
        low, high = fault["resistance_interval_ohm"]
        assert (low or 0.0) <= fault["resistance_ohm"] <= (high or math.inf)


def check_contract(told):
    """The object of the published contract, in types and in what must agree."""
    assert told["verdict"] in VERDICTS
    assert 0 <= told["probability"] <= 1
    assert isinstance(told["locatable"], bool)
    assert 0 < told["level"] < 1
    for fault in told["faults"]:
        check_fault(fault)
    shares = [other["probability"] for other in told["alternatives"]]
    assert shares == sorted(shares, reverse=True)
    for other in told["alternatives"]:
        assert other["verdict"] in VERDICTS
        for fault in other["faults"]:
            check_fault(fault)
    coming = told["next_reading"]
    if coming is not None:
        assert isinstance(coming["meter"], str)
        assert len(coming["across"]) >= 2
        assert coming["why"]
    assert told["cautions"]
    assert all(isinstance(caution, str) for caution in told["cautions"])


def png_size(image):
    assert image.startswith(b"\x89PNG\r\n\x1a\n")
    return struct.unpack(">II", image[16:24])


LAID = """
format = 1
[cable]
construction = "twin"
heated_length_m = 24.0
loop_resistance_ohm = 110.2
[[reading]]
"""


# A bridge balances wherever the short is as low as it likes; a cable that is warm up to a short
# of the cores says that it is low; three ohm readings leave both ends.
@pytest.mark.parametrize(
    ("reading", "ends", "words"),
    [
        (
            'meter = "loop_bridge"\nacross = ["core2", "core1", "braid"]\nmethod = "murray"\n'
            "arms_ohm = [1000, 500]",
            (False, False),
            r"Resistance +not told by the readings",
        ),
        (
            'meter = "heat"\nacross = ["core1", "core2"]\nwarm_to_m = 7.0',
            (False, True),
            r"Resistance +at most \d+\.\d ohm \(95 %\)",
        ),
        (
            None,
            (True, True),
            r"Resistance +about 5[\d.]+ ohm \(95 % within 5[\d.]+ to 5[\d.]+ ohm\)",
        ),
    ],
    ids=["neither end", "upper end", "both ends"],
)
def test_a_resistance_is_told_only_as_far_as_readings_tell_it(
    cablesim, scenario, tmp_path, reading, ends, words
):
    path = tmp_path / "one.toml" if reading else scenario()
    if reading:
        path.write_text(LAID + reading + "\n", encoding="utf-8")
    told = json.loads(cablesim("locate", path, "--json").out)
    check_contract(told)
    (fault,) = told["faults"]
    assert fault["resistance_ohm"] > 0
    assert tuple(end is not None for end in fault["resistance_interval_ohm"]) == ends
    assert re.search(words, cablesim("locate", path).out)


def test_a_single_reading_does_not_contradict_itself(cablesim, tmp_path):
    path = tmp_path / "one.toml"
    reading = 'meter = "insulation_tester"\nacross = ["core1+core2", "braid"]\ntest_volt = 500.0\n'
    path.write_text(f"{LAID}{reading}megohm = 2e9\n", encoding="utf-8")
    page = tmp_path / "page.html"
    told = cablesim("locate", path, "--page", page, "--budget").out
    assert "undecided: nothing known explains this reading" in told
    assert "contradict" not in told
    assert "contradict" not in page.read_text(encoding="utf-8")


def test_json_places_the_short_and_marks_it(cablesim, scenario):
    done = cablesim("locate", scenario(), "--json")
    assert (done.code, done.err) == (0, "")
    told = json.loads(done.out)
    check_contract(told)
    assert told["verdict"] == "short"
    assert told["locatable"]
    (fault,) = told["faults"]
    assert fault["between"] == ["core1", "braid"]
    assert fault["position_m"] == pytest.approx(12.4, abs=0.3)
    marked = told["marked"]
    assert marked["true_verdict"] == "short"
    assert marked["right"]
    assert marked["true_position_m"] == 12.4
    assert marked["error_m"] == pytest.approx(fault["position_m"] - 12.4)
    assert marked["inside_interval"]


def test_what_cannot_be_located_is_still_an_answer(cablesim, scenario):
    text = scenario().read_text()
    last_two = text[text.index('[[reading]]\nmeter = "pocket"\nacross = ["core1", "braid"]') :]
    fault = text[text.index("[[fault]]") : text.index("[meter.pocket]")]
    path = scenario((last_two, ""), (fault, ""), ("ohm = 88.5", "over_range = true"))
    done = cablesim("locate", path, "--json")
    assert done.code == 0
    told = json.loads(done.out)
    check_contract(told)
    assert not told["locatable"]
    assert "marked" not in told
    # The reading to take next is one with the meter in the bag, where it is an ohmmeter.
    assert told["next_reading"]["meter"] != "ohmmeter"
    words = cablesim("locate", path)
    assert words.code == 0
    assert "left open by these readings" in words.out
    assert "Read next" in words.out


def test_words_give_verdict_place_interval_and_cautions(cablesim, scenario):
    done = cablesim("locate", scenario())
    assert (done.code, done.err) == (0, "")
    for wanted in (
        "short between core1 and braid (",
        "m from the cold joint",
        "95 % within",
        "Truth",
        "licensed practice",
    ):
        assert wanted in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_figure_is_a_png_and_is_never_overwritten_unasked(cablesim, refused, scenario, tmp_path):
    figure = tmp_path / "hall.png"
    path = scenario()
    done = cablesim("locate", path, "--json", "--figure", figure)
    assert done.code == 0
    assert str(figure) in done.err
    json.loads(done.out)
    first = figure.read_bytes()
    width, height = png_size(first)
    assert 1000 <= width <= 3000
    assert 500 <= height <= 3000
    figure.write_bytes(b"mine")
    assert "--force" in refused("locate", path, "--figure", figure)
    assert figure.read_bytes() == b"mine"
    assert cablesim("locate", path, "--figure", figure, "--force").code == 0
    assert figure.read_bytes() == first
    assert sorted(entry.name for entry in tmp_path.iterdir()) == ["hall.png", "hall.toml"]


@pytest.mark.parametrize("name", ["hall.pdf", "hall", "missing/hall.png", "folder.png"])
def test_a_figure_that_cannot_be_is_refused_before_the_work(refused, scenario, tmp_path, name):
    (tmp_path / "folder.png").mkdir()
    assert "--figure" in refused("locate", scenario(), "--force", "--figure", tmp_path / name)


def test_readings_without_a_value_are_refused_by_name_of_the_file(refused, scenario):
    path = scenario(("ohm = 88.5", ""), ("ohm = 73.7", ""), ("ohm = 125.5", ""))
    message = refused("locate", path)
    assert str(path) in message
    assert "reading" in message


def test_budget_and_methods_stand_beside_the_answer(cablesim, scenario):
    path = scenario()
    told = json.loads(cablesim("locate", path, "--json", "--budget", "--method", "all").out)
    check_contract(told)
    budget = told["budget"]
    assert sum(entry["share"] for entry in budget["inputs"]) == pytest.approx(1.0)
    low, high = told["faults"][0]["interval_m"]
    assert 2 * budget["expanded_m"] == pytest.approx(high - low, rel=0.3)
    methods = {each["method"]: each for each in told["methods"]}
    by_hand = methods["three_readings"]["estimate"]["faults"][0]
    assert by_hand["position_m"] == pytest.approx(told["faults"][0]["position_m"], abs=0.05)
    assert "loop bridge" in methods["murray"]["declined"]
    words = cablesim("locate", path, "--budget", "--method", "three_readings")
    assert words.code == 0
    for wanted in ("Error budget", "leads, pocket", "Combined standard", "three readings"):
        assert wanted in words.out
    assert max(len(line) for line in words.out.splitlines()) <= 80


def test_without_asking_there_is_neither(cablesim, scenario):
    told = json.loads(cablesim("locate", scenario(), "--json").out)
    assert not {"budget", "methods"} & set(told)


def test_a_budget_of_nothing_is_declined_in_words(cablesim, scenario):
    text = scenario().read_text()
    fault = text[text.index("[[fault]]") : text.index("[meter.pocket]")]
    path = scenario((fault, ""), ("ohm = 73.7", "over_range = true"),
                    ("ohm = 125.5", "over_range = true"))  # fmt: skip
    told = json.loads(cablesim("locate", path, "--json", "--budget").out)
    assert "declined" in told["budget"]
    assert "No error budget" in cablesim("locate", path, "--budget").out


def test_an_unknown_method_is_refused_with_the_nearest(refused, scenario):
    assert "did you mean murray" in refused("locate", scenario(), "--method", "muray")


def test_a_page_is_written_beside_the_same_json(cablesim, refused, scenario, tmp_path):
    path, page = scenario(), tmp_path / "answer.html"
    plain = cablesim("locate", path, "--json")
    done = cablesim("locate", path, "--json", "--page", page)
    assert (done.code, done.out) == (0, plain.out)
    assert "answer.html" in done.err
    text = page.read_text(encoding="utf-8")
    assert text.startswith("<!DOCTYPE html>") and "12.4" in text
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    assert digest in text
    page.write_text("mine", encoding="utf-8")
    assert "exists already" in refused("locate", path, "--page", page)
    assert page.read_text(encoding="utf-8") == "mine"


def test_a_page_has_a_name_of_its_own(refused, scenario, tmp_path):
    assert "ending in .html" in refused("locate", scenario(), "--page", tmp_path / "answer.pdf")
    assert "no folder" in refused("locate", scenario(), "--page", tmp_path / "none" / "a.html")
