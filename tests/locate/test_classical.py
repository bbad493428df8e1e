"""Classical methods as estimators: published answers, honest intervals, biases really there."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import (
    CapacitanceMeter,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    PulseEcho,
    Setting,
)
from cablesim.instruments.readings import Probe, Reading, measure, predict
from cablesim.line.terminals import Hookup
from cablesim.locate.advice import placed_m
from cablesim.locate.budget import Declined
from cablesim.locate.classical import (
    ESTIMATORS,
    Worked,
    methods_named,
    reading_covariance,
    worked,
)
from cablesim.locate.closed_forms import three_readings
from cablesim.locate.estimate import Estimate
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory

CABLE = Cable.rated("twin", 30.0, 88.2)
SINGLE = Cable.rated("single", 40.0, 60.0)
OPEN = Cable.rated("twin", 30.0, 88.2, far_end="open", cold_lead_m=0.0)
METER = Ohmmeter(name="pocket")
FINE = {"accuracy_percent": 0.0, "accuracy_counts": 0.0, "counts": 1e9}
TABLE = {
    "ohm": Ohmmeter(name="fine", resolution=1e-6, top_range=1e12, lead_ohm=0.0,
                    lead_ohm_tolerance=0.0, **FINE),
    "nF": CapacitanceMeter(name="fine C", resolution=1e-7, top_range=1e6, **FINE),
    "Mohm": InsulationTester(name="fine M", resolution=1e-7, top_range=1e8, **FINE),
    "ns": PulseEcho(name="fine echo", resolution=1e-5, top_range=1e5, **FINE),
    "bridge": LoopBridge(name="fine bridge", accuracy_percent=0.0, accuracy_counts=0.0,
                         divisions=1e9, resolution=1e-6, top_range=1e6, counts=1e12),
}  # fmt: skip


def probe(cable, unit, *across, links=(), **setting):
    return Probe(TABLE[unit], Hookup.of(cable, across, links), Setting(**setting))


def read(cable, faults, probes):
    """Readings of meters that are as good as perfect."""
    return [
        Reading(p, float(np.round(v, 9)))
        for p, v in zip(probes, predict(cable, faults, probes), strict=True)
    ]


LOOP = [("ohm", "core1", "core2"), ("ohm", "core1", "braid"), ("ohm", "core2", "braid")]
THREE_C = [("nF", "core1", "core2+braid"), ("nF", "core2", "core1+braid"),
           ("nF", "core1+core2", "braid")]  # fmt: skip


# --- published -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "method", "printed_m", "within_m"),
    [
        ("murray-mehta-11-21", "murray", 150.0, 0.01),
        ("murray-mehta-11-22", "murray", 250.0, 0.01),
        ("murray-unequal-mehta-11-23", "murray_unequal", 433.3, 0.5),
        ("murray-slide-hawkins-596", "murray", 1157.44, 0.1),
        ("murray-anand-8-9", "murray", 500.0, 0.01),
        ("varley-mehta-11-24", "varley", 15000.0, 0.1),
        ("two-ends-wires", "two_ends", 3864.0, 1.0),
        ("break-good-pair-hawkins-607", "good_core", 2119.5, 1.0),
    ],
)
def test_published_scenarios_by_their_own_method(name, method, printed_m, within_m):
    """Sources stand in the files, and in docs/methods.md."""
    scenario = load_scenario(shipped_directory() / "published" / f"{name}.toml")
    found = ESTIMATORS[method](scenario.cable, scenario.readings)
    assert isinstance(found, Estimate)
    assert found.faults[0].position_m == pytest.approx(printed_m, abs=within_m)


# --- exact where the formula is exact ------------------------------------------------------------


@given(at_m=st.floats(1.0, 29.0), ohm=st.floats(0.5, 500.0), core=st.sampled_from([1, 2]))
@settings(max_examples=15)
def test_three_readings_find_core_place_and_resistance(at_m, ohm, core):
    faulty = f"core{core}"
    taken = read(
        CABLE, (Short((faulty, "braid"), at_m, ohm),), [probe(CABLE, *row) for row in LOOP]
    )
    found = worked("three_readings", CABLE, taken)
    assert isinstance(found, Worked)
    (fault,) = found.estimate.faults
    assert fault.between == (faulty, "braid")
    assert fault.position_m == pytest.approx(at_m, abs=2e-3)
    assert fault.resistance_ohm == pytest.approx(ohm + 0.0181 * (at_m + 2.5), rel=1e-3, abs=0.01)
    assert found.note == ""


@given(at_m=st.floats(1.0, 29.0), core=st.sampled_from([1, 2]))
@settings(max_examples=15)
def test_three_capacitances_find_core_and_place(at_m, core):
    taken = read(CABLE, (Break((f"core{core}",), at_m),), [probe(CABLE, *row) for row in THREE_C])
    found = worked("three_capacitances", CABLE, taken)
    assert found.estimate.faults[0].conductors == (f"core{core}",)
    assert found.estimate.faults[0].position_m == pytest.approx(at_m, abs=0.01)
    assert abs(found.bias_m) < 0.01


@pytest.mark.parametrize("at_m", [0.5, 13.0, 39.0])
@pytest.mark.parametrize("far", ["braid", "braid@far"])
def test_two_ends_of_a_single_conductor(at_m, far):
    rows = [("ohm", "core1", "core1@far"), ("ohm", "core1", "braid"), ("ohm", "core1@far", far)]
    taken = read(
        SINGLE, (Short(("core1", "braid"), at_m, 20.0),), [probe(SINGLE, *r) for r in rows]
    )
    found = worked("two_ends", SINGLE, taken)
    # With the braid at both ends its cold leads count as well, symmetrically.
    assert found.corrected_m == pytest.approx(at_m, abs=2e-3)
    assert found.estimate.faults[0].position_m == pytest.approx(at_m, abs=0.02)


@pytest.mark.parametrize("end", ["core1", "core1@far"])
def test_murray_from_either_end_of_a_single_conductor(end):
    other = "core1@far" if end == "core1" else "core1"
    one = probe(SINGLE, "bridge", other, end, "braid", method="murray")
    taken = read(SINGLE, (Short(("core1", "braid"), 9.0, 200.0),), [one])
    assert worked("murray", SINGLE, taken).estimate.faults[0].position_m == pytest.approx(
        9, abs=2e-3
    )


def test_blavier_and_both_ends_and_echo_and_cut():
    rows = [probe(OPEN, "ohm", "core1", "core2"),
            probe(OPEN, "ohm", "core1", "core2", links=(("core1@far", "core2@far"),))]  # fmt: skip
    taken = read(OPEN, (Short(("core1", "core2"), 11.0, 7.0),), rows)
    fault = worked("blavier", OPEN, taken).estimate.faults[0]
    assert fault.position_m == pytest.approx(11.0, abs=1e-3)
    assert fault.resistance_ohm == pytest.approx(7.0, abs=1e-3)
    rows = [probe(SINGLE, "nF", "core1", "braid"), probe(SINGLE, "nF", "core1@far", "braid")]
    taken = read(SINGLE, (Break(("core1",), 31.0),), rows)
    assert worked("both_ends", SINGLE, taken).estimate.faults[0].position_m == pytest.approx(
        31.0, abs=5e-3
    )
    taken = read(CABLE, (Break(("core1",), 21.0),), [probe(CABLE, "ns", "core1", "braid")])
    assert worked("echo_time", CABLE, taken).estimate.faults[0].position_m == pytest.approx(
        21.0, abs=0.02
    )
    cut = Break(("core1", "core2", "braid"), 8.0)
    taken = read(CABLE, (cut,), [probe(CABLE, "nF", "core1+core2", "braid")])
    found = worked("capacitance_per_metre", CABLE, taken)
    assert found.estimate.faults[0].position_m == pytest.approx(8.0, abs=0.01)
    assert not found.estimate.locatable, "a capacitance per metre is hardly ever known"


@pytest.mark.parametrize("far", ["braid", "braid@far"])
def test_capacitances_from_both_ends_take_either_end_of_the_braid(far):
    rows = [("nF", "core1", "braid"), ("nF", "core1@far", far)]
    taken = read(SINGLE, (Break(("core1",), 31.0),), [probe(SINGLE, *row) for row in rows])
    found = worked("both_ends", SINGLE, taken).estimate.faults[0]
    assert found.position_m == pytest.approx(31.0, abs=5e-3)


def test_two_ends_of_open_cores_leave_the_cold_lead_out():
    """Its cores are in the reading of the near end alone."""
    cable = Cable.rated("twin", 30.0, 88.2, far_end="open", cold_lead_ohm_per_m=0.1)
    rows = [("ohm", "core1", "core2"), ("ohm", "core1@far", "core2@far")]
    short = Short(("core1", "core2"), 11.0, 7.0)
    taken = read(cable, (short,), [probe(cable, *row) for row in rows])
    found = worked("two_ends", cable, taken).estimate.faults[0]
    assert found.position_m == pytest.approx(11.0, abs=1e-3)
    assert found.resistance_ohm == pytest.approx(7.0, abs=1e-3)


@pytest.mark.parametrize("share", [0.25, 1.0, 3.0])
def test_capacitances_count_the_cold_lead_by_its_own(share):
    cable = replace(
        CABLE,
        cold_lead_m=5.0,
        cold_lead_capacitance_core_braid_pf_per_m=share * CABLE.capacitance_core_braid_pf_per_m,
        cold_lead_capacitance_core_core_pf_per_m=share * CABLE.capacitance_core_core_pf_per_m,
    )
    taken = read(cable, (Break(("core1",), 8.0),), [probe(cable, *row) for row in THREE_C])
    found = worked("three_capacitances", cable, taken).estimate.faults[0]
    assert found.position_m == pytest.approx(8.0, abs=0.01)


# --- intervals -----------------------------------------------------------------------------------


def test_covariance_of_readings_has_what_they_share():
    three = [Reading(Probe(METER, Hookup.of(CABLE, row[1:])), v)
             for row, v in zip(LOOP, (90.0, 70.0, 1200.0), strict=True)]  # fmt: skip
    covariance = reading_covariance(three)
    lead = 0.2**2 / 3
    gain = 0.008**2 / 3
    assert covariance[0, 1] == pytest.approx(lead + gain * 90 * 70)
    assert covariance[0, 2] == pytest.approx(lead), "another range has a gain of its own"
    noise = 0.3**2 / 3 + 0.1**2 / 12
    assert covariance[0, 0] == pytest.approx(lead + gain * 90**2 + noise)
    assert np.linalg.eigvalsh(covariance).min() > 0


def test_the_interval_holds_the_truth_as_often_as_it_says():
    """1000 sets of readings; the spread of a share of 95 % is 0.7 %."""
    fault = Short(("core1", "braid"), 12.4, 55.0)
    probes = [Probe(METER, Hookup.of(CABLE, row[1:])) for row in LOOP]
    many = replace(fault, at_m=np.full(1000, 12.4))
    shown = measure(CABLE, (many,), probes, rng=np.random.default_rng(5))
    taken = [Reading(p, float(v)) for p, v in zip(probes, shown[0], strict=True)]
    low, high = worked("three_readings", CABLE, taken).estimate.faults[0].interval_m
    bare = shown - METER.lead_ohm
    places = three_readings(*bare.T, 30.0, cold_lead_ohm=0.03325).position_m
    held = np.mean(np.abs(places - 12.4) <= (high - low) / 2)
    assert 0.92 <= held <= 0.985


def test_a_place_that_is_left_open_is_not_locatable():
    cut = Break(("core1", "core2"), 12.0)
    taken = read(CABLE, (cut,), [probe(CABLE, "nF", "core1+core2", "braid")])
    found = worked("capacitance_per_metre", CABLE, taken).estimate
    low, high = found.faults[0].interval_m
    assert high - low > placed_m(CABLE)
    assert found.reason
    assert found.cautions


# --- biases --------------------------------------------------------------------------------------


@given(at_m=st.floats(2.0, 28.0))
@settings(max_examples=10)
def test_floating_core_bias_is_found_named_and_taken_off(at_m):
    rows = [probe(CABLE, "nF", "core1", "braid"), probe(CABLE, "nF", "core2", "braid")]
    taken = read(CABLE, (Break(("core1",), at_m),), rows)
    found = worked("two_capacitances", CABLE, taken)
    assert found.bias_m > 0, "always too far out"
    assert found.estimate.faults[0].position_m - at_m == pytest.approx(found.bias_m, abs=5e-3)
    assert found.corrected_m == pytest.approx(at_m, abs=5e-3)
    if found.bias_m > 0.05:
        assert "capacitance between the cores" in found.note
        assert found.note[1:] in found.estimate.cautions[0]


def test_healthy_leakage_bias_of_a_bridge_is_named():
    """The mean of all leaks by conductance: a leak of 100 Mohm on a cable of 1 Gohm m."""
    cable = replace(CABLE, insulation_gigaohm_m=20.0)
    bridge = probe(cable, "bridge", "core2", "core1", "braid", method="murray")
    tester = probe(cable, "Mohm", "core1+core2", "braid")
    leak = Degraded.at(("core1", "braid"), 6.0, 5e6)
    taken = read(cable, (leak,), [bridge, tester])
    found = worked("murray", cable, taken)
    assert found.bias_m == pytest.approx(found.estimate.faults[0].position_m - 6.0, rel=0.05)
    assert "leakage of the healthy insulation" in found.note
    corrected = worked("insulation_balance", cable, taken).estimate.faults[0].position_m
    assert abs(corrected - 6.0) < 0.1 * abs(found.bias_m)


def test_coupling_bias_against_a_good_core():
    rows = [probe(OPEN, "nF", "core1", "braid"), probe(OPEN, "nF", "core2", "braid")]
    taken = read(OPEN, (Break(("core1",), 12.0),), rows)
    found = worked("good_core", OPEN, taken)
    assert found.bias_m > 0.1, "coupling puts it outwards by two plain readings"
    assert found.corrected_m == pytest.approx(12.0, abs=0.01)
    assert "between the cores" in found.note


# --- declining -----------------------------------------------------------------------------------


def test_what_is_missing_is_named():
    taken = read(CABLE, (Short(("core1", "braid"), 5.0, 5.0),), [probe(CABLE, *LOOP[0])])
    assert worked("three_readings", CABLE, taken) == Declined(
        "needs a reading: ohmmeter core1 to braid"
    )
    assert "single-conductor" in worked("both_ends", CABLE, taken).reason
    assert "open" in worked("blavier", CABLE, taken).reason
    for method in ESTIMATORS:
        assert isinstance(worked(method, CABLE, taken), Declined)


def test_over_range_has_no_place_in_a_formula():
    over = Reading(probe(CABLE, *LOOP[0]), np.inf)
    rest = read(CABLE, (Short(("core1", "braid"), 5.0, 5.0),), [probe(CABLE, *r) for r in LOOP[1:]])
    assert "no value" not in worked("three_readings", CABLE, [over, *rest]).reason
    assert "display has none" in worked("three_readings", CABLE, [over, *rest]).reason


def test_names():
    assert methods_named("all") == tuple(ESTIMATORS)
    assert methods_named("murray") == ("murray",)
    with pytest.raises(InputError, match="did you mean murray"):
        methods_named("muray")
