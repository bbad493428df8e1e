"""The drill: it never raises, never goes back, stops at every danger, and tells no truth."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from training.drill_cases import METERS, RESISTANCES, SAFE, SHORT, a_case, logged, three_readings

from cablesim.cable.faults import Break, Degraded, Short
from cablesim.errors import InputError
from cablesim.training import acts
from cablesim.training.drill import replayed, step
from cablesim.training.playing import world_of
from cablesim.training.state import FINISHED, STOPPED, State

CASE = a_case()
WORLD = world_of(CASE)
NAMES = [meter.name for meter in METERS]
INSULATION = ("insulation_tester", "loop_bridge")

_ends = st.sampled_from(["core1", "core2", "braid", "core1+core2", "core2+braid", "core1@far", "x"])
_place = st.floats(-4.0, 14.0) | st.none()
_point = st.tuples(st.floats(-0.5, 3.5), st.floats(-0.5, 2.0)) | st.none()
_kind = st.sampled_from(["short", "break", "joint", "healthy", "undecided", "rust"])
ACTS = st.one_of(
    st.sampled_from(
        [
            *SAFE,
            acts.Clear(),
            acts.Discharge(),
            acts.Zero(),
            acts.Ask(),
            acts.Repair(),
            acts.Close(),
        ]
    ),
    st.just(acts.Switch(on=True)),
    st.builds(acts.Take, st.sampled_from([*NAMES, "hammer"])),
    st.builds(acts.Touch, st.lists(_ends, min_size=1, max_size=3).map(tuple)),
    st.sampled_from([acts.Read(), acts.Log()]),
    st.builds(
        acts.Set,
        test_volt=st.floats(0, 1e4) | st.none(),
        method=st.sampled_from([None, "murray", "edge"]),
    ),
    st.builds(acts.Suspect, _kind, st.lists(_ends, max_size=2).map(tuple), st.booleans()),
    st.builds(acts.Mark, _place, _point, st.floats(0, 20) | st.none(), st.booleans()),
    st.builds(acts.Open, _place, _point, _point, st.booleans() | st.none(), _place),
    st.just(acts.Finish()),
)
# Half of the sequences begin safely, so that they get further than the first danger.
SEQUENCES = st.tuples(
    st.sampled_from(
        [(), SAFE, (*SAFE, acts.Clear()), (*SAFE, acts.Mark(7.4), acts.Open(first_m=(1.2, 0.65)))]
    ),
    st.lists(ACTS, max_size=12),
).map(lambda parts: (*parts[0], *parts[1]))


@given(SEQUENCES)
@settings(max_examples=150)
def test_nothing_raises_time_never_goes_back_and_what_is_over_stays_over(done):
    state = State()
    for act in done:
        before = state
        state, seen = step(state, act, WORLD)
        assert seen.text and "\n\n" not in seen.text
        assert state.minutes >= before.minutes
        assert state.tiles >= before.tiles
        if before.over:
            assert state == before
        else:
            assert state.number == before.number + 1
        if seen.refused:
            assert (state.minutes, state.tiles) == (before.minutes, before.tiles)
            assert seen.text.endswith((".", "?"))


@given(SEQUENCES)
@settings(max_examples=80)
def test_a_dangerous_act_always_stops(done):
    """The rules in other words than the code's: by what holds just before each act."""
    state = State()
    for act in done:
        before = state
        state, _ = step(state, act, WORLD)
        if before.over:
            break
        touched = isinstance(act, acts.Disconnect | acts.Open | acts.Repair) or (
            isinstance(act, acts.Touch) and bool(before.meter)  # nobody touches without leads
        )
        read = isinstance(act, acts.Read) and before.meter and before.across
        safe = not before.live and before.locked and before.proved
        high = before.meter in (*INSULATION, "withstand_tester")
        dangers = [
            (touched or read) and not safe,
            touched and before.charged,
            read and before.charged not in ("", before.meter),
            read and high and (before.connected or not before.clear),
            read and before.meter == "withstand_tester" and not before.leave,
            isinstance(act, acts.Switch) and act.on and not before.closed,
            isinstance(act, acts.Open) and act.between is False,
            isinstance(act, acts.Open)
            and act.first_m is not None
            and WORLD.plan.nearest(act.first_m)[1] < 0.02,
        ]
        assert (state.over == STOPPED) == any(dangers)
        assert bool(state.reason) == any(dangers)


