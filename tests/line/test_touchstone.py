"""Scattering parameters and their file, read back by scikit-rf."""

from __future__ import annotations

import numpy as np
import pytest
import skrf
from outside.cases import random_case

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.errors import InputError
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup
from cablesim.line.touchstone import port, scattering, touchstone, usual_ports

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SINGLE = Cable.rated("single", heated_length_m=30.0, loop_resistance_ohm=44.1)
BAND = np.geomspace(1e3, 1e8, 31)
NEAR_AND_FAR = ("core1:braid", "core2:braid", "core1@far:braid@far", "braid@far:braid")


@pytest.mark.parametrize("count", [1, 2, 3, 4])
@pytest.mark.parametrize("reference_ohm", [50.0, 17.5])
def test_scikit_rf_reads_what_was_written(tmp_path, count, reference_ohm):
    ports = [port(text, TWIN) for text in NEAR_AND_FAR[:count]]
    faults = (Short(("core1", "braid"), 12.4, 55.0),)
    s = scattering(TWIN, faults, ports, BAND, reference_ohm)
    path = tmp_path / f"cable.s{count}p"
    path.write_text(touchstone(s, BAND, ports, reference_ohm, ["Küche", "!#[]"]))
    read = skrf.Network(str(path))
    np.testing.assert_allclose(read.s, s, rtol=0, atol=1e-15)
    np.testing.assert_allclose(read.f, BAND, rtol=1e-15)
    assert np.all(read.z0 == reference_ohm)
    assert count == 1 or read.is_reciprocal(tol=1e-9)
    assert read.is_passive(tol=1e-9)


def test_a_port_sees_the_impedance_that_a_meter_would():
    rng = np.random.default_rng(3)
    for _ in range(20):
        case = random_case(rng)
        frequency_hz = 10 ** rng.uniform(2, 7)
        s = scattering(
            case.cable, case.faults, [port("core1:braid", case.cable)], np.array([frequency_hz])
        )
        hookup = Hookup.of(case.cable, ("core1", "braid"))
        network = terminal_network(case.cable, case.faults, hookup.terminals, frequency_hz)
        ohm = 1 / complex(network.between_leads(hookup)[0, 1])
        assert abs(s[0, 0, 0] - (ohm - 50) / (ohm + 50)) < 1e-11


def test_a_matched_short_lossless_cable_passes_everything_on():
    plain = Cable.rated(
        "single", 10.0, core_ohm_per_m=(1e-9,), loss_tangent=0.0, insulation_gigaohm_m=1e9,
        braid_ohm_per_m=1e-9, cold_lead_m=0.0,
    )  # fmt: skip
    henry, farad = plain.inductance_henry_per_m[0], plain.capacitance_core_braid_pf_per_m * 1e-12
    ohm = float(np.sqrt(henry / farad))
    ports = usual_ports(plain)
    s = scattering(plain, (), ports, BAND, ohm)
    delay_s = 10.0 * np.sqrt(henry * farad)
    np.testing.assert_allclose(s[:, 0, 1], np.exp(-2j * np.pi * BAND * delay_s), atol=1e-6)
    np.testing.assert_allclose(s[:, 0, 0], 0, atol=1e-6)


def test_ports_that_a_clean_cut_parts_pass_nothing():
    cut = (Break(("core1", "braid"), 10.0),)
    s = scattering(SINGLE, cut, usual_ports(SINGLE), BAND)
    assert np.all(np.abs(s[:, 0, 1]) < 1e-15)
    assert np.all(np.isfinite(s))


def test_ports_go_by_name():
    assert str(port("core1", TWIN)) == "core1:braid"
    assert str(port("core1@far", SINGLE)) == "core1@far:braid@far"
    assert [str(p) for p in usual_ports(SINGLE)] == ["core1:braid", "core1@far:braid@far"]


@pytest.mark.parametrize(
    "text", ["core3", "core1:core1", "core1@far:core2@far", "", "core1:braid:x"]
)
def test_refuses_ports_that_cannot_be(text):
    with pytest.raises(InputError):
        port(text, TWIN)


def test_a_comment_keeps_what_is_plain_and_stays_one_line():
    one = [port("core1", TWIN)]
    plain = "".join(chr(code) for code in range(ord("!"), 127))
    text = touchstone(scattering(TWIN, (), one, BAND), BAND, one, 50.0, [plain, "10\n\u00b5s"])
    assert text.splitlines()[:2] == [f"! {plain}", "! 10 ?s"]


def test_refuses_no_ports_the_same_ports_and_rising_frequencies():
    one = port("core1", TWIN)
    with pytest.raises(InputError, match="from 1 to"):
        scattering(TWIN, (), [], BAND)
    with pytest.raises(InputError, match="different"):
        scattering(TWIN, (), [one, port("braid:core1", TWIN)], BAND)
    with pytest.raises(InputError, match="rising"):
        touchstone(scattering(TWIN, (), [one], BAND), BAND[::-1], [one])
