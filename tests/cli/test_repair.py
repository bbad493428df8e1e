"""``cablesim repair``: what to expect, what was read, the record, and what it refuses."""

import json
import tomllib

import pytest

from cablesim.locate import locate
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.writing import save_scenario

FAULT = (
    '[[fault]]\nkind = "short"\nbetween = ["core1", "braid"]\nat_m = 12.4\nresistance_ohm = 55.0\n',
    "",
)


def taken(across, value, meter="pocket", when="after repair"):
    return f'\n[[reading]]\nmeter = "{meter}"\nacross = {across}\n{value}\nwhen = "{when}"\n'


LOOP = '["core1", "core2"]'
BRAID = ('["core1", "braid"]', '["core2", "braid"]')
ALL_WELL = (
    taken(LOOP, "ohm = 88.4")
    + "".join(taken(pair, "over_range = true") for pair in BRAID)
    + taken('["core1+core2", "braid"]', "over_range = true", "insulation_tester")
)


def with_readings(scenario, text, *changes):
    path = scenario(*changes)
    path.write_text(path.read_text(encoding="utf-8") + text, encoding="utf-8")
    return path


def told(cablesim, *arguments):
    done = cablesim("repair", *arguments, "--json")
    assert (done.code, done.err) == (0, "")
    return json.loads(done.out)


def test_json_of_a_splice(cablesim, scenario):
    found = told(cablesim, scenario(), "--removed-m", 0.6, "--joint-ohm", 0.02)
    (mend,) = found["mends"]
    assert mend["cut_m"] == pytest.approx([12.1, 12.7])
    assert not found["located"]
    assert found["heated_length_m"] == {"before": 30.0, "after": pytest.approx(29.4)}
    loop, core1 = found["readings"][:2]
    share = 88.2 * 0.6 / 30.0 - 2 * 0.02
    assert loop["after"] == pytest.approx(loop["healthy"] - share, rel=1e-6)
    assert core1["damaged"] == pytest.approx(73.5, abs=0.1)
    assert core1["shown"] is None
    assert core1["limit"]["over_range"]
    assert {row["verdict"] for row in found["readings"]} == {"pass", None}
    ratio = loop["healthy"] / loop["after"]
    assert found["power_percent"] == pytest.approx(100 * (ratio - 1))
    assert found["accepted"]["after repair"]["verdict"] is None
    said = " ".join(found["cautions"])
    assert "licensed" in said and "prove dead" in said and "discharge" in said
    assert "no source" in found["steps_source"]


def test_too_much_cut_out_leaves_the_tolerance(cablesim, scenario):
    found = told(cablesim, scenario(), "--removed-m", 2.5)
    assert found["readings"][0]["verdict"] == "fail"


def test_without_a_stated_fault_it_works_at_the_located_place(cablesim, scenario):
    found = told(cablesim, scenario(FAULT))
    assert found["located"]
    assert found["mends"][0]["at_m"] == pytest.approx(12.4, abs=0.3)
    assert found["readings"][0]["damaged"] is None


def test_readings_after_the_repair_are_judged_and_all_must_be_there(cablesim, scenario):
    found = told(cablesim, with_readings(scenario, ALL_WELL))
    assert found["accepted"]["after repair"] == {"verdict": "pass", "missing": []}
    assert found["accepted"]["after covering"]["verdict"] is None
    assert [row["verdict"] for row in found["measured"]] == ["pass"] * 4
    some = told(cablesim, with_readings(scenario, taken(LOOP, "ohm = 88.4")))
    after = some["accepted"]["after repair"]
    assert after["verdict"] == "not decided"
    assert len(after["missing"]) == 3


@pytest.mark.parametrize(
    ("value", "verdict"),
    [("ohm = 88.4", "pass"), ("ohm = 84.0", "not decided"), ("ohm = 44.0", "fail")],
)
def test_a_measured_loop(cablesim, scenario, value, verdict):
    path = with_readings(scenario, taken(LOOP, value, when="after covering"))
    found = told(cablesim, path)
    assert found["measured"][0]["verdict"] == verdict
    low, high = found["measured"][0]["between"]
    assert low < float(value.split()[-1]) < high


def test_nobody_locates_by_readings_after_the_repair(scenario):
    before, after = load_scenario(scenario()), load_scenario(with_readings(scenario, ALL_WELL))
    assert after.readings == before.readings
    assert len(after.after_repair) == 4
    one, other = (locate(s.cable, s.readings) for s in (before, after))
    assert one.faults == other.faults


def test_readings_after_the_repair_are_written_and_read_again(scenario, tmp_path):
    found = load_scenario(with_readings(scenario, ALL_WELL))
    save_scenario(found, tmp_path / "again.toml")
    again = load_scenario(tmp_path / "again.toml")
    assert again == found
    assert [entry.when for entry in again.after_repair] == ["after repair"] * 4


def test_the_table_says_all_of_it(cablesim, scenario):
    done = cablesim("repair", with_readings(scenario, ALL_WELL), "--inserted-m", 0.4)
    assert done.code == 0
    words = " ".join(done.out.split())
    for part in (
        "0.4 m of cold cable put in",
        "two joints in each conductor",
        "Readings to expect",
        "Readings taken",
        "After repair pass",
        "After covering not read yet",
        "IEC 60364-6",
        "staggered",
        "Mind",
    ):
        assert part in words


