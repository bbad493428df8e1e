"""Closed forms: published examples to their printed digits, and exact inverses of `predict`.

Where a tolerance is given with a published number, it is half a unit of the last printed digit.
"seen" means that inputs and answer were read in a copy of the source itself; "seen in a companion"
that they were read in a program that re-works the numbered example of the book; "ours" that the
problem was read, but no printed answer that holds.
"""

import inspect

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import CapacitanceMeter, LoopBridge, Ohmmeter, Setting
from cablesim.instruments.readings import Probe, predict
from cablesim.line.circuit import terminal_network
from cablesim.line.terminals import Hookup, Terminal
from cablesim.locate import closed_forms as cf

# --- published examples ---------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("p", "q", "length_m", "printed_m"),
    [
        # V. K. Mehta and R. Mehta, Principles of Power System, 4th ed., Ex. 11.21, p. 296; seen in
        # a companion that re-works the book's example.
        (45.0, 15.0, 300.0, 150.0),
        # The same, Ex. 11.22, p. 297; seen in a companion.
        (3.0, 1.0, 500.0, 250.0),
        # M. L. Anand, Electrical Power-I, Exa 8.9, p. 226; seen in a companion.
        (3.0, 1.0, 1000.0, 500.0),
        # Examination paper of the utility MGVCL, 30 July 2021, shift 2; seen.
        (3.0, 1.0, 600.0, 300.0),
    ],
)
def test_murray_on_equal_cores(p, q, length_m, printed_m):
    assert cf.murray(cf.arm_share(p, q), length_m) == pytest.approx(printed_m, rel=1e-12)


def test_murray_on_unequal_conductors():
    # Mehta, Ex. 11.23, p. 297; seen in two companions. Printed: 1.625 ohm, 0.433 ohm, 433 m.
    loop_ohm = 500.0 * (0.001 + 0.00225)
    share = cf.arm_share(2.75, 1.0)
    assert loop_ohm == pytest.approx(1.625, rel=1e-12)
    assert share * loop_ohm == pytest.approx(0.433, abs=0.0005)
    assert cf.murray_unequal(share, loop_ohm, 0.001) == pytest.approx(433.0, abs=0.5)


def test_murray_on_a_slide_with_an_equal_fixed_coil():
    # Hawkins Electrical Guide No. 3 (1914), p. 516, fig. 596; seen. Printed: 0.7192 miles.
    share = cf.arm_share(1000.0 + (1000.0 - 124.0), 124.0)
    assert cf.murray(share, 5.8) == pytest.approx(0.7192, abs=0.00005)


def test_murray_on_a_slide_with_unequal_wires():
    # Hawkins, p. 516, fig. 597; seen. Printed: 1.09 miles.
    share = cf.arm_share(1000.0 - 332.0, 332.0)
    assert share * 54.07 == pytest.approx(17.951, abs=0.0005)  # not printed: our step between
    assert cf.murray_unequal(share, 54.07, 16.46) == pytest.approx(1.09, abs=0.005)


def test_murray_through_two_auxiliary_wires():
    # Hawkins, p. 519-520, figs. 601-604; seen. Printed: 5461 ft, cut off rather than rounded, and
    # substituted with 10,853 for 10,852: hence one foot.
    assert cf.murray_two_balances(307.0, 610.0, 10_852.0) == pytest.approx(5461.0, abs=1.0)


def test_varley_with_equal_arms():
    # Mehta, Ex. 11.24, p. 297; seen in two companions. Printed: 300 ohm, 15 km.
    assert cf.varley(200.0, 800.0, core_ohm_per_m=1.0) == pytest.approx(300.0, rel=1e-12)
    assert cf.varley(200.0, 800.0, core_ohm_per_m=0.020) == pytest.approx(15_000.0, rel=1e-12)


def test_varley_with_a_fixed_coil_and_a_slide():
    # Hawkins, p. 518, figs. 599-600; seen. Printed: 1.094 miles and a bit.
    miles = cf.varley(100.0, 54.07, core_ohm_per_m=16.46, arms_ohm=(234.0, 1000.0 - 234.0))
    assert 1.094 <= miles < 1.095


def test_varley_with_unequal_arms_and_two_balances():
    # Anand, Exa 8.8, p. 225; seen in a companion. Printed: 2.614 km, of which the companion divides
    # by a whole loop of 10 km; so the fraction of the loop is what the example fixes.
    arms_ohm = (10.0, 80.0)
    loop_ohm = cf.varley_loop_ohm(3400.0, arms_ohm=arms_ohm)
    assert loop_ohm == pytest.approx(425.0, rel=1e-12)
    km = cf.varley(2400.0, loop_ohm, core_ohm_per_m=loop_ohm / 10.0, arms_ohm=arms_ohm)
    assert km == pytest.approx(2.614, abs=0.0005)


