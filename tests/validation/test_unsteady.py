"""A bridge stands where an ohmmeter fails, and the published page says so."""

from pathlib import Path

import pytest
from validation.unsteady import row

PAGE = Path(__file__).parents[2] / "docs" / "validation" / "unsteady.md"


@pytest.mark.parametrize(("ohm", "drift"), [(1e2, 5.0), (1e5, 5.0)])
def test_drift_ruins_ohms_and_leaves_the_balance(ohm, drift):
    steady, unsteady = row(ohm, 0.0), row(ohm, drift)
    assert unsteady.ohmmeter_m > 3 * steady.ohmmeter_m or steady.ohmmeter_m > 10.0
    assert unsteady.ohmmeter_m > 2.0
    for name in ("murray_high_m", "varley_high_m"):
        assert getattr(unsteady, name) == pytest.approx(getattr(steady, name), rel=0.1)
        assert getattr(unsteady, name) < 0.1


def test_more_voltage_finds_a_megohm_more_finely():
    found = row(1e6, 0.0)
    assert found.murray_high_m < found.murray_low_m / 3


def test_the_page_has_every_row():
    rows = [line for line in PAGE.read_text().splitlines() if line.startswith("| ")]
    assert len(rows) == 2 + 3 * 5
