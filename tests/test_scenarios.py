"""The shipped scenarios load, their readings belong to their faults, the published ones hold."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Degraded, Flashover, Joint, Short
from cablesim.instruments.meters import CapacitanceMeter, PulseEcho
from cablesim.instruments.readings import predict
from cablesim.locate.closed_forms import (
    break_from_both_ends,
    break_from_three_capacitances,
    three_readings,
    two_ends,
)
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.scenario import AFTER
from cablesim.scenario.shipped import shipped_directory

FOLDER = shipped_directory()
OWN = {path.stem: path for path in sorted(FOLDER.glob("*.toml"))}
SEVERAL = {path.stem: path for path in sorted((FOLDER / "several").glob("*.toml"))}
PUBLISHED = {path.stem: path for path in sorted((FOLDER / "published").glob("*.toml"))}
# Of the first steps, filled in as by a person at the floor: what is broken is not stated.
START = {path.stem: path for path in sorted((FOLDER / "start").glob("*.toml"))}

own = pytest.mark.parametrize("path", [pytest.param(path, id=name) for name, path in OWN.items()])
every = pytest.mark.parametrize(
    "path",
    [pytest.param(path, id=name) for name, path in (OWN | SEVERAL | PUBLISHED | START).items()],
)


@every
def test_every_file_loads_and_has_a_title_and_readings(path):
    scenario = load_scenario(path)
    assert scenario.title
    assert scenario.entries
    assert len(scenario.readings) == len(scenario.entries), "a reading has no value"


def test_no_scenario_lies_anywhere_else():
    known = {*OWN.values(), *SEVERAL.values(), *PUBLISHED.values(), *START.values()}
    assert known == set(Path(FOLDER).rglob("*.toml"))


def test_those_of_several_cables_have_a_folder_of_their_own():
    for path in (OWN | SEVERAL | PUBLISHED).values():
        assert (path.parent.name == "several") == bool(load_scenario(path).others)


def test_own_scenarios_cover_the_ways_to_damage_a_cable():
    scenarios = [load_scenario(path) for path in OWN.values()]
    assert "demo" in OWN
    assert len({scenario.title for scenario in scenarios}) == len(scenarios) >= 10
    assert {scenario.cable.construction.name for scenario in scenarios} == {"twin", "single"}
    kinds = {type(fault) for scenario in scenarios for fault in scenario.faults}
    assert kinds == {Short, Break, Joint, Degraded, Flashover}
    assert sorted({len(scenario.faults) for scenario in scenarios}) == [0, 1, 2]


# --- own scenarios: each reading is one that its fault can give -----------------------------------

CORE_STEPS, CAPACITANCE_STEPS, SPEED_STEPS, LEAD_STEPS = 301, 201, 301, 11


def fits(scenario):
    """Whether some true cable and some true meters within their limits show all the readings.

    All readings share one cable: one factor on the cores, one on the capacitances, one on the speed
    of pulses. Readings of one
    meter share its leads, those on one range its gain; counts and rounding are each reading's own.
    """
    under, over = scenario.cable.tolerance_percent
    core = np.linspace(1 + under / 100, 1 + over / 100, CORE_STEPS)
    under, over = scenario.cable.capacitance_tolerance_percent
    charge = np.linspace(1 + under / 100, 1 + over / 100, CAPACITANCE_STEPS)
    cable = scenario.cable
    charged = replace(
        cable,
        capacitance_core_braid_pf_per_m=cable.capacitance_core_braid_pf_per_m * charge,
        capacitance_core_core_pf_per_m=cable.capacitance_core_core_pf_per_m * charge,
    )
    under, over = scenario.cable.velocity_tolerance_percent
    speed = np.linspace(1 + under / 100, 1 + over / 100, SPEED_STEPS)
    # At a meter's frequency the cores' resistance hardly counts, at direct current the capacitances
    # not at all, and only echoes know the speed: the factors can be tried one after the other.
    by = {"charge": [], "echo": [], "direct": []}
    for reading in scenario.readings:
        meter = reading.probe.meter
        kind = "charge" if isinstance(meter, CapacitanceMeter) else "direct"
        by["echo" if isinstance(meter, PulseEcho) else kind].append(reading)
    return all(
        possible(true_cable, scenario.faults, chosen)
        for true_cable, chosen in (
            (cable.with_core_factor(core), by["direct"]),
            (charged, by["charge"]),
            (replace(cable, velocity_factor=cable.velocity_factor * speed), by["echo"]),
        )
        if chosen
    )


def possible(cables, faults, readings):
    """Whether any of a batch of cables can show these readings with errors inside their limits."""
    return shows(predict(cables, faults, [reading.probe for reading in readings]), readings)


def shows(exact, readings):
    """Whether any row of exact values can become these displays."""
    ok = np.ones(len(exact), bool)
    for name in {reading.probe.meter.name for reading in readings}:
        ours = [k for k, reading in enumerate(readings) if reading.probe.meter.name == name]
        meter = readings[ours[0]].probe.meter
        leads = meter.lead_ohm + meter.lead_ohm_tolerance * np.linspace(-1, 1, LEAD_STEPS)
        least: dict = {}
        most: dict = {}
        for k in ours:
            span, group = readings[k].span, readings[k].gain_group
            indicated = exact[:, k, None] + leads / meter.unit_size
            low, high = (span.low - span.noise) / indicated, (span.high + span.noise) / indicated
            least[group] = np.maximum(least.get(group, 1 - meter.accuracy_percent / 100), low)
            most[group] = np.minimum(most.get(group, 1 + meter.accuracy_percent / 100), high)
        with_leads = [least[group] <= most[group] for group in least]
        ok &= np.any(np.all(with_leads, axis=0), axis=-1)
    return bool(np.any(ok))


@own
def test_readings_are_what_measure_can_show_for_the_fault(path):
    assert fits(load_scenario(path))


# The nail in the cold lead can only be moved inwards.
ELSEWHERE = [("wardrobe-nail-in-cold-lead", 0.1)] + [
    (name, share)
    for name in (
        "bathroom-drilled-core",
        "cellar-single-broken",
        "conservatory-cut-through",
        "demo",
        "kitchen-chiselled-break",
        "landing-echo-of-a-joint",
        "laundry-splice-taken-damp",
        "loft-single-conductor",
        "studio-warm-floor",
        "utility-room-damp-insulation",
    )
    for share in (-0.1, 0.1)
]


@pytest.mark.parametrize("path", SEVERAL.values(), ids=SEVERAL)
def test_readings_of_several_cables_are_those_of_one_share_of_their_ratings(path):
    """One factor on all cores, and each meter's gain, leads and counts within their limits."""
    scenario = load_scenario(path)
    share = np.linspace(0.95, 1.10, CORE_STEPS)
    laid = replace(
        scenario.laid,
        main=scenario.cable.with_core_factor(share),
        others=tuple(replace(p, cable=p.cable.with_core_factor(share)) for p in scenario.others),
    )
    exact = predict(laid, scenario.faults, scenario.probes)
    possible = np.ones(CORE_STEPS, bool)
    for k, reading in enumerate(scenario.readings):
        meter, span = reading.probe.meter, reading.span
        gain, lead = meter.accuracy_percent / 100, meter.lead_ohm_tolerance
        low = (exact[:, k] + meter.lead_ohm - lead) * (1 - gain) - span.noise
        high = (exact[:, k] + meter.lead_ohm + lead) * (1 + gain) + span.noise
        possible &= (low <= span.high) & (high >= span.low)
    assert possible.any()
    assert not possible.all()