def test_two_ends_of_a_fault_between_two_wires():
    # A renumbered textbook problem, worked at justaaa.com/physics/1035169; seen. Printed: 3.864 km
    # from the west, 25 ohm.
    found = cf.two_ends(110.0, 160.0, path_ohm=2 * 11.0 * 10.0, length_m=10_000.0)
    assert found.position_m == pytest.approx(3864.0, abs=0.5)
    assert found.resistance_ohm == pytest.approx(25.0, rel=1e-12)


def test_two_ends_of_a_dead_short():
    # Problem of physicsforums.com thread 341657; the answer is ours: 0.5 km and 3.5 km. A dead
    # short makes the path the sum of both readings.
    found = cf.two_ends(15.0, 105.0, path_ohm=15.0 + 105.0, length_m=4000.0)
    assert found.position_m == pytest.approx(500.0, rel=1e-12)
    assert found.resistance_ohm == pytest.approx(0.0, abs=1e-12)


def test_blavier_on_a_two_wire_line():
    # A school problem, stated at tutotveti.ru 21302887; the answer is ours: 2 km and 10 ohm.
    found = cf.blavier(15.0 / 1.0, 15.0 / 1.8, path_ohm=10.0, length_m=4000.0)
    assert found.position_m == pytest.approx(2000.0, rel=1e-9)
    assert found.resistance_ohm == pytest.approx(10.0, rel=1e-9)


def test_blavier_without_the_length():
    # Problem 2513 of pho.rs; the answer is ours: 2.0 ohm, 2 km, whole length 8 km, r2 = 7.0 ohm.
    near = cf.blavier_unknown_length(4.0, 3.5, 8.0, path_ohm_per_m=2 * 5.0e-4)
    far = cf.blavier_unknown_length(8.0, 7.0, 4.0, path_ohm_per_m=2 * 5.0e-4)
    assert near == pytest.approx((2000.0, 2.0), rel=1e-9)
    assert far == pytest.approx((6000.0, 2.0), rel=1e-9)
    assert cf.blavier(4.0, 3.5, path_ohm=8.0, length_m=8000.0) == pytest.approx(near, rel=1e-9)


def test_correction_for_leakage():
    # H. D. Wilkinson (from memory), Submarine Cable Laying and Repairing, p. 451; seen. Printed:
    # 46 ohm, to be subtracted.
    true_ohm = cf.corrected_for_leakage(2700.0, 3200.0, before_ohm=1.185e6, after_ohm=0.1e6)
    assert 2700.0 - true_ohm == pytest.approx(46.0, abs=0.5)


def test_break_against_a_good_pair():
    # Hawkins, p. 524-525, fig. 607; seen. Printed: 0.9084, and 1.317 miles and a bit.
    assert cf.break_against_good_core(476.0, 524.0, 1.0) == pytest.approx(0.9084, abs=0.00005)
    assert 1.317 <= cf.break_against_good_core(476.0, 524.0, 1.45) < 1.318


@given(st.floats(0.05, 5.0), st.floats(0.01, 0.99), st.floats(0.1, 10.0))
def test_break_against_an_unknown_core_is_the_printed_formula(length, fraction, good):
    # Hawkins, p. 526, case III; formula seen, no numbers printed.
    near = fraction * length
    first, second = (1000 * near / (near + other) for other in (good, good + length - near))
    printed = first * second * length / (1000 * (first - second) + first * second)
    found = cf.break_against_unknown_core(
        (1000 - first) / first, (1000 - second) / second, length_m=length
    )
    assert found == pytest.approx(printed, rel=1e-9)
    assert found == pytest.approx(near, rel=1e-9)


def test_loss_of_charge():
    # N. V. Suryanarayana, Electrical Measurements and Measuring Instruments (2001), Exa 4.1, p.
    # 121; seen in a companion. Printed: 86,902.59 Mohm, with 0.4343 for the logarithm: hence 2e-5.
    assert cf.loss_of_charge(20.0, 8e-10, 200.0, 150.0) == pytest.approx(86_902.59e6, rel=2e-5)


# --- exact inverses of predict --------------------------------------------------------------------

