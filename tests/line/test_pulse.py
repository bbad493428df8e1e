"""Pulses: nothing comes too early, from nothing, or of the wrong sign; sizes are right."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from line.strategies import cables, decades, lengths_m, pairs

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint, Short
from cablesim.cable.placing import mirrored_fault
from cablesim.errors import InputError
from cablesim.line.pulse import Incident, echo_trace, travel_s
from cablesim.line.reflection import (
    echo_delay_ns,
    echo_position_m,
    echoes,
    joint_echo,
    wave_impedance_ohm,
)
from cablesim.line.terminals import Hookup

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2, loss_tangent=0.0)
CORE_BRAID = Hookup.of(TWIN, ("core1", "braid"))
SINGLE = Cable.rated(
    "single",
    heated_length_m=20.0,
    core_ohm_per_m=(1e-9,),
    braid_ohm_per_m=1e-9,
    cold_lead_m=0.0,
    insulation_gigaohm_m=np.inf,
    loss_tangent=0.0,
)
# What the trace may be off by, rounding of the reduction included [V of a 1 V step].
EXACT = 1e-7


@st.composite
def pulse_cables(draw, construction=None):
    """Cables on which a pulse comes back: loss tangents make all speeds differ, so none here."""
    cable = draw(cables(construction))
    lead = None if cable.cold_lead_loss_tangent is None else 0.0
    return replace(cable, loss_tangent=0.0, cold_lead_loss_tangent=lead)


@st.composite
def near_hookups(draw, cable):
    names = list(draw(st.permutations(cable.conductors)))
    second = "+".join(names[1:]) if draw(st.booleans()) else names[1]
    return Hookup.of(cable, (names[0], second))


def incidents(cable):
    """Steps and pulses as sharp as the cable's length allows to see something."""
    there_s = float(travel_s(cable, cable.first_m, cable.last_m))
    return st.builds(
        Incident,
        rise_s=st.floats(0.01, 0.1).map(lambda share: share * there_s),
        width_s=st.one_of(st.just(np.inf), st.floats(0.1, 1.0).map(lambda w: w * there_s)),
        source_ohm=decades(0.5, 3),
    )


@st.composite
def point_faults(draw, cable):
    at_m = draw(lengths_m(0.0, float(cable.heated_length_m)))
    ohm = draw(decades(-1, 4))
    if draw(st.booleans()):
        return Short(draw(pairs(cable)), at_m, ohm)
    return Joint(draw(st.sampled_from(cable.conductors)), at_m, ohm)


@st.composite
def cases(draw, construction=None):
    cable = draw(pulse_cables(construction))
    hookup = draw(near_hookups(cable))
    return cable, draw(point_faults(cable)), hookup, draw(incidents(cable))


@given(cases())
@settings(max_examples=40)
def test_nothing_comes_back_before_it_can(case):
    cable, fault, hookup, incident = case
    whole, damaged = (echo_trace(cable, found, hookup, incident) for found in ((), (fault,)))
    arrives_s = 1e-9 * float(echo_delay_ns(cable, fault.at_m))
    before = whole.time_s < arrives_s + whole.time_s[0]
    change = np.abs(damaged.volt - whole.volt)
    assert np.all(change[before] < EXACT)


@given(cases(), st.floats(-5.0, 5.0))
@settings(max_examples=20)
def test_the_trace_is_in_proportion_to_the_source(case, volt):
    cable, fault, hookup, incident = case
    one = echo_trace(cable, (fault,), hookup, incident)
    other = echo_trace(cable, (fault,), hookup, replace(incident, volt=volt))
    np.testing.assert_allclose(other.volt, volt * one.volt, atol=1e-9)