@pytest.mark.parametrize(("name", "share"), ELSEWHERE)
def test_readings_do_not_fit_a_fault_elsewhere(name, share):
    scenario = load_scenario(OWN[name])
    (fault,) = scenario.faults
    shift_m = share * scenario.cable.heated_length_m
    keys = ("from_m", "to_m") if isinstance(fault, Degraded) else ("at_m",)
    moved = replace(fault, **{key: getattr(fault, key) + shift_m for key in keys})
    assert not fits(replace(scenario, faults=(moved,)))


def test_readings_of_the_first_steps_are_those_of_the_short_that_the_pages_tell():
    """docs/start/engineer.md predicts the same readings from it."""
    scenario = load_scenario(START["kitchen"])
    assert not scenario.faults
    short = Short(("core2", "braid"), at_m=7.8, resistance_ohm=240.0)
    assert fits(replace(scenario, faults=(short,)))
    assert not fits(scenario)
    assert not fits(replace(scenario, faults=(replace(short, at_m=10.2),)))


def test_readings_of_two_faults_do_not_fit_one():
    scenario = load_scenario(OWN["office-two-faults"])
    for fault in scenario.faults:
        assert not fits(replace(scenario, faults=(fault,)))


def test_readings_of_a_damaged_cable_do_not_fit_a_healthy_one():
    for path in OWN.values():
        scenario = load_scenario(path)
        assert fits(replace(scenario, faults=())) == (not scenario.faults)


@pytest.mark.parametrize("leak_ohm", [None, 0.74e6])
def test_readings_after_a_repair_are_those_of_a_mended_cable(leak_ohm):
    """Before covering of a sound splice, after it of one that leaks, and neither of the other."""
    scenario = load_scenario(OWN["laundry-splice-taken-damp"])
    cable, (fault,), removed_m = scenario.cable, scenario.faults, 0.4
    left_m = cable.heated_length_m - removed_m
    rated = Cable.rated(
        "twin",
        left_m,
        cable.loop_resistance_ohm * left_m / cable.heated_length_m,
        cold_lead_m=cable.cold_lead_m,
    )
    at_m = fault.at_m - removed_m / 2
    splice = [Joint(name, at_m, 0.012) for name in ("core1", "core2", "braid")]
    if leak_ohm is not None:
        splice.append(Degraded(("core2", "braid"), at_m, at_m, leak_ohm))
    cables = rated.with_core_factor(np.linspace(0.95, 1.10, CORE_STEPS))
    for when in AFTER:
        readings = [entry.reading for entry in scenario.after_repair if entry.when == when]
        assert len(readings) == 4
        wanted = (leak_ohm is None) == (when == "after repair")
        assert possible(cables, tuple(splice), readings) == wanted