OHMMETER = Ohmmeter(name="ohmmeter")
CAPACITANCE_METER = CapacitanceMeter(name="capacitance meter")
BRIDGE = LoopBridge(name="bridge")

lengths = st.floats(2.0, 300.0)
fractions = st.floats(0.0, 1.0)
ohms = st.floats(0.1, 1e4)
ohms_per_m = st.floats(0.01, 20.0)
cold_leads = st.floats(0.0, 30.0)
ratios = st.floats(0.05, 20.0)


def twin(length_m, *core_ohm_per_m, **others):
    """A twin cable with perfect insulation; with one core value both are equal."""
    both = core_ohm_per_m if len(core_ohm_per_m) == 2 else core_ohm_per_m * 2
    perfect = {"insulation_gigaohm_m": np.inf}
    return Cable.rated("twin", length_m, core_ohm_per_m=both, **(perfect | others))


def single(length_m, ohm_per_m, **others):
    perfect = {"insulation_gigaohm_m": np.inf}
    return Cable.rated("single", length_m, core_ohm_per_m=(ohm_per_m,), **(perfect | others))


def read(meter, cable, fault, *hookups, links=(), **setting):
    probes = [
        Probe(meter, Hookup.of(cable, across, links), Setting(**setting)) for across in hookups
    ]
    return predict(cable, (fault,), probes).tolist()


def cold_lead_ohm(cable):
    return cable.cold_lead_m * cable.cold_lead_ohm_per_m


@given(lengths, fractions, ohms_per_m, ohms, cold_leads)
def test_three_readings_whatever_the_braid(length_m, fraction, ohm_per_m, fault_ohm, lead_m):
    cable = twin(length_m, ohm_per_m, cold_lead_m=lead_m, braid_ohm_per_m=0.2)
    fault = Short(("core2", "braid"), fraction * length_m, fault_ohm)
    loop, first, second = read(
        OHMMETER, cable, fault, ("core1", "core2"), ("core1", "braid"), ("core2", "braid")
    )
    found = cf.three_readings(loop, second, first, length_m, cold_lead_ohm=cold_lead_ohm(cable))
    assert found.position_m == pytest.approx(fault.at_m, abs=1e-6 * length_m)
    with_braid = fault_ohm + 0.2 * (lead_m + fault.at_m)
    assert found.resistance_ohm == pytest.approx(with_braid, rel=1e-6, abs=1e-9 * loop)
    # The cores swapped: the same place, counted on around the loop.
    swapped = cf.three_readings(loop, first, second, length_m, cold_lead_ohm=cold_lead_ohm(cable))
    assert swapped.position_m == pytest.approx(2 * length_m - fault.at_m, abs=1e-6 * length_m)


@given(ohms, st.floats(-5.0, 5.0))
def test_three_readings_do_not_know_the_gain(fault_ohm, gain_percent):
    cable = twin(30.0, 1.47)
    readings = read(
        OHMMETER,
        cable,
        Short(("core1", "braid"), 12.4, fault_ohm),
        *(("core1", "core2"), ("core1", "braid"), ("core2", "braid")),
    )
    loop, first, second = np.array(readings) * (1 + gain_percent / 100)
    lead_ohm = cold_lead_ohm(cable) * (1 + gain_percent / 100)
    found = cf.three_readings(loop, first, second, 30.0, cold_lead_ohm=lead_ohm)
    assert found.position_m == pytest.approx(12.4, abs=1e-6)


def test_three_readings_bias_by_meter_leads():
    cable, lead_ohm = twin(30.0, 1.47, cold_lead_m=0.0), 0.4
    fault = Short(("core1", "braid"), 12.4, 55.0)
    hookups = (("core1", "core2"), ("core1", "braid"), ("core2", "braid"))
    found = cf.three_readings(*(r + lead_ohm for r in read(OHMMETER, cable, fault, *hookups)), 30.0)
    stated = (30.0 - 12.4) * lead_ohm / (60.0 * 1.47 + lead_ohm)
    assert found.position_m - 12.4 == pytest.approx(stated, rel=1e-6)


@given(lengths, fractions, ohms_per_m, ohms, cold_leads)
def test_two_ends_between_two_cores(length_m, fraction, ohm_per_m, fault_ohm, lead_m):
    cable = twin(length_m, ohm_per_m, 2 * ohm_per_m, far_end="open", cold_lead_m=0.0)
    fault = Short(("core1", "core2"), fraction * length_m, fault_ohm)
    near, far = read(OHMMETER, cable, fault, ("core1", "core2"), ("core1@far", "core2@far"))
    found = cf.two_ends(near, far, 3 * ohm_per_m * length_m, length_m)
    assert found.position_m == pytest.approx(fault.at_m, abs=1e-6 * length_m)
    assert found.resistance_ohm == pytest.approx(fault_ohm, rel=1e-6, abs=1e-9 * near)


