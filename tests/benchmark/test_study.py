"""Maps of reach: zero error without errors, errors as theory says, refusals never as zero."""

from dataclasses import replace

import numpy as np
import pytest

from cablesim.benchmark.grades import GRADES
from cablesim.benchmark.study.csv_file import from_csv, to_csv
from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.first import first_chart
from cablesim.benchmark.study.methods import METHODS
from cablesim.benchmark.study.reach_map import MEASURES, Axes, reach_map, usual_axes
from cablesim.benchmark.study.reached import reached
from cablesim.benchmark.study.sensitivity import FACTORS, sensitivity
from cablesim.benchmark.study.simulated import Conditions, displays, true_cable
from cablesim.cable.cable import Cable
from cablesim.errors import InputError
from cablesim.instruments.meters import CapacitanceMeter, LoopBridge, Ohmmeter
from cablesim.instruments.readings import Reading
from cablesim.locate.classical import Worked, worked

# Without a cold lead: what a formula takes of it then has no tolerance.
CABLE = Cable.rated("twin", 30.0, 88.2, cold_lead_m=0.0)
SINGLE = Cable.rated("single", 40.0, 60.0, cold_lead_m=0.0)
OHM = Ohmmeter(
    name="ohmmeter", accuracy_percent=0.0, accuracy_counts=0.0, counts=1e9, resolution=1e-6,
    top_range=1e9, lead_ohm=0.0, lead_ohm_tolerance=0.0,
)  # fmt: skip
FINE = {
    "ohmmeter": OHM,
    "capacitance_meter": CapacitanceMeter(
        name="c", accuracy_percent=0.0, accuracy_counts=0.0, counts=1e9, resolution=1e-7,
        top_range=1e6,
    ),
    "loop_bridge": LoopBridge(
        name="b", accuracy_percent=0.0, accuracy_counts=0.0, divisions=1e9,
        galvanometer_microamp=1e-12,
    ),
}  # fmt: skip


def mapped(cable, method, axes, bag, **others):
    return reach_map(cable, method, axes, seed=3, bags={"own": bag}, **others)


@pytest.mark.parametrize(
    ("cable", "method", "ohm", "within_m"),
    [
        # Exact but for the healthy insulation, 1/30 of 1000 Gohm m at worst: 33 Gohm/m beside the
        # fault pull the place by at most L times the ratio of the conductances.
        (CABLE, "three_readings", 100.0, 1e-4),
        (CABLE, "murray", 100.0, 1e-4),
        (SINGLE, "two_ends", 100.0, 1e-4),
        # And but for the cores' resistance beside the capacitances at 1 kHz, 1e-6 of them.
        (CABLE, "three_capacitances", 1e12, 1e-3),
        (SINGLE, "both_ends", 1e12, 1e-3),
    ],
)
def test_meters_without_errors_leave_an_unbiased_formula_none(cable, method, ohm, within_m):
    axes = Axes(np.array([2.0, 11.0, 28.0]), np.array([ohm]), ("own",), draws=20)
    found = mapped(cable, method, axes, FINE)
    assert np.max(found.p95_error_m) < within_m
    assert np.max(np.abs(found.bias_m)) < within_m
    assert np.max(found.declined) == 0.0


@pytest.mark.parametrize("counts", [0.0, 5.0])
def test_spread_of_three_readings_is_that_of_counts_and_rounding_alone(counts):
    # x = L (1 + (R1 - R2) / R12): one gain cancels, so only the counts part and the rounding are
    # left. With W = R12 the variance is (L / W)^2 (2 + ((R1 - R2) / W)^2) (a^2 / 3 + q^2 / 12).
    step, ohm, draws = 0.01, 20.0, 4000
    meter = replace(OHM, resolution=step, counts=1e5, accuracy_percent=2.0, accuracy_counts=counts)
    places = np.array([4.0, 15.0, 27.0])
    axes = Axes(places, np.array([ohm]), ("own",), draws)
    sure = replace(CABLE, tolerance_percent=(0.0, 0.0))
    found = mapped(sure, "three_readings", axes, {"ohmmeter": meter})
    loop, length = 88.2, 30.0
    shares = (places - length) / length
    variance = (length / loop) ** 2 * (2 + shares**2) * ((counts * step) ** 2 / 3 + step**2 / 12)
    # The spread of a spread, for errors no more peaked than normal ones: 1 / sqrt(2 n); 5 sigma.
    # The gain moves values over the display's steps, so that rounding is even.
    assert found.spread_m[:, 0, 0] == pytest.approx(np.sqrt(variance), rel=5 / np.sqrt(2 * draws))
    sigma = found.spread_m[:, 0, 0] / np.sqrt(draws)
    assert np.all(np.abs(found.bias_m[:, 0, 0]) < 5 * sigma + 1e-4)


