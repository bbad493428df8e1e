"""The published worked examples, from their files through `locate`, to the printed digits."""

import pytest

from cablesim.locate import locate
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.shipped import shipped_directory

MILE_M = 1609.344
# File, printed answer [m], half a unit of the last printed digit [m]. Where the source prints "+"
# after its last digit, the digits that follow were cut off: a whole unit, to one side. The sources
# stand in the files.
PRINTED = [
    ("murray-mehta-11-21", 150.0, 0.5, 0.5),
    ("murray-mehta-11-22", 250.0, 0.5, 0.5),
    ("murray-unequal-mehta-11-23", 433.0, 0.5, 0.5),
    ("murray-anand-8-9", 500.0, 0.5, 0.5),
    ("murray-mgvcl-2021", 300.0, 0.5, 0.5),
    ("murray-slide-hawkins-596", 0.7192 * MILE_M, 0.00005 * MILE_M, 0.00005 * MILE_M),
    ("murray-slide-unequal-hawkins-597", 1.09 * MILE_M, 0.005 * MILE_M, 0.005 * MILE_M),
    ("varley-mehta-11-24", 15000.0, 0.5, 0.5),
    ("varley-slide-hawkins-599", 1.094 * MILE_M, 0.0, 0.001 * MILE_M),
    ("two-ends-wires", 3864.0, 0.5, 0.5),
    ("break-good-pair-hawkins-607", 1.317 * MILE_M, 0.0, 0.001 * MILE_M),
]


@pytest.mark.parametrize(("name", "printed_m", "below_m", "above_m"), PRINTED)
def test_locate_gives_the_printed_answer(name, printed_m, below_m, above_m):
    scenario = load_scenario(shipped_directory() / "published" / f"{name}.toml")
    estimate = locate(scenario.cable, scenario.readings, established=scenario.established)
    assert estimate.verdict == scenario.faults[0].kind
    assert estimate.locatable
    assert printed_m - below_m <= estimate.faults[0].position_m <= printed_m + above_m


def test_every_published_file_has_its_printed_answer():
    shipped = {path.stem for path in (shipped_directory() / "published").glob("*.toml")}
    assert shipped == {name for name, *_ in PRINTED}


def test_two_ends_gives_the_printed_resistance():
    """25 ohm: worked homework answer, seen on a stored page."""
    scenario = load_scenario(shipped_directory() / "published" / "two-ends-wires.toml")
    estimate = locate(scenario.cable, scenario.readings)
    assert estimate.faults[0].resistance_ohm == pytest.approx(25.0, abs=0.5)