@given(lengths, fractions, ohms_per_m, ohms, cold_leads, st.floats(1e-6, 1.0))
def test_two_ends_of_one_core_to_the_braid(
    length_m, fraction, ohm_per_m, fault_ohm, lead_m, braid_ohm_per_m
):
    cable = single(length_m, ohm_per_m, cold_lead_m=lead_m, braid_ohm_per_m=braid_ohm_per_m)
    fault = Short(("core1", "braid"), fraction * length_m, fault_ohm)
    near, far = read(OHMMETER, cable, fault, ("core1", "braid"), ("core1@far", "braid@far"))
    found = cf.two_ends(
        near,
        far,
        (ohm_per_m + braid_ohm_per_m) * length_m,
        length_m,
        cold_lead_ohm=cold_lead_ohm(cable) + lead_m * braid_ohm_per_m,
    )
    assert found.position_m == pytest.approx(fault.at_m, abs=1e-6 * length_m)
    assert found.resistance_ohm == pytest.approx(fault_ohm, rel=1e-6, abs=1e-9 * near)


def test_two_ends_bias_where_the_braid_is_left_out_of_the_path():
    cable = single(50.0, 1.0, braid_ohm_per_m=0.1, cold_lead_m=0.0)
    near, far = read(
        OHMMETER,
        cable,
        Short(("core1", "braid"), 10.0, 5.0),
        *(("core1", "braid"), ("core1@far", "braid@far")),
    )
    found = cf.two_ends(near, far, path_ohm=50.0, length_m=50.0)
    assert found.position_m - 25.0 == pytest.approx((10.0 - 25.0) * 1.1, rel=1e-9)


# The root loses digits where the fault resistance is far above that of the path.
@given(lengths, fractions, ohms_per_m, st.floats(0.01, 10.0), cold_leads)
def test_blavier(length_m, fraction, ohm_per_m, fault_over_path, lead_m):
    cable = twin(length_m, ohm_per_m, far_end="open", cold_lead_m=lead_m)
    lead_ohm, path_ohm = 2 * cold_lead_ohm(cable), 2 * ohm_per_m * length_m
    fault_ohm = fault_over_path * path_ohm
    fault = Short(("core1", "core2"), fraction * length_m, fault_ohm)
    across = ("core1", "core2")
    (opened,) = read(OHMMETER, cable, fault, across)
    (closed,) = read(OHMMETER, cable, fault, across, links=(("core1@far", "core2@far"),))
    # At the far end itself all three agree but for rounding, which could part them either way.
    path_with_lead = path_ohm + lead_ohm
    closed = min(opened, closed, path_with_lead)
    found = cf.blavier(opened, closed, path_with_lead, length_m, cold_lead_ohm=lead_ohm)
    assert found.position_m == pytest.approx(fault.at_m, abs=1e-5 * length_m)
    assert found.resistance_ohm == pytest.approx(fault_ohm, abs=1e-5 * (path_ohm + fault_ohm))


@given(lengths, fractions, ohms_per_m, st.floats(0.01, 10.0))
def test_blavier_without_the_length_inverts_predict(length_m, fraction, ohm_per_m, fault_over_path):
    cable = twin(length_m, ohm_per_m, far_end="open", cold_lead_m=0.0)
    fault_ohm = fault_over_path * 2 * ohm_per_m * length_m
    fault = Short(("core1", "core2"), fraction * length_m, fault_ohm)
    opened, far = read(OHMMETER, cable, fault, ("core1", "core2"), ("core1@far", "core2@far"))
    (closed,) = read(
        OHMMETER, cable, fault, ("core1", "core2"), links=(("core1@far", "core2@far"),)
    )
    found = cf.blavier_unknown_length(opened, closed, far, 2 * ohm_per_m)
    assert found.position_m == pytest.approx(fault.at_m, abs=1e-5 * length_m)
    assert found.resistance_ohm == pytest.approx(fault_ohm, rel=1e-5)


LOOP = ("core2", "core1", "braid")  # core1 is the faulty one