@given(cases(), st.floats(0.1, 0.5))
@settings(max_examples=20)
def test_a_pulse_is_a_step_and_a_later_step_back(case, share):
    cable, fault, hookup, incident = case
    points = 512
    step = echo_trace(cable, (fault,), hookup, replace(incident, width_s=np.inf), points=points)
    later = round(share * points)
    width_s = later * float(step.time_s[1] - step.time_s[0])
    until_s = float(step.time_s[-1])
    pulse = echo_trace(
        cable, (fault,), hookup, replace(incident, width_s=width_s), points=points, until_s=until_s
    )
    back = np.concatenate([np.zeros(later), step.volt[:-later]])
    np.testing.assert_allclose(pulse.volt, step.volt - back, atol=EXACT)


@given(cases())
@settings(max_examples=30)
def test_a_cable_never_gives_back_more_than_it_got(case):
    cable, fault, hookup, incident = case
    assume(np.isfinite(incident.width_s))
    trace = echo_trace(cable, (fault,), hookup, incident, points=2048)
    ampere = (incident.against_time(trace.time_s) - trace.volt) / incident.source_ohm
    power = trace.volt * ampere
    step_s = float(trace.time_s[1] - trace.time_s[0])
    joule = np.concatenate([[0.0], np.cumsum((power[1:] + power[:-1]) / 2) * step_s])
    # The trapezium rule is exact to rounding for a smooth pulse that is finely sampled.
    sharpness = step_s / incident.deviation_s
    allowed = (1e-6 + sharpness**2 / 12) * joule.max()
    assert joule.min() > -allowed


@given(cases("single"))
@settings(max_examples=20)
def test_a_cable_seen_from_its_other_end_is_its_mirror_image(case):
    cable, fault, hookup, incident = case
    far = Hookup.of(cable, tuple(f"{lead}@far" for lead in hookup.across))
    here = echo_trace(cable, (mirrored_fault(cable, fault),), hookup, incident)
    there = echo_trace(cable, (fault,), far, incident)
    np.testing.assert_allclose(there.volt, here.volt, atol=EXACT)
    for one, other in zip(
        echoes(cable, (mirrored_fault(cable, fault),), hookup, 50.0),
        echoes(cable, (fault,), far, 50.0),
        strict=True,
    ):
        assert one.delay_ns == pytest.approx(other.delay_ns)
        assert one.size == pytest.approx(other.size)


@given(cases("single"))
def test_an_echo_names_its_place_whichever_end_is_read(case):
    cable, fault, hookup, _ = case
    far = Hookup.of(cable, tuple(f"{lead}@far" for lead in hookup.across))
    for leads, end_m, joint_m in (
        (hookup, cable.last_m, 0.0),
        (far, cable.first_m, cable.heated_length_m),
    ):
        found = echoes(cable, (fault,), leads, 50.0)
        assert [echo.position_m for echo in found] == pytest.approx([fault.at_m, end_m])
        if not cable.cold_lead_is_alike:
            assert joint_echo(cable, leads, 50.0).position_m == joint_m


def without_lead(cable):
    """Its heated part alone."""
    return replace(
        cable,
        cold_lead_m=0.0,
        cold_lead_capacitance_core_braid_pf_per_m=None,
        cold_lead_capacitance_core_core_pf_per_m=None,
        cold_lead_velocity_factor=None,
    )


