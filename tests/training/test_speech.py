"""What a trainee types: forgiving where it is clear, one sentence where it is not."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from training.drill_cases import CABLE, METERS

from cablesim.errors import InputError
from cablesim.training import acts
from cablesim.training.help import help_words
from cablesim.training.speech import VIEWS, heard

FAR = (("core1@far", "core2@far"),)
BAG = {meter.name: meter for meter in METERS}


def said(line):
    return heard(line, CABLE, BAG).acts


@pytest.mark.parametrize(
    "line",
    [
        "read core1 braid",
        "READ c1 b",
        "read core 1 to the braid.",
        "read c1 and screen",
        "  read   core1   to   b  # the second of three",
    ],
)
def test_one_reading_said_in_many_ways(line):
    assert said(line) == (acts.Touch(("core1", "braid")), acts.Read())


@pytest.mark.parametrize(
    ("line", "act"),
    [
        ("off", acts.Switch(on=False)),
        ("switch off the supply", acts.Switch(on=False)),
        ("lock off", acts.Lock()),
        ("prove dead", acts.Prove()),
        ("clear the floor", acts.Clear()),
        ("take ins", acts.Take("insulation_tester")),
        ("use the bridge", acts.Take("loop_bridge")),
        ("c1 b", acts.Touch(("core1", "braid"))),
        ("touch c1+c2 b", acts.Touch(("core1+core2", "braid"))),
        ("touch c1 and c2 to b", acts.Touch(("core1+core2", "braid"))),
        ("touch c2 c1 b link far c1 far c2", acts.Touch(("core2", "core1", "braid"), FAR)),
        ("touch far c1 b", acts.Touch(("core1@far", "braid"))),
        ("touch core1@far braid", acts.Touch(("core1@far", "braid"))),
        ("touch core1@far far b", acts.Touch(("core1@far", "braid@far"))),
        ("; lock", acts.Lock()),
        ("mark 11.22 within 25 cm", acts.Mark(11.22, within_m=0.25)),
        ("mark 1122cm within 0.25", acts.Mark(11.22, within_m=0.25)),
        ("mark 1.2,0.85 within 50 mm", acts.Mark(xy_m=(1.2, 0.85), within_m=0.05)),
        ("set 500V 1 min", acts.Set(test_volt=500.0, seconds=60.0)),
        ("set varley 1000 100", acts.Set(method="varley", arms=(1000.0, 100.0))),
        ("set -", acts.Set(sign="-")),
        ("set 1 kHz", acts.Set(frequency_hz=1000.0)),
        ("suspect short c1 b", acts.Suspect("short", ("core1", "braid"))),
        ("suspect also a broken core2", acts.Suspect("break", ("core2",), also=True)),
        ("suspect nothing", acts.Suspect("healthy")),
        ("ask for high voltage", acts.Ask()),
        ("mark 12.4 m within 0.3", acts.Mark(12.4, within_m=0.3)),
        ("mark at 1.20 , 0.85", acts.Mark(xy_m=(1.2, 0.85))),
        ("mark -1.2", acts.Mark(-1.2)),
        ("mark none", acts.Mark()),
        ("mark also 3", acts.Mark(3.0, also=True)),
        ("open first 1.2,0.9", acts.Open(first_m=(1.2, 0.9))),
        ("open cut beside 11.9 m", acts.Open(beside_m=11.9)),
        ("open 12.4 between the runs", acts.Open(12.4, between=True)),
        ("splice", acts.Repair()),
    ],
)  # fmt: skip
def test_what_is_said_is_understood(line, act):
    assert said(line) == (act,)


@pytest.mark.parametrize(
    ("line", "mend"),
    [
        ("dig", "help shows"),
        ("raed c1 b", "did you mean read"),
        ("lock the door", "leave 'door' out"),
        ("take hammer", "one of the bag"),
        ("take", "one of the bag"),
        ("touch c1", "say both"),
        ("touch c1 c9", "core1, core2, braid"),
        ("mark", "metres, such as 12.4"),
        ("mark here", "such as 12.4"),
        ("mark 1,2,3", "x and y"),
        ("mark 12.4 within", "one number"),
        ("open first", "first is followed by a point"),
        ("open cut at 11.9 m", "cut beside 11.9"),
        ("set 500", "no unit"),
        ("set loud", "nothing to set"),
        ("suspect", "one kind of damage"),
        ("suspect short c1 roof", "the conductor"),
        ("x" * 300, "at most 200"),
        ("mark 1e999", "such as 12.4"),
    ],
)
def test_what_is_not_clear_gets_one_sentence(line, mend):
    with pytest.raises(InputError) as raised:
        said(line)
    told = str(raised.value)
    assert mend in told and "\n" not in told and told.endswith((".", "?"))


WORDS = ["off", "read", "mark", "open", "set", "suspect", "touch", "c1", "b", "+", "-", "1.2"]
WORDS += [",", "far", "to", "link", "first", "within", "none"]


@given(st.text(max_size=60) | st.lists(st.sampled_from(WORDS), max_size=8).map(" ".join))
def test_whatever_is_typed_it_is_understood_or_refused(line):
    try:
        found = heard(line, CABLE, BAG)
    except InputError as error:
        assert "\n" not in str(error)
    else:
        assert found.view in ("", *VIEWS)


def test_help_shows_one_part_where_it_is_asked_for():
    assert heard("help read", CABLE, BAG).about == "read"
    part = help_words(about="read")
    assert part in help_words() and part.startswith(" read") and "suspect" not in part
    assert help_words(about="safe") == help_words(about="make safe")
    assert help_words(about="nonsense") == help_words()


def test_help_fits_one_screen():
    lines = help_words().splitlines()
    assert len(lines) <= 23 and max(map(len, lines)) <= 80


@pytest.mark.parametrize("columns", [40, 60, 79, 200])
def test_help_breaks_no_word(columns):
    told = help_words(columns)
    assert max(map(len, told.splitlines())) <= columns
    # The same words in the same order, whatever the width, but for the colons of the narrow form.
    assert told.replace(":", "").split() == help_words().replace(":", "").split()