@given(lengths, fractions, ohms_per_m, ohms, cold_leads)
def test_murray(length_m, fraction, ohm_per_m, fault_ohm, lead_m):
    cable = twin(length_m, ohm_per_m, cold_lead_m=lead_m)
    fault = Short(("core1", "braid"), fraction * length_m, fault_ohm)
    (share,) = read(BRIDGE, cable, fault, LOOP, method="murray")
    equivalent_m = cold_lead_ohm(cable) / ohm_per_m
    found = cf.murray(share, length_m, cold_lead_m=equivalent_m)
    assert found == pytest.approx(fault.at_m, abs=1e-8 * (length_m + equivalent_m))


@given(lengths, fractions, ohms_per_m, ohms_per_m, ohms, cold_leads)
def test_murray_unequal(length_m, fraction, faulty, sound, fault_ohm, lead_m):
    cable = twin(length_m, faulty, sound, cold_lead_m=lead_m)
    fault = Short(("core1", "braid"), fraction * length_m, fault_ohm)
    (share,) = read(BRIDGE, cable, fault, LOOP, method="murray")
    (loop_ohm,) = read(OHMMETER, cable, fault, ("core1", "core2"))
    found = cf.murray_unequal(share, loop_ohm, faulty, cold_lead_ohm=cold_lead_ohm(cable))
    assert found == pytest.approx(fault.at_m, abs=1e-8 * loop_ohm / faulty)


@given(lengths, fractions, ohms_per_m, ohms, st.floats(0.1, 50.0))
def test_murray_two_balances(length_m, fraction, ohm_per_m, fault_ohm, aux_ohm):
    # The auxiliary wire is the other core, of any resistance; the second balance is on a dead short
    # at the far end.
    cable = twin(length_m, ohm_per_m, aux_ohm, cold_lead_m=0.0)
    fault = Short(("core1", "braid"), fraction * length_m, fault_ohm)
    end = Short(("core1", "braid"), length_m, 1e-3)
    (share,) = read(BRIDGE, cable, fault, LOOP, method="murray")
    (far_share,) = read(BRIDGE, cable, end, LOOP, method="murray")
    found = cf.murray_two_balances(share, far_share, length_m)
    assert found == pytest.approx(fault.at_m, abs=1e-8 * length_m)


@given(lengths, fractions, ohms_per_m, ohms_per_m, ohms, cold_leads, ratios, ratios)
def test_varley(length_m, fraction, faulty, sound, fault_ohm, lead_m, p, q):
    cable = twin(length_m, faulty, sound, cold_lead_m=lead_m)
    fault = Short(("core1", "braid"), fraction * length_m, fault_ohm)
    (loop_ohm,) = read(OHMMETER, cable, fault, ("core1", "core2"))
    lead_ohm = cold_lead_ohm(cable)
    to_fault_ohm = lead_ohm + faulty * fault.at_m
    if q * (loop_ohm - to_fault_ohm) > p * to_fault_ohm:
        (box_ohm,) = read(BRIDGE, cable, fault, LOOP, method="varley", arms=(p, q))
        method = cf.varley
    else:  # the box, and with it the second lead and the second arm, goes to the sound core
        swapped = ("core1", "core2", "braid")
        (box_ohm,) = read(BRIDGE, cable, fault, swapped, method="varley", arms=(q, p))
        method = cf.varley_box_at_sound_core
    assume(box_ohm >= 0)  # at a balance without a box, rounding may leave -1e-15
    found = method(box_ohm, loop_ohm, faulty, arms_ohm=(p, q), cold_lead_ohm=lead_ohm)
    assert found == pytest.approx(fault.at_m, abs=1e-8 * loop_ohm / faulty)


@given(lengths, fractions, ohms_per_m, ohms, st.floats(0.01, 30.0), st.floats(-9.0, 9.0))
def test_varley_lead_corrected_does_not_trust_the_box(
    length_m, fraction, ohm_per_m, fault_ohm, lead_m, scale_percent
):
    cable = twin(length_m, ohm_per_m, cold_lead_m=lead_m)
    fault = Short(("core1", "braid"), fraction * length_m, fault_ohm)
    (fault_box,) = read(BRIDGE, cable, fault, LOOP, method="varley", arms=(1.0, 1.0))
    # The loop balance: the return at the sound core's terminal, so the box equals the whole loop.
    (loop_box,) = read(OHMMETER, cable, fault, ("core1", "core2"))
    core_ohm = ohm_per_m * length_m
    found = cf.varley_lead_corrected(
        max(fault_box, 0.0) * (1 + scale_percent / 100),
        loop_box * (1 + scale_percent / 100),
        core_ohm,
        cold_lead_ohm(cable),
        length_m,
    )
    assert found == pytest.approx(fault.at_m, abs=1e-7 * loop_box / ohm_per_m)


