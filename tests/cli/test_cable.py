"""``cablesim cable``: every value with its origin; and what commands say of odd cables."""

import json

import pytest

MADE = """\
[cable]
construction = "twin"
heated_length_m = 30.0
core_alloy = "copper"
insulation = "XLPE"
supply_volt = 230.0
temperature_c = 45.0
braid_ohm_per_m = 0.03

[cable.geometry]
core_awg = 30
insulation_mm = 0.8
cold_lead_mm2 = 1.5
cold_lead_class = 5
"""


def values(told):
    return {row["name"]: row for row in told["values"]}


def test_every_value_says_where_it_came_from(cablesim, scenario):
    path = scenario(text=MADE)
    told = json.loads(cablesim("cable", path, "--json").out)
    rows = values(told)
    origins = {name: row["from"] for name, row in rows.items()}
    assert origins == {
        "core_ohm_per_m": "geometry",
        "core_ohm_per_m_while_read": "follows",
        "cold_lead_ohm_per_m": "geometry",
        "braid_ohm_per_m": "given",
        "capacitance_core_braid_pf_per_m": "geometry",
        "capacitance_core_core_pf_per_m": "geometry",
        "insulation_gigaohm_m": "geometry",
        "loss_tangent": "geometry",
        "velocity_factor": "geometry",
        "inductance_henry_per_m": "follows",
    }
    cold, warm = rows["core_ohm_per_m"]["value"], rows["core_ohm_per_m_while_read"]["value"]
    assert warm == pytest.approx(cold * (1 + 0.00393 * 25))
    # 30 AWG is 0.2546 mm of copper.
    assert cold == pytest.approx(0.3386, rel=1e-3)
    assert told["loop_resistance_ohm"] == pytest.approx(60 * cold)
    assert told["rated"]["watt"] == pytest.approx(230**2 / (60 * cold))
    assert told["rated"]["watt_per_m"] == pytest.approx(230**2 / (60 * cold) / 30)


def test_limits_say_their_source_and_whether_they_are_kept(cablesim, scenario):
    told = json.loads(cablesim("cable", scenario(text=MADE), "--json").out)
    kept = {limit["what"]: limit["kept"] for limit in told["limits"]}
    assert kept == {
        "load of heating cable in concrete": False,  # 87 W/m
        "cold lead of 1.5 mm2": True,
        "insulation of all cores to braid, healthy": True,
        "highest field at a core": True,
    }
    assert all("from memory" in limit["source"] for limit in told["limits"])
    shown = cablesim("cable", scenario(text=MADE)).out
    assert "NOT KEPT: load of heating cable in concrete: 86.8 W/m; at most 54 W/m" in shown
    assert "licensed practice" in shown


def test_a_label_wins_over_the_make_and_a_contradiction_is_named(cablesim, scenario):
    labelled = scenario(("supply_volt", "loop_resistance_ohm = 88.2\nsupply_volt"), text=MADE)
    told = json.loads(cablesim("cable", labelled, "--json").out)
    row = values(told)["core_ohm_per_m"]
    assert (row["from"], row["value"]) == ("given", pytest.approx(1.47))
    assert told["loop_resistance_ohm"] == pytest.approx(88.2)
    (remark,) = told["remarks"]
    assert "rated at 1.47 ohm/m" in remark
    assert "0.3386 ohm/m; the rating is used" in remark


def test_without_a_make_all_but_the_rating_is_usual(cablesim, scenario):
    done = cablesim("cable", scenario())
    assert (done.code, done.err) == (0, "")
    assert "core1 and core2, at 20 C       1.47 ohm/m  as rated" in done.out
    assert done.out.count("usual of a twin cable") == 7


def test_a_parallel_cable_heats_between_its_cores(cablesim, scenario):
    text = """
[cable]
construction = "parallel"
heated_length_m = 20.0
supply_volt = 230.0
[cable.geometry]
core_mm2 = 1.25
core_strands = 19
heating_wire_ohm_per_m = 4900.0
zone_m = 0.75
"""
    told = json.loads(cablesim("cable", scenario(text=text), "--json").out)
    heating = values(told)["heating_ohm_m"]
    assert (heating["from"], heating["value"]) == ("geometry", pytest.approx(4900 * 0.75**2))
    assert told["rated"]["watt_per_m"] == pytest.approx(230**2 / (4900 * 0.75**2))
    assert values(told)["core_ohm_per_m"]["why"].startswith("1.25 mm2 of 19 wires, copper")


def test_what_cannot_be_used_is_one_sentence(refused, scenario):
    assert "core_alloy" in refused("cable", scenario(("core_alloy", "#"), text=MADE))
    assert "millimetres" in refused("cable", scenario(("= 0.8", "= 0.0008"), text=MADE))


ODD = [
    (("= 30.0", "= 40000.0"), "A heated length of 40000 m"),
    (("= 30.0", "= 30.0\ncold_lead_m = 250.0"), "A cold lead of 250 m"),
    (("= 88.2", "= 0.882\nsupply_volt = 230.0"), "gives 2e+03 W per metre"),
]


@pytest.mark.parametrize(
    ("command", "change", "words"),
    [(command, *odd) for command in ("check", "predict", "cable") for odd in ODD]
    + [("locate", *ODD[-1])],
)
def test_a_cable_unlike_any_floor_cable_is_cautioned_about(
    cablesim, scenario, command, change, words
):
    done = cablesim(command, scenario(change))
    assert done.code == 0
    assert any(line.startswith("caution: ") and words in line for line in done.err.split("\n"))


@pytest.mark.parametrize("command", ["check", "predict", "locate"])
def test_a_usual_cable_is_not(cablesim, scenario, command):
    assert "caution" not in cablesim(command, scenario()).err