def test_the_record_is_kept_and_never_overwritten(cablesim, refused, scenario, tmp_path):
    path, record = with_readings(scenario, ALL_WELL), tmp_path / "record.toml"
    done = cablesim("repair", path, "--record", record)
    assert done.code == 0
    assert str(record) in done.err
    kept = tomllib.loads(record.read_text(encoding="utf-8"))
    assert kept["done_by"] == ""
    assert [row["verdict"] for row in kept["measured"]] == ["pass"] * 4
    assert [row["when"] for row in kept["accepted"]] == ["after repair", "after covering"]
    assert not any(step["done"] for step in kept["step"])
    was = record.read_bytes()
    assert "exists already" in refused("repair", path, "--record", record)
    assert record.read_bytes() == was
    assert cablesim("repair", path, "--record", record, "--force").code == 0
    whole = path.read_bytes()
    assert "the scenario itself" in refused("repair", path, "--record", path, "--force")
    assert path.read_bytes() == whole


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--joint-ohm", -1), "--joint-ohm is -1"),
        (("--removed-m", "nan"), "--removed-m"),
        (("--removed-m", -1), "--removed-m is -1"),
        (("--removed-m", 100), "whole cable"),
        (("--inserted-m", "inf"), "--inserted-m"),
        (("--record", "here.txt"), "ending in .toml"),
    ],
)
def test_refused_options(refused, scenario, arguments, said):
    assert said in refused("repair", scenario(), *arguments)


def test_nothing_to_mend(refused, scenario):
    text = '[cable]\nconstruction = "twin"\nheated_length_m = 30.0\nloop_resistance_ohm = 88.2\n'
    assert "reading" in refused("repair", scenario(text=text))
    sound = text + "".join(
        f'[[reading]]\nmeter = "ohmmeter"\nacross = {across}\n{value}\n'
        for across, value in ((LOOP, "ohm = 88.5"), *((b, "over_range = true") for b in BRAID))
    )
    healthy = sound + (
        '[[reading]]\nmeter = "insulation_tester"\nacross = ["core1+core2", "braid"]\n'
        "over_range = true\n"
    )
    assert "nothing to mend" in refused("repair", scenario(text=healthy))


def test_readings_after_a_repair_are_judged_without_any_of_the_damage(cablesim, scenario):
    text = '[cable]\nconstruction = "twin"\nheated_length_m = 30.0\nloop_resistance_ohm = 88.2\n'
    path = scenario(text=text + '[meter.pocket]\nkind = "ohmmeter"\n' + ALL_WELL)
    found = told(cablesim, path)
    assert found["mends"] == []
    assert found["accepted"]["after repair"]["verdict"] == "pass"
    assert found["readings"][0]["after"] == pytest.approx(found["readings"][0]["healthy"])
    assert "where is not stated" in " ".join(cablesim("repair", path).out.split())


def test_cores_that_nothing_joins_have_no_power(cablesim, scenario):
    apart = ("loop_resistance_ohm = 88.2", 'loop_resistance_ohm = 88.2\nfar_end = "open"')
    path = scenario(apart)
    assert told(cablesim, path)["power_percent"] is None
    assert "Power" not in cablesim("repair", path).out


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (taken(LOOP, "ohm = 88.4", when="tomorrow"), "when is 'tomorrow'"),
        (taken(LOOP, ""), "when is said of a reading without a value"),
        (taken(LOOP, "ohm = 88.4").replace('"after repair"', "3"), "when is 3"),
        (taken('["core1", "braid"]', "trip_volt = 900", "withstand_tester"), "when is not a known"),
    ],
)
def test_malformed_readings_after_the_repair(refused, scenario, text, said):
    assert said in refused("repair", with_readings(scenario, text))


def test_the_figure_is_drawn_and_not_over_another(cablesim, refused, scenario, tmp_path):
    path, image = with_readings(scenario, ALL_WELL), tmp_path / "repair.png"
    assert cablesim("repair", path, "--figure", image).code == 0
    assert image.read_bytes().startswith(b"\x89PNG")
    assert "exists already" in refused("repair", path, "--figure", image)
    assert "ending in .png" in refused("repair", path, "--figure", tmp_path / "repair.svg")


def test_where_no_damage_is_stated_no_column_is_left_empty(cablesim, tmp_path):
    assert cablesim("new", tmp_path / "k.toml", "--like", "start/kitchen").code == 0
    shown, record = cablesim("repair", tmp_path / "k.toml").out, tmp_path / "record.toml"
    assert "Damaged" not in shown
    assert "as before, on the same supply" in shown
    # Names of terminals stay whole, and nothing is cut off at 80 columns.
    assert "core1+core2" in shown and shown.count("Within") == 1
    assert cablesim("repair", tmp_path / "k.toml", "--record", record).code == 0
    kept = record.read_text()
    assert kept.startswith("# The record of a repair")
    (mend,) = tomllib.loads(kept)["mend"]
    assert len(str(mend["at_m"])) <= 7