@given(lengths, fractions, ohms_per_m, ohms, cold_leads)
def test_drop(length_m, fraction, ohm_per_m, fault_ohm, lead_m):
    cable = twin(length_m, ohm_per_m, cold_lead_m=lead_m)
    fault = Short(("core1", "braid"), fraction * length_m, fault_ohm)
    core1, core2, braid = (Terminal(name) for name in ("core1", "core2", "braid"))
    siemens = terminal_network(cable, (fault,), [core1, core2, braid]).siemens
    # One ampere in at core1 and out at the braid; core2 open, with no current in it.
    probe = siemens[min(core1, core2), max(core1, core2)]
    to_core1, to_core2 = siemens[braid, core1], siemens[braid, core2]
    volts = np.linalg.solve([[probe + to_core1, -probe], [-probe, probe + to_core2]], [1.0, 0.0])
    fault_volt = max(float(volts[0] - volts[1]), 0.0)
    found = cf.drop(fault_volt, 10.0, 10.0, ohm_per_m, cold_lead_ohm=cold_lead_ohm(cable))
    # The solution subtracts, so it is as good as the largest resistance in it.
    largest_ohm = 2 * ohm_per_m * length_m + fault_ohm
    assert found == pytest.approx(fault.at_m, abs=1e-9 * largest_ohm / ohm_per_m)


# Thick cores on poor insulation: the leak is within a bridge's reach, and drops no volts on a core.
@given(lengths, fractions, st.floats(1e-5, 1e-4), st.floats(0.02, 20.0))
def test_murray_corrected_for_evenly_leaking_cores(length_m, fraction, faulty, fault_over_rest):
    cable = twin(length_m, faulty, cold_lead_m=0.0, insulation_gigaohm_m=0.02, braid_ohm_per_m=1e-6)
    both_to_braid_ohm = 2e7 / (2 * length_m)
    fault = Degraded.at(
        ("core1", "braid"), fraction * length_m, fault_over_rest * both_to_braid_ohm
    )
    (share,) = read(BRIDGE, cable, fault, LOOP, method="murray")
    (after_ohm,) = read(OHMMETER, cable, fault, ("core1+core2", "braid"))
    seen = cf.murray(share, length_m)
    found = cf.corrected_for_leakage(seen, length_m, both_to_braid_ohm, after_ohm)
    assert found == pytest.approx(fault.from_m, abs=1e-5 * length_m)
    # Without the correction the natural leakage draws the place towards the far end, unless the
    # fault is there.
    pulled = fault_over_rest / (1 + fault_over_rest) * (length_m - fault.from_m)
    assert seen - fault.from_m == pytest.approx(pulled, abs=1e-5 * length_m)


picofarads = st.floats(20.0, 400.0)
# At 1 kHz the cores' resistance changes a capacitance by about (w R C)^2 / 3: nothing at 1 Hz.
SLOW = {"frequency_hz": 1.0}
to_rest = (("core1", "core2+braid"), ("core2", "core1+braid"), ("core1+core2", "braid"))
plain = (("core1", "braid"), ("core2", "braid"))


@given(lengths, fractions, picofarads, picofarads, cold_leads)
def test_three_capacitances_whatever_the_coupling(length_m, fraction, braid, core, lead_m):
    cable = twin(
        length_m,
        0.01,
        cold_lead_m=lead_m,
        capacitance_core_braid_pf_per_m=braid,
        capacitance_core_core_pf_per_m=core,
    )
    fault = Break(("core1",), fraction * length_m)
    readings = read(CAPACITANCE_METER, cable, fault, *to_rest, **SLOW)
    found = cf.break_from_three_capacitances(*readings, length_m, cold_lead_m=lead_m)
    assert found == pytest.approx(fault.at_m, abs=1e-7 * (length_m + lead_m))


@given(lengths, st.floats(0.001, 1.0), picofarads, st.floats(0.0, 0.4))
def test_two_plain_capacitances_have_the_stated_bias(length_m, fraction, braid, coupling):
    cable = twin(
        length_m,
        0.01,
        cold_lead_m=0.0,
        capacitance_core_braid_pf_per_m=braid,
        capacitance_core_core_pf_per_m=coupling * braid,
    )
    at_m = fraction * length_m
    readings = read(CAPACITANCE_METER, cable, Break(("core1",), at_m), *plain, **SLOW)
    found = cf.break_from_two_capacitances(*readings, length_m)
    tiny = 1e-7 * length_m
    assert at_m - tiny <= found <= at_m * (1 + coupling) + tiny
    assert found - at_m <= 0.1 * length_m
    if coupling == 0.0 or fraction == 1.0:
        assert found == pytest.approx(at_m, abs=tiny)