@given(SEQUENCES, st.integers(0, 20))
@settings(max_examples=60)
def test_any_prefix_played_again_in_a_new_world_goes_on_to_the_same_end(done, cut):
    whole = replayed(WORLD, done)
    fresh = world_of(CASE)
    resumed = replayed(fresh, done[cut:], replayed(fresh, done[:cut]))
    assert resumed == whole


# Acts that look at nothing: whatever is broken, they must bring the same to light.
BLIND = SEQUENCES.map(
    lambda done: [a for a in done if not isinstance(a, acts.Read | acts.Open | acts.Repair)]
)
OTHERS = [
    world_of(a_case((fault,) if fault else (), seed=7))
    for fault in (None, Break(("core2",), 3.3), Degraded.at(("core1", "braid"), 11.1, 3e6))
]


@given(BLIND)
@settings(max_examples=60)
def test_what_is_seen_before_the_end_depends_on_the_truth_by_readings_and_openings_alone(done):
    told = []
    for world in (WORLD, *OTHERS):
        state, texts = State(), []
        for act in done:
            state, seen = step(state, act, world)
            texts.append(seen.text)
        told.append(texts)
    assert all(texts == told[0] for texts in told)


def test_opening_elsewhere_shows_the_same_whatever_is_broken():
    far = (*SAFE, acts.Mark(1.5), acts.Open(first_m=(1.6, 0.35)))
    texts = {step(replayed(world, far[:-1]), far[-1], world)[1].text for world in (WORLD, *OTHERS)}
    assert len(texts) == 1
    assert "No damage" in texts.pop()


def a_whole_job():
    return (
        *SAFE,
        *three_readings(),
        acts.Take("insulation_tester"),
        acts.Clear(),
        acts.Touch(("core1+core2", "braid")),
        acts.Read(),
        acts.Log(),
        acts.Discharge(),
        acts.Suspect("short", ("core1", "braid")),
        acts.Mark(7.4, within_m=0.2),
        acts.Open(first_m=(1.1, 0.65)),
        acts.Repair(),
        *three_readings(),
        acts.Clear(),
        *logged(("core1+core2", "braid"), "insulation_tester"),
        acts.Discharge(),
        acts.Close(),
        acts.Finish(),
    )


def test_a_whole_job_from_switching_off_to_handing_back():
    state, refused = State(), []
    for act in a_whole_job():
        state, seen = step(state, act, WORLD)
        refused += [seen.text] if seen.refused else []
    assert state.over == FINISHED and not refused
    assert state.mended == (0,) and state.splices_m == (7.4,)
    # 7.1 to 7.7 m run from x = 1.06 to 1.66 along a joint: 3 columns, 2 rows of tiles
    assert state.tiles == 6
    assert len(state.lines) == 8
    after = [line.shown for line in state.lines if line.when == "after repair"]
    assert [shown.words for shown in after[1:]] == ["over range"] * 3


def test_a_floor_is_not_closed_before_the_mended_cable_is_read_again():
    done = a_whole_job()
    mended = done.index(acts.Repair()) + 1
    _, seen = step(replayed(WORLD, done[:mended]), acts.Close(), WORLD)
    assert seen.refused and "core2 to braid; an insulation test" in seen.text


@pytest.mark.parametrize("left_out", range(5))
def test_leave_for_high_voltage_needs_every_step(left_out):
    steps = [
        logged(RESISTANCES[0]),
        (*logged(RESISTANCES[1]), *logged(RESISTANCES[2])),
        (acts.Clear(), *logged(("core1+core2", "braid"), "insulation_tester"), acts.Discharge()),
        (acts.Suspect("short", ("core1", "braid")),),
        (acts.Clear(),),
    ]
    done = [*SAFE]
    for number, some in enumerate(steps):
        # The floor must be clear for the insulation test, so that step cannot be left out alone.
        done += some if number != left_out else ()
    state = replayed(WORLD, [*done, acts.Ask()])
    assert state.leave == (left_out == 4)
    assert not state.over


def test_high_voltage_without_leave_stops_and_with_it_trips():
    ready = (
        *SAFE,
        *three_readings(),
        acts.Clear(),
        *logged(("core1+core2", "braid"), "insulation_tester"),
        acts.Discharge(),
        acts.Suspect("short", ("core1", "braid")),
    )
    test = (acts.Take("withstand_tester"), acts.Touch(("core1+core2", "braid")), acts.Read())
    assert replayed(WORLD, (*ready, *test)).rule == "test without leave"
    state = replayed(WORLD, (*ready, acts.Ask(), *test))
    assert not state.over and state.charged == "withstand_tester"
    assert state.display.value == 100.0  # 55 ohm trip it at the least voltage