@given(st.sampled_from(["single", "twin"]), st.floats(20.0, 300.0), st.floats(0.4, 0.9))
@settings(max_examples=10)
def test_a_cold_joint_answers_with_the_step_of_impedance(construction, farad, velocity):
    """``(Z2 - Z1) / (Z2 + Z1)`` on one pair, from a source that sends nothing back."""
    cable = Cable.rated(
        construction,
        heated_length_m=10.0,
        core_ohm_per_m=(1e-6,) * (2 if construction == "twin" else 1),
        braid_ohm_per_m=1e-6,
        cold_lead_ohm_per_m=1e-6,
        loss_tangent=0.0,
        cold_lead_capacitance_core_braid_pf_per_m=farad,
        cold_lead_velocity_factor=velocity,
    )
    hookup = Hookup.of(cable, ("core1", "core2" if construction == "twin" else "braid"))
    lead_ohm = float(wave_impedance_ohm(cable, hookup))
    heated_ohm = float(wave_impedance_ohm(without_lead(cable), hookup))
    echo = joint_echo(cable, hookup, lead_ohm)
    # The cores hold all there is to the braid alike, so the pair is a line of its own.
    wanted = (heated_ohm - lead_ohm) / (heated_ohm + lead_ohm)
    assert float(echo.size) == pytest.approx(wanted, abs=1e-6)
    assert echo.delay_ns == pytest.approx(1e9 * 2 * 2.5 / (velocity * 299792458.0))
    sharp = Incident(1e-10, source_ohm=lead_ohm)
    trace = echo_trace(cable, (), hookup, sharp, until_s=6e-8, points=4096)
    after_s = 1e-9 * float(echo.delay_ns)
    assert trace.at(after_s + 3e-10) - trace.at(after_s - 3e-10) == pytest.approx(
        wanted / 2, abs=1e-5
    )
    assert joint_echo(without_lead(cable), hookup, 50.0) is None


@given(pulse_cables(), st.floats(0.0, 1.2))
def test_a_place_is_found_from_its_time_across_the_joints(cable, share):
    way_m = share * float(cable.last_m - cable.first_m)
    for end, place in (("near", cable.first_m + way_m), ("far", cable.last_m - way_m)):
        if end == "far" and not cable.construction.returns:
            continue
        delay_ns = echo_delay_ns(cable, place, end=end)
        assert echo_position_m(cable, delay_ns, end=end) == pytest.approx(place, abs=1e-9)


def test_beyond_the_far_end_a_place_goes_on_at_the_speed_of_its_lead():
    cable = replace(SINGLE, cold_lead_m=2.0, cold_lead_velocity_factor=0.8)
    behind_ns = echo_delay_ns(cable, cable.last_m) + 10.0
    further_m = 0.8 * 299792458.0 * 10e-9 / 2
    assert echo_position_m(cable, behind_ns) == pytest.approx(cable.last_m + further_m)


@pytest.mark.parametrize("listed", [(), (0,), (1,), (0, 1), (1, 0)])
def test_a_lossless_line_shows_its_far_end_through_what_lies_before_it(listed):
    """Reflection -Z / (2 R + Z) of R across, R / (R + 2 Z) of R in series; passed twice."""
    z = float(wave_impedance_ohm(SINGLE, CORE_BRAID))
    at_m = np.array([5.0, 12.0])
    both = (Short(("core1", "braid"), at_m, 80.0), Joint("core1", at_m[::-1], 60.0))
    back = (-z / (2 * 80.0 + z), 60.0 / (60.0 + 2 * z))
    passed = ((1 + back[0]) ** 2, (1 - back[1]) ** 2)
    (whole,) = echoes(SINGLE, (), CORE_BRAID, 50.0)
    *found, far = echoes(SINGLE, tuple(both[k] for k in listed), CORE_BRAID, 50.0)
    wanted = whole.size * np.prod([passed[k] for k in listed])
    np.testing.assert_allclose(far.size, np.broadcast_to(wanted, np.shape(far.size)), rtol=1e-6)
    for k, echo in zip(listed, found, strict=True):
        # The short comes first in the first row, the joint in the second.
        before = np.where(np.arange(2) == k, 1.0, passed[1 - k] if len(listed) > 1 else 1.0)
        np.testing.assert_allclose(echo.size / whole.size, back[k] * before, rtol=1e-6)


