"""``cablesim limits``: the table, its JSON, its figure, and places off the cable."""

import json

import pytest


def test_json_has_a_cell_for_each_set_and_kind(cablesim, scenario):
    done = cablesim("limits", scenario(), "--json")
    assert (done.code, done.err) == (0, "")
    told = json.loads(done.out)
    kinds = [[fault["kind"] for fault in kind] for kind in told["kinds"]]
    assert kinds[0] == ["short"]
    assert kinds[-1] == ["break", "short"]
    assert {fault["position_m"] for kind in told["kinds"] for fault in kind} == {12.4}
    rows = {row["set"] or row["readings"][0]["meter"]: row for row in told["rows"]}
    for row in told["rows"]:
        assert len(row["half_width_m"]) == len(row["places"]) == len(kinds)
        for wide, bare, placed in zip(
            row["half_width_m"], row["without_prior_m"], row["places"], strict=True
        ):
            assert placed == (wide is not None and wide < told["open_m"])
            assert wide is None or bare is None or bare >= wide * (1 - 1e-6)
    ohms, all_of_them = rows["all ohms"], rows["everything"]
    assert ohms["places"][0]
    assert not ohms["places"][1], "ohms from one end do not place a touch between the cores"
    assert ohms["half_width_m"][0] == pytest.approx(0.18, abs=0.02)
    assert all_of_them["half_width_m"][0] < ohms["half_width_m"][0]


def test_table_names_every_kind_and_defers(cablesim, scenario):
    done = cablesim("limits", scenario(), "--at", "20")
    assert done.code == 0
    for word in ("short", "break", "leak", "joint", "c1+c2+b", "20.00 m", "licensed practice"):
        assert word in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80


def test_a_single_conductor_has_its_own_readings(cablesim, scenario):
    path = scenario(
        ('"twin"', '"single"'), ('["core1", "core2"]', '["core1", "core1@far"]'),
        ('["core2", "braid"]', '["core1@far", "braid"]'),
    )  # fmt: skip
    done = cablesim("limits", path, "--json")
    told = json.loads(done.out)
    everything = told["rows"][-1]
    assert everything["set"] == "everything"
    assert all(everything["places"])


def test_figure_is_drawn(cablesim, scenario, tmp_path):
    image = tmp_path / "limits.png"
    done = cablesim("limits", scenario(), "--figure", image)
    assert done.code == 0
    assert str(image) in done.err
    assert image.read_bytes().startswith(b"\x89PNG")


def test_place_off_the_cable_is_refused(refused, scenario):
    told = refused("limits", scenario(), "--at", "31")
    assert "--at" in told
    assert "at most 30" in told
