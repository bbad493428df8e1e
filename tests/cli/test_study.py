"""``cablesim study``: tables, rows, figures, and options that do not fit together."""

import json

import pytest

from cablesim.benchmark.study.csv_file import from_csv

SMALL = ("--places", "3", "--resistances", "4", "--draws", "5")


def test_one_method_in_all_forms(cablesim, scenario, tmp_path):
    table, image = tmp_path / "map.csv", tmp_path / "map.png"
    path = scenario()
    done = cablesim("study", path, "--method", "murray", "--meter", "good", "--meter", "file",
                    *SMALL, "--csv", table, "--figure", image, "--json")  # fmt: skip
    assert done.code == 0
    assert str(table) in done.err
    assert str(image) in done.err
    (told,) = json.loads(done.out)["maps"]
    assert (told["method"], told["damage"], told["seed"]) == ("murray", "short", 1)
    assert told["meter_class"] == ["good", "file"]
    (found,) = from_csv(table.read_text())
    assert found.to_dict() == told
    assert image.read_bytes().startswith(b"\x89PNG")
    again = cablesim("study", path, "--csv", table)
    assert again.code == 2
    assert "--force" in again.err


@pytest.mark.parametrize(
    "mode",
    [(), ("--first",), ("--sensitivity", "--method", "three_readings", "--places", "2")],
)
def test_tables_name_methods_and_defer(cablesim, scenario, mode):
    small = ("--draws", "5") if "--sensitivity" in mode else SMALL
    done = cablesim("study", scenario(), *mode, *small)
    assert (done.code, done.err) == (0, "")
    for word in ("hree readings", "licensed practice", "seed 1", "independent method"):
        assert word in done.out
    assert max(len(line) for line in done.out.splitlines()) <= 80


@pytest.mark.parametrize(
    ("mode", "small"),
    [(("--damage", "break"), SMALL), (("--first", "--damage", "short"), SMALL),
     (("--sensitivity", "--method", "three_readings"), ("--places", "2", "--draws", "5"))],
)  # fmt: skip
def test_figures_are_drawn(cablesim, scenario, tmp_path, mode, small):
    image = tmp_path / "study.png"
    done = cablesim("study", scenario(), *mode, *small, "--figure", image)
    assert done.code == 0
    assert image.read_bytes().startswith(b"\x89PNG")


@pytest.mark.parametrize(
    ("options", "word"),
    [
        (("--method", "muray"), "did you mean murray"),
        (("--meter", "chep"), "did you mean cheap"),
        (("--damage", "shrt"), "did you mean short"),
        (("--places", "1"), "places"),
        (("--draws", "0"), "draws"),
        (("--seed", "-1"), "seed"),
        (("--first", "--sensitivity"), "one at a time"),
        (("--first", "--method", "murray"), "leave that out"),
        (("--sensitivity", "--resistances", "3"), "leave them out"),
        (("--method", "blavier"), "far end"),
        (("--damage", "cores", "--method", "murray"), "not meant for"),
        (("--figure", "map.jpg"), ".png"),
    ],
)
def test_options_that_do_not_fit_are_refused(refused, scenario, options, word):
    assert word in refused("study", scenario(), *options)
