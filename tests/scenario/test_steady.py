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
