"""One meter on the same leads cannot say two things."""

import pytest

from cablesim.errors import ScenarioError
from cablesim.scenario.reading import parse_scenario

FILE = """
[cable]
construction = "twin"
heated_length_m = 30.0
loop_resistance_ohm = 88.2

[[reading]]
meter = "ohmmeter"
across = ["core1", "braid"]
{first}

[[reading]]
meter = "ohmmeter"
across = ["core1", "braid"]
{second}
"""


@pytest.mark.parametrize(
    ("first", "second"),
    [("ohm = 74.2", "ohm = 742.0"), ("ohm = 74.2", "over_range = true"), ("ohm = 0", "ohm = 5.0")],
)
def test_contradictory_readings_are_refused(first, second):
    with pytest.raises(ScenarioError) as caught:
        parse_scenario(FILE.format(first=first, second=second), file="floor.toml")
    said = str(caught.value)
    assert "floor.toml" in said
    assert "reading 2" in said
    assert "contradicts reading 1" in said
    assert "\n" not in said


def test_an_unsteady_display_may_say_two_things():
    first, second = parse_scenario(
        FILE.format(first="ohm = 74.2\nunsteady = true", second="ohm = 742.0")
    ).readings
    assert (first.unsteady, second.unsteady) == (True, False)


def test_an_unsteady_fault_may_read_two_things():
    fault = """
[[fault]]
kind = "short"
between = ["core1", "braid"]
at_m = 12.4
resistance_ohm = 300.0
drift_percent = 200
"""
    text = FILE.format(first="ohm = 74.2", second="ohm = 742.0")
    assert len(parse_scenario(text + fault).readings) == 2
    with pytest.raises(ScenarioError, match="contradicts"):
        parse_scenario(text + fault.replace("= 200", "= 0"))


def test_the_refusal_says_how_to_lift_it():
    with pytest.raises(ScenarioError, match="unsteady = true"):
        parse_scenario(FILE.format(first="ohm = 74.2", second="ohm = 742.0"))


def test_insulation_after_two_times_may_say_two_things():
    text = FILE.replace("ohmmeter", "insulation_tester")
    first, second = "seconds = 30\nmegohm = 3.0", "seconds = 600\nmegohm = 30.0"
    assert len(parse_scenario(text.format(first=first, second=second)).readings) == 2
    with pytest.raises(ScenarioError, match="contradicts"):
        parse_scenario(text.format(first=first, second=second.replace("600", "30")))


# 0.8 % and 3 counts each way, and one rounding: 74.2 and 76.0 can just be one resistance.
@pytest.mark.parametrize(
    ("first", "second"), [("ohm = 74.2", "ohm = 74.2"), ("ohm = 74.2", "ohm = 76.0")]
)
def test_readings_within_the_meter_are_taken(first, second):
    assert len(parse_scenario(FILE.format(first=first, second=second)).readings) == 2


@pytest.mark.parametrize("shown", ["OL", "O.L", "open"])
def test_a_display_without_a_number_is_told_how_to_write_it(shown):
    with pytest.raises(ScenarioError, match="over_range = true"):
        parse_scenario(FILE.format(first=f"ohm = {shown}", second="ohm = 74.2"))
