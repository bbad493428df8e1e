"""Input errors: one clear sentence, safe to print, and intact after a trip to another process."""

import copy
import pickle
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cablesim.errors import (
    NOT_GIVEN,
    CablesimError,
    InputError,
    ScenarioError,
    in_file,
    nearest,
    shorten,
)


class Unshowable:
    def __repr__(self):
        raise RuntimeError("no repr today")


@pytest.mark.parametrize(
    ("payload", "sentence"),
    [
        ({"got": -3, "allowed": "above 0"}, "at_m is -3, but must be above 0."),
        ({"got": None, "allowed": "a number"}, "at_m is None, but must be a number."),
        ({"got": -3}, "at_m is -3."),
        ({"allowed": "above 0"}, "at_m must be above 0."),
        ({"try_this": "add at_m = 3.0"}, "at_m; add at_m = 3.0."),
        (
            {"got": "x", "allowed": "a name", "try_this": "did you mean y?"},
            "at_m is 'x', but must be a name; did you mean y?",
        ),
    ],
)
def test_sentence(payload, sentence):
    assert str(InputError(what="at_m", **payload)) == sentence


def test_payload_is_kept():
    error = InputError(what="at_m", got=-3, allowed="above 0", try_this="3.0")
    assert (error.what, error.got, error.allowed, error.try_this) == ("at_m", -3, "above 0", "3.0")
    assert InputError("at_m").got is NOT_GIVEN


def test_input_error_is_caught_as_either_kind():
    assert issubclass(InputError, CablesimError)
    assert issubclass(InputError, ValueError)


@pytest.mark.parametrize(
    ("place", "start"),
    [
        ({"file": Path("a.toml"), "key_path": "cable"}, "In a.toml, cable: at_m is 1."),
        ({"file": "a.toml"}, "In a.toml: at_m is 1."),
        ({"key_path": "cable"}, "In cable: at_m is 1."),
        ({}, "at_m is 1."),
    ],
)
def test_scenario_error_names_the_place(place, start):
    assert str(ScenarioError("at_m", 1, **place)) == start


@pytest.mark.parametrize("remake", [copy.copy, lambda error: pickle.loads(pickle.dumps(error))])
@pytest.mark.parametrize(
    "error",
    [
        InputError("at_m"),
        InputError("at_m", [1, 2], "a number", "3.0"),
        ScenarioError("at_m", 1, "a word", "x", file=Path("a.toml"), key_path="cable"),
    ],
)
def test_survives_pickle_and_copy(error, remake):
    again = remake(error)
    assert type(again) is type(error)
    assert str(again) == str(error)
    assert vars(again) == vars(error)
    assert (again.got is NOT_GIVEN) == (error.got is NOT_GIVEN)


@pytest.mark.parametrize(
    "value",
    [
        "x" * 10_000_000,
        "\x1b[2J\n\r\x00",
        10**10_000,
        {str(n): n for n in range(10_000)},
        np.zeros((300, 300)),
        Unshowable(),
        Path("a\u202eb\x1b"),
    ],
    ids=["long text", "control text", "long int", "dict", "array", "broken repr", "path"],
)
def test_shorten_tames_any_value(value):
    text = shorten(value)
    assert 0 < len(text) <= 60
    assert text.isprintable()


def test_shorten_shows_numpy_scalars_as_plain_numbers():
    assert shorten(np.float64(2.5)) == "2.5"
    assert shorten(np.array(7)) == "7"


@given(st.text(), st.text(), st.text())
def test_sentence_is_one_printable_line_whatever_the_file_held(what, got, try_this):
    assert str(InputError(what, got, None, try_this)).isprintable()


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("Core1", "core1"),
        (" core2 ", "core2"),
        ("heated-length-m", "heated_length_m"),
        ("heated_length", "heated_length_m"),
        ("braidd", "braid"),
        ("", None),
        ("zzz", None),
    ],
)
def test_nearest(written, meant):
    assert nearest(written, ["braid", "core1", "core2", "heated_length_m"]) == meant


@given(st.lists(st.text(min_size=1), min_size=1), st.data())
def test_nearest_to_a_known_name_is_a_known_name(names, data):
    name = data.draw(st.sampled_from(names))
    assert nearest(name, names) in names


def test_in_file_names_the_place_unless_a_nearer_one_is_named():
    named = r"^In a\.toml, fault\[2\]: at_m is 1"
    with (
        pytest.raises(ScenarioError, match=named) as raised,
        in_file("a.toml", "fault[2]"),
    ):
        raise InputError("at_m", 1, "a word")
    with pytest.raises(ScenarioError) as again, in_file("b.toml"):
        raise raised.value
    assert again.value.file == "a.toml"
