"""The exported netlist: ngspice runs it unchanged and prints what `predict` says."""

from __future__ import annotations

import math
import re
import subprocess
from dataclasses import replace

import numpy as np
import pytest
from outside.cases import Decades, random_case

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Flashover, Joint, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import CapacitanceMeter, LoopBridge, Ohmmeter, Setting
from cablesim.instruments.readings import Probe, predict
from cablesim.instruments.spice import spice_netlist
from cablesim.instruments.standard import standard_probes
from cablesim.line.circuit import terminal_network
from cablesim.line.netlist import subcircuit
from cablesim.line.terminals import Hookup
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
OHM = Ohmmeter(name="ohmmeter")
SCENARIOS = sorted(p for p in shipped_directory().rglob("*.toml") if not load_scenario(p).others)


def printed(text: str, folder) -> list[complex]:
    """What ngspice prints for each reading, in order; infinite where nothing joins the leads."""
    path = folder / "cable.cir"
    path.write_text(text)
    done = subprocess.run(["ngspice", "-b", str(path)], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    said = dict(re.findall(r"^reading_(\d+) = (.*)$", done.stdout, flags=re.MULTILINE))
    assert list(said) == [str(k) for k in range(1, len(said) + 1)], done.stdout + done.stderr
    return [number_of(value) for value in said.values()]


def number_of(text: str) -> complex:
    if text in ("infinite", "no balance"):
        return math.inf
    return complex(*(float(part) for part in text.split(",")))


def assert_printed(cable, faults, probes, folder, **options):
    text = spice_netlist(cable, faults, probes, **options)
    said = re.search(r"leave out is about (\S+) of(?s:.*)up to (\S+) of a reading for each", text)
    rungs, loss_per_ohm = (float(part) for part in said.groups())
    found = printed(text, folder)
    exact = predict(cable, faults, probes)
    assert len(found) == len(probes)
    for probe, value, wanted in zip(probes, found, exact, strict=True):
        if math.isinf(wanted) and isinstance(probe.meter, CapacitanceMeter):
            continue  # the meter gives up on a leak; the netlist prints the capacitance beside it
        if wanted > 1e20 and probe.meter.unit == "ohm":
            assert value.real > 1e14 or math.isinf(value.real)
        else:
            # What the head of the netlist says; a digit printed, and a dead short's picoohms.
            ohm = wanted * probe.meter.unit_size if probe.meter.unit.endswith("ohm") else 0.0
            allowed = 3 * rungs + loss_per_ohm * ohm + 1e-9
            # A simulator rounds 1 S beside the capacitance to 1e-16 S: 2e-11 nF at 1 kHz.
            least = 1e-10 if isinstance(probe.meter, CapacitanceMeter) else 1e-11
            assert value.real == pytest.approx(wanted, rel=allowed, abs=least)


@pytest.mark.ngspice
@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_every_shipped_scenario_prints_its_readings(path, tmp_path):
    scenario = load_scenario(path)
    every = scenario.probes or standard_probes(scenario.cable)
    # Neither an echo nor what trips a tester is an impedance: the netlist only names them.
    probes = [p for p in every if not p.meter.sees_places and p.meter.kind != "withstand_tester"]
    assert_printed(scenario.cable, scenario.faults, probes, tmp_path, title=scenario.title)


@pytest.mark.ngspice
@pytest.mark.parametrize("seed", range(12))
def test_random_damage_with_dead_shorts_and_clean_cuts(seed, tmp_path):
    """Places on each other, no resistance and infinite resistance: what stops a simulator."""
    rng = np.random.default_rng(seed)
    wide = Decades(insulation_gigaohm_m=(-3, 3), stretch_ohm=(2, 9), series_ohm=(-6, 9))
    case = random_case(rng, wide)
    probes = [Probe(OHM, hookup) for hookup in case.hookups]
    probes += [Probe(CapacitanceMeter(name="c"), hookup) for hookup in case.hookups[:2]]
    assert_printed(case.cable, case.faults, probes, tmp_path)


@pytest.mark.ngspice
def test_nothing_joins_the_leads(tmp_path):
    dry = replace(TWIN, insulation_gigaohm_m=np.inf, far_end="open")
    cut = Break(("core1", "core2", "braid"), 10.0)
    probes = [
        Probe(OHM, Hookup.of(TWIN, pair)) for pair in (("core1", "braid"), ("core1", "core2"))
    ]
    assert printed(spice_netlist(dry, (cut,), probes), tmp_path) == [math.inf, math.inf]


@pytest.mark.ngspice
def test_dead_shorts_side_by_side_and_in_a_ring(tmp_path):
    ring = tuple(
        Short(pair, 10.0, 0.0)
        for pair in (("core1", "core2"), ("core2", "braid"), ("core1", "braid"), ("core1", "core2"))
    )
    assert_printed(TWIN, (*ring, Joint("core1", 10.0, 0.0)), standard_probes(TWIN)[:4], tmp_path)


@pytest.mark.ngspice
@pytest.mark.parametrize(("volt", "across"), [(900.0, None), (1100.0, 300.0), (-1100.0, -300.0)])
def test_a_flashover_strikes_at_its_voltage_and_holds_the_arc(volt, across, tmp_path):
    fault = Flashover(("core1", "braid"), 0.0, 1000.0, 300.0, leakage_ohm=1e8)
    cable = replace(TWIN, insulation_gigaohm_m=1e9)
    found = subcircuit(cable, (fault,))
    lines = [
        "* gap",
        ".options pivtol=1e-30",
        *found.lines,
        f"V1 in 0 {volt}",
        "R1 in a 1e5",
        "X1 a c2 0 f1 f2 cable",
        ".control",
        "op",
        "let reading_1 = v(a)",
        "print reading_1",
        "quit",
        ".endc",
        ".end",
    ]
    (held,) = printed("\n".join(lines) + "\n", tmp_path)
    wanted = volt * 1e8 / (1e8 + 1e5) if across is None else across
    assert held.real == pytest.approx(wanted, rel=1e-3)


@pytest.mark.ngspice
def test_a_gap_that_holds_is_its_leakage(tmp_path):
    faults = (Flashover(("core1", "braid"), 12.4, 1000.0, 300.0, leakage_ohm=1e6),)
    assert_printed(TWIN, (*faults, Break(("core1",), 12.4)), standard_probes(TWIN), tmp_path)


@pytest.mark.ngspice
@pytest.mark.parametrize("frequency_hz", [0.0, 50.0, 1e5])
def test_impedance_at_a_frequency(frequency_hz, tmp_path):
    faults = (Short(("core1", "braid"), 12.4, 55.0), Degraded(("core1", "core2"), 5.0, 8.0, 1e4))
    probes = standard_probes(TWIN)[:3]
    text = spice_netlist(TWIN, faults, probes, frequency_hz=frequency_hz)
    for probe, found in zip(probes, printed(text, tmp_path), strict=True):
        network = terminal_network(TWIN, faults, probe.hookup.terminals, frequency_hz)
        wanted = 1 / complex(network.between_leads(probe.hookup)[0, 1])
        assert abs(found / wanted - 1) < 3e-7  # 1e-7 a piece


@pytest.mark.ngspice
def test_few_rungs_are_as_wrong_as_the_head_says(tmp_path):
    wet = (Degraded(("core1", "braid"), 5.0, 25.0, 60.0),)
    probes = standard_probes(TWIN)[1:2]
    exact = float(predict(TWIN, wet, probes)[0])
    text = spice_netlist(TWIN, wet, probes, rungs=30)
    said = float(re.search(r"rungs leave out is about (\S+)", text)[1])
    apart = abs(printed(text, tmp_path)[0].real / exact - 1)
    assert 1e-5 < apart < 3 * said


def test_rungs_follow_the_lengths_of_the_pieces():
    lines = subcircuit(TWIN, (Break(("core1",), 6.0),), rungs=65).lines
    rungs = [int(found) for found in re.findall(r"(\d+) rungs?\b", "\n".join(lines))]
    assert rungs == [5, 12, 48]


def test_pieces_of_one_length_are_lumped_alike_wherever_they_lie():
    leaky = replace(TWIN, cold_lead_m=10.0, insulation_gigaohm_m=1e-3)
    ends = (Break(("core1",), 10.0), Break(("core1",), 20.0))
    text = "\n".join(subcircuit(leaky, ends).lines)
    rungs = [int(found) for found in re.findall(r"heated part.* (\d+) rungs?\b", text)]
    assert rungs == rungs[:1] * 3
    assert 1 < rungs[0] < 300  # the most that is chosen


def test_sources_and_nodes_bear_the_numbers_of_their_leads():
    hookup = Hookup.of(TWIN, ("core2", "core1", "braid"))
    bridge = Probe(LoopBridge(name="bridge"), hookup, Setting(method="murray"))
    text = spice_netlist(TWIN, (), [bridge])
    assert re.findall(r"^V(\w+) r(\w+) 0 ", text, re.M) == [("1_1", "1_lead1"), ("1_2", "1_lead2")]


def test_without_a_reading_there_is_nothing_to_print():
    text = spice_netlist(TWIN, (), ())
    assert "print" not in text
    assert text.endswith(".end\n")


def test_no_resistor_is_one_that_ngspice_would_raise():
    text = spice_netlist(
        Cable.rated("twin", 5.0, core_ohm_per_m=(1e-3, 1e-4)), (), standard_probes(TWIN), rungs=100
    )
    ohms = [float(value) for value in re.findall(r"^R\S+ \S+ \S+ (\S+)$", text, re.MULTILINE)]
    assert len(ohms) > 100
    assert min(ohms) >= 1e-3


def test_a_title_stays_one_comment():
    text = spice_netlist(TWIN, (), standard_probes(TWIN), title="Küche\n.include /etc/passwd")
    assert text.splitlines()[0] == "* K?che .include /etc/passwd"
    assert text.isascii()


@pytest.mark.parametrize("options", [{"rungs": 0}, {"frequency_hz": -1.0}, {"rungs": 10**9}])
def test_refuses_what_cannot_be(options):
    with pytest.raises(InputError, match=rf"^{next(iter(options))}\b"):
        spice_netlist(TWIN, (), standard_probes(TWIN), **options)


def test_a_reading_at_too_high_a_frequency_is_to_blame_itself():
    cable = Cable.rated("twin", 30.0, 88.2)
    hookup = Hookup.of(cable, ("core1", "braid"))
    probe = Probe(CapacitanceMeter(name="bench"), hookup, Setting(frequency_hz=2e9))
    with pytest.raises(InputError, match="frequency_hz of the bench is 2"):
        spice_netlist(cable, (), [probe])
