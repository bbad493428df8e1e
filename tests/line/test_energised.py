"""A cable on its supply: power balance, closed forms, properties, and a batch like its rows."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from line.strategies import cables, fault_lists

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Joint, Short
from cablesim.cable.placing import mirrored_fault
from cablesim.errors import InputError
from cablesim.line.circuit import terminal_network
from cablesim.line.energised import energise, power_profile
from cablesim.line.ladder import extrapolated, ladder
from cablesim.line.supply import Supply, usual_supply
from cablesim.line.terminals import Hookup

VOLT = 230.0
# Of the supplied power: the allowance of the project. Below 1e-20 W only pieces of no length carry
# a current, and stand for an open circuit.
BALANCE, LEAST_WATT = 1e-9, 1e-20
# A dead short right at the terminals of a supply without resistance: 1e-15 ohm by convention.
MOST_WATT = 1e12
FEW = settings(max_examples=15)


def dry_twin(**others):
    """No leak worth the name and nothing in the cold lead: the closed forms of a plain resistor."""
    return Cable.rated("twin", 30.0, 88.2, cold_lead_m=0.0, insulation_gigaohm_m=1e12, **others)


@st.composite
def energised(draw, least=0):
    cable = draw(cables())
    faults = draw(fault_lists(cable, least=least))
    ends = ("core1", "core1@far") if cable.construction.returns else ("core1", "core2")
    supply = usual_supply(
        cable, VOLT, live=draw(st.sampled_from(ends)), earthed=draw(st.booleans())
    )
    assume(energise(cable, faults, supply).watt < MOST_WATT)
    return cable, faults, supply


# --- properties -----------------------------------------------------------------------------------


@FEW
@given(energised())
def test_what_is_supplied_is_dissipated_along_and_in_faults(case):
    found = energise(*case)
    assume(found.watt > LEAST_WATT)
    # A piece of no length counts as 1e-15 m, which between cores that heat leaks up to this.
    no_length_watt = VOLT**2 * 1e-15
    dissipated = found.along_watt + found.fault_watt.sum()
    assert dissipated == pytest.approx(found.watt, rel=BALANCE, abs=no_length_watt)


@FEW
@given(energised())
def test_currents_into_the_cable_sum_to_zero_and_give_the_power_of_the_network(case):
    cable, faults, supply = case
    found = energise(cable, faults, supply)
    assume(found.watt > LEAST_WATT)
    largest = np.abs(found.lead_ampere).max()
    assert abs(found.lead_ampere.sum()) <= BALANCE * largest
    network = terminal_network(cable, faults, supply.hookup.terminals)
    leads = network.between_leads(supply.hookup)
    into = VOLT * sum(siemens for pair, siemens in leads.items() if 0 in pair)
    # A piece of no length counts as 1e-15 m, which between cores that heat leaks up to this.
    no_length_ampere = VOLT * 1e-15
    assert found.lead_ampere[0] == pytest.approx(into, rel=BALANCE, abs=no_length_ampere)
    if len(supply.hookup.leads) == 3:
        # The same pieces leak through the insulation too: one at each fault and at both ends.
        pieces = 2 * (len(faults) + 2)
        leaked_ampere = pieces * no_length_ampere / (1e9 * cable.insulation_gigaohm_m)
        braid_ampere = pytest.approx(-VOLT * leads[0, 2], rel=BALANCE, abs=leaked_ampere)
        assert found.lead_ampere[2] == braid_ampere


@FEW
@given(energised(), st.floats(0.0, 1.0))
def test_voltages_stay_between_those_supplied_and_heat_is_positive(case, share):
    cable = case[0]
    place = cable.first_m + share * (cable.last_m - cable.first_m)
    found = energise(*case).at(np.array([cable.first_m, place, cable.last_m]))
    assert np.all(found.volt >= 0)
    assert np.all(found.volt <= VOLT * (1 + 1e-15))
    assert np.all(found.watt_per_m >= 0)
    # No current comes from anywhere but along the conductors.
    assert np.all(np.isfinite(found.ampere))


@FEW
@given(energised(), st.floats(0.0, 1.0))
def test_all_currents_through_any_cross_section_sum_to_zero(case, share):
    """A cable that floats at its far end carries as much away as it brings back."""
    cable = case[0]
    assume(not cable.construction.returns)
    found = energise(*case)
    assume(found.watt > LEAST_WATT)
    place = cable.first_m + share * (cable.last_m - cable.first_m)
    ampere = found.at(np.array([place])).ampere[0]
    assert abs(ampere.sum()) <= 1e-12 * np.abs(found.lead_ampere).max()


@FEW
@given(energised(), st.floats(0.1, 10.0))
def test_heat_goes_with_the_square_of_the_voltage(case, factor):
    cable, faults, supply = case
    places = np.linspace(cable.first_m, cable.last_m, 7)
    found = energise(cable, faults, replace(supply, volt=VOLT * factor))
    one = energise(cable, faults, supply)
    assume(min(one.watt, found.watt) > LEAST_WATT)
    np.testing.assert_allclose(found.watt, factor**2 * one.watt, rtol=1e-12)
    along = [factor**2 * one.at(places).watt_per_m, found.at(places).watt_per_m]
    # Where nearly all is lost before, rounding is that of what was there.
    near = 1e-12 * along[0].max() + 1e-25
    np.testing.assert_allclose(along[1], along[0], rtol=1e-9, atol=near)


@FEW
@given(energised(least=1), st.data())
def test_heat_between_two_places_is_the_sum_of_its_parts(case, data):
    cable = case[0]
    found = energise(*case)
    assume(found.watt > LEAST_WATT)
    a, b, c = sorted(data.draw(st.floats(cable.first_m, cable.last_m)) for _ in range(3))
    parts = found.watt_between(a, b) + found.watt_between(b, c)
    assert parts == pytest.approx(found.watt_between(a, c), rel=1e-9, abs=1e-12 * found.watt)


@FEW
@given(energised(least=1))
def test_the_order_of_faults_does_not_matter(case):
    cable, faults, supply = case
    found, turned = energise(cable, faults, supply), energise(cable, faults[::-1], supply)
    assume(found.watt > LEAST_WATT)
    assert turned.watt == pytest.approx(found.watt, rel=1e-12)
    np.testing.assert_allclose(
        turned.fault_watt[::-1], found.fault_watt, rtol=1e-8, atol=1e-12 * found.watt
    )


@FEW
@given(st.data())
def test_a_returning_cable_is_the_same_from_its_other_end(data):
    cable = data.draw(cables("single"))
    faults = data.draw(fault_lists(cable))
    mirrored = tuple(mirrored_fault(cable, fault) for fault in faults)
    place = data.draw(st.floats(0.01, 0.99)) * cable.heated_length_m
    for fault in faults:
        ends = (fault.from_m, fault.to_m) if isinstance(fault, Degraded) else (fault.at_m,)
        assume(place not in ends)
    one = energise(cable, faults, usual_supply(cable, VOLT))
    assume(LEAST_WATT < one.watt < MOST_WATT)
    other = energise(cable, mirrored, usual_supply(cable, VOLT, live="core1@far"))
    assert other.watt == pytest.approx(one.watt, rel=1e-12)
    back = cable.heated_length_m - place
    found = other.at(np.array([back])).watt_per_m
    expected = one.at(np.array([place])).watt_per_m
    near = 1e-9 * (one.watt / cable.heated_length_m)
    np.testing.assert_allclose(found, expected, rtol=1e-7, atol=near)


@FEW
@given(energised(least=1), st.data())
def test_a_batch_holds_what_its_rows_are_alone(case, data):
    cable, _, supply = case
    others = data.draw(fault_lists(cable, least=1, most=1))
    short = Short(("core1", "braid"), np.array([cable.first_m, 0.5, cable.last_m]), 40.0)
    stretch = Degraded(("core1", "braid"), np.zeros(3), np.array([0.0, 0.25, 1.0]), 3e3)
    batch = (*others, short, stretch)
    # Off the faults and the ends: the current in a piece of no length there is what rounding makes.
    shares = np.array([0.013, 0.27, 0.51, 0.77, 0.987])
    places = cable.first_m + shares * (cable.last_m - cable.first_m)
    found = energise(cable, batch, supply)
    assume(np.all(found.watt < MOST_WATT))
    assert found.fault_watt.shape == (3, len(batch))
    along = found.at(places)
    assert along.ampere.shape == (3, 5, len(cable.conductors))
    for k in range(3):
        alone_faults = (
            *others,
            replace(short, at_m=short.at_m[k]),
            replace(stretch, from_m=0.0, to_m=stretch.to_m[k]),
        )
        alone = energise(cable, alone_faults, supply)
        # A batch may have more pieces of no length, each 1e-15 m of every core: that many ohms
        # beside the cable's, which a dead short makes as few as one likes.
        no_length_ohm = 1e-14 * sum(cable.core_ohm_per_m)
        allowed = 1e-12 + no_length_ohm * alone.watt / VOLT**2
        # And each heats between its cores, beside what a bad joint leaves of the rest.
        no_length_watt = 1e-14 / cable.heating_ohm_m * VOLT**2
        assert found.watt[k] == pytest.approx(alone.watt, rel=allowed, abs=1e-12 + no_length_watt)
        # Behind a break is nothing, or what rounding makes of it.
        least = 1e-12 * abs(alone.watt) + 1e-40
        assert found.along_watt[k] == pytest.approx(alone.along_watt, rel=1e-9, abs=least)
        scale = np.abs(alone.lead_ampere).max() + 1e-18
        np.testing.assert_allclose(along.volt[k], alone.at(places).volt, atol=1e-9 * VOLT)
        np.testing.assert_allclose(along.ampere[k], alone.at(places).ampere, atol=1e-9 * scale)
        np.testing.assert_allclose(found.fault_watt[k], alone.fault_watt, rtol=1e-8, atol=least)


def test_a_batch_of_cables_and_voltages_holds_what_its_rows_are_alone():
    """Numbers of the cable and of the supply that differ by row, faults that change their order."""
    ohm, gigaohm = np.array([1.0, 2.0, 3.0]), np.array([1e-5, 1e-4, 1e3])
    volt, at_m = np.array([110.0, 230.0, 400.0]), np.array([5.0, 25.0, 10.0])

    def of(k):
        cable = Cable.rated(
            "twin", 30.0, core_ohm_per_m=(ohm[k], 1.5), insulation_gigaohm_m=gigaohm[k]
        )
        short = Short(("core1", "braid"), at_m[k], 40.0)
        return energise(cable, (short, Joint("core1", 12.0, 5.0)), usual_supply(cable, volt[k]))

    places = np.array([-1.0, 3.0, 11.0, 29.0])
    together = of(slice(None))
    along = together.at(places)
    for k in range(3):
        alone = of(k)
        assert together.watt[k] == pytest.approx(float(alone.watt), rel=1e-12)
        assert together.along_watt[k] == pytest.approx(float(alone.along_watt), rel=1e-9)
        np.testing.assert_allclose(together.fault_watt[k], alone.fault_watt, rtol=1e-9)
        for name in ("volt", "ampere", "watt_per_m"):
            np.testing.assert_allclose(
                getattr(along, name)[k], getattr(alone.at(places), name), rtol=1e-9, atol=1e-9
            )


# --- closed forms ---------------------------------------------------------------------------------


def test_a_healthy_cable_is_its_rated_resistor():
    cable = dry_twin()
    found = energise(cable, (), usual_supply(cable, VOLT))
    assert found.watt == pytest.approx(VOLT**2 / 88.2, rel=1e-12)
    along = found.at(np.linspace(0.0, 30.0, 13))
    np.testing.assert_allclose(along.watt_per_m, VOLT**2 / 88.2 / 30.0, rtol=1e-9)
    np.testing.assert_allclose(along.ampere[:, 0], VOLT / 88.2, rtol=1e-9)
    np.testing.assert_allclose(along.ampere[:, 1], -VOLT / 88.2, rtol=1e-9)
    # Half of the voltage is gone at the far joint, evenly along either core.
    np.testing.assert_allclose(along.volt[:, 0], VOLT * (1 - along.positions_m / 60.0), rtol=1e-12)
    np.testing.assert_allclose(along.volt[:, 1], VOLT * along.positions_m / 60.0, atol=1e-9)


def test_a_short_between_the_cores_warms_up_to_it_and_its_own_resistance_heats():
    cable = dry_twin()
    short = Short(("core1", "core2"), 12.0, 3.0)
    found = energise(cable, (short,), usual_supply(cable, VOLT))
    near, far = 88.2 * 12.0 / 30.0, 88.2 * 18.0 / 30.0
    beyond = 1 / (1 / 3.0 + 1 / far)
    ampere = VOLT / (near + beyond)
    drop = ampere * beyond
    assert found.fault_watt[0] == pytest.approx(drop**2 / 3.0, rel=1e-9)
    assert found.fault_ampere[0] == pytest.approx(drop / 3.0, rel=1e-9)
    assert found.watt_between(0.0, 12.0) == pytest.approx(ampere**2 * near, rel=1e-9)
    assert found.watt_between(12.0, 30.0) == pytest.approx(drop**2 / far, rel=1e-9)
    profile = power_profile(cable, (short,), VOLT, np.array([11.999, 12.0]))
    np.testing.assert_allclose(profile, [ampere**2 * near / 12.0, drop**2 / far / 18.0], rtol=1e-9)


def test_a_break_of_a_twin_lets_nothing_through_and_a_bad_joint_heats_itself():
    cable = dry_twin()
    broken = energise(cable, (Break(("core2",), 12.0),), usual_supply(cable, VOLT))
    assert broken.watt < 1e-9
    bad = energise(cable, (Joint("core2", 12.0, 4.0),), usual_supply(cable, VOLT))
    ampere = VOLT / (88.2 + 4.0)
    assert bad.fault_ampere[0] == pytest.approx(ampere, rel=1e-12)
    assert bad.fault_watt[0] == pytest.approx(4.0 * ampere**2, rel=1e-12)


def test_a_short_to_the_earthed_braid_parts_the_current_as_a_ladder_of_resistors():
    """Core1 to the braid at x: core2's way round, or the earth's way back by the braid."""
    cable = dry_twin(braid_ohm_per_m=0.02)
    at_m, fault_ohm = 12.4, 55.0
    short = Short(("core1", "braid"), at_m, fault_ohm)
    found = energise(cable, (short,), usual_supply(cable, VOLT))
    first, rest, braid = 1.47 * at_m, 88.2 - 1.47 * at_m, 0.02 * at_m
    earth = fault_ohm + braid
    ampere = VOLT / (first + 1 / (1 / rest + 1 / earth))
    by_earth = (VOLT - ampere * first) / earth
    assert found.lead_ampere[0] == pytest.approx(ampere, rel=1e-9)
    assert found.lead_ampere[2] == pytest.approx(-by_earth, rel=1e-9)
    assert found.fault_watt[0] == pytest.approx(fault_ohm * by_earth**2, rel=1e-9)
    assert found.residual_ampere(0.0) == pytest.approx(by_earth, rel=1e-9)
    floating = energise(cable, (short,), usual_supply(cable, VOLT, earthed=False))
    assert floating.fault_watt[0] < 1e-9
    assert floating.residual_ampere() == 0.0


def test_a_parallel_cable_heats_between_its_cores_and_a_break_leaves_the_rest_cold():
    cable = Cable.rated(
        "parallel",
        30.0,
        88.2,
        core_ohm_per_m=(1e-9, 1e-9),
        cold_lead_m=0.0,
        insulation_gigaohm_m=1e12,
    )
    broken = energise(cable, (Break(("core1",), 10.0),), usual_supply(cable, VOLT))
    np.testing.assert_allclose(
        broken.at(np.array([0.0, 9.9, 10.1, 30.0])).watt_per_m,
        [VOLT**2 / 88.2 / 30.0] * 2 + [0.0] * 2,
        rtol=1e-8,
        atol=1e-9,
    )
    assert broken.watt == pytest.approx(VOLT**2 / 88.2 / 3.0, rel=1e-8)


def test_a_leaking_line_follows_the_hyperbolic_functions():
    """One core against a perfect return, far end open: V = V0 cosh g(l - x) / cosh g l."""
    cable = Cable.rated(
        "single", 100.0, 100.0, cold_lead_m=0.0, braid_ohm_per_m=1e-9, insulation_gigaohm_m=1e-6
    )
    supply = Supply(VOLT, Hookup.of(cable, ("core1", "braid")))
    found = energise(cable, (), supply)
    g = np.sqrt(1.0 / 1e3)
    x = np.linspace(0.0, 100.0, 11)
    along = found.at(x)
    np.testing.assert_allclose(
        along.volt[:, 0] - along.volt[:, 1],
        VOLT * np.cosh(g * (100 - x)) / np.cosh(100 * g),
        rtol=1e-6,
    )
    np.testing.assert_allclose(
        along.ampere[:, 0], g * VOLT * np.sinh(g * (100 - x)) / np.cosh(100 * g), atol=1e-8
    )


def test_the_lumped_ladder_converges_to_the_same_heat():
    cable = Cable.rated("twin", 30.0, 88.2, insulation_gigaohm_m=1e-5)
    faults = (
        Degraded(("core1", "braid"), 3.0, 14.0, 900.0),
        Short(("core2", "braid"), 20.0, 300.0),
    )
    supply = usual_supply(cable, VOLT)
    exact = energise(cable, faults, supply)
    coarse, fine = (energise(cable, faults, supply, mesh_of=ladder(n)) for n in (8, 16))
    for name in ("lead_ampere", "lump_watt"):
        parts = [getattr(found, name) for found in (coarse, fine, exact)]
        np.testing.assert_allclose(extrapolated(*parts[:2]), parts[2], rtol=1e-7)
        off = [np.abs(part - parts[2])[parts[2] != 0] for part in parts[:2]]
        assert np.all(off[0] > 3 * off[1])


@pytest.mark.parametrize("name", ["twin", "single", "parallel"])
def test_heat_at_50_hz_is_that_of_direct_current(name):
    """What the page states: under one part in a million, up to 200 m and the highest rating."""
    for length_m, ohm in ((200.0, 20.0), (200.0, 250.0), (10.0, 500.0)):
        cable = Cable.rated(name, length_m, ohm)
        hookup = usual_supply(cable, VOLT).hookup
        direct, mains = (
            terminal_network(cable, (), hookup.terminals, f).between_leads(hookup)[0, 1]
            for f in (0.0, 50.0)
        )
        assert np.real(mains) == pytest.approx(direct, rel=1e-6)


# --- what it refuses ------------------------------------------------------------------------------


def test_it_refuses_what_cannot_be():
    cable = dry_twin()
    with pytest.raises(InputError, match="live"):
        usual_supply(cable, VOLT, live="braid")
    with pytest.raises(InputError, match="volt"):
        usual_supply(cable, -1.0)
    with pytest.raises(InputError, match="live, neutral"):
        Supply(VOLT, Hookup.of(cable, ("core1", "core2"), (("braid", "braid@far"),)))
    with pytest.raises(InputError, match="positions_m"):
        power_profile(cable, (), VOLT, np.array([31.0]))
    with pytest.raises(InputError, match="batch"):
        energise(cable, (), usual_supply(cable, np.array([1.0, 2.0]))).marks_m()
