"""What a file or a call may state of a cable, the search for its damage can also bear."""

from dataclasses import replace

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.locate.answer import locate
from cablesim.locate.weighing import posterior
from cablesim.scenario.reading import parse_scenario

FILE = """
[cable]
construction = "single"
heated_length_m = 24.0
{stated}

[[reading]]
meter = "ohmmeter"
across = ["core1", "braid"]
ohm = 333.2

[[reading]]
meter = "insulation_tester"
across = ["core1", "braid"]
megohm = 0.002
"""
ECHO = """
[[reading]]
meter = "pulse_echo"
across = ["core1", "braid"]
echo_ns = 150.0
"""
LOOP = "loop_resistance_ohm = 110.2\n"


@pytest.mark.parametrize(
    "stated",
    [
        LOOP + "insulation_gigaohm_m = 1e-6",
        LOOP + "cold_lead_insulation_gigaohm_m = 1e-6",
        LOOP + "braid_ohm_per_m = 1e-6",
        LOOP + "cold_lead_ohm_per_m = 1e-6",
        LOOP + "tolerance_percent = [-99.0, 0.0]",
        "loop_resistance_ohm = 4.81e-5",
        "core_ohm_per_m = [1e-6]\ntolerance_percent = [-99.0, 0.0]",
    ],
)
def test_the_least_that_may_be_stated_of_a_cable_is_answered(stated):
    scenario = parse_scenario(FILE.format(stated=stated))
    assert np.isfinite(posterior(scenario.cable, scenario.readings)[0].misfit)


def test_the_slowest_pulses_that_may_be_stated_are_answered():
    scenario = parse_scenario(FILE.format(stated=LOOP + "velocity_factor = 0.01") + ECHO)
    assert np.isfinite(posterior(scenario.cable, scenario.readings)[0].misfit)


def test_the_least_heating_of_a_parallel_cable_is_answered():
    text = FILE.replace("single", "parallel").format(stated="heating_ohm_m = 1e-3")
    scenario = parse_scenario(text)
    assert np.isfinite(posterior(scenario.cable, scenario.readings)[0].misfit)


def test_less_is_refused_as_it_was_written():
    scenario = parse_scenario(FILE.format(stated=LOOP))
    for field, value in [
        ("insulation_gigaohm_m", 1e-8),
        ("braid_ohm_per_m", 1e-9),
        ("velocity_factor", 1e-3),
    ]:
        cable = replace(scenario.cable, **{field: value})
        with pytest.raises(InputError, match=f"^{field} is {value:g}, but must be a number at l"):
            locate(cable, scenario.readings)
    cable = Cable.rated("single", 24.0, 5e-8)
    with pytest.raises(InputError, match="is the loop resistance of 5e-08 ohm right"):
        locate(cable, scenario.readings)
