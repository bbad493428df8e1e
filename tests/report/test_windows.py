"""What a figure enlarges."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.report.windows import windows_of

WHOLE = (-2.5, 30.0)


@st.composite
def intervals(draw):
    edges = sorted(draw(st.lists(st.floats(*WHOLE), min_size=2, max_size=8, unique=True)))
    return list(zip(edges[::2], edges[1::2], strict=False))


@given(intervals(), st.floats(1e-4, 0.2), st.lists(st.floats(*WHOLE), max_size=2))
def test_every_interval_is_whole_in_one_window_and_windows_are_apart(found, cell_m, also_m):
    windows = windows_of(found, WHOLE, cell_m=cell_m, also_m=also_m)
    for low, high in found:
        assert any(a <= low + 1e-6 and high - 1e-6 <= b for a, b in windows)
    for (_, b), (c, _) in itertools.pairwise(windows):
        assert b < c
    assert 1 <= len(windows) <= 3


def test_a_near_truth_is_in_the_window_and_a_far_one_is_not():
    near = windows_of([(12.0, 12.4)], WHOLE, cell_m=0.01, also_m=(12.9,))
    far = windows_of([(12.0, 12.4)], WHOLE, cell_m=0.01, also_m=(25.0,))
    assert near[0][1] > 12.9
    assert far == windows_of([(12.0, 12.4)], WHOLE, cell_m=0.01)


def test_no_interval_means_the_whole_cable():
    assert windows_of([], WHOLE, cell_m=0.1) == [WHOLE]


@pytest.mark.parametrize("place", [-2.5, 30.0])
def test_a_window_goes_little_beyond_the_cable(place):
    ((low, high),) = windows_of([(place - 0.01, place + 0.01)], WHOLE, cell_m=0.001)
    assert low > -2.6
    assert high < 30.1