def test_two_plain_capacitances_are_off_by_the_coupling_near_the_cold_joint():
    cable = twin(30.0, 0.01, cold_lead_m=0.0)
    k = cable.capacitance_core_core_pf_per_m / cable.capacitance_core_braid_pf_per_m
    readings = read(CAPACITANCE_METER, cable, Break(("core1",), 0.1), *plain, **SLOW)
    assert cf.break_from_two_capacitances(*readings, 30.0) / 0.1 - 1 == pytest.approx(k, rel=0.02)


@given(lengths, fractions, picofarads, cold_leads)
def test_one_broken_core_from_both_ends(length_m, fraction, braid, lead_m):
    cable = single(length_m, 0.01, cold_lead_m=lead_m, capacitance_core_braid_pf_per_m=braid)
    fault = Break(("core1",), fraction * length_m)
    near, far = read(
        CAPACITANCE_METER, cable, fault, ("core1", "braid"), ("core1@far", "braid"), **SLOW
    )
    assume(near + far > 0)
    found = cf.break_from_both_ends(near, far, length_m, cold_lead_m=lead_m)
    assert found == pytest.approx(fault.at_m, abs=1e-6 * (length_m + lead_m))


@given(lengths, fractions, picofarads, cold_leads)
def test_break_against_a_good_core(length_m, fraction, braid, lead_m):
    cable = twin(
        length_m,
        0.01,
        far_end="open",
        cold_lead_m=lead_m,
        capacitance_core_braid_pf_per_m=braid,
        capacitance_core_core_pf_per_m=0.0,
    )
    fault = Break(("core1",), fraction * length_m)
    (share,) = read(BRIDGE, cable, fault, LOOP, method="capacitance", **SLOW)
    # The share is that of the arm at the broken core, which balances the good core's capacitance.
    found = cf.break_against_good_core(1 - share, share, length_m, cold_lead_m=lead_m)
    assert found == pytest.approx(fault.at_m, abs=1e-6 * (length_m + lead_m))


@pytest.mark.parametrize("fraction", [0.1, 0.5, 0.9])
def test_break_against_a_good_core_has_the_stated_bias(fraction):
    cable = twin(30.0, 0.01, far_end="open", cold_lead_m=0.0)
    fault = Break(("core1",), fraction * 30.0)
    broken, good = read(CAPACITANCE_METER, cable, fault, *plain, **SLOW)
    (share,) = read(BRIDGE, cable, fault, LOOP, method="capacitance", **SLOW)
    assert cf.break_against_good_core(broken, good, 30.0) > fault.at_m * 1.001
    assert cf.break_against_good_core(1 - share, share, 30.0) < fault.at_m * 0.999


@given(st.floats(1.0, 1e3), st.floats(1e-10, 1e-6), st.floats(10.0, 5e3), st.floats(0.01, 5.0))
def test_loss_of_charge_inverts_the_decay(seconds, farad, start_volt, time_constants):
    end_volt = start_volt * np.exp(-time_constants)
    found = cf.loss_of_charge(seconds, farad, start_volt, end_volt)
    assert found == pytest.approx(seconds / (farad * time_constants), rel=1e-9)


# --- one rule for impossible inputs ---------------------------------------------------------------

