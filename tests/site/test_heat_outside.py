"""Heat in the floor against closed forms, integral transforms, and sums that must close."""

import numpy as np
import pytest
from outside import against_heat


@pytest.mark.parametrize("check", against_heat.CHECKS, ids=lambda check: check.name)
def test_agrees(check):
    outcome = check.run()
    assert outcome.cases > 0
    assert outcome.largest <= check.allowed, outcome.at


def test_half_the_cells_four_times_the_error():
    _, rows = against_heat.orders(2)
    errors = np.abs([row[-1] for row in rows])
    # Meshes that are graded and cut at the layers reach the full order in the limit only.
    np.testing.assert_allclose(np.log2(errors[:-1] / errors[1:]), 2.0, atol=0.15)
