"""From geometry to per-metre values: properties of the field, and of a whole make."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.braid import Braid
from cablesim.cable.conductors import Conductor
from cablesim.cable.construction import construction
from cablesim.cable.geometry import Geometry, derived, partial_of, zone_heating_ohm_m
from cablesim.cable.insulations import INSULATIONS, insulation
from cablesim.cable.screened import (
    coaxial,
    coaxial_inductance_henry_per_m,
    insulation_gigaohm_m,
    partial_from_readings,
    thin_twin,
    twin,
)
from cablesim.errors import InputError

PERMITTIVITIES = st.floats(1.0, 8.0)
INSULATION = st.sampled_from(sorted(INSULATIONS)).map(insulation)
SINGLE, TWIN = construction("single"), construction("twin")


@st.composite
def twins(draw):
    """Core diameter 1, spacing and screen: metal a twentieth of a diameter apart or more."""
    spacing = draw(st.floats(1.05, 5.0))
    return 1.0, spacing, (spacing + 1) * draw(st.floats(1.05, 5.0))


# --- one core -------------------------------------------------------------------------------------


@given(st.floats(0.1, 5.0), st.floats(1.05, 20.0), st.floats(0.1, 50.0), PERMITTIVITIES)
def test_only_the_shape_counts_not_the_size(core, ratio, scale, permittivity):
    small = coaxial(core, core * ratio, permittivity)
    large = coaxial(core * scale, core * ratio * scale, permittivity)
    assert small.core_braid_pf_per_m == pytest.approx(large.core_braid_pf_per_m, rel=1e-9)


@given(st.floats(0.1, 5.0), st.floats(1.05, 20.0), st.floats(1.01, 3.0), INSULATION)
def test_thicker_insulation_less_capacitance_more_resistance(core, ratio, thicker, material):
    thin = coaxial(core, core * ratio, material.relative_permittivity)
    thick = coaxial(core, core * ratio * thicker, material.relative_permittivity)
    assert thick.core_braid_pf_per_m < thin.core_braid_pf_per_m
    assert insulation_gigaohm_m(thick, material) > insulation_gigaohm_m(thin, material)
    assert coaxial_inductance_henry_per_m(core, core * ratio) > 0


@given(st.floats(0.1, 5.0), st.floats(1.05, 20.0), INSULATION)
def test_resistance_is_that_of_the_closed_form(core, ratio, material):
    partial = coaxial(core, core * ratio, material.relative_permittivity)
    plain = material.volume_resistivity_ohm_m * math.log(ratio) / (2 * math.pi) / 1e9
    assert insulation_gigaohm_m(partial, material) == pytest.approx(plain, rel=1e-9)


# --- two cores ------------------------------------------------------------------------------------


@given(twins(), st.floats(0.1, 50.0), PERMITTIVITIES)
def test_two_cores_scale_with_permittivity_and_not_with_size(shape, scale, permittivity):
    one = twin(*shape, 1.0)
    other = twin(*(scale * length for length in shape), permittivity)
    assert other.core_braid_pf_per_m == pytest.approx(
        permittivity * one.core_braid_pf_per_m, rel=1e-9
    )
    assert other.core_core_pf_per_m == pytest.approx(
        permittivity * one.core_core_pf_per_m, rel=1e-7
    )


@given(twins(), st.floats(1.05, 2.0))
def test_a_wider_screen_takes_less_of_the_field(shape, wider):
    core, spacing, screen = shape
    tight, wide = twin(core, spacing, screen, 2.4), twin(core, spacing, screen * wider, 2.4)
    assert wide.core_braid_pf_per_m < tight.core_braid_pf_per_m
    assert wide.core_core_pf_per_m > tight.core_core_pf_per_m


@given(twins(), st.floats(1.01, 1.5))
def test_cores_further_apart_see_less_of_each_other(shape, further):
    core, spacing, screen = shape
    if (spacing * further + core) * 1.02 > screen:
        screen = (spacing * further + core) * 1.02
    near, far = twin(core, spacing, screen, 2.4), twin(core, spacing * further, screen, 2.4)
    assert far.core_core_pf_per_m < near.core_core_pf_per_m


@given(twins())
def test_partial_capacitances_are_positive_and_below_a_lone_core(shape):
    core, spacing, screen = shape
    found = twin(core, spacing, screen, 2.4)
    assert found.core_core_pf_per_m > 0
    assert found.core_braid_pf_per_m > 0
    # Joined to the braid the other core only comes nearer: more than to a screen alone.
    both = found.core_braid_pf_per_m + found.core_core_pf_per_m
    assert both > coaxial(core, screen, 2.4).core_braid_pf_per_m


@given(st.floats(2.0, 10.0), st.floats(1.2, 5.0))
def test_thin_cores_are_those_of_the_closed_form(spacing, wider):
    core, screen = 0.01, (spacing + 1) * wider
    one, other = (solve(core, spacing, screen, 2.4) for solve in (twin, thin_twin))
    for name in ("core_braid_pf_per_m", "core_core_pf_per_m"):
        # The first thing left out is a core's dipole, (d / gap)^2.
        assert getattr(one, name) == pytest.approx(getattr(other, name), rel=2e-3)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: coaxial(1.0, 1.0, 2.4), ["screen_diameter is 1.0", "diameter of the core"]),
        (lambda: coaxial(0.0, 1.0, 2.4), ["core_diameter is 0.0", "above 0"]),
        (lambda: coaxial(1.0, 2.0, 0.5), ["relative_permittivity is 0.5", "at least 1"]),
        (lambda: twin(1.0, 0.9, 5.0, 2.4), ["core_spacing is 0.9", "diameter of a core"]),
        (lambda: thin_twin(1.0, 2.0, 3.0, 2.4), ["screen_diameter is 3.0", "side by side"]),
        (lambda: partial_from_readings(5.0, 2.0), ["one_to_rest is 2.0", "leads were joined"]),
    ],
)
def test_what_does_not_fit_is_refused_in_one_sentence(call, words):
    with pytest.raises(InputError) as caught:
        call()
    assert all(word in str(caught.value) for word in words), str(caught.value)


@given(twins(), PERMITTIVITIES)
def test_partial_capacitances_come_back_from_two_readings(shape, permittivity):
    true = twin(*shape, permittivity)
    both = 2 * true.core_braid_pf_per_m
    one = true.core_braid_pf_per_m + true.core_core_pf_per_m
    braid, core = partial_from_readings(both, one)
    assert braid == pytest.approx(true.core_braid_pf_per_m, rel=1e-12)
    assert core == pytest.approx(true.core_core_pf_per_m, rel=1e-9)


# --- a whole make ---------------------------------------------------------------------------------

MAKE = Geometry(
    core=Conductor(strands=7, strand_mm=0.2),
    insulation_mm=0.8,
    braid=Braid(carriers=16, wires=5, wire_mm=0.12, angle_deg=30.0),
    cold_lead=Conductor(nominal_mm2=1.5, iec_class=5),
)
XLPE = "XLPE"


def test_a_make_that_is_known_gives_every_value():
    found = derived(TWIN, "CuNi44", MAKE, XLPE)
    assert set(found) == {
        "core_ohm_per_m",
        "cold_lead_ohm_per_m",
        "braid_ohm_per_m",
        "capacitance_core_braid_pf_per_m",
        "capacitance_core_core_pf_per_m",
        "insulation_gigaohm_m",
        "velocity_factor",
        "loss_tangent",
    }
    # 0.49 ohm mm2/m over 7 wires of 0.2 mm, 2 % longer.
    assert found["core_ohm_per_m"] == pytest.approx((2.2727, 2.2727), rel=1e-4)
    assert found["cold_lead_ohm_per_m"] == pytest.approx(0.0133, rel=1e-12)


def test_what_is_not_known_is_not_made_up():
    assert derived(TWIN, "CuNi44", None, None) == {}
    assert set(derived(TWIN, "CuNi44", None, XLPE)) == {"velocity_factor", "loss_tangent"}
    braid_only = Geometry(braid=Braid(area_mm2=1.0))
    assert set(derived(TWIN, "CuNi44", braid_only, None)) == {"braid_ohm_per_m"}
    bare = replace(MAKE, insulation_mm=None)
    assert "insulation_gigaohm_m" not in derived(TWIN, "CuNi44", bare, XLPE)
    assert "insulation_gigaohm_m" not in derived(TWIN, "CuNi44", MAKE, None)


def test_a_single_core_lies_in_the_middle_and_two_lie_side_by_side():
    assert MAKE.inside_mm(1) == pytest.approx(0.6 + 1.6)
    assert MAKE.inside_mm(2) == pytest.approx(2 * (0.6 + 1.6))
    single = partial_of(MAKE, SINGLE, 2.4)
    wanted = coaxial(0.6, 2.2, 2.4)
    assert single.core_braid_pf_per_m == pytest.approx(wanted.core_braid_pf_per_m, rel=1e-12)
    pair, wanted = partial_of(MAKE, TWIN, 2.4), twin(0.6, 2.2, 4.4, 2.4)
    assert pair.core_braid_pf_per_m == pytest.approx(wanted.core_braid_pf_per_m, rel=1e-9)
    assert pair.core_core_pf_per_m == pytest.approx(wanted.core_core_pf_per_m, rel=1e-9)
    assert "capacitance_core_core_pf_per_m" not in derived(SINGLE, "CuNi44", MAKE, XLPE)


def test_the_heating_wire_of_a_zone_lies_between_the_cores():
    parallel = construction("parallel")
    make = Geometry(heating_wire_ohm_per_m=9000.0, zone_m=0.6)
    # 5400 ohm on each 0.6 m: n zones side by side have 5400 / n.
    assert derived(parallel, "copper", make, None) == {"heating_ohm_m": 5400.0 * 0.6}
    assert zone_heating_ohm_m(9000.0, 0.6) == pytest.approx(5400.0 * 0.6)
    with pytest.raises(InputError, match=r"zone_m is 0\.6.*left out on a twin cable"):
        derived(TWIN, "CuNi44", make, None)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"insulation_mm": 0.0008}, ["insulation_mm is 0.0008", "millimetres, such as 0.8"]),
        ({"insulation_mm": 800.0}, ["insulation_mm is 800.0", "millimetres"]),
        ({"braid_inside_mm": 0.005}, ["braid_inside_mm is 0.005", "millimetres"]),
        ({"braid_alloy": "coper"}, ["braid_alloy is 'coper'", "did you mean copper?"]),
        ({"zone_m": 0.6}, ["heating_wire_ohm_per_m and zone_m belong together"]),
        ({"zone_m": 600.0, "heating_wire_ohm_per_m": 9e3}, ["zone_m is 600.0", "in metres"]),
    ],
)
def test_lengths_in_another_unit_are_refused_in_one_sentence(fields, words):
    with pytest.raises(InputError) as caught:
        Geometry(**fields)
    assert all(word in str(caught.value) for word in words), str(caught.value)


def test_cores_that_do_not_fit_into_the_braid_are_refused():
    with pytest.raises(InputError, match=r"braid_inside_mm is 4\.0.*side by side, 4\.4 mm"):
        partial_of(replace(MAKE, braid_inside_mm=4.0), TWIN, 2.4)
    assert partial_of(replace(MAKE, braid_inside_mm=4.4), TWIN, 2.4) is not None