IMPOSSIBLE = [
    (cf.blavier, (10.0, 11.0, 20.0, 30.0), "closed_ohm"),
    (cf.blavier, (10.0, 9.0, 8.0, 30.0), "closed_ohm"),
    (cf.blavier_unknown_length, (3.0, 4.0, 8.0, 0.01), "near_closed_ohm"),
    (cf.murray, (1.2, 30.0), "share"),
    (cf.murray, (-0.1, 30.0), "share"),
    (cf.murray_unequal, (1.2, 50.0, 1.0), "share"),
    (cf.murray_two_balances, (0.1, 0.0, 30.0), "far_end_share"),
    (cf.arm_share, (0.0, 0.0), "sum of both arms"),
    (cf.varley, (-1.0, 50.0, 1.0), "box_ohm"),
    (cf.varley_box_at_sound_core, (-1.0, 50.0, 1.0), "box_ohm"),
    (cf.varley_loop_ohm, (-1.0,), "box_ohm"),
    (cf.varley_lead_corrected, (103.0, 102.0, 50.0, 1.0, 30.0), "fault_box_ohm"),
    (cf.two_ends, (np.inf, 10.0, 20.0, 30.0), "near_ohm"),
    (cf.two_ends, (10.0, 10.0, 0.0, 30.0), "path_ohm"),
    (cf.three_readings, (0.0, 10.0, 20.0, 30.0), "core_to_core_ohm"),
    (cf.three_readings, (80.0, 10.0, np.inf, 30.0), "sound_to_braid_ohm"),
    (cf.drop, (1.0, 0.0, 10.0, 1.0), "known_volt"),
    (cf.corrected_for_leakage, (10.0, 30.0, 1e6, 2e6), "after_ohm"),
    (cf.loss_of_charge, (60.0, 1e-9, 100.0, 100.0), "end_volt"),
    (cf.break_from_three_capacitances, (1.0, 2.0, 0.0, 30.0), "both_to_braid"),
    (cf.break_from_two_capacitances, (0.0, 0.0, 30.0), "sum of both capacitances"),
    (cf.break_from_both_ends, (-1.0, 2.0, 30.0), "near"),
    (cf.break_against_good_core, (1.0, 0.0, 30.0), "good"),
    (cf.break_against_unknown_core, (2.0, 1.5, 30.0), "joined_over_broken"),
]


def test_every_closed_form_is_refused_something():
    tried = {method.__name__ for method, _, _ in IMPOSSIBLE}
    assert tried == set(cf.__all__) - {"PointFault"}


@pytest.mark.parametrize(("method", "arguments", "named"), IMPOSSIBLE)
def test_an_impossible_number_is_refused_by_name(method, arguments, named):
    with pytest.raises(InputError) as raised:
        method(*arguments)
    assert raised.value.what == named


def possible(method):
    """Numbers that a closed form takes, for its arguments in their order."""
    count = next(len(arguments) for one, arguments, _ in IMPOSSIBLE if one is method)
    return {
        cf.blavier: (15.0, 9.0, 10.0, 30.0),
        cf.blavier_unknown_length: (4.0, 3.5, 8.0, 0.01),
        cf.varley_lead_corrected: (60.0, 102.0, 50.0, 1.0, 30.0),
        cf.corrected_for_leakage: (10.0, 30.0, 2e6, 1e6),
        cf.loss_of_charge: (60.0, 1e-9, 100.0, 50.0),
        cf.break_against_unknown_core: (1.5, 2.0, 30.0),
    }.get(method, tuple(np.full(count, 0.5)))


@pytest.mark.parametrize("method", dict.fromkeys(method for method, _, _ in IMPOSSIBLE))
def test_every_argument_that_is_no_number_is_refused_by_its_own_name(method):
    numbers = possible(method)
    names = list(inspect.signature(method).parameters)
    for k, name in enumerate(names):
        if k < len(numbers):
            arguments = {**dict(zip(names, numbers, strict=False)), name: np.nan}
        elif name.startswith("cold_lead"):
            arguments = {**dict(zip(names, numbers, strict=False)), name: -1.0}
        else:
            continue  # the ratio arms, whose sum is refused
        with pytest.raises(InputError) as raised:
            method(**arguments)
        assert raised.value.what == name


@pytest.mark.parametrize(("method", "arguments", "named"), IMPOSSIBLE)
def test_an_impossible_element_is_nan_and_leaves_the_others(method, arguments, named):
    numbers = possible(method)
    alone = np.atleast_1d(method(*numbers))
    columns = [np.array(pair) for pair in zip(numbers, arguments, strict=True)]
    together = np.atleast_2d(method(*columns))
    np.testing.assert_array_equal(together[:, 0], alone)
    assert np.isnan(together[:, 1]).any()


def test_numbers_give_plain_numbers():
    for found in (
        *cf.three_readings(88.0, 73.0, 125.0, 30.0),
        *cf.blavier(15.0, 9.0, 10.0, 30.0),
        *cf.blavier_unknown_length(4.0, 3.5, 8.0, 0.01),
        cf.loss_of_charge(60.0, 1e-9, 100.0, 50.0),
    ):
        assert type(found) is float


def test_arrays_broadcast():
    share = np.linspace(0.0, 0.5, 6)[:, None]
    assert cf.murray(share, np.array([10.0, 20.0])).shape == (6, 2)


def test_a_near_miss_off_the_cable_is_a_result():
    assert cf.three_readings(88.0, 50.0, 138.1, 30.0).position_m == pytest.approx(-0.034, abs=5e-4)