def test_a_gain_that_does_not_cancel_scales_the_error_in_proportion():
    # Murray with the loop as read and the ohm per metre as rated: x = share * loop / r.
    axes = Axes(np.array([5.0, 25.0]), np.array([50.0]), ("own",), draws=200)
    sure = replace(CABLE, tolerance_percent=(0.0, 0.0))
    errors = []
    for percent in (0.5, 1.0, 2.0):
        bag = {**FINE, "ohmmeter": replace(OHM, accuracy_percent=percent)}
        errors.append(mapped(sure, "murray_unequal", axes, bag).p95_error_m)
    assert errors[1] == pytest.approx(2 * errors[0], rel=1e-2)
    assert errors[2] == pytest.approx(4 * errors[0], rel=1e-2)
    # 95 % of an even error of 2 % at 25 m.
    assert errors[2][1, 0, 0] == pytest.approx(0.95 * 0.02 * 25.0, rel=0.1)


def test_map_equals_a_loop_over_single_answers():
    axes = Axes(np.array([3.0, 22.0]), np.array([30.0, 3e5, 9e7]), ("cheap",), draws=6)
    how, damage = METHODS["three_readings"], DAMAGES["short"]
    found = reach_map(CABLE, how, axes, seed=5)
    probes = how.probes(CABLE, damage, GRADES["cheap"])
    shown = displays(CABLE, damage, axes.place_m, axes.resistance_ohm, probes, draws=6, seed=(5, 0))
    for j, i in np.ndindex(3, 2):
        errors, held = [], 0
        for row in shown[j, i]:
            readings = [Reading(p, float(v)) for p, v in zip(probes, row, strict=True)]
            one = worked("three_readings", CABLE, readings)
            if isinstance(one, Worked) and "off the cable" not in one.estimate.reason:
                low, high = one.estimate.faults[0].interval_m
                errors.append(one.estimate.faults[0].position_m - axes.place_m[i])
                held += low <= axes.place_m[i] <= high
        cell = {name: getattr(found, name)[i, j, 0] for name in MEASURES}
        assert cell["declined"] == pytest.approx(1 - len(errors) / 6)
        if errors:
            assert cell["median_error_m"] == pytest.approx(np.median(np.abs(errors)), rel=1e-6)
            assert cell["p95_error_m"] == pytest.approx(np.quantile(np.abs(errors), 0.95), rel=1e-6)
            assert cell["bias_m"] == pytest.approx(np.mean(errors), rel=1e-6)
            assert cell["coverage"] == held / len(errors)


def test_what_is_always_declined_is_no_number_and_never_zero():
    axes = Axes(np.array([3.0, 15.0]), np.array([1.0, 9e8]), ("cheap", "bench"), draws=5)
    found = reach_map(CABLE, "three_readings", axes, seed=1)
    assert np.all(found.declined[:, 1] == 1.0)
    assert np.all(found.n[:, 1] == 0)
    for name in set(MEASURES) - {"declined"}:
        assert np.all(np.isnan(getattr(found, name)[:, 1]))
        assert np.all(np.isfinite(getattr(found, name)[:, 0]))
    assert found.to_dict()["p95_error_m"][0][1] == [None, None]
    assert reached(found, 0.5, 0).range_ohm == (1.0, 1.0)


def test_same_seed_same_bytes_and_a_table_reads_back():
    axes = usual_axes(CABLE, DAMAGES["short"], places=3, resistances=5, draws=7)
    one, again, other = (reach_map(CABLE, "murray", axes, seed=k) for k in (1, 1, 2))
    text = to_csv([one, reach_map(CABLE, "echo_time", axes, seed=1)])
    assert text == to_csv([again, reach_map(CABLE, "echo_time", axes, seed=1)])
    assert to_csv([one]) != to_csv([other])
    back = from_csv(text)
    assert [m.method for m in back] == ["murray", "echo_time"]
    for name in MEASURES:
        assert np.array_equal(getattr(back[0], name), getattr(one, name), equal_nan=True)
    assert to_csv(back) == text
    # A class does not depend on which others are mapped with it.
    alone = reach_map(CABLE, "murray", replace(axes, grades=("good",)), seed=1)
    assert np.array_equal(alone.p95_error_m[..., 0], one.p95_error_m[..., 1], equal_nan=True)
    with pytest.raises(InputError, match="first line"):
        from_csv("a,b\n1,2\n")


