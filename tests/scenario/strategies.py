"""Hypothesis strategies for meters, readings, floors and whole scenarios."""

from dataclasses import fields
from itertools import combinations

from cable.strategies import cables, faults, log_uniform
from hypothesis import assume
from hypothesis import strategies as st

from cablesim.errors import InputError
from cablesim.instruments.heat_survey import SOUGHT
from cablesim.instruments.meters import (
    METER_KINDS,
    CapacitanceMeter,
    HeatSurvey,
    InsulationTester,
    LoopBridge,
    Ohmmeter,
    PulseEcho,
    Setting,
    WithstandTester,
)
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.standard import usual_setting
from cablesim.line.several import Part
from cablesim.line.terminals import Hookup
from cablesim.locate.prior import KINDS
from cablesim.scenario.practice import LEVELS, MOST_SEED, Deviation, Practice, PracticeKey
from cablesim.scenario.scenario import Entry, Scenario
from cablesim.site.plan import plan_of
from cablesim.site.room import Room
from cablesim.site.survey import FloorLayer, Rule, Survey, Suspect

METER_NAMES = ("pocket", "van-2", "office_3")


def _given(**strategies):
    return st.fixed_dictionaries({}, optional=strategies)


@st.composite
def meters(draw, name):
    """A meter of any kind with some of its values given; one named like a kind is of that kind."""
    kinds = dict(METER_KINDS)
    kind = kinds[name] if name in kinds else draw(st.sampled_from(list(kinds.values())))
    fields = draw(_given(accuracy_percent=st.floats(0.0, 30.0), accuracy_counts=st.floats(0, 50)))
    if kind is HeatSurvey:
        return HeatSurvey(name=name)
    if kind is PulseEcho:
        rise_ns = draw(st.floats(0.1, 20.0))
        fields |= draw(_given(source_ohm=st.floats(10, 200), noise_percent=st.floats(0, 5)))
        fields |= draw(st.sampled_from([{}, {"rise_ns": rise_ns, "width_ns": 2 * rise_ns}]))
        step = draw(st.sampled_from([0.1, 1.0, 2.5]))
        top = step * draw(st.floats(1e3, 1e6))
        return PulseEcho(name=name, resolution=step, top_range=top, counts=top / step, **fields)
    if kind is LoopBridge:
        fields |= draw(_given(divisions=st.sampled_from([100.0, 1000.0, 1024.0])))
        step = draw(st.sampled_from([0.01, 0.1, 1.0]))
        top = step * draw(st.floats(1e3, 1e6))
        return LoopBridge(name=name, resolution=step, top_range=top, counts=top / step, **fields)
    if kind is WithstandTester:
        fields |= draw(_given(limit_milliamp=st.floats(0.1, 50.0), least_volt=st.floats(0.0, 500)))
        return WithstandTester(name=name, volt_per_second=draw(st.floats(10.0, 500.0)), **fields)
    if kind is InsulationTester:
        fields |= draw(
            _given(limit_milliamp=st.floats(1.0, 15.0), open_volt_percent=st.floats(101.0, 125.0))
        )
    if draw(st.booleans()):
        counts = draw(st.sampled_from([2000.0, 4000.0, 6000.0, 50000.0]))
        step = draw(st.sampled_from([0.001, 0.01, 0.1]))
        top = counts * step * draw(log_uniform(1.0, 1e6))
        fields |= {"counts": counts, "resolution": step, "top_range": top}
    if kind is Ohmmeter:
        step = fields.get("resolution", 0.1)
        lead_ohm = draw(st.floats(0.0, 2.0))
        fields |= draw(
            st.sampled_from(
                [
                    {},
                    {"lead_ohm": 0.0, "lead_ohm_tolerance": step},
                    {"lead_ohm": lead_ohm, "lead_ohm_tolerance": lead_ohm / 2},
                    {"lead_ohm": lead_ohm, "lead_ohm_tolerance": 0.05},
                ]
            )
        )
    return kind(name=name, **fields)