def test_closed_forms_come_near_the_truth():
    # The tolerances are what the meters' counts and gains can do to each formula, rounded up.
    demo = load_scenario(OWN["demo"])
    readings, cable = [reading.shown for reading in demo.readings], demo.cable
    found = three_readings(
        *(shown - 0.2 for shown in readings[:3]),
        cable.heated_length_m,
        cold_lead_ohm=cable.cold_lead_m * cable.cold_lead_ohm_per_m,
    )
    assert found.position_m == pytest.approx(demo.faults[0].at_m, abs=0.4)

    loft = load_scenario(OWN["loft-single-conductor"])
    readings, cable = [reading.shown - 0.2 for reading in loft.readings], loft.cable
    found = two_ends(
        readings[1],
        readings[2],
        path_ohm=readings[0] + cable.braid_ohm_per_m * cable.heated_length_m,
        length_m=cable.heated_length_m,
    )
    assert found.position_m == pytest.approx(loft.faults[0].at_m, abs=0.8)

    kitchen = load_scenario(OWN["kitchen-chiselled-break"])
    at_m = break_from_three_capacitances(
        *(reading.shown for reading in kitchen.readings[-3:]),
        kitchen.cable.heated_length_m,
        cold_lead_m=kitchen.cable.cold_lead_m,
    )
    assert at_m == pytest.approx(kitchen.faults[0].at_m, abs=0.8)

    cellar = load_scenario(OWN["cellar-single-broken"])
    at_m = break_from_both_ends(
        *(reading.shown for reading in cellar.readings[-2:]),
        cellar.cable.heated_length_m,
        cold_lead_m=cellar.cable.cold_lead_m,
    )
    assert at_m == pytest.approx(cellar.faults[0].at_m, abs=0.8)


# --- published examples: the printed answer reproduces the printed reading ------------------------

MILE_M = 1609.344
# Where the printed answer may lie: it is exact, or rounded to its last digit, or (Hawkins writes
# "and a bit") cut off after it. The sources are named in the files.
PRINTED_M = {
    "break-good-pair-hawkins-607": (1.317 * MILE_M, 1.318 * MILE_M),
    "murray-anand-8-9": (500.0, 500.0),
    "murray-mehta-11-21": (150.0, 150.0),
    "murray-mehta-11-22": (250.0, 250.0),
    "murray-mgvcl-2021": (300.0, 300.0),
    "murray-slide-hawkins-596": (0.71915 * MILE_M, 0.71925 * MILE_M),
    "murray-slide-unequal-hawkins-597": (1.085 * MILE_M, 1.095 * MILE_M),
    "murray-unequal-mehta-11-23": (432.5, 433.5),
    "two-ends-wires": (3863.5, 3864.5),
    "varley-mehta-11-24": (15_000.0, 15_000.0),
    "varley-slide-hawkins-599": (1.094 * MILE_M, 1.095 * MILE_M),
}


def test_every_published_scenario_is_checked():
    assert set(PRINTED_M) == set(PUBLISHED)


@pytest.mark.parametrize("name", PUBLISHED)
def test_the_printed_answer_gives_the_printed_reading(name):
    scenario = load_scenario(PUBLISHED[name])
    (fault,) = scenario.faults
    low_m, high_m = PRINTED_M[name]
    assert low_m - 0.001 <= fault.at_m <= high_m  # positions in the files are to the millimetre
    ends = replace(fault, at_m=np.array([low_m, high_m]))
    exact = predict(scenario.cable, (ends,), scenario.probes)
    for k, reading in enumerate(scenario.readings):
        if low_m == high_m:
            assert exact[0, k] == pytest.approx(reading.shown, rel=1e-9)
        else:
            # The printed reading lies between those of the two ends of the printed interval.
            assert min(exact[:, k]) <= reading.shown <= max(exact[:, k])


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_readings_resolve_the_printed_digits(name):
    # The meters of these files are tight enough: nowhere off the printed interval fits.
    scenario = load_scenario(PUBLISHED[name])
    (fault,) = scenario.faults
    low_m, high_m = PRINTED_M[name]
    for outside_m in (low_m * 0.999, high_m * 1.001):
        moved = replace(fault, at_m=outside_m)
        exact = predict(scenario.cable, (moved,), scenario.probes)
        spans = [reading.span for reading in scenario.readings]
        shows = [s.low <= value <= s.high for s, value in zip(spans, exact, strict=True)]
        assert not all(shows)
