"""Maps beside theory: the same checks as on the page, on few cells."""

import pytest
from validation import study
from validation.study_page import page

from cablesim.benchmark.study.reach_map import Axes, reach_map
from cablesim.benchmark.study.sensitivity import sensitivity


def test_echo_is_answered_as_far_as_the_reflection_says():
    rows = study.echo_rows()
    assert {row.grade for row in rows} == set(study.CLASSES)
    for row in rows:
        # The grid is of 1.03 to 1; the cold lead's loss and the braid's are left out.
        assert row.map_ohm == pytest.approx(row.formula_ohm, rel=0.05)


def test_capacitances_are_answered_from_one_over_omega_c():
    for row in study.edge_rows():
        # The grid is of 1.01 to 1.
        assert row.break_ohm == pytest.approx(row.formula_ohm, rel=0.02)
        assert row.wet_ohm == pytest.approx(row.formula_ohm, rel=0.02)


@pytest.mark.parametrize("rows", [lambda: study.leak_bias_rows(400), study.coupling_bias_rows])
def test_biases_are_those_of_theory(rows):
    for row in rows():
        # A millimetre and a half beside the spread: counts of a display are not even to the last.
        assert abs(row.map_m - row.theory_m) < 5 * row.uncertainty_m + 1.5e-3


def test_ratios_and_echoes_attain_the_bound():
    for row in study.bound_rows(500):
        if row.method in ("three_readings", "echo_time"):
            # Spread of a spread of 500 even errors, 5 sigma: 5 x 0.45 / sqrt(500) = 0.1; and what
            # rounding at one place is more or less than its mean.
            assert row.map_m == pytest.approx(row.bound_m, rel=0.13)


def test_page_tells_every_part():
    twin, single = (study.maps_of(cable, 2) for cable in (study.TWIN, study.SINGLE))
    axes = Axes([10.0], [1.0, 9e8], ("good",), draws=2)
    text = page(
        twin=twin,
        single=single,
        echo=study.echo_rows(),
        edge=study.edge_rows(),
        leak=study.leak_bias_rows(2),
        bounds=study.bound_rows(2),
        coupling=study.coupling_bias_rows(),
        disturbed=[
            sensitivity(study.TWIN, "three_readings", seed=1, places=2, grades=("good",), draws=2)
        ],
        # Stands for the posterior, which takes seconds.
        posterior=reach_map(study.TWIN, "three_readings", axes, seed=1),
        speed=study.speed_rows(150, 2),
        draws=2,
        seed=1,
    )
    assert "nan" not in text
    for word in ("three capacitances", "both ends", "not locatable", "Hawkins", "from memory"):
        assert word in text
