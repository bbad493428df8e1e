"""What a call from Python may give: used, or refused in one sentence that names it."""

from dataclasses import replace

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Short
from cablesim.errors import InputError
from cablesim.instruments.meters import Ohmmeter
from cablesim.instruments.readings import Probe, Reading, predict
from cablesim.instruments.withstand_tester import WithstandTester
from cablesim.line.terminals import Hookup
from cablesim.locate.answer import locate
from cablesim.locate.weighing import posterior

TWIN = Cable.rated("twin", 30.0, 88.2)
SINGLE = Cable.rated("single", 30.0, 88.2)
PARALLEL = Cable.rated("parallel", 30.0, 88.2)
METER = Ohmmeter(name="pocket")


def probe(*across, cable=TWIN):
    return Probe(METER, Hookup.of(cable, across))


PROBE = probe("core1", "braid")
TAKEN = (
    Reading(PROBE, 73.7),
    Reading(probe("core1", "core2"), 88.5),
    Reading(probe("core2", "braid"), 125.5),
)


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"established": ["leak"]}, ("established is 'leak'", "healthy, short, break")),
        ({"established": ["shrt"]}, ("established is 'shrt'", "did you mean short?")),
        ({"established": [5]}, ("established holds 5", "str")),
        ({"established": "short"}, ("established is 'short'", "('short',)")),
        ({"established": 5}, ("established is 5", "tuple or list")),
        ({"table": []}, ("table is []", "at least one hypothesis")),
        ({"table": [3]}, ("table holds 3", "Hypothesis")),
        ({"table": "short"}, ("table is 'short'",)),
        ({"level": "0.95"}, ("level is '0.95'", "without quotes")),
        ({"level": None}, ("level is None", "a number")),
        ({"level": True}, ("level is True", "a number")),
        ({"level": 1.0}, ("level is 1.0", "below 1")),
        ({"level": [0.9, 0.95]}, ("level is [0.9, 0.95]", "one number")),
        ({"bag": [3]}, ("bag holds 3", "Probe")),
        ({"bag": [probe("core1", "braid", cable=SINGLE), 3]}, ("bag holds 3",)),
        ({"readings": TAKEN[0]}, ("readings is", "(reading,)")),
        ({"readings": None}, ("readings is None",)),
        ({"readings": [1.0]}, ("readings holds 1.0", "Reading")),
        ({"readings": [PROBE]}, ("readings holds Probe", "Reading")),
        ({"cable": "twin"}, ("cable is 'twin'", "Cable.rated")),
        ({"cable": SINGLE}, ("terminal is 'core2'", "on a single cable")),
        (
            {"readings": [Reading(probe("core1@far", "core2@far", cable=PARALLEL), 88.5)]},
            ("across is ['core1@far', 'core2@far']", "far-end joint"),
        ),
    ],
)
def test_what_cannot_be_used_is_refused_in_one_sentence(given, words):
    given = {"cable": TWIN, "readings": TAKEN} | given
    with pytest.raises(InputError) as raised:
        locate(given.pop("cable"), given.pop("readings"), **given)
    assert all(word in str(raised.value) for word in words), str(raised.value)


def test_generators_do_as_well_as_tuples():
    told = locate(TWIN, TAKEN, established=("short", "joint"), bag=(PROBE,))
    again = locate(
        TWIN,
        (reading for reading in TAKEN),
        established=(kind for kind in ("short", "joint")),
        bag=(one for one in (PROBE,)),
    )
    assert (again.verdict, again.probability) == (told.verdict, told.probability)
    assert again.next_reading == told.next_reading


def test_kinds_that_a_withstand_test_rules_out_are_refused():
    tester = Probe(WithstandTester(name="w"), Hookup.of(TWIN, ("core1+core2", "braid")))
    with pytest.raises(InputError, match=r"established is .*healthy.*withstand test"):
        locate(TWIN, [Reading(tester, 800.0), *TAKEN], established=["healthy"])


def test_a_hook_up_on_a_core_that_the_cable_has_not_predicts_nothing():
    with pytest.raises(InputError, match="terminal is 'core2'"):
        predict(SINGLE, (), [probe("core2", "braid")])


