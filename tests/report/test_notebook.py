"""Values in a notebook: their tables, and no layer that knows of the one above."""

import pytest

import cablesim
from cablesim.errors import InputError
from cablesim.report.answer import answered
from cablesim.report.words import verdict_words, within_words
from cablesim.scenario.reading import parse_scenario
from cablesim.scenario.shipped import shipped_directory

TITLE = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def scenario():
    text = (shipped_directory() / "demo.toml").read_text(encoding="utf-8")
    title = "Upstairs bathroom: a door stop drilled into the heating cable"
    return parse_scenario(text.replace(title, TITLE))


def test_each_shows_what_the_command_line_says(scenario):
    cable, estimate = scenario.cable, answered(scenario).estimate
    place = f"{estimate.faults[0].position_m:.2f} m from the cold joint"
    for value, words in (
        (cable, ("twin, 30 m heated, 88.2 ohm",)),
        (scenario, ("twin, 30 m heated", "4 taken", "short between core1 and braid")),
        (estimate, (verdict_words(estimate), place, within_words(estimate.faults))),
    ):
        shown = value._repr_html_().replace("\u00a0", " ")
        assert shown.startswith("<dl>") and shown.endswith("</dl>")
        for wanted in words:
            assert wanted in shown, wanted
    assert TITLE not in scenario._repr_html_()
    assert "&lt;script&gt;" in scenario._repr_html_()


def test_what_has_no_table_is_refused():
    with pytest.raises(InputError, match="a Cable, a Scenario or an Estimate"):
        cablesim.as_html(3)