@given(cases())
@settings(max_examples=40)
def test_the_first_change_has_the_sign_and_the_size_of_the_front(case):
    cable, fault, hookup, incident = case
    # A front is what a step is before losses catch up with it: look at it sharply.
    arrives_s = 1e-9 * float(echo_delay_ns(cable, fault.at_m))
    assume(arrives_s > 1e-9)
    loss = max(float(r) for r in (*cable.core_ohm_per_m, cable.braid_ohm_per_m))
    alone = without_lead(cable)
    impedances = [
        float(wave_impedance_ohm(part, Hookup.of(part, pair)))
        for part in (cable, alone)
        for pair in [
            ("core1", "braid"),
            *([("core1", "core2")] if "core2" in cable.conductors else []),
        ]
    ]
    # Losses along the cores, and where it heats between them those across.
    across_m = float(cable.heating_ohm_m) / max(impedances)
    caught_m = 1e-3 * min(min(impedances) / loss, across_m)
    rise_s = min(0.02 * arrives_s, caught_m / cable.pulse_velocity_m_per_s)
    assume(arrives_s / rise_s < 2000)
    behind_s = 2 * float(travel_s(cable, fault.at_m, cable.last_m))
    assume(behind_s > 3 * rise_s)
    # What a joint or the fault sends to and fro in a short stretch comes too late to be counted.
    if not cable.cold_lead_is_alike:
        ways_s = [
            2 * float(travel_s(cable, *way)) for way in ((cable.first_m, 0.0), (0.0, fault.at_m))
        ]
        assume(all(way_s == 0.0 or way_s > 3 * rise_s for way_s in ways_s))
        assume(fault.at_m > 0.0)  # at the joint itself both send one back at once
        if cable.construction.returns:
            rest_s = 2 * float(travel_s(cable, fault.at_m, cable.heated_length_m))
            assume(rest_s > 3 * rise_s)
    sharp = Incident(rise_s, source_ohm=incident.source_ohm)
    near = {"until_s": arrives_s + 2 * rise_s, "points": 4096, "error": 1e-6}
    whole, damaged = (echo_trace(cable, found, hookup, sharp, **near) for found in ((), (fault,)))
    z0 = float(wave_impedance_ohm(cable, hookup))
    entered = z0 / (z0 + sharp.source_ohm)
    predicted = float(echoes(cable, (fault,), hookup, sharp.source_ohm)[0].size)
    risen = damaged.at(arrives_s + 1.3 * rise_s) - whole.at(arrives_s + 1.3 * rise_s)
    assert float(risen) / entered == pytest.approx(predicted, abs=0.02)


@given(st.data())
@settings(max_examples=100)
def test_across_is_negative_in_series_is_positive_and_less_so_the_weaker(data):
    cable = data.draw(pulse_cables())
    hookup = data.draw(near_hookups(cable))
    fault = data.draw(point_faults(cable))
    ohm = np.array([0.0, 0.1, 1.0, 10.0, 100.0, 1e4, 1e6])
    size = echoes(cable, (replace(fault, resistance_ohm=ohm),), hookup, 50.0)[0].size
    size = np.broadcast_to(size, ohm.shape)
    across = isinstance(fault, Short)
    assert np.all(size <= 1e-7) if across else np.all(size >= -1e-7)
    weaker = np.abs(size) if across else np.abs(size)[::-1]
    assert np.all(np.diff(weaker) <= 1e-7)


def test_a_batch_is_its_members_one_by_one():
    at_m, ohm = np.array([[5.0], [12.4], [29.0]]), np.array([1.0, 300.0])
    source = Incident(3e-9)
    window = {"until_s": 6e-7, "points": 200}
    together = echo_trace(
        TWIN, (Short(("core1", "braid"), at_m, ohm),), CORE_BRAID, source, **window
    )
    sizes = echoes(TWIN, (Short(("core1", "braid"), at_m, ohm),), CORE_BRAID, 50.0)
    assert together.volt.shape == (3, 2, 200)
    for i in range(3):
        for j in range(2):
            short = Short(("core1", "braid"), at_m[i, 0], ohm[j])
            alone = echo_trace(TWIN, (short,), CORE_BRAID, source, **window)
            np.testing.assert_allclose(together.volt[i, j], alone.volt, atol=1e-10)
            for one, many in zip(echoes(TWIN, (short,), CORE_BRAID, 50.0), sizes, strict=True):
                assert one.size == pytest.approx(np.broadcast_to(many.size, (3, 2))[i, j])


