"""Marks: all for the best answer, less the farther from it, the same whatever the luck."""

import json
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Short
from cablesim.locate.unsteady import loosened
from cablesim.scenario.practice import Deviation, Practice
from cablesim.scenario.scenario import Scenario
from cablesim.site.room import Room
from cablesim.site.survey import Rule, Survey
from cablesim.training.bags import bag_of, first_probes
from cablesim.training.beliefs import Belief, Beliefs, beliefs_of
from cablesim.training.bench import Bench
from cablesim.training.case import Case
from cablesim.training.class_table import ClassTable, csv_of
from cablesim.training.evidence import taken
from cablesim.training.log import dump_log, parse_log, played, reading_row
from cablesim.training.log_tables import Answer, Danger, Found, Log, Opened, Read, Repaired, Step
from cablesim.training.losses import best_intervals_m, best_statement
from cablesim.training.marking import STOPPED_AT_MOST, TOPICS, evidence_of, mark_case

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
ROOM = Room(((0.0, 0.0), (2.4, 0.0), (2.4, 1.8), (0.0, 1.8)))
TOLD = Scenario.of(
    TWIN,
    meters=bag_of(["pocket"]).values(),
    floor=Survey(room=ROOM, rule=Rule(0.1, 0.06, (0.0, 0.0)), tile_m=(0.3, 0.3)),
    practice=Practice("It trips at once."),
)
SHORT = Short(("core1", "braid"), 12.4, 55.0)


def case_of(fault):
    return Case.of("bath", TOLD, [fault], level=1, seed=8, true=Deviation(core=1.02))


CASE = case_of(SHORT)
PROBES = first_probes(TWIN, TOLD.meters)
READINGS = taken(Bench(CASE.true_cable, CASE.faults, CASE.key.seed), PROBES)


@pytest.fixture(scope="module")
def beliefs():
    return beliefs_of(TWIN, READINGS)


def log_of(answer, *more, readings=READINGS):
    reads = [Read(reading=reading_row(reading), minutes=2.0) for reading in readings]
    sha = CASE.key.trainee_sha256
    log = Log(
        format=1,
        case="bath",
        trainee_sha256=sha,
        trainee="A",
        actions=[*reads, *more],
        answer=answer,
    )
    return played(parse_log(dump_log(log)), CASE.trainee)


def answer_of(place, interval, kind="short", conductors=("braid", "core1")):
    found = Found(kind=kind, conductors=list(conductors), position_m=place, interval_m=interval)
    return Answer(verdict=kind, faults=[found])


@pytest.fixture(scope="module")
def best(beliefs):
    stated, _ = best_statement(TWIN, beliefs)
    (interval,) = best_intervals_m(beliefs.of(CASE_DAMAGE), 1)
    return stated.places_m[0], interval


CASE_DAMAGE = (("short", ("braid", "core1")),)


def marked(beliefs, answer, *more, case=CASE):
    return mark_case(case, log_of(answer, *more), beliefs, READINGS)


def test_the_best_answer_gets_all_that_answers_get(beliefs, best):
    mark = marked(beliefs, answer_of(*best))
    assert mark.topics["damage"] == pytest.approx(1.0)
    assert mark.topics["place"] == pytest.approx(1.0, abs=1e-3)
    assert mark.topics["interval"] == pytest.approx(1.0, abs=1e-3)
    assert mark.topics["opening"] is None
    assert mark.topics["safety"] == 1.0
    # Three ohm readings are all that this bag has for such a short.
    assert mark.total > 99.0
    assert mark.facts.right
    assert mark.facts.error_m == pytest.approx(mark.facts.best_error_m, abs=1e-9)


@settings(max_examples=8)
@given(near=st.floats(0.0, 10.0), more=st.floats(0.0, 5.0), side=st.sampled_from([-1.0, 1.0]))
def test_a_place_farther_off_never_gets_more(beliefs, best, near, more, side):
    place, interval = best
    marks = [
        marked(beliefs, answer_of(place + side * off, interval)) for off in (near, near + more)
    ]
    # The best place is a median of points, so near it the loss is flat to their spacing.
    assert marks[1].topics["place"] <= marks[0].topics["place"] + 1e-3
    assert marks[1].total <= marks[0].total + 0.1


@settings(max_examples=8)
@given(low=st.floats(0.02, 3.0), factor=st.floats(1.0, 30.0))
def test_an_interval_too_narrow_or_too_wide_gets_less(beliefs, best, low, factor):
    place, (left, right) = best
    half = (right - left) / 2
    for scale in (1 / (1 + low), factor):
        some = (place - scale * half, place + scale * half)
        other = (place - scale**2 * half, place + scale**2 * half)
        scores = [
            marked(beliefs, answer_of(place, interval)).topics["interval"]
            for interval in (some, other)
        ]
        assert scores[1] <= scores[0] + 2e-3


