"""The electrics against outside solvers, published numbers and a second formulation.

Every check states what it allows and why; the same checks fill the table in the documentation.
"""

from __future__ import annotations

import mpmath as mp
import numpy as np
import pytest
from outside import (
    against_energised,
    against_geometry,
    against_ladder,
    against_ngspice,
    against_precise,
    against_published,
    against_scikit_rf,
    precise,
)
from outside.cases import random_case
from outside.check import Worst
from outside.core_resistance import rows
from outside.gaps import rows as gap_rows
from outside.netlist import Netlist

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Short
from cablesim.line.ladder import extrapolated, ladder
from cablesim.line.piece import uniform_piece
from cablesim.line.terminals import Hookup

INSIDE = [
    *against_precise.CHECKS,
    *against_ladder.CHECKS,
    *against_published.CHECKS,
    *against_geometry.CHECKS,
    *against_scikit_rf.CHECKS,
]


@pytest.mark.parametrize("check", INSIDE, ids=lambda check: check.name)
def test_agrees(check):
    outcome = check.run()
    assert outcome.cases > 0
    assert outcome.largest <= check.allowed, outcome.at


@pytest.mark.ngspice
@pytest.mark.parametrize(
    "check",
    [*against_ngspice.CHECKS, *against_energised.CHECKS],
    ids=lambda check: check.name,
)
def test_agrees_with_ngspice(check):
    outcome = check.run()
    assert outcome.cases > 20
    assert outcome.largest <= check.allowed, outcome.at


# --- the ladder is of the second order ------------------------------------------------------------


def test_twice_the_rungs_a_quarter_of_the_error():
    errors = against_ladder.errors([16, 32, 64, 128])
    ratios = errors[:-1] / errors[1:]
    # The next order is 1/16 of the error's own change: below 2e-4 from 16 rungs on.
    np.testing.assert_allclose(ratios, 4.0, atol=2e-4)


def test_each_extrapolation_wins_two_orders():
    across = against_ladder.ACROSS["twin"]
    cable, faults = against_ladder.batch(np.random.default_rng(11), "twin", ("stretch",))

    def reading(mesh_of):
        return against_ladder.readings_siemens(cable, faults, across, 0.0, mesh_of)[1, 0]

    exact = reading(uniform_piece)
    one, two, four, eight = (reading(ladder(16 * k)) for k in (1, 2, 4, 8))
    once = np.array([extrapolated(one, two), extrapolated(two, four), extrapolated(four, eight)])
    errors = np.abs(once / exact - 1)
    # Fourth order: 16; what is left of the sixth is a few per cent with these rungs.
    np.testing.assert_allclose(errors[:-1] / errors[1:], 16.0, rtol=0.1)


# --- when the core's resistance may be neglected in a capacitance reading -------------------------


def test_core_and_inductance_change_a_capacitance_by_no_more_than_their_rules():
    for row in rows():
        q = row.omega_squared_lc
        # 1e-12 is rounding of a difference.
        assert row.effect <= 2 / 15 * row.omega_rc**2 + 1e-12
        assert row.effect >= -q / 3 - 2 / 15 * q**2 - 1e-12


def test_the_rule_is_the_effect_where_it_is_small():
    small = [row for row in rows() if 1e-6 < 2 / 15 * row.omega_rc**2 < 1e-3]
    assert len(small) > 5
    for row in small:
        p, q = row.omega_rc, row.omega_squared_lc
        # The next terms of tanh(u)/u: 62/2835 p^4 and 17/105 q p^2; rounding is 1e-12.
        assert row.effect == pytest.approx(row.rule, abs=0.03 * p**4 + 0.2 * q * p**2 + 1e-12)
        assert row.loss_factor == pytest.approx(p / 3, rel=p**2 + q)


# --- what air in the gaps of a braid is worth -----------------------------------------------------


def test_air_in_the_gaps_takes_a_fifth_to_two_fifths_off_a_capacitance_to_the_braid():
    for row in gap_rows(points=120):
        (braid, core), (braid_air, core_air) = row.filled_pf_per_m, row.gaps_pf_per_m
        assert 0.55 < braid_air / braid < 0.85
        # The other pair loses what lies in the gap between the cores and gains what the braid
        # no longer takes.
        assert 0.85 < core_air / core < 1.3


# --- the comparisons themselves can fail ----------------------------------------------------------


def test_a_plain_ladder_is_not_good_enough():
    assert np.abs(against_ladder.errors([64])).max() > against_ladder.ladder_direct.allowed


def test_not_a_number_is_the_worst_of_all():
    worst = Worst()
    for deviation in (0.1, float("nan"), 0.2):
        worst.add(deviation)
    assert not worst.outcome().largest <= 1.0


def test_the_oracle_knows_a_plain_circuit():
    """Two wires and a resistor: 2 r x + R, and nothing else; digits beyond those of a float."""
    cable = Cable.rated(
        "twin", 30.0, core_ohm_per_m=(0.5, 0.25), cold_lead_m=0.0, insulation_gigaohm_m=1e60
    )
    faults = (Short(("core1", "core2"), 8.0, 3.0), Break(("core1",), 20.0))
    hookup = Hookup.of(cable, ("core1", "core2"))
    with mp.workdps(50):
        assert abs(1 / precise.between_leads(cable, faults, hookup) - 9) < mp.mpf(10) ** -40


def test_the_oracle_notices_a_wrong_circuit():
    rng = np.random.default_rng(12)
    case = random_case(rng)
    while not case.faults:
        case = random_case(rng)
    hookup = Hookup.of(case.cable, ("core1", "braid"))
    true = precise.between_leads(case.cable, case.faults, hookup)
    longer = Cable.rated(
        "twin",
        float(case.cable.heated_length_m) * (1 + 1e-9),
        core_ohm_per_m=(1.0, 1.0),
    )
    other = precise.between_leads(longer, (), Hookup.of(longer, ("core1", "braid")))
    assert abs(true - other) > 1e-12 * abs(true)


def test_a_netlist_refuses_what_ngspice_would_change():
    cable = Cable.rated("twin", 30.0, core_ohm_per_m=(1e-4, 1e-4))
    with pytest.raises(ValueError, match="raised to 1 mohm"):
        Netlist(1e-3).add(cable, (Short(("core1", "braid"), 3.0, 1e-4),), [("core1", "braid")])


@pytest.mark.ngspice
def test_ngspice_notices_a_resistor_of_another_value():
    cable = Cable.rated("twin", 30.0, 88.2, braid_ohm_per_m=0.5, cold_lead_ohm_per_m=0.2)
    netlist = Netlist(1e-7)
    for ohm in (55.0, 55.0 * (1 + 1e-5)):
        netlist.add(cable, (Short(("core1", "braid"), 12.4, ohm),), [("core1", "braid")])
    (one,), (other,) = netlist.solve()
    assert abs(other / one - 1) > against_ngspice.ngspice_direct.allowed
