"""``cablesim export``: what it writes, and what it refuses."""

import numpy as np
import pytest
import skrf


@pytest.fixture
def hall(scenario):
    return scenario()


def test_a_netlist_goes_to_the_screen(cablesim, hall):
    done = cablesim("export", hall, "--spice")
    assert done.code == 0
    assert done.out.startswith("* Hall: a nail in core1\n")
    assert done.out.endswith(".end\n")
    assert done.out.count("print reading_") == 3
    assert done.err == ""


def test_a_netlist_goes_to_a_file_once(cablesim, refused, hall, tmp_path):
    out = tmp_path / "hall.cir"
    done = cablesim("export", hall, "--spice", "--rungs", "7", "--out", out)
    assert (done.code, done.out, done.err) == (0, "", f"written to {out}\n")
    before = out.read_bytes()
    assert "exists already" in refused("export", hall, "--spice", "--out", out)
    assert out.read_bytes() == before
    assert cablesim("export", hall, "--spice", "--out", out, "--force").code == 0
    assert out.read_bytes() != before


def test_a_touchstone_file_has_the_band_and_ports_asked_for(cablesim, hall, tmp_path):
    out = tmp_path / "hall.s1p"
    band = ["--from", 1e4, "--to", 1e6, "--points", 11, "--ports", "core1:core2"]
    done = cablesim("export", hall, "--touchstone", *band, "--reference", 75, "--out", out)
    assert (done.code, done.out) == (0, "")
    read = skrf.Network(str(out))
    np.testing.assert_allclose(read.f, np.geomspace(1e4, 1e6, 11))
    assert read.z0[0, 0] == 75
    assert read.port_names == ["core1 - core2"]


def test_the_usual_ports_are_both_cores(cablesim, hall):
    done = cablesim("export", hall, "--touchstone", "--points", 2)
    assert "# Hz S RI R 50\n" in done.out
    assert len([line for line in done.out.splitlines() if line[0] not in "!#"]) == 2


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ([], "--spice or --touchstone"),
        (["--spice", "--touchstone"], "--spice or --touchstone"),
        (["--spice", "--points", "3"], "--points"),
        (["--touchstone", "--rungs", "3"], "--rungs"),
        (["--spice", "--rungs", "0"], "rungs is 0"),
        (["--spice", "--frequency", "-5"], "--frequency"),
        (["--spice", "--frequency", "nan"], "--frequency"),
        (["--spice", "--frequency", "1e30"], "--frequency is 1e+30"),
        (["--touchstone", "--from", "0"], "--from"),
        (["--touchstone", "--to", "2e9"], "--to is 2000000000.0"),
        (["--touchstone", "--from", "1e6", "--to", "1e3"], "--to"),
        (["--touchstone", "--to", "inf"], "--to"),
        (["--touchstone", "--points", "1"], "--points"),
        (["--touchstone", "--ports", "core9"], "core9"),
        (["--touchstone", "--ports", "core1,core1"], "different"),
        (["--touchstone", "--reference", "0"], "--reference"),
    ],
)
def test_refuses_in_one_sentence(refused, hall, options, said):
    assert said in refused("export", hall, *options)


@pytest.mark.parametrize(
    ("kind", "name"), [("--spice", "a.txt"), ("--touchstone", "a.s1p"), ("--spice", "no/a.cir")]
)
def test_refuses_a_name_that_does_not_fit(refused, hall, tmp_path, kind, name):
    assert refused("export", hall, kind, "--out", tmp_path / name)
    assert sorted(tmp_path.iterdir()) == [hall]
