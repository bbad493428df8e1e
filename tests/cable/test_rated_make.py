"""A cable from label and make: what is given wins, then the make, then the construction."""

import numpy as np
import pytest
from cable.strategies import makes
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.conductors import Conductor
from cablesim.cable.construction import construction
from cablesim.cable.geometry import Geometry, derived
from cablesim.cable.insulations import INSULATIONS
from cablesim.cable.plausible import odd_values
from cablesim.cable.screened import coaxial_inductance_henry_per_m
from cablesim.errors import InputError

MATERIALS = st.sampled_from(sorted(INSULATIONS))
SCALARS = {
    "cold_lead_ohm_per_m": 0.0211,
    "braid_ohm_per_m": 0.0311,
    "capacitance_core_braid_pf_per_m": 111.0,
    "capacitance_core_core_pf_per_m": 22.0,
    "insulation_gigaohm_m": 333.0,
    "velocity_factor": 0.55,
    "loss_tangent": 0.0123,
}


@given(makes(), MATERIALS, st.sets(st.sampled_from(sorted(SCALARS))))
def test_given_wins_then_make_then_construction(make, material, given_names):
    stated = {name: SCALARS[name] for name in given_names}
    cable = Cable.rated("twin", 30.0, 88.2, geometry=make, insulation=material, **stated)
    built = construction("twin")
    made = derived(built, cable.core_alloy, make, material)
    for name in SCALARS:
        wanted = stated.get(name, made.get(name, getattr(built, name)))
        assert getattr(cable, name) == wanted
    assert cable.core_ohm_per_m == (88.2 / 60, 88.2 / 60)
    assert cable.from_make == made


def test_a_make_can_stand_for_the_label():
    make = Geometry(core=Conductor(nominal_mm2=0.35))
    cable = Cable.rated("single", 50.0, geometry=make, core_alloy="CuNi30Mn")
    assert cable.loop_resistance_ohm == pytest.approx(0.40 / 0.35 * 50)
    with pytest.raises(InputError, match="core_alloy is missing"):
        Cable.rated("single", 50.0, geometry=make)
    with pytest.raises(InputError, match="loop_resistance_ohm"):
        Cable.rated("single", 50.0, geometry=Geometry(), core_alloy="CuNi30Mn")


def test_the_buses_of_a_parallel_cable_follow_the_cold_lead_unless_they_are_known():
    lead = Geometry(cold_lead=Conductor(nominal_mm2=2.5, iec_class=5))
    cable = Cable.rated("parallel", 20.0, 90.0, geometry=lead)
    assert cable.core_ohm_per_m == (cable.cold_lead_ohm_per_m,) * 2
    assert cable.cold_lead_ohm_per_m == pytest.approx(0.00798)
    own = Geometry(core=Conductor(awg=16), cold_lead=Conductor(nominal_mm2=2.5, iec_class=5))
    cable = Cable.rated("parallel", 20.0, 90.0, geometry=own)
    assert cable.core_ohm_per_m[0] == pytest.approx(Conductor(awg=16).ohm_per_m(copper()))


def copper():
    from cablesim.cable.materials import alloy

    return alloy("copper")


@given(MATERIALS, st.floats(0.1, 2.0), st.floats(0.1, 3.0))
def test_the_inductance_of_one_core_is_that_of_its_geometry(material, strand_mm, thick_mm):
    # By way of capacitance, loss and speed on one hand, of the magnetic field on the other.
    make = Geometry(core=Conductor(strand_mm=strand_mm), insulation_mm=thick_mm)
    cable = Cable.rated("single", 30.0, 88.2, geometry=make, insulation=material)
    wanted = coaxial_inductance_henry_per_m(strand_mm, strand_mm + 2 * thick_mm)
    assert cable.inductance_henry_per_m[0] == pytest.approx(wanted, rel=1e-9)


@pytest.mark.parametrize(
    ("length_m", "volt", "odd"),
    [(30.0, None, 0), (500.0, None, 0), (500.1, None, 1), (0.9, None, 1), (30.0, 230.0, 0)],
)
def test_only_the_odd_is_told(length_m, volt, odd):
    assert len(odd_values(Cable.rated("twin", length_m, 88.2), volt)) == odd


def test_a_load_that_no_floor_cable_has_is_told():
    for ohm in (0.1, 882.0, 1e6):
        (said,) = odd_values(Cable.rated("twin", 30.0, ohm), 230.0)
        assert "check length, resistance and voltage" in said
    two = odd_values(Cable.rated("twin", np.float64(30e3), 88.2, cold_lead_m=300.0), 230.0)
    assert len(two) == 3
