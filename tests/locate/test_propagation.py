"""Propagation of uncertainty: the GUM's worked examples, and algebra."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.errors import InputError
from cablesim.locate.propagation import (
    correlation_of,
    coverage_factor,
    effective_degrees,
    judged_degrees,
    propagate,
    type_a,
)

# Voltage [V], current [mA], phase [rad]. JCGM 100:2008, H.2, as repeated in the sources of
# MSLNZ/GTC (type_a.py, GUM_H2.rst); printed results as in the tests of r-quantities/errors.
H2 = np.array(
    [
        [5.007, 19.663, 1.0456],
        [4.994, 19.639, 1.0438],
        [5.005, 19.640, 1.0468],
        [4.990, 19.685, 1.0428],
        [4.999, 19.678, 1.0433],
    ]
)


def impedance(x):
    volt, milliamp, phase = x
    ohm = 1000 * volt / milliamp
    return [ohm * np.cos(phase), ohm * np.sin(phase), ohm]


def test_gum_h2_means_and_their_correlation():
    means, covariance = type_a(H2)
    assert means == pytest.approx([4.9990, 19.6610, 1.04446], abs=1e-9)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.0032, 0.0095, 0.00075], rel=0.01)
    r = correlation_of(covariance)
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.36, 0.86, -0.65], abs=0.005)


def test_gum_h2_correlated_inputs_give_the_printed_results():
    found = propagate(impedance, *type_a(H2))
    assert found.values == pytest.approx([127.732, 219.847, 254.260], abs=1e-3)
    # 0.295 is printed for the second; unrounded inputs give 0.2956.
    assert found.uncertainty == pytest.approx([0.071, 0.295, 0.236], abs=1e-3)
    r = found.correlation
    assert [r[0, 1], r[0, 2], r[1, 2]] == pytest.approx([-0.588, -0.485, 0.993], abs=1e-3)


def test_gum_h2_without_the_correlation_is_wrong():
    """0.195, 0.201, 0.204 ohm: printed beside, from memory of JCGM 100, H.2."""
    means, covariance = type_a(H2)
    found = propagate(impedance, means, np.diag(np.diag(covariance)))
    assert found.uncertainty == pytest.approx([0.195, 0.201, 0.204], abs=1e-3)


def test_gum_h2_by_observation_then_mean():
    """Approach 2: results of each observation, then their mean."""
    results = np.array([impedance(row) for row in H2])
    means, covariance = type_a(results)
    assert means == pytest.approx([127.732, 219.847, 254.260], abs=1e-3)
    assert np.sqrt(np.diag(covariance)) == pytest.approx([0.071, 0.295, 0.236], abs=6e-4)


def test_gum_h1_end_gauge():
    """From memory of JCGM 100, H.1: 32 nm, 16 degrees of freedom, 93 nm at 99 %."""
    standard_nm, difference_nm = 50_000_623.0, 215.0
    # Standard, difference, expansion and temperature of the standard, and their differences.
    inputs = [standard_nm, difference_nm, 11.5e-6, -0.1, 0.0, 0.0]
    deviations = np.array([25.0, 9.7, 1.2e-6, 0.41, 0.58e-6, 0.029])
    degrees = np.array([18.0, 25.6, np.inf, np.inf, 50.0, 2.0])

    def length_nm(x):
        standard, difference, expansion, theta, more_expansion, warmer = x
        return standard + difference - standard * (more_expansion * theta + expansion * warmer)

    found = propagate(length_nm, inputs, np.diag(deviations**2))
    assert found.values[0] == pytest.approx(50_000_838, abs=0.5)
    assert found.uncertainty[0] == pytest.approx(32, abs=0.5)
    free = effective_degrees(found.sensitivity[0] * deviations, degrees)
    assert int(free) == 16
    assert coverage_factor(0.99, free) * found.uncertainty[0] == pytest.approx(93, abs=0.6)


@pytest.mark.parametrize(
    ("level", "degrees", "factor"),
    [(0.95, 1, 12.71), (0.95, 5, 2.57), (0.95, 10, 2.23), (0.99, 16, 2.92), (0.95, np.inf, 1.960)],
)
def test_coverage_factors_of_the_table(level, degrees, factor):
    """From memory of JCGM 100, table G.2."""
    assert coverage_factor(level, degrees) == pytest.approx(factor, abs=0.005)


def test_welch_and_satterthwaite_reduce_to_what_is_plain():
    assert effective_degrees(np.array([3.0]), np.array([7.0])) == pytest.approx(7.0)
    assert effective_degrees(np.array([1.0, 1.0]), np.array([4.0, 4.0])) == pytest.approx(8.0)
    assert effective_degrees(np.array([1.0, 2.0]), np.array([np.inf, np.inf])) == np.inf
    assert judged_degrees(0.10) == pytest.approx(50.0)


sizes = st.floats(0.1, 10.0)


@given(a=sizes, b=sizes, u=sizes, v=sizes, r=st.floats(-1.0, 1.0))
def test_a_weighted_sum_with_correlation(a, b, u, v, r):
    covariance = np.array([[u * u, r * u * v], [r * u * v, v * v]])
    found = propagate(lambda x: a * x[0] - b * x[1], [3.0, -2.0], covariance)
    expected = (a * u) ** 2 + (b * v) ** 2 - 2 * r * a * b * u * v
    scale = (a * u + b * v) ** 2
    assert found.covariance[0, 0] == pytest.approx(expected, abs=1e-8 * scale)


@given(x=st.floats(0.5, 3.0), u=st.floats(1e-6, 1e-2))
def test_products_of_powers_by_their_relative_uncertainty(x, u):
    found = propagate(lambda v: v[0] ** 3, [x], np.array([[u * u]]))
    assert found.uncertainty[0] == pytest.approx(3 * x**2 * u, rel=1e-4)


def test_what_cannot_be_propagated_is_refused():
    with pytest.raises(InputError, match="symmetric"):
        propagate(lambda x: x[0], [1.0, 2.0], np.array([[1.0, 0.5], [0.0, 1.0]]))
    with pytest.raises(InputError, match="at least two rows"):
        type_a([[1.0, 2.0]])