@st.composite
def hookups(draw, cable, leads=2):
    """A hook-up in which no two leads are metallically one."""
    ends = ["", "@far"]
    names = [conductor + end for conductor in cable.conductors for end in ends]
    order = draw(st.permutations(names))
    joined = draw(st.integers(1, 2))
    across = ("+".join(order[:joined]), *order[joined : joined + leads - 1])
    links = draw(st.sampled_from([(), (tuple(order[-2:]),)]))
    try:
        return Hookup.of(cable, across, links)
    except InputError:  # the far joint or the link ties two of them together
        usual = ("core1", "core2" if "core2" in cable.conductors else "core1@far", "braid")
        return Hookup.of(cable, usual if leads == 3 else ("core1", "braid"))


@st.composite
def probes(draw, cable, meter):
    """A meter of the bag, hooked up and set."""
    hookup = draw(hookups(cable, meter.leads))
    setting = Setting()
    if isinstance(meter, PulseEcho):
        order = draw(st.permutations(cable.conductors))
        hookup = Hookup.of(cable, tuple(order[:2]))
        return Probe(meter, hookup, Setting(sign=draw(st.sampled_from([None, "+", "-"]))))
    if isinstance(meter, HeatSurvey):
        within_m = draw(st.none() | st.floats(0.01, 5.0))
        setting = Setting(method=draw(st.sampled_from(SOUGHT)), within_m=within_m)
    elif isinstance(meter, InsulationTester):
        setting = Setting(test_volt=draw(st.sampled_from([None, 100.0, 250.0, 500.0, 1000.0])))
    elif isinstance(meter, WithstandTester):
        setting = Setting(limit_milliamp=draw(st.none() | st.floats(0.1, 50.0)))
    elif isinstance(meter, CapacitanceMeter):
        setting = Setting(frequency_hz=draw(st.sampled_from([None, 100.0, 1000.0, 10e3])))
    elif isinstance(meter, LoopBridge):
        method = draw(st.sampled_from(meter.methods))
        arms = (draw(log_uniform(1.0, 1e4)), draw(log_uniform(1.0, 1e4)))
        setting = Setting(method=method, arms=arms if method == "varley" else None)
    return Probe(meter, hookup, usual_setting(meter, setting))


@st.composite
def readings(draw, probe):
    """What such a probe may show: a number, at least a number, or over range."""
    if draw(st.integers(0, 4)) == 0:
        return Reading(probe, float("inf"))
    if isinstance(probe.meter, LoopBridge) and probe.setting.method != "varley":
        steps = round(probe.meter.divisions)
        share = st.integers(0, steps).map(lambda k: k / steps) | st.floats(0.0, 1.0)
        return Reading(probe, draw(share))
    if isinstance(probe.meter, WithstandTester):
        return Reading(probe, draw(st.floats(1.0, 2500.0)), unsteady=draw(st.booleans()))
    at_least = isinstance(probe.meter, InsulationTester) and draw(st.booleans())
    return Reading(probe, draw(st.just(0.0) | log_uniform(1e-3, 2e7)), at_least)


@st.composite
def floors(draw, cable):
    """What is known of a floor: nothing, layers only, a cable surveyed or laid by rule."""
    points = st.tuples(st.floats(-9, 9), st.floats(-9, 9))
    layers = st.builds(FloorLayer, st.sampled_from(["tile", "screed"]), st.floats(1.0, 100.0))
    known = draw(
        _given(
            layers=st.lists(layers, max_size=3).map(tuple),
            tile_m=st.tuples(st.floats(0.05, 1.0), st.floats(0.05, 1.0)),
            tile_origin_m=points,
            suspects=st.lists(
                st.builds(Suspect, points, st.floats(0.01, 2.0), st.text("ab ü", max_size=5)),
                max_size=2,
            ).map(tuple),
        )
    )
    length_m = float(cable.heated_length_m)
    how = draw(st.sampled_from(["nothing", "surveyed", "laid"]))
    if how == "surveyed":
        bend = draw(st.floats(0.1, 0.9)) * length_m
        off = draw(st.floats(0.9, 1.1))
        known["route_m"] = (
            (1.0, 0.1),
            (1.0 + bend, 0.1),
            (1.0 + bend, 0.1 + off * length_m - bend),
        )
    if how == "laid":
        side = 1.0 + 0.2 * length_m**0.5 + 0.1 * draw(st.floats(0, 1))
        spacing_m = side**2 / length_m / draw(st.floats(1.3, 2.5))
        known["room"] = Room(((0.0, 0.0), (side, 0.0), (side, side), (0.0, side)))
        known["rule"] = Rule(spacing_m, 0.0, (0.0, draw(st.floats(0.0, side))))
    if how == "laid":
        try:
            plan_of(Survey(**known), length_m)
        except InputError:  # too short a cable for its room
            del known["rule"]
    return Survey(**known)


