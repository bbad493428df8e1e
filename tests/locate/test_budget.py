"""The error budget: against formulas by hand, against the bound, and where it declines."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from rich.console import Console

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Joint, Short
from cablesim.instruments.readings import Reading, measure
from cablesim.instruments.standard import standard_probes
from cablesim.locate.budget import Budget, Declined, budget
from cablesim.locate.estimate import Estimate, FaultEstimate
from cablesim.locate.limits import bound
from cablesim.locate.linear import Given
from cablesim.report.budget_table import budget_view

CABLE = Cable.rated("twin", 30.0, 88.2)
SURE = Given()


def readings(faults, wanted, seed=1):
    shown = measure(CABLE, faults, wanted, rng=np.random.default_rng(seed))
    return [Reading(probe, float(value)) for probe, value in zip(wanted, shown, strict=True)]


def answer(fault, conflict=""):
    """As if somebody had located exactly this fault."""
    between, conductors = getattr(fault, "between", None), getattr(fault, "conductors", None)
    ohm = float(fault.resistance_ohm)
    found = FaultEstimate(
        fault.kind,
        between,
        conductors,
        float(fault.position_m),
        (0.0, 30.0),
        ((0.0, 30.0),),
        ohm if np.isfinite(ohm) else None,
    )
    return Estimate(fault.kind, 1.0, True, "", (found,), 0.95, (), None, (), conflict)


def test_three_readings_by_hand():
    """``x = L (1 + (R1 - R2) / R12)``: each display by its slope, leads by ``(L - x) / R12``."""
    fault = Short(("core1", "braid"), 12.4, 55.0)
    found = budget(CABLE, readings((fault,), standard_probes(CABLE)[:3]), answer(fault))
    assert isinstance(found, Budget)
    by_name = {entry.name: entry for entry in found.entries}
    r12 = 90.4  # in the middle of the tolerance
    slopes = {
        "display, ohmmeter, core1 to core2": 17.6 / r12,
        "display, ohmmeter, core1 to braid": 30.0 / r12,
        "display, ohmmeter, core2 to braid": -30.0 / r12,
        "leads, ohmmeter": -17.6 / r12,
    }
    for name, slope in slopes.items():
        assert by_name[name].sensitivity_m == pytest.approx(slope, rel=0.05)
    assert by_name["leads, ohmmeter"].uncertainty == pytest.approx(0.2 / 3**0.5)
    assert by_name["display, ohmmeter, core1 to braid"].uncertainty == pytest.approx(
        np.sqrt(0.3**2 / 3 + 0.1**2 / 12)
    )
    gain = next(entry for entry in found.entries if entry.name.startswith("gain"))
    assert gain.share < 1e-3, "one meter's gain cancels"
    assert by_name["temperature"].share < 1e-3, "and so does the temperature"


@given(
    fault=st.one_of(
        st.builds(Short, st.just(("core1", "braid")), st.floats(1, 29), st.floats(1.0, 300.0)),
        st.builds(Break, st.just(("core1",)), st.floats(2, 28)),
    ),
    seed=st.integers(0, 99),
)
@settings(max_examples=12)
def test_shares_add_to_one_and_the_sum_is_near_the_bound(fault, seed):
    taken = readings((fault,), standard_probes(CABLE), seed)
    found = budget(CABLE, taken, answer(fault), given=SURE)
    assert isinstance(found, Budget)
    assert sum(entry.share for entry in found.entries) == pytest.approx(1.0)
    shares = [entry.share for entry in found.entries]
    assert shares == sorted(shares, reverse=True)
    least = bound(CABLE, (fault,), [reading.probe for reading in taken]).place_m[0, 0]
    # The cable fitted to the readings is not the one in the middle of its limits: a capacitance
    # that is 20 % less is read 20 % worse. And a display may lie just on another range.
    assert found.combined_m == pytest.approx(least, rel=0.6)
    assert found.expanded_m == pytest.approx(found.factor * found.combined_m)
    assert found.factor >= 1.9599


def test_doubting_what_is_given_adds_rows_and_width():
    fault = Break(("core1",), 12.4)
    taken = readings((fault,), standard_probes(CABLE))
    sure = budget(CABLE, taken, answer(fault), given=SURE)
    unsure = budget(CABLE, taken, answer(fault), given=Given(5.0, 10.0))
    assert {e.name for e in unsure.entries} - {e.name for e in sure.entries} == {
        "temperature",
        "cold lead",
    }
    assert unsure.combined_m >= sure.combined_m * (1 - 1e-9)


def test_a_judged_limit_that_rules_costs_degrees_of_freedom():
    cut = Break(("core1", "core2"), 12.4)
    found = budget(CABLE, readings((cut,), standard_probes(CABLE)[4:]), answer(cut))
    assert isinstance(found, Budget)
    assert found.entries[0].name == "capacitance core to braid"
    assert sum(e.share for e in found.entries if e.name.startswith("capacitance core")) > 0.9
    # Eight degrees for each judged limit, so sixteen where two share the variance.
    assert 8 <= found.degrees < 20
    assert found.factor > 2.05


def test_it_declines_what_is_not_placed():
    joint = Joint("core1", 12.4, 5.0)
    taken = readings((joint,), standard_probes(CABLE)[:3])
    assert budget(CABLE, taken, answer(joint)) == Declined(
        "the readings by themselves do not place the damage"
    )
    assert isinstance(budget(CABLE, taken, answer(joint, conflict="no")), Declined)
    healthy = Estimate("healthy", 1.0, False, "", (), 0.95, (), None, ())
    assert "nothing is broken" in budget(CABLE, taken, healthy).reason


def test_it_says_where_the_answer_leaves_the_place_open():
    fault = Short(("core1", "braid"), 12.4, 55.0)
    taken = readings((fault,), standard_probes(CABLE))
    for open_ in (False, True):
        found = budget(CABLE, taken, replace(answer(fault), locatable=not open_))
        assert found.supposed is open_
        told = Console(width=80, record=True)
        told.print(budget_view(found))
        assert ("leaves the place open" in told.export_text()) is open_


def test_everything_goes_into_json():
    fault = Short(("core1", "braid"), 12.4, 55.0)
    found = budget(CABLE, readings((fault,), standard_probes(CABLE)), answer(fault))
    told = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert told["combined_m"] == pytest.approx(
        np.sqrt(sum(entry["contribution_m"] ** 2 for entry in told["inputs"]))
    )
    assert told["expanded_m"] == pytest.approx(told["coverage_factor"] * told["combined_m"])