def test_true_cables_stay_within_what_is_stated():
    rng = np.random.default_rng(0)
    real = true_cable(CABLE, (2000,), rng=rng)
    factor = np.asarray(real.loop_resistance_ohm) / 88.2
    assert 0.95 <= factor.min() < 0.96
    assert 1.09 < factor.max() <= 1.10
    rated = true_cable(CABLE, (9,), rng=rng, conditions=Conditions(tolerance_share=0.0))
    assert np.all(np.asarray(rated.loop_resistance_ohm) == CABLE.loop_resistance_ohm)


def test_sensitivity_grows_as_theory_says():
    # Echo: half the speed times the time; an error of the speed is a share of the way.
    found = sensitivity(CABLE, "echo_time", seed=1, places=3, grades=("bench",), draws=400)
    names = [factor.name for factor in found.factors]
    assert names == [factor.name for factor in FACTORS]
    error = found.error_m(names.index("tolerance_share"))[:, 0, 0]
    # 95 % of an even error of 5 % at 15 m; two limits of accuracy beside it, some millimetres.
    assert error[2] == pytest.approx(0.95 * 0.05 * 15.0, rel=0.1)
    assert error[4] == pytest.approx(2 * error[2], rel=0.1)
    assert error[0] < 0.1
    assert found.coverage(names.index("tolerance_share"))[4, 0, 0] < 0.7
    # Three readings: an unsteady fault of R ohm drifts by R ln(1 + d) u, u even from -1 to 1. The
    # difference of two drifts is triangular: 95 % of it are below 2 (1 - sqrt(0.05)) = 1.553.
    found = sensitivity(CABLE, "three_readings", seed=1, places=3, grades=("bench",), draws=400)
    drift = found.error_m(2)[found.factors[2].levels.index(10.0), 0, 0]
    assert drift == pytest.approx(30 / 88.2 * 10.0 * np.log(1.1) * 1.553, rel=0.12)
    warm = found.error_m(1)[:, 0, 0]
    assert warm == pytest.approx(warm[0], rel=0.05)


def test_first_is_the_safe_one_where_gains_are_alike():
    chart = first_chart(
        CABLE, seed=1, places=3, resistances=7, draws=20, damages={"short": DAMAGES["short"]}
    )
    first = [one.found.method if one else None for one in chart.first("short")]
    # 0.1, 3.2, 100, 3.2 k, 100 k, 3.2 M, 100 M ohm.
    assert first[:3] == ["three_readings"] * 3
    assert first[4:] == ["murray", "murray", None]
    # 7.1 halvings in 9 minutes against 7.2 in 10: alike, so danger decides.
    for risk, name in (("none", "three_readings"), ("high-voltage", "murray")):
        ohms, bridge, *_ = chart.candidates["short"]
        slow = replace(ohms, minutes=9.0, risk=risk)
        changed = replace(chart, candidates={"short": (slow, bridge)})
        assert [one.found.method for one in changed.first("short")[:2]] == [name] * 2


@pytest.mark.parametrize(
    ("method", "others", "words"),
    [
        ("blavier", {}, "needs a far end that is open"),
        ("two_ends", {}, "leads that a twin cable lacks"),
        ("both_ends", {}, "needs a single-conductor cable"),
        ("murray", {"damage": "cut"}, "not meant for"),
        ("murry", {}, "did you mean murray"),
        ("murray", {"damage": "short", "formulation": "exakt"}, "did you mean exact"),
        ("murray", {"level": 1.5}, "level"),
        ("ceiling", {}, "told the true cable"),
    ],
)
def test_what_does_not_fit_is_refused(method, others, words):
    axes = Axes(np.array([3.0]), np.array([1.0]), draws=2)
    with pytest.raises(InputError, match=words):
        reach_map(CABLE, method, axes, seed=1, **others)


def test_two_ends_place_what_their_hookup_sees():
    opened = Cable.rated("twin", 30.0, 88.2, far_end="open")
    two_ends = METHODS["two_ends"]
    assert two_ends.unfit(opened, DAMAGES["cores"]) == ""
    assert "another damage" in two_ends.unfit(opened, DAMAGES["short"])
    assert two_ends.unfit(SINGLE, DAMAGES["short"]) == ""


@pytest.mark.parametrize(
    "changes",
    [
        {"place_m": [3.0, 2.0]},
        {"place_m": []},
        {"resistance_ohm": [0.0, 1.0]},
        {"draws": 1},
        {"grades": ()},
        {"grades": ("good", "good")},
        {"draws": 10**9},
    ],
)
def test_impossible_axes_are_refused(changes):
    axes = {"place_m": [3.0], "resistance_ohm": [1.0], "grades": ("good",), "draws": 10}
    with pytest.raises(InputError):
        Axes(**{**axes, **changes})
    with pytest.raises(InputError, match="place_m"):
        reach_map(CABLE, "murray", Axes(**{**axes, "place_m": [31.0]}), seed=1)
