"""Classical methods on arrays: the very answers that they give one by one."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.benchmark.grades import GRADES
from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.methods import METHODS
from cablesim.benchmark.study.simulated import displays
from cablesim.cable.cable import Cable
from cablesim.instruments.readings import Reading
from cablesim.locate.batch import answers
from cablesim.locate.classical import Worked, worked
from cablesim.locate.recipes import RECIPES

CABLES = (
    Cable.rated("twin", 30.0, 88.2),
    Cable.rated("single", 40.0, 60.0),
    Cable.rated("twin", 30.0, 88.2, far_end="open", cold_lead_m=0.0),
)
SERVED = [
    (number, damage, method)
    for number, cable in enumerate(CABLES)
    for damage in DAMAGES.values()
    for method in METHODS.values()
    if not method.unfit(cable, damage)
]


def test_every_recipe_is_studied():
    assert {method.name for _, _, method in SERVED} == set(RECIPES) == set(METHODS)


@pytest.mark.parametrize("case", SERVED, ids=lambda c: f"{c[0]}-{c[1].name}-{c[2].name}")
@given(data=st.data())
@settings(max_examples=2)
def test_batch_equals_loop(case, data):
    number, damage, method = case
    cable, bag = CABLES[number], GRADES[data.draw(st.sampled_from(sorted(GRADES)))]
    probes = method.probes(cable, damage, bag)
    seed = data.draw(st.integers(0, 2**32))
    places = np.array([0.01, 0.6]) * float(cable.heated_length_m)
    ohms = np.array([0.1, 3e4, 9e7])
    shown = displays(cable, damage, places, ohms, probes, draws=1, seed=(seed,))
    # The same damage on the other core: what comes first must not matter.
    shown = np.concatenate([shown, shown[..., ::-1]], axis=2) if len(probes) == 3 else shown
    found = answers(method.name, cable, probes, shown)
    for where in np.ndindex(found.place_m.shape):
        readings = [Reading(p, float(v)) for p, v in zip(probes, shown[where], strict=True)]
        single = worked(method.name, cable, readings)
        assert found.declined[where] == (not isinstance(single, Worked))
        if isinstance(single, Worked):
            (fault, *_) = single.estimate.faults
            low, high = fault.interval_m
            # The same sums in another order: a few units in the last place of what is subtracted.
            size = 1e-9 * (1 + abs(fault.position_m) + (high - low))
            assert found.place_m[where] == pytest.approx(fault.position_m, abs=size)
            assert found.half_width_m[where] == pytest.approx((high - low) / 2, rel=1e-6, abs=size)