@pytest.mark.parametrize("error", [1e-4, 1e-6, 1e-8, 1e-10])
def test_the_stated_error_is_kept(error):
    # A lossless line of one core is a staircase of echoes, known in closed form.
    source = Incident(2e-9, source_ohm=20.0)
    trace = echo_trace(SINGLE, (), CORE_BRAID, source, error=error)
    z0 = float(wave_impedance_ohm(SINGLE, CORE_BRAID))
    enters, back = z0 / (z0 + 20.0), (20.0 - z0) / (20.0 + z0)
    stairs = enters * source.against_time(trace.time_s)
    there_and_back_s = 2 * travel_s(SINGLE, 0.0, 20.0)
    for k in range(1, 4):
        later = source.against_time(trace.time_s - k * there_and_back_s)
        stairs += enters * (1 + back) * back ** (k - 1) * later
    # Rounding grows by exp(10) to the end of the window.
    assert np.abs(trace.volt - stairs).max() < error + 5e-9


def test_a_stretch_that_is_long_beside_the_step_reflects_less():
    short, long = (
        echoes(
            TWIN, (Degraded(("core1", "braid"), 10.0, to_m, 50.0),), CORE_BRAID, 50.0, rise_s=3e-9
        )
        for to_m in (10.0, 15.0)
    )
    assert short[0].size < long[0].size < 0
    assert short[0].delay_ns == long[0].delay_ns


def test_two_ways_along_a_cable_that_lose_alike():
    """With Ccc / Ccb = Rb / Rc both modes of two cores lose (Rc + 2 Rb) v Ccb / 2 of a metre."""
    cable = replace(
        TWIN,
        cold_lead_m=0.0,
        core_ohm_per_m=(0.5, 0.5),
        braid_ohm_per_m=0.125,
        capacitance_core_braid_pf_per_m=64.0,
        capacitance_core_core_pf_per_m=16.0,
        velocity_factor=0.6,
    )
    free = replace(cable, core_ohm_per_m=(1e-9, 1e-9), braid_ohm_per_m=1e-9)
    at_20_m = (Break(("core1",), 20.0),)
    one, other = (echoes(each, at_20_m, CORE_BRAID, 50.0)[0].size for each in (cable, free))
    neper_per_m = 0.75 * 0.6 * 299_792_458.0 * 64e-12 / 2
    assert one / other == pytest.approx(np.exp(-2 * 20.0 * neper_per_m), rel=1e-6)


def test_what_is_before_a_fault_weakens_its_echo_and_what_is_behind_does_not():
    cut, leak = Break(("core1", "core2"), 20.0), Short(("core1", "braid"), 10.0, 30.0)
    alone = echoes(TWIN, (cut,), CORE_BRAID, 50.0)
    both = echoes(TWIN, (leak, cut), CORE_BRAID, 50.0)
    assert 0 < both[1].size < alone[0].size
    assert both[0].size == pytest.approx(echoes(TWIN, (leak,), CORE_BRAID, 50.0)[0].size)


@pytest.mark.parametrize("across", [("core1", "core1@far"), ("core1@far", "braid@far")])
def test_leads_at_both_ends_have_no_echo(across):
    with pytest.raises(InputError, match="one and the same end"):
        echoes(TWIN, (), Hookup.of(TWIN, across), 50.0)


@pytest.mark.parametrize(
    ("changes", "message"),
    [
        ({"rise_s": 0.0}, "rise_s"),
        ({"width_s": 0.0}, "width_s"),
        ({"source_ohm": -1.0}, "source_ohm"),
    ],
)
def test_a_source_that_cannot_be_is_refused(changes, message):
    with pytest.raises(InputError, match=message):
        Incident(**({"rise_s": 1e-9} | changes))
