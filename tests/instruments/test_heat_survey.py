"""Warmth as evidence: where its edge and its hot spots lie, against the heat itself."""

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Flashover, Joint, Short
from cablesim.instruments.display import display
from cablesim.instruments.heat_survey import HeatSurvey
from cablesim.instruments.meters import Ohmmeter, Setting
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.line.energised import power_profile
from cablesim.line.terminals import Hookup
from cablesim.locate import locate, posterior
from cablesim.locate.prior import hypotheses
from cablesim.scenario.reading import parse_scenario

TWIN = Cable.rated("twin", 36.0, 26.7, cold_lead_m=2.0)
PARALLEL = Cable.rated("parallel", 40.0, 60.0)
CORES = ("core1", "core2")


def found(cable, faults, sought, within_m=0.3):
    probe = Probe(
        HeatSurvey(name="heat"),
        Hookup.of(cable, CORES),
        Setting(method=sought, within_m=within_m),
    )
    return predict(cable, faults, [probe])[..., 0]


@pytest.mark.parametrize(
    ("faults", "edge_m", "spot_m"),
    [
        ((), np.inf, np.inf),
        ((Short(CORES, 9.7, 2.1),), 9.7, 9.7),
        ((Short(CORES, 9.7, 1e6),), np.inf, 9.7),
        ((Short(("core1", "braid"), 9.7, 2.1),), np.inf, 9.7),
        ((Break(("core1",), 12.0),), 0.0, np.inf),
        ((Break(("braid",), 12.0),), np.inf, np.inf),
        ((Joint("core2", 12.0, 5.0),), np.inf, 12.0),
        ((Degraded(CORES, 8.0, 9.0, 0.5),), 8.5, 8.5),
        ((Short(CORES, -1.0, 0.1),), 0.0, 0.0),
        ((Flashover(("core1", "braid"), 5.0, 800.0, 30.0),), np.inf, np.inf),
        ((Short(CORES, 20.0, 0.1), Short(CORES, 10.0, 0.1)), 10.0, 10.0),
    ],
)
def test_where_the_edge_and_the_spot_are_on_a_twin_cable(faults, edge_m, spot_m):
    assert found(TWIN, faults, "edge") == edge_m
    assert found(TWIN, faults, "spot") == spot_m
    assert found(TWIN, faults[::-1], "edge") == edge_m


def test_a_parallel_cable_is_warm_up_to_a_break():
    assert found(PARALLEL, (Break(("core1",), 12.0),), "edge") == 12.0
    assert found(PARALLEL, (Joint("core1", 12.0, 0.1),), "edge") == np.inf


@settings(max_examples=30)
@given(st.floats(2.0, 34.0), st.floats(-3.0, 3.0))
def test_the_edge_is_where_the_heat_falls_to_less_than_a_quarter(at_m, decade):
    """Against the heat of the energised cable, away from the very threshold."""
    cable = TWIN
    short = Short(CORES, at_m, 10.0**decade)
    before, beyond = power_profile(cable, (short,), 230.0, np.array([at_m - 1e-6, at_m + 1e-6]))
    share = np.sqrt(beyond / before)
    assume(abs(share - 0.5) > 1e-6)
    assert (found(cable, (short,), "edge") == at_m) == (share < 0.5)


def test_a_batch_holds_what_its_rows_are():
    short = Short(CORES, np.array([1.0, 9.7, 30.0]), np.array([0.1, 1e5, 0.1]))
    np.testing.assert_array_equal(found(TWIN, (short,), "edge"), [1.0, np.inf, 30.0])


def test_its_error_is_even_within_what_is_said():
    probe = Probe(
        HeatSurvey(name="heat"), Hookup.of(TWIN, CORES), Setting(method="spot", within_m=0.6)
    )
    shown = display(np.full((4000, 1), 9.7), [probe], rng=np.random.default_rng(3))[:, 0]
    assert np.abs(shown - 9.7).max() <= 0.6 + 0.02
    assert np.std(shown) == pytest.approx(0.6 / np.sqrt(3), rel=0.05)
    span = Reading(probe, 9.7).span
    assert span.noise == pytest.approx(0.6)
    assert (span.low, span.high) == pytest.approx((9.69, 9.71))


FILE = """
[cable]
construction = "twin"
heated_length_m = 36.0
loop_resistance_ohm = 26.7
cold_lead_m = 2.0

[[reading]]
meter = "ohmmeter"
across = ["core1", "core2"]
ohm = 9.7

[[reading]]
meter = "ohmmeter"
across = ["core1", "braid"]
over_range = true

[[reading]]
meter = "ohmmeter"
across = ["core2", "braid"]
over_range = true
"""
WARM = """
[[reading]]
meter = "heat"
across = ["core1", "core2"]
warm_to_m = 9.6
within_m = 0.3
"""


def test_it_places_a_short_between_the_cores_that_ohms_cannot():
    without = parse_scenario(FILE)
    assert not locate(without.cable, without.readings).locatable
    scenario = parse_scenario(FILE + WARM)
    answer = locate(scenario.cable, scenario.readings)
    assert (answer.verdict, answer.locatable) == ("short", True)
    low, high = answer.faults[0].interval_m
    assert 9.29 <= low < 9.6 < high <= 9.91
    # An even error of 0.3 m: 95 % of it.
    assert high - low == pytest.approx(2 * 0.3 * 0.95, rel=0.1)


ALL_WARM = WARM.replace("warm_to_m = 9.6\nwithin_m = 0.3", 'over_range = true\nsought = "edge"')


def test_all_warm_speaks_against_a_short_of_little_resistance():
    """20 ohm: a dead short far out, or a weak one near the thermostat that leaves all warm."""
    dimmer = FILE.replace("9.7", "20.0")
    without, scenario = parse_scenario(dimmer), parse_scenario(dimmer + ALL_WARM)
    table = [h for h in hypotheses(scenario.cable) if h.verdict == "short"]
    far = locate(without.cable, without.readings, table=table).faults[0]
    near = locate(scenario.cable, scenario.readings, table=table).faults[0]
    assert far.interval_m[1] > 25.0
    assert near.interval_m[1] < 12.0
    assert near.resistance_ohm > 20.0
    # 9.7 ohm is less than half of what any such short leaves.
    scenario = parse_scenario(FILE + ALL_WARM)
    assert posterior(scenario.cable, scenario.readings)[0].probability == 0


def test_an_ohmmeter_beside_it_reads_as_before():
    short = (Short(CORES, 9.7, 2.1),)
    ohm = Probe(Ohmmeter(name="ohmmeter"), Hookup.of(TWIN, CORES))
    heat = Probe(HeatSurvey(name="heat"), Hookup.of(TWIN, CORES), Setting(method="edge"))
    both = predict(TWIN, short, [heat, ohm])
    assert both[0] == 9.7
    assert both[1] == predict(TWIN, short, [ohm])[0]
