"""However a file is damaged: it is read or refused in one sentence, never anything else."""

from functools import partial

from hypothesis import example, given
from hypothesis import strategies as st
from scenario.sound import CHANGES, SOUND, VALUES, change_lines

from cablesim.errors import ScenarioError
from cablesim.scenario.reading import parse_scenario
from cablesim.scenario.writing import dump_scenario


@st.composite
def damaged(draw):
    """A sound file after some changes to characters, lines, keys or values."""
    lines = draw(st.sampled_from(SOUND)).splitlines()
    for _ in range(draw(st.integers(1, 4))):
        lines = lines or [""]
        at = draw(st.integers(0, len(lines) - 1))
        other = draw(st.integers(0, len(lines) - 1))
        change = draw(st.integers(0, CHANGES + 1))
        value = partial(draw, st.sampled_from(VALUES))
        if change < CHANGES and change_lines(lines, change, at, other, value):
            continue
        if change == CHANGES:
            cut = draw(st.integers(0, len(lines[at])))
            rest = draw(st.integers(cut, len(lines[at])))
            lines[at] = lines[at][:cut] + draw(st.text(max_size=3)) + lines[at][rest:]
        else:
            lines[at] = lines[at].swapcase()
    return "\n".join(lines)


def read_or_refused(text):
    try:
        scenario = parse_scenario(text, file="hall.toml")
    except ScenarioError as error:
        assert str(error).startswith("In hall.toml")
        assert str(error).isprintable()
        assert len(str(error)) < 600
    else:
        # What can be read can be written, and is the same.
        assert parse_scenario(dump_scenario(scenario)) == scenario


def test_the_sound_files_are_sound():
    for text in SOUND:
        parse_scenario(text)


@given(damaged())
def test_damaged_files(text):
    read_or_refused(text)


@given(st.binary(max_size=200))
@example(b"\xef\xbb\xbf")
@example(b"[cable]\r")
def test_any_bytes(data):
    read_or_refused(data)


@given(st.text(max_size=200))
def test_any_text(text):
    read_or_refused(text)