@pytest.mark.parametrize("shown", ["90.6", "90,6", None, True, [1.0], np.array([90.6]), 1j])
def test_a_display_is_one_number(shown):
    with pytest.raises(InputError, match=r"ohmmeter reading is .*, but must be a number"):
        Reading(PROBE, shown)


@pytest.mark.parametrize("shown", [90, 90.5, np.float32(90.5), np.int64(90), np.array(90.5)])
def test_any_kind_of_number_does(shown):
    assert Reading(PROBE, shown).shown == shown


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Reading("ohmmeter", 3.0), "probe is 'ohmmeter'"),
        (lambda: Probe("ohmmeter", PROBE.hookup), "meter is 'ohmmeter'"),
        (lambda: Probe(Ohmmeter, PROBE.hookup), "meter is <class"),
        (lambda: Probe(METER, ("core1", "braid")), r"hookup is \('core1', 'braid'\).*Hookup.of"),
        (lambda: Probe(METER, PROBE.hookup, 5), "setting is 5"),
        (lambda: Reading(PROBE, 90.6, "no"), "at_least is 'no'"),
        (lambda: Reading(PROBE, 90.6, unsteady=1), "unsteady is 1"),
        (lambda: Hookup.of(TWIN, "core1"), "across is 'core1'"),
        (lambda: Hookup.of(TWIN, (1, 2)), r"across is \(1, 2\)"),
        (lambda: Hookup.of(TWIN, None), "across is None"),
        (lambda: Short(("core1", "braid"), "12", 55.0), "at_m is '12'"),
        (lambda: Ohmmeter(name="m", accuracy_percent="0.8"), "accuracy_percent is '0.8'"),
        (lambda: Ohmmeter(name="m", accuracy_percent=True), "accuracy_percent is True"),
        (lambda: Cable.rated("twin", "30", 88.2), "heated_length_m is '30'.*without quotes"),
        (lambda: Cable.rated("twin", 30.0, "88.2"), "loop_resistance_ohm is '88.2'"),
        (lambda: Cable.rated("twin", 30.0, True), "loop_resistance_ohm is True"),
        (lambda: Cable.rated(5, 30.0, 88.2), "construction is 5"),
        (lambda: Cable.rated("twin", 30.0, core_ohm_per_m=1.4), "core_ohm_per_m is 1.4"),
        (lambda: Cable.rated("twin", 30.0, core_ohm_per_m=("1.4", "1.5")), "core_ohm_per_m is '1"),
        (lambda: Cable.rated("twin", 30.0, 88.2, core_alloy=5), "core_alloy is 5"),
        (lambda: Cable.rated("twin", 30.0, 88.2, geometry="x"), "geometry is 'x'"),
        (lambda: Cable.rated("twin", 30.0, 88.2, tolerance_percent="5"), "tolerance_percent is '5"),
        (lambda: Cable.rated("twin", 30.0, 88.2, tolerance_percent=5), "tolerance_percent is 5"),
        (lambda: replace(TWIN, tolerance_percent=("-5", "10")), "tolerance_percent is"),
        (lambda: replace(TWIN, loss_tangent=None), "loss_tangent is None"),
        (lambda: replace(TWIN, cold_lead_m="2"), "cold_lead_m is '2'"),
        (lambda: replace(TWIN, construction="twin"), "construction is 'twin'.*Cable.rated"),
    ],
)
def test_what_is_of_the_wrong_kind_is_refused_when_it_is_made(make, words):
    with pytest.raises(InputError, match=words):
        make()


@pytest.mark.parametrize(
    ("given", "words"),
    [
        ({"readings": 5}, "readings is 5"),
        ({"readings": [1.0]}, r"readings holds 1\.0"),
        ({"cable": None}, "cable is None"),
        ({"table": "x"}, "table is 'x'"),
        ({"table": []}, r"table is \[\]"),
        ({"place": "x"}, "place is 'x'"),
    ],
)
def test_what_cannot_be_weighed_is_refused(given, words):
    given = {"cable": TWIN, "readings": TAKEN} | given
    with pytest.raises(InputError, match=words):
        posterior(given.pop("cable"), given.pop("readings"), **given)


def test_a_display_says_no_number_beyond_all_meters():
    with pytest.raises(InputError, match=r"from 0 to 1e\+15, or infinite"):
        Reading(PROBE, 1e300)