def test_where_the_truth_is_changes_nothing_that_is_said(beliefs, best):
    # The same readings and the same words, another truth: luck is neither blamed nor praised.
    place, interval = best
    answer = answer_of(place + 0.3, interval)
    here = marked(beliefs, answer)
    there = marked(beliefs, answer, case=case_of(replace(SHORT, at_m=12.9)))
    for topic in ("damage", "place", "interval"):
        assert here.topics[topic] == there.topics[topic]
    assert here.facts.error_m != there.facts.error_m


def test_what_is_broken_counts_by_its_probability(beliefs, best):
    right = marked(beliefs, answer_of(*best)).topics["damage"]
    core = marked(beliefs, answer_of(*best, conductors=("braid", "core2"))).topics["damage"]
    kind = marked(beliefs, answer_of(*best, kind="break", conductors=("core1",))).topics["damage"]
    assert right == pytest.approx(1.0)
    assert core == pytest.approx(0.5, abs=0.01)
    assert kind < 0.01


def test_to_say_that_it_cannot_be_located_where_it_can_costs(beliefs, best):
    mark = marked(beliefs, Answer(verdict="short", locatable=False))
    assert mark.topics["place"] < 0.6
    assert mark.topics["interval"] is None
    assert any("do place the damage" in sentence for sentence in mark.told)


def hopeless(case=CASE):
    practice = replace(case.scenario.practice, key=replace(case.key, locatable=False))
    return Case(case.name, replace(case.scenario, practice=practice))


@pytest.mark.parametrize("verdict", ["undecided", "short"])
def test_to_read_nothing_and_to_decline_gets_nothing_for_place_and_interval(verdict):
    answer = Answer(verdict=verdict, locatable=False)
    for case in (CASE, hopeless()):
        mark = mark_case(case, log_of(answer, readings=()))
        assert mark.topics["place"] == mark.topics["interval"] == 0.0
        assert mark.total < 50.0  # a level easier, and not the same one
        assert any("what the readings earned" in sentence for sentence in mark.told)


def test_to_decline_gets_no_more_than_the_readings_and_all_where_nothing_could_be_placed(best):
    # Readings whose posterior is as wide as the cable, though the bag could have done better.
    places = np.linspace(0.0, 30.0, 200)
    wide = Beliefs((Belief("short", CASE_DAMAGE, 1.0, (places,), np.full(200, 0.005)),))
    answer = Answer(verdict="short", locatable=False)
    few = mark_case(CASE, log_of(answer, readings=READINGS[:1]), wide, READINGS[:1])
    assert few.topics["place"] == few.topics["interval"] == few.topics["readings"] < 0.2
    # All that the key counts has been read: as before there is nothing to take off.
    for case in (CASE, hopeless()):
        all_read = mark_case(case, log_of(answer), wide, READINGS)
        assert all_read.topics["place"] == 1.0 and all_read.topics["interval"] is None
    # With this key the kind of damage may stay open too.
    torn = Beliefs(
        tuple(
            replace(wide.every[0], verdict=name, damage=damage, probability=0.5)
            for name, damage in (("short", CASE_DAMAGE), ("break", (("break", ("core1",)),)))
        )
    )
    unsure = mark_case(hopeless(), log_of(answer), torn, READINGS)
    assert unsure.topics["readings"] < 1.0 and unsure.topics["place"] == 1.0


def test_damage_left_unmended_counts_in_the_opening_of_a_drill_that_is_handed_back(beliefs, best):
    tiles, finish = Opened(tiles=[(3, 3)]), Step(did="finish")
    mended = Repaired(position_m=12.4)
    opening = {
        name: marked(beliefs, answer_of(*best), *acts).topics["opening"]
        for name, acts in {
            "mended": (tiles, mended, finish),
            "unmended": (tiles, finish),
            "unopened": (finish,),
            "on paper": (),
            "opened on paper": (tiles,),
        }.items()
    }
    assert opening == {
        "mended": 1.0, "unmended": 0.0, "unopened": 0.0, "on paper": None, "opened on paper": 1.0
    }  # fmt: skip
    # Nothing was marked, or nothing could be: then nothing is left undone.
    declined = marked(beliefs, Answer(verdict="short", locatable=False), finish)
    assert declined.topics["opening"] is None
    assert marked(beliefs, answer_of(*best), finish, case=hopeless()).topics["opening"] is None


@pytest.mark.parametrize(
    ("shift", "scale", "said"),
    [(0.0, 6.0, "too wide"), (0.0, 0.1, "too narrow"), (3.0, 1.0, "beside what the readings say")],
)
def test_what_is_wrong_with_an_interval_is_said_with_the_best_one(
    beliefs, best, shift, scale, said
):
    place, (low, high) = best
    half = scale * (high - low) / 2
    middle = (low + high) / 2 + shift
    mark = marked(beliefs, answer_of(place, (middle - half, middle + half)))
    (told,) = (sentence for sentence in mark.told if sentence.startswith("The interval"))
    assert f"is {said}" in told and f"is {low:.2f} to {high:.2f} m" in told
    assert not any("interval" in sentence for sentence in marked(beliefs, answer_of(*best)).told)