@st.composite
def further_cables(draw, main):
    """Other cables of an installation, and joins that are stated or not; mostly none."""
    if draw(st.integers(0, 3)):
        return (), ()
    parts = []
    for name in draw(st.lists(st.sampled_from(["b", "pantry", "c-2"]), unique=True, min_size=1)):
        cable = draw(cables())
        parts.append(Part(name, cable, tuple(draw(st.lists(faults(cable), max_size=2)))))
    if draw(st.booleans()):
        return tuple(parts), ()
    return tuple(parts), (("core1@far", f"{parts[0].name}.core1"), ("braid", "braid@far"))


_MULTIPLES = {part.name: st.floats(0.1, 30.0) for part in fields(Deviation)}


def practices():
    """What makes a case to practise on, with and without its key."""
    keys = st.builds(
        PracticeKey,
        level=st.sampled_from(LEVELS),
        seed=st.integers(0, MOST_SEED),
        trainee_sha256=st.text("0123456789abcdef", min_size=64, max_size=64),
        locatable=st.booleans(),
        half_width_m=st.none() | st.floats(1e-3, 1e3),
        readings_needed=st.none() | st.integers(1, 20),
        plausible=st.integers(1, 20),
        true=st.builds(Deviation) | st.builds(Deviation, **_MULTIPLES),
    )
    stories = st.just("") | st.text(st.characters(codec="utf-8"), max_size=30)
    return st.builds(Practice, stories, st.booleans(), st.none() | keys)


@st.composite
def scenarios(draw, max_faults=3, max_readings=5):
    """A whole scenario."""
    cable = draw(cables())
    broken = draw(st.lists(faults(cable), max_size=max_faults))
    others, joins = draw(further_cables(cable))
    usual = [Ohmmeter, InsulationTester, CapacitanceMeter, LoopBridge, WithstandTester]
    names = draw(st.lists(st.sampled_from([*METER_NAMES, "ohmmeter"]), unique=True, max_size=3))
    bag = [draw(meters(name)) for name in names]
    own = {meter.name for meter in bag}
    bag_and_usual = [*bag, *(kind(name=kind.kind) for kind in usual if kind.kind not in own)]
    entries = []
    # Places that a join ties together make hook-ups that one cable has impossible.
    for _ in range(draw(st.integers(0, 0 if others else max_readings))):
        probe = draw(probes(cable, draw(st.sampled_from(bag_and_usual))))
        what = draw(readings(probe)) if draw(st.booleans()) else probe
        seconds = None
        if isinstance(probe.meter, InsulationTester):
            seconds = draw(st.none() | st.floats(1.0, 600.0))
        note = draw(st.just("") | st.text(st.characters(codec="utf-8"), max_size=20))
        entries.append(Entry.of(what, seconds, note))
    taken = [entry.reading for entry in entries if entry.reading is not None]
    drifts = any(getattr(fault, "drift_percent", 0.0) for fault in broken)
    assume(drifts or not any(a.contradicts(b) for a, b in combinations(taken, 2)))
    return Scenario(
        cable=cable,
        faults=tuple(broken),
        entries=tuple(entries),
        meters={meter.name: meter for meter in bag},
        supply_volt=draw(st.none() | st.floats(12.0, 400.0)),
        title=draw(st.just("") | st.text(st.characters(codec="utf-8"), max_size=30)),
        others=others,
        joins=joins,
        established=draw(st.just(()) | st.lists(st.sampled_from(KINDS), max_size=6).map(tuple)),
        floor=draw(st.none() | floors(cable)),
        practice=draw(st.none() | practices()),
    )
