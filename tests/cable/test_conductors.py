"""Conductors and braids: what must hold whatever their sizes, and what is refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.cable.braid import Braid
from cablesim.cable.conductors import Conductor, awg_diameter_mm, helix_factor
from cablesim.cable.insulations import INSULATIONS, insulation
from cablesim.cable.materials import ALLOYS, alloy
from cablesim.errors import InputError

COPPER = alloy("copper")
METALS = st.sampled_from(sorted(ALLOYS)).map(alloy)
COUNTS = st.integers(1, 100)
WIRES_MM = st.floats(0.05, 3.0)
TEMPERATURES_C = st.floats(-40.0, 105.0)


@given(METALS, COUNTS, WIRES_MM, TEMPERATURES_C)
def test_a_conductor_is_its_strands_in_parallel(metal, strands, strand_mm, temperature_c):
    together = Conductor(strands=strands, strand_mm=strand_mm, lay_factor=1.0)
    alone = Conductor(strand_mm=strand_mm)
    assert together.ohm_per_m(metal, temperature_c) * strands == pytest.approx(
        alone.ohm_per_m(metal, temperature_c), rel=1e-12
    )


@given(METALS, WIRES_MM, st.floats(1.01, 3.0))
def test_twice_the_diameter_a_quarter_of_the_resistance(metal, strand_mm, factor):
    thin, thick = Conductor(strand_mm=strand_mm), Conductor(strand_mm=strand_mm * factor)
    assert thin.ohm_per_m(metal) == pytest.approx(factor**2 * thick.ohm_per_m(metal), rel=1e-12)
    assert thick.diameter_mm == pytest.approx(factor * thin.diameter_mm, rel=1e-12)


@given(METALS, TEMPERATURES_C)
def test_temperature_acts_by_the_alloys_coefficient(metal, temperature_c):
    wire = Conductor(nominal_mm2=1.5)
    ratio = wire.ohm_per_m(metal, temperature_c) / wire.ohm_per_m(metal)
    rise = metal.temperature_coefficient_per_k * (temperature_c - 20.0)
    assert ratio == pytest.approx(1.0 + rise, rel=1e-12)


@pytest.mark.parametrize(("strands", "across"), [(1, 1), (7, 3), (19, 5), (37, 7), (61, 9)])
def test_wires_in_whole_layers_lie_side_by_side_across(strands, across):
    assert Conductor(strands=strands, strand_mm=0.2).diameter_mm == pytest.approx(0.2 * across)


@given(COUNTS, WIRES_MM)
def test_the_wires_fit_into_the_circle_round_them(strands, strand_mm):
    found = Conductor(strands=strands, strand_mm=strand_mm)
    assert found.area_mm2 <= math.pi / 4 * found.diameter_mm**2 * (1 + 1e-12)


@given(st.integers(-3, 50))
def test_six_gauges_halve_the_diameter_nearly(gauge):
    # 92^(6/39) is 2.005, which is why the rule of thumb works.
    assert awg_diameter_mm(gauge) / awg_diameter_mm(gauge + 6) == pytest.approx(2.005, abs=5e-4)


def test_a_stranded_gauge_has_the_metal_of_a_solid_one():
    solid, stranded = Conductor(awg=14), Conductor(awg=14, strands=19)
    assert stranded.area_mm2 == solid.area_mm2
    assert stranded.diameter_mm > solid.diameter_mm
    assert stranded.ohm_per_m(COPPER) == pytest.approx(1.02 * solid.ohm_per_m(COPPER))


def test_a_class_stands_for_its_maximum():
    lead = Conductor(nominal_mm2=1.5, iec_class=5, strands=30)
    assert lead.ohm_per_m(COPPER) == pytest.approx(0.0133, rel=1e-12)
    assert lead.iec_maximum_ohm_per_m == lead.ohm_per_m(COPPER)
    assert lead.ohm_per_m(COPPER) > Conductor(nominal_mm2=1.5, strands=30).ohm_per_m(COPPER)
    assert lead.ohm_per_m(COPPER, 70.0) == pytest.approx(0.0133 * (1 + 0.00393 * 50))


@given(st.floats(0.0, 10.0), st.floats(1.0, 100.0), st.floats(1.01, 10.0))
def test_a_helix_is_longer_the_shorter_its_lay(diameter_mm, lay_mm, factor):
    assert 1.0 <= helix_factor(diameter_mm, lay_mm * factor) <= helix_factor(diameter_mm, lay_mm)


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, ["given by nothing", "strand_mm"]),
        ({"awg": 18, "nominal_mm2": 0.8}, ["given by nominal_mm2 and awg", "one of"]),
        ({"strand_mm": 2e-4}, ["strand_mm is 0.0002", "millimetres, such as 0.2"]),
        ({"nominal_mm2": 1.5e-6}, ["nominal_mm2 is 1.5e-06", "square millimetres"]),
        ({"awg": 18.5}, ["awg is 18.5", "whole number"]),
        ({"awg": 99}, ["awg is 99.0", "at most 56"]),
        ({"strands": 2.5, "awg": 18}, ["strands is 2.5", "whole number"]),
        ({"strands": 0, "awg": 18}, ["strands is 0.0", "at least 1"]),
        ({"awg": 18, "lay_factor": 0.9}, ["lay_factor is 0.9", "at least 1"]),
        ({"nominal_mm2": 1.5, "iec_class": 6}, ["class is 6", "1, 2 or 5"]),
        ({"nominal_mm2": 1.3, "iec_class": 5}, ["class is 5", "0.5, 0.75, 1, 1.5"]),
        ({"awg": 16, "iec_class": 5}, ["class is 5", "nominal cross-section"]),
    ],
)
def test_what_is_no_conductor_is_refused_in_one_sentence(fields, words):
    with pytest.raises(InputError) as caught:
        Conductor(**fields)
    assert all(word in str(caught.value) for word in words), str(caught.value)


def test_a_class_is_for_copper():
    with pytest.raises(InputError, match="left out for CuNi44"):
        Conductor(nominal_mm2=1.5, iec_class=5).ohm_per_m(alloy("CuNi44"))


# --- braids ---------------------------------------------------------------------------------------


@given(st.integers(4, 48), st.integers(1, 12), st.floats(0.05, 0.3), st.floats(0.0, 80.0))
def test_a_braid_is_its_wires_in_parallel_and_each_is_longer(carriers, wires, wire_mm, angle_deg):
    braid = Braid(carriers=carriers, wires=wires, wire_mm=wire_mm, angle_deg=angle_deg)
    one = Conductor(strand_mm=wire_mm).ohm_per_m(COPPER)
    longer = 1 / math.cos(math.radians(angle_deg))
    assert braid.ohm_per_m(COPPER) == pytest.approx(one * longer / (carriers * wires), rel=1e-12)
    same = Braid(area_mm2=max(braid.straight_mm2, 0.01))
    if braid.straight_mm2 >= 0.01:
        assert same.ohm_per_m(COPPER) == braid.ohm_per_m(COPPER)
    # The same angle as a helix: a wire's lay is the circumference over the tangent.
    if angle_deg > 1.0:
        lay_mm = math.pi * 5.0 / math.tan(math.radians(angle_deg))
        assert helix_factor(5.0, lay_mm) == pytest.approx(longer, rel=1e-9)


@given(st.floats(1.0, 20.0), st.integers(8, 32), st.integers(1, 10))
def test_more_wires_hide_more_and_never_more_than_all(inside_mm, carriers, wires):
    less, more = (
        Braid(carriers=carriers, wires=n, wire_mm=0.12, angle_deg=30.0).coverage(inside_mm)
        for n in (wires, wires + 1)
    )
    assert 0.0 < less <= more <= 1.0
    assert Braid(area_mm2=1.0).coverage(inside_mm) is None


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({}, ["given by nothing", "area_mm2"]),
        ({"area_mm2": 1.0, "wires": 5}, ["both", "area_mm2"]),
        ({"carriers": 16, "wires": 5, "wire_mm": 0.1}, ["angle_deg is missing"]),
        ({"area_mm2": 1e-6}, ["area_mm2 is 1e-06", "square millimetres"]),
        ({"carriers": 16, "wires": 5, "wire_mm": 1e-4, "angle_deg": 30}, ["wire_mm is 0.0001"]),
        ({"carriers": 16, "wires": 5, "wire_mm": 0.1, "angle_deg": 90}, ["angle_deg is 90"]),
        ({"carriers": 16.5, "wires": 5, "wire_mm": 0.1, "angle_deg": 9}, ["carriers is 16.5"]),
    ],
)
def test_what_is_no_braid_is_refused_in_one_sentence(fields, words):
    with pytest.raises(InputError) as caught:
        Braid(**fields)
    assert all(word in str(caught.value) for word in words), str(caught.value)


# --- insulations ----------------------------------------------------------------------------------


@pytest.mark.parametrize(("name", "rounded"), [("PE", 0.66), ("PTFE", 0.69)])
def test_the_usual_velocity_factors(name, rounded):
    assert round(insulation(name).velocity_factor, 2) == rounded


@pytest.mark.parametrize("row", INSULATIONS.values(), ids=lambda row: row.name)
def test_every_row_is_sane_and_names_its_source(row):
    low, high = row.permittivity_range
    assert low <= row.relative_permittivity <= high
    assert 0.3 < row.velocity_factor < 1.0
    # Loss takes some of the permittivity off at pulses, and never adds to it.
    assert row.velocity_factor >= row.relative_permittivity**-0.5
    assert "from memory" in row.source


def test_an_unknown_insulation_gets_the_nearest_name():
    with pytest.raises(InputError, match=r"insulation is 'XPLE'.*did you mean XLPE\?"):
        insulation("XPLE")