def test_what_keeps_readings_from_all_is_said(beliefs, best):
    answer = answer_of(*best)
    one = mark_case(CASE, log_of(answer, readings=READINGS[:1]), beliefs, READINGS[:1])
    assert any(s.startswith("The readings allow") and "3 readings" in s for s in one.told)
    often = READINGS * 4
    idle = mark_case(CASE, log_of(answer, readings=often), beliefs, often)
    assert "The readings took 24 minutes; up to 12 cost nothing." in idle.told
    assert not any("readings" in sentence for sentence in marked(beliefs, answer).told)


def test_without_an_answer_there_is_nothing_for_it(beliefs):
    mark = marked(beliefs, None)
    assert [mark.topics[name] for name in ("damage", "place", "interval")] == [0.0] * 3


def test_tiles_beyond_those_needed_cost(beliefs, best):
    few = [(3, 3)]
    many = [(column, row) for column in range(1, 9) for row in range(1, 7)]
    scores = [
        marked(beliefs, answer_of(*best), Opened(tiles=tiles)).topics["opening"]
        for tiles in (few, many)
    ]
    assert scores[0] == 1.0
    assert scores[1] < 0.5


def test_nothing_is_opened_for_damage_in_the_lead(best):
    places = np.linspace(-2.0, -1.9, 50)
    lead = Belief("short", CASE_DAMAGE, 1.0, (places,), np.full(50, 0.02))
    mark = marked(Beliefs((lead,)), answer_of(*best), Opened(tiles=[(3, 3)]))
    assert mark.topics["opening"] == 0.0


def test_a_danger_costs_and_one_that_ends_the_drill_caps_the_total(beliefs, best):
    near_miss = marked(beliefs, answer_of(*best), Danger(rule="people on the floor"))
    assert near_miss.topics["safety"] == 0.75
    over = marked(beliefs, answer_of(*best), Danger(rule="live work", stopped=True))
    assert over.topics["safety"] == 0.0
    assert over.total <= STOPPED_AT_MOST < near_miss.total
    assert "Dangerous: live work." in over.told


def test_fewer_readings_and_idle_ones_cost(beliefs, best):
    answer = answer_of(*best)
    one = mark_case(CASE, log_of(answer, readings=READINGS[:1]), beliefs, READINGS[:1])
    assert one.topics["readings"] < 0.1
    often = READINGS * 4
    idle = mark_case(CASE, log_of(answer, readings=often), beliefs, often)
    assert 0.8 <= idle.topics["readings"] < 1.0


def test_a_number_that_the_meter_cannot_have_shown_is_replaced(best):
    invented = replace(READINGS[1], shown=round(READINGS[1].shown * 1.2, 1))
    done = log_of(answer_of(*best), readings=(READINGS[0], invented, READINGS[2]))
    evidence, misread = evidence_of(CASE, done)
    assert misread == (2,)
    assert evidence[1].shown == pytest.approx(READINGS[1].shown, abs=0.8)
    honest, none = evidence_of(CASE, log_of(answer_of(*best)))
    assert none == ()
    assert honest == loosened(READINGS)


def test_nothing_read_is_marked_by_what_was_known_before(best):
    place, interval = best
    mark = mark_case(CASE, log_of(answer_of(place, interval), readings=()))
    assert mark.topics["place"] < 0.2
    assert mark.topics["readings"] == 0.0


def test_a_cable_that_is_well_can_be_marked_too():
    # Not made by a syllabus, but a trainer can write one.
    well = Case.of("bath", TOLD, [], level=1, seed=8)
    log = log_of(Answer(verdict="healthy"), readings=())
    mark = mark_case(well, log)
    assert mark.facts.right
    assert mark.topics["readings"] == 0.0
    assert mark.topics["damage"] < 0.5  # nothing was read
    assert csv_of(ClassTable((mark,))).splitlines()[1].split(",")[3] == "healthy"


class TestClass:
    """Many marks together."""

    @pytest.fixture
    def table(self, beliefs, best):
        good = marked(beliefs, answer_of(*best))
        bad = replace(marked(beliefs, None), trainee="=B", level=3)
        return ClassTable((good, bad, replace(good, level=3)))

    def test_means_and_what_is_next(self, table):
        assert table.trainees == ("=B", "A")
        assert table.total("A") > 99.0
        assert table.by_topic("=B")["place"] == 0.0
        assert table.next_case("A").level == 3
        weak = table.next_case("=B")
        assert (weak.level, weak.topic) == (2, "damage")
        json.dumps(table.to_dict(), allow_nan=False)

    def test_a_spreadsheet_gets_one_row_for_each_and_no_formula(self, table):
        heading, *rows = csv_of(table).splitlines()
        assert heading.split(",")[:5] == ["trainee", "case", "level", "kind", "total"]
        assert len(rows) == 3
        assert any(row.startswith("'=B,") for row in rows)

    def test_a_figure_shows_everybody(self, table):
        from cablesim.training.class_figure import class_figure

        figure = class_figure(table)
        (axes,) = figure.axes
        words = " ".join(text.get_text() for text in (*axes.texts, *axes.get_yticklabels()))
        assert "A" in words and "=B" in words and "next: level 3" in words


def test_the_weights_are_a_whole():
    assert sum(TOPICS.values()) == 100.0
