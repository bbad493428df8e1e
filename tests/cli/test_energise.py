"""``cablesim energise``: its JSON, its table, its figure, and what it refuses."""

import json
import struct

import pytest

SUPPLIED = ("loop_resistance_ohm = 88.2", "loop_resistance_ohm = 88.2\nsupply_volt = 230.0")
# The short of the file, between the cores instead, and without resistance worth the name.
CORES = (
    ('between = ["core1", "braid"]', 'between = ["core1", "core2"]'),
    ("resistance_ohm = 55.0", "resistance_ohm = 1e-6"),
)


def told(cablesim, *arguments):
    done = cablesim("energise", *arguments, "--json")
    assert (done.code, done.err) == (0, "")
    return json.loads(done.out)


def test_json_of_a_short_between_the_cores(cablesim, scenario):
    found = told(cablesim, scenario(SUPPLIED, *CORES))
    assert found["supply_volt"] == 230.0
    near, far = found["stretches"]
    assert (near["from_m"], near["to_m"], far["to_m"]) == (0.0, 12.4, 30.0)
    assert (near["state"], far["state"]) == ("hotter", "cold")
    # 2.5 m of 1.5 mm2 in the cold lead beside 36.456 ohm up to the short.
    ohm = 88.2 * 12.4 / 30.0 + 2 * 2.5 * 0.0133
    assert found["ampere"]["damaged"] == pytest.approx(230.0 / ohm, rel=1e-6)
    assert found["watt"]["damaged"] == pytest.approx(230.0**2 / ohm, rel=1e-6)
    per_m = (230.0 / ohm) ** 2 * 88.2 / 30.0
    assert near["watt_per_m"]["damaged"] == pytest.approx(per_m, rel=1e-6)
    assert near["watt_per_m"]["healthy"] == pytest.approx(19.96, abs=0.01)
    assert found["rcd"] == {"rating_milliamp": 30.0, "outcome": "holds"}
    assert found["fuse"] is None
    assert found["faults"][0]["ampere"] == pytest.approx(230.0 / ohm, rel=1e-4)


def test_json_of_a_short_to_the_braid_trips_the_device(cablesim, scenario):
    found = told(cablesim, scenario(SUPPLIED), "--fuse-ampere", 4)
    assert found["rcd"]["outcome"] == "trips"
    assert found["residual_milliamp"]["damaged"] == pytest.approx(
        1e3 * found["faults"][0]["ampere"], rel=1e-3
    )
    assert found["fuse"] == {"rating_ampere": 4.0, "over": True}
    said = " ".join(found["cautions"])
    assert "licensed" in said
    assert "Never bridge the device" in said
    assert "larger fuse is no remedy" in said


def test_a_healthy_long_cable_may_trip_a_class_a_device_by_its_capacitance(cablesim, scenario):
    longer = (
        "heated_length_m = 30.0",
        "heated_length_m = 400.0\ncapacitance_core_braid_pf_per_m = 150.0",
    )
    away = ("resistance_ohm = 55.0", "resistance_ohm = 1e9")
    # Few ohms, for a load that floor cables have.
    supplied = (SUPPLIED[0], SUPPLIED[1].replace("88.2", "30.0"))
    path = scenario(supplied, longer, away)
    found = told(cablesim, path, "--rcd-milliamp", 5)
    # Half of the voltage on average: core1 from 230 V to half, of 60 nF at 50 Hz some 4.5 mA.
    assert 4.0 < found["residual_milliamp"]["healthy"] < 6.0
    assert found["rcd"]["outcome"] == "may trip"
    assert told(cablesim, path)["rcd"]["outcome"] == "holds"


def test_the_table_says_the_same_in_words(cablesim, scenario):
    done = cablesim("energise", scenario(*CORES), "--volt", 230, "--fuse-ampere", 10)
    assert (done.code, done.err) == (0, "")
    for words in ("Hall: a nail in core1", "0.00 to 12.40 m", "12.40 to 30.00 m", "cold",
                  "hotter", "fuse of 10 A", "within", "holds", "licensed"):  # fmt: skip
        assert words in done.out
    assert max(map(len, done.out.splitlines())) <= 80


def test_other_lead_live(cablesim, scenario):
    one = told(cablesim, scenario(SUPPLIED))
    other = told(cablesim, scenario(SUPPLIED), "--live", "core2")
    assert other["live"] == "core2"
    # From core2 the fault lies behind 47.6 m of core instead of 12.4 m.
    assert other["residual_milliamp"]["damaged"] < one["residual_milliamp"]["damaged"] / 2


def test_the_figure_is_an_image(cablesim, scenario, tmp_path):
    figure = tmp_path / "heat.png"
    done = cablesim("energise", scenario(SUPPLIED), "--figure", figure)
    assert done.code == 0
    image = figure.read_bytes()
    assert image.startswith(b"\x89PNG")
    assert struct.unpack(">II", image[16:24]) == (1440, 810)


def test_without_faults_it_says_so(cablesim, scenario):
    text = scenario().read_text()
    fault = text[text.index("[[fault]]") : text.index("[meter.pocket]")]
    done = cablesim("energise", scenario((fault, ""), SUPPLIED), "--json")
    assert done.code == 0
    assert "no fault" in done.err
    found = json.loads(done.out)
    assert found["watt"]["healthy"] == found["watt"]["damaged"]
    assert [row["state"] for row in found["stretches"]] == ["as healthy"]


def test_it_refuses_in_one_sentence(refused, scenario):
    assert "supply_volt" in refused("energise", scenario())
    assert "volt is -5" in refused("energise", scenario(), "--volt", -5)
    assert "core1 or core2" in refused("energise", scenario(), "--volt", 230, "--live", "braid")
    assert "--rcd-milliamp is 0" in refused(
        "energise", scenario(), "--volt", 230, "--rcd-milliamp", 0
    )
    assert "--fuse-ampere" in refused("energise", scenario(), "--volt", 230, "--fuse-ampere", 0)


@pytest.mark.parametrize("volt", ["1e300", "1e-300", "nan", "0", "-5", "1001"])
def test_a_voltage_that_no_floor_has_is_refused(refused, scenario, volt):
    assert refused("energise", scenario(), "--volt", volt).startswith("--volt is ")
    assert refused("heat", scenario(), "--energised", "--volt", volt).startswith("--volt is ")