@pytest.mark.parametrize(
    ("meter", "act", "said"),
    [
        (
            "insulation_tester",
            acts.Set(test_volt=20e3),
            "The test voltage is 20000.0, but must be from 50 to 5000 V.",
        ),
        ("ohmmeter", acts.Set(test_volt=500.0), "The ohmmeter has no test voltage to set"),
        (
            "ohmmeter",
            acts.Touch(("core1", "core1")),
            "The leads cannot touch core1 to core1; core1 is",
        ),
        ("loop_bridge", acts.Touch(("core1", "braid")), "The loop bridge has 3 leads, and 2 are"),
        ("ohmmeter", acts.Touch(("core1@far", "braid")), "The far end of this cable lies under"),
        (
            "ohmmeter",
            acts.Suspect("joint"),
            "Suspect joint names the broken conductor; such as: suspect joint c1.",
        ),
    ],
)
def test_what_cannot_be_set_or_touched_is_told_in_words(meter, act, said):
    _, seen = step(replayed(WORLD, (*SAFE, acts.Take(meter))), act, WORLD)
    assert seen.refused
    assert seen.text.startswith(said)


def test_zeroed_leads_make_a_reading_smaller_and_the_sheet_says_so():
    state = replayed(WORLD, (*SAFE, *logged(("core1", "core2"))))
    zeroed = replayed(WORLD, (acts.Zero(), *logged(("core1", "core2"))), state)
    plain, nulled = zeroed.lines
    assert plain.zero_ohm is None and 0.0 <= nulled.zero_ohm <= 1.0
    # Each has counts of 0.3 ohm and a rounding of 0.05 ohm of its own.
    assert abs(plain.shown.value - nulled.shown.value - nulled.zero_ohm) <= 0.7 + 1e-9


def test_an_open_floor_costs_no_tile_and_no_cut():
    world = world_of(a_case(covered=False))
    state = replayed(world, (*SAFE, acts.Mark(7.4), acts.Open()))
    assert not state.over and state.tiles == 0 and state.opened[0].damage == (0,)


def test_without_a_plan_it_is_said_where_the_covering_is_broken():
    world = world_of(a_case(floor=None))
    marked = replayed(world, (*SAFE, acts.Mark(7.3)))
    assert step(marked, acts.Open(), world)[1].refused
    assert step(marked, acts.Open(between=True), world)[0].opened[0].damage == (0,)
    assert step(marked, acts.Open(between=False), world)[0].rule == "cut over a run"


def test_a_cut_beside_a_mark_on_the_cable_keeps_from_every_run():
    marked = replayed(WORLD, (*SAFE, acts.Mark(7.4)))
    state, seen = step(marked, acts.Open(beside_m=7.4), WORLD)
    assert state.opened[0].damage == (0,) and not state.over
    x, y = WORLD.plan.at(7.4)
    # Runs are 0.3 m apart, and the tiles that are lifted reach over more than half of that.
    halfway = [f"First cut at {x:.2f},{y + side:.2f}, 150 mm from" for side in (-0.15, 0.15)]
    assert seen.text.startswith(tuple(halfway))
    for elsewhere in (2.0, -1.0, 30.0):
        after, seen = step(marked, acts.Open(beside_m=elsewhere), WORLD)
        assert seen.refused and not after.opened


def test_two_faults_are_suspected_marked_and_mended_one_by_one():
    world = world_of(a_case((SHORT, Short(("core2", "braid"), 2.0, 10.0))))
    done = (
        *SAFE,
        acts.Suspect("short", ("core1", "braid")),
        acts.Suspect("short", ("core2", "braid"), also=True),
        acts.Mark(7.4),
        acts.Mark(2.0, also=True),
        acts.Open(first_m=(2.1, 0.35)),
        acts.Open(at_m=7.4, first_m=(1.1, 0.65)),
        acts.Repair(),
    )
    state = replayed(world, done)
    assert state.mended == (0, 1) and state.splices_m == (2.0, 7.4)
    assert len(state.suspects) == len(state.marks) == 2
    afresh = replayed(world, (acts.Mark(5.0),), state)
    assert [mark.at_m for mark in afresh.marks] == [5.0]


