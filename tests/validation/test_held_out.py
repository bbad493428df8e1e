"""A few held-out cases in every run; the full check is run by hand (see `held_out`)."""

import numpy as np
import pytest
from validation.held_out import draw_case, holds

from cablesim.locate import locate, posterior


@pytest.mark.parametrize("number", range(3))
def test_the_truth_is_never_ruled_out(number):
    """The true hypothesis keeps some probability, and its 99.9 % interval holds the true place."""
    case = draw_case(np.random.default_rng((2026, number)))
    answers = posterior(case.cable, case.readings)
    true = next(a for a in answers if repr(a.hypothesis) == repr(case.hypothesis))
    assert true.probability > 1e-3
    if case.position_m is not None:
        alone = locate(case.cable, case.readings, level=0.999, table=[case.hypothesis])
        assert holds(alone, case.position_m)
