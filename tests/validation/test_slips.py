"""A few slips in every run; the full check is run by hand (see `slips`)."""

import pytest
from validation.slips import judged


@pytest.mark.parametrize("slip", ["leads", "unit"])
def test_a_slip_that_leads_to_a_conflict_is_asked_about(slip):
    drawn, conflicts, recognised, first, _ = judged(slip, 1, 2026)
    assert drawn >= conflicts == 1
    assert first <= recognised == 1