@given(ACTS)
@settings(max_examples=50)
def test_an_act_comes_back_from_plain_values(act):
    assert acts.act_from(acts.act_to(act)) == act


@pytest.mark.parametrize(
    "raw", [None, 3, {}, {"act": "dig"}, {"act": "mark", "at_m": "x"}, {"act": "lock", "on": 1}]
)
def test_what_is_no_act_is_refused_in_one_sentence(raw):
    with pytest.raises(InputError, match=r"^act is .*\.$"):
        acts.act_from(raw)


def test_no_number_is_infinite():
    with pytest.raises(InputError, match="finite"):
        acts.Mark(float("nan"))


def last_of(done, world=WORLD):
    """Where a drill stands after these acts, and what the last one brought to light."""
    return step(replayed(world, done[:-1]), done[-1], world)


def test_without_a_meter_nothing_is_touched_and_nobody_is_hurt():
    for act in (acts.Touch(("core1", "braid")), acts.Read()):
        state, seen = last_of((act,))
        assert seen.refused and "no meter is in your hand" in seen.text.lower()
        assert not state.over


def test_leave_is_asked_for_what_energises_and_not_for_what_only_asks_for_a_clear_floor():
    bag = [meter for meter in METERS if meter.name != "withstand_tester"]
    _, seen = last_of((acts.Ask(),), world_of(a_case(meters=bag)))
    assert seen.refused and seen.text.startswith(
        "No meter of this bag needs leave; the high voltage of the ins"
    )
    assert "loop bridge" in seen.text and "the floor clear" in seen.text
    _, seen = last_of((acts.Ask(),), world_of(a_case(meters=METERS[:1])))
    assert seen.refused and "nothing in the bag works with high voltage" in seen.text.lower()


def test_who_works_on_the_floor_is_told_that_it_is_no_longer_clear():
    opening = acts.Open(first_m=(1.1, 0.65))
    for done in ((*SAFE, acts.Mark(7.4)), (*SAFE, acts.Mark(7.4), opening)):
        act = acts.Repair() if opening in done else opening
        state, seen = last_of((*done, acts.Clear(), act))
        assert "no longer clear" in seen.text and not state.clear
        assert "no longer clear" not in last_of((*done, act))[1].text


def test_a_test_that_leaves_a_charge_says_so_and_others_do_not():
    _, seen = last_of((*SAFE, acts.Clear(), *logged(RESISTANCES[1], "insulation_tester")[:-1]))
    assert "counts as charged" in seen.text
    assert "charged" not in last_of((*SAFE, *logged(RESISTANCES[1])[:-1]))[1].text


def test_a_far_end_in_the_floor_is_read_while_it_lies_open_and_not_before_or_after():
    far = ("core1@far", "braid")
    opened = (*SAFE, acts.Take("ohmmeter"), acts.Open(at_m=12.0, beside_m=12.0))
    state, seen = last_of((*opened, acts.Touch(far), acts.Read()))
    assert not seen.refused and not state.over
    closed = (*opened, acts.Touch(far), acts.Close())
    assert last_of((*closed, acts.Read()))[1].refused
    assert last_of((*closed, acts.Touch(far)))[1].refused
    elsewhere = (*SAFE, acts.Take("ohmmeter"), acts.Mark(7.4), acts.Open(first_m=(1.1, 0.65)))
    assert "open 12" in last_of((*elsewhere, acts.Touch(far)))[1].text
    bare = world_of(a_case(covered=False))
    assert not last_of((*SAFE, acts.Take("ohmmeter"), acts.Touch(far)), bare)[1].refused


def test_handing_back_with_a_mark_and_nothing_mended_is_asked_about_once():
    said = (acts.Suspect("short", ("core1", "braid")), acts.Mark(7.4))
    state, seen = last_of((*said, acts.Finish()))
    assert not state.over and "nothing has been mended" in seen.text
    assert last_of((*said, acts.Finish(), acts.Finish()))[0].over == FINISHED
    assert last_of((said[0], acts.Mark(), acts.Finish()))[0].over == FINISHED


def test_a_drill_that_goes_on_says_how_the_floor_is():
    from cablesim.training.telling import job_words

    opened = replayed(WORLD, (*SAFE, acts.Mark(7.4), acts.Open(first_m=(1.1, 0.65))))
    assert "The floor is closed." in job_words(CASE)
    assert "The floor is open: 6 tiles lifted." in job_words(CASE, opened)
    assert "closed again" in job_words(CASE, replayed(WORLD, (acts.Close(),), opened))
