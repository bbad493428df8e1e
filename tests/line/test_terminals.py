"""Hook-ups: what is read, what is refused, and what the refusal says."""

from __future__ import annotations

import pytest

from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.line.terminals import Hookup, Terminal, node_of, terminal

TWIN = Cable.rated("twin", 30.0, 88.2)
OPEN_TWIN = Cable.rated("twin", 30.0, 88.2, far_end="open")
SINGLE = Cable.rated("single", 30.0, 88.2)


def test_a_hook_up_reads_back_as_it_was_written():
    hookup = Hookup.of(TWIN, ("core1+core2", "braid"), (("braid@far", "core1@far"),))
    assert hookup.across == ("core1+core2", "braid")
    assert Terminal("braid", "far") in hookup.terminals


def test_joined_cores_are_one_place_at_the_far_end():
    for name in ("core1@far", "core2@far"):
        assert node_of(terminal(name, TWIN), TWIN) == Terminal("core1", "far")
    assert node_of(terminal("core2@far", OPEN_TWIN), OPEN_TWIN) == Terminal("core2", "far")
    assert node_of(terminal("braid@far", TWIN), TWIN) == Terminal("braid", "far")


@pytest.mark.parametrize(
    ("cable", "across", "links", "message"),
    [
        (TWIN, ("core3", "braid"), (), "terminal is 'core3', .*did you mean core"),
        (SINGLE, ("core2", "braid"), (), "on a single cable"),
        (TWIN, ("core1@near", "braid"), (), "terminal is 'core1@near'"),
        (TWIN, ("core1@", "braid"), (), "terminal is 'core1@'"),
        (TWIN, ("core1", "core1"), (), "core1 is touched more than once"),
        (TWIN, ("core1",), (), "at least two"),
        (TWIN, ("core1", "braid"), (("core2",),), "at least two different terminals"),
        (TWIN, ("core1", "braid"), (("core1", "braid"),), "ties two of these leads together"),
        (TWIN, ("core1@far", "core2@far"), (), "ties two of these leads together"),
        (
            TWIN,
            ("core1", "braid"),
            (("core1", "core1@far"), ("core2@far", "braid")),
            "ties two of these leads together",
        ),
    ],
)
def test_what_cannot_be_hooked_up_is_refused(cable, across, links, message):
    with pytest.raises(InputError, match=message):
        Hookup.of(cable, across, links)


def test_the_same_is_fine_where_the_far_end_is_open():
    assert Hookup.of(OPEN_TWIN, ("core1@far", "core2@far")).leads
