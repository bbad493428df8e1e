"""How far methods reach, and published ranges held against our own maps.

Run it from the top of the checkout, with the tests' folder on the path (some minutes):

    PYTHONPATH=tests python -m validation.study docs/validation/study.md docs/figures

It writes the page and the figures. A number of draws may follow; the page says it.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from time import process_time

import numpy as np
from validation.study_page import page

from cablesim.benchmark.grades import GRADES
from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.first import first_chart
from cablesim.benchmark.study.first_figure import first_figure
from cablesim.benchmark.study.map_figure import map_figure, overview_figure
from cablesim.benchmark.study.methods import METHODS
from cablesim.benchmark.study.reach_map import Axes, ReachMap, reach_map
from cablesim.benchmark.study.sensitivity import Sensitivity, sensitivity
from cablesim.benchmark.study.sensitivity_view import sensitivity_figure
from cablesim.benchmark.study.simulated import Conditions, displays, true_cable
from cablesim.benchmark.study.studies import Wanted, chosen, study_of_reach
from cablesim.cable.cable import Cable
from cablesim.instruments.echo_finding import SEEN_DEVIATIONS
from cablesim.instruments.readings import Reading, display, predict
from cablesim.line.reflection import wave_impedance_ohm
from cablesim.locate.classical import worked
from cablesim.locate.closed_forms import break_from_two_capacitances
from cablesim.locate.limits import bound
from cablesim.report.saving import png_of

SEED = 2026
TWIN = Cable.rated("twin", 30.0, 88.2)
SINGLE = Cable.rated("single", 40.0, 60.0)
AS_RATED = Conditions(tolerance_share=0.0)
CLASSES = tuple(GRADES)


@dataclass(frozen=True)
class EchoRow:
    """Up to which resistance an echo of a path to the braid is seen [ohm]."""

    grade: str
    place_m: float
    formula_ohm: float
    map_ohm: float


@dataclass(frozen=True)
class EdgeRow:
    """From which resistance three capacitances answer [ohm]."""

    place_m: float
    formula_ohm: float
    break_ohm: float
    wet_ohm: float


@dataclass(frozen=True)
class BiasRow:
    """Mean error of a formula, by the map and by theory [m]."""

    place_m: float
    theory_m: float
    map_m: float
    uncertainty_m: float


@dataclass(frozen=True)
class BoundRow:
    """Spread of a method's answers beside the least that any linear estimator can have [m]."""

    method: str
    grade: str
    place_m: float
    bound_m: float
    map_m: float


@dataclass(frozen=True)
class SpeedRow:
    """Measurements a second on one core, by the map and by a plain loop."""

    what: str
    batch: float
    loop: float


def maps_of(cable: Cable, draws: int) -> tuple[ReachMap, ...]:
    """Every classical method with what it is mainly for, and the echo with all damage."""
    wanted = Wanted(seed=SEED, places=15, resistances=37, draws=draws)
    return study_of_reach(cable, chosen(cable), wanted).maps


def echo_rows() -> list[EchoRow]:
    """The largest path that a map still answers, beside ``Z0 / (2 R + Z0)`` with the losses."""
    how, damage = METHODS["echo_time"], DAMAGES["short"]
    # The front alone: what a lossless line would send back, less what core and braid cost.
    rows = []
    ohm = np.geomspace(1.0, 1e5, 401)
    places = (1.0, 10.0, 20.0)
    for grade in CLASSES:
        (probe,) = how.probes(TWIN, damage, GRADES[grade])
        impedance = float(wave_impedance_ohm(TWIN, probe.hookup))
        axes = Axes(np.array(places), ohm, (grade,), draws=2)
        found = reach_map(TWIN, how, axes, seed=SEED, damage=damage, conditions=AS_RATED)
        seen = SEEN_DEVIATIONS * probe.meter.noise_percent / 100
        entering = 2 * probe.meter.source_ohm / (probe.meter.source_ohm + impedance)
        for k, place in enumerate(places):
            # Each way the front loses exp(-r x / (2 Z)); the cold lead is short and of copper.
            loss = float(np.exp(-TWIN.core_ohm_per_m[0] * place / impedance))
            least = seen / (entering * loss)
            formula = impedance / 2 * (1 / least - 1) if least < 1 else 0.0
            answered = ohm[found.declined[k, :, 0] == 0.0]
            rows.append(EchoRow(grade, place, formula, float(answered.max(initial=0.0))))
    return rows


def edge_rows() -> list[EdgeRow]:
    """From where three capacitances have a value, beside the loss factor of one."""
    how = METHODS["three_capacitances"]
    ohm = np.geomspace(1e3, 1e7, 801)
    places = np.array([1.0, 5.0, 10.0, 20.0, 29.0])
    least = []
    for damage in ("break", "wet-break"):
        axes = Axes(places, ohm, ("bench",), draws=2)
        found = reach_map(TWIN, how, axes, seed=SEED, damage=damage, conditions=AS_RATED)
        least.append([float(ohm[row[:, 0] == 0.0].min()) for row in found.declined])
    farad = (100e-12 + 40e-12) * (places + float(TWIN.cold_lead_m))
    formula = 1 / (2 * np.pi * 1e3 * farad)
    return [EdgeRow(*row) for row in zip(places, formula, *least, strict=True)]


def leak_bias_rows(draws: int) -> list[BiasRow]:
    """Murray at 10 megohm: the healthy leakage pulls the place towards the far end."""
    places = np.array([1.0, 10.0, 20.0, 29.0])
    axes = Axes(places, np.array([9e6]), ("bench",), draws)
    found = reach_map(TWIN, "murray", axes, seed=SEED)
    # Mean of the healthy conductance: of 30^-u, u even from -1 to 1, over the rated one.
    mean = (30 - 1 / 30) / (2 * np.log(30))
    whole_m = float(TWIN.last_m - TWIN.first_m)
    healthy = mean * 2 * whole_m / (float(TWIN.insulation_gigaohm_m) * 1e9)
    theory = (float(TWIN.heated_length_m) - places) * healthy * 9e6
    return _bias_rows(found, theory, draws)


def coupling_bias_rows() -> list[BiasRow]:
    """Two capacitances on a cable as rated: the coupling between the cores."""
    places = np.array([2.0, 10.0, 20.0, 29.0])
    axes = Axes(places, np.array([1e12]), ("bench",), draws=400)
    found = reach_map(TWIN, "two_capacitances", axes, seed=SEED, conditions=AS_RATED)
    lead, length = float(TWIN.cold_lead_m), float(TWIN.heated_length_m)
    near, far = (places + lead) * 100.0, (2 * length + lead - places) * 100.0
    z = (places + lead) * 40.0
    first, second = near + z * far / (z + far), far + z * near / (z + near)
    said = break_from_two_capacitances(first, second, length, cold_lead_m=lead)
    return _bias_rows(found, np.asarray(said) - places, 400)


def _bias_rows(found: ReachMap, theory: np.ndarray, draws: int) -> list[BiasRow]:
    spread = found.spread_m[:, 0, 0] / np.sqrt(draws)
    return [
        BiasRow(*map(float, row))
        for row in zip(found.axes.place_m, theory, found.bias_m[:, 0, 0], spread, strict=True)
    ]


def bound_rows(draws: int) -> list[BoundRow]:
    """Spread of the answers beside the bound of `cablesim limits`, which simulates nothing."""
    rows = []
    places = np.array([5.0, 15.0, 25.0])
    cases = (
        ("three_readings", "short", 10.0),
        ("murray", "short", 10.0),
        ("three_capacitances", "break", 1e9),
        ("echo_time", "short", 10.0),
    )
    for name, kind, ohm in cases:
        how, damage = METHODS[name], DAMAGES[kind]
        axes = Axes(places, np.array([ohm]), CLASSES, draws)
        found = reach_map(TWIN, how, axes, seed=SEED, damage=damage)
        for column, grade in enumerate(CLASSES):
            probes = how.probes(TWIN, damage, GRADES[grade])
            for row, place in enumerate(places.tolist()):
                least = bound(TWIN, damage.faults(TWIN, place, ohm, 0.0), probes)
                spread = float(found.spread_m[row, 0, column])
                rows.append(BoundRow(name, grade, place, float(least.place_m.max()), spread))
    return rows


def speed_rows(batch: int, loop: int) -> list[SpeedRow]:
    """Readings, and readings with answers: the batch of a map beside a plain loop."""
    how, damage = METHODS["three_readings"], DAMAGES["short"]
    probes = how.probes(TWIN, damage, GRADES["cheap"])
    rng = np.random.default_rng(SEED)
    places, ohm = np.linspace(1.0, 29.0, 15), np.array([30.0])

    def read_batch() -> None:
        displays(TWIN, damage, places, ohm, probes, draws=batch // 15, seed=(SEED,))

    def one() -> list[float]:
        real = true_cable(TWIN, (), rng=rng)
        place = float(rng.choice(places))
        exact = predict(real, damage.faults(real, place, 30.0, 0.0), probes)
        return display(exact, probes, rng=rng).tolist()

    def read_loop() -> None:
        for _ in range(loop):
            one()

    def answer_batch() -> None:
        axes = Axes(places, ohm, ("cheap",), batch // 15)
        reach_map(TWIN, how, axes, seed=SEED)

    def answer_loop() -> None:
        for _ in range(loop):
            worked(
                "three_readings", TWIN, [Reading(p, v) for p, v in zip(probes, one(), strict=True)]
            )

    return [
        SpeedRow("read only", batch / _seconds(read_batch), loop / _seconds(read_loop)),
        SpeedRow("read and answered", batch / _seconds(answer_batch), loop / _seconds(answer_loop)),
    ]


def _seconds(call: Callable[[], None]) -> float:
    """The best of three, on this process's own clock."""
    taken = []
    for _ in range(3):
        start = process_time()
        call()
        taken.append(process_time() - start)
    return min(taken)


def posterior_map(draws: int) -> ReachMap:
    """A small map of the posterior, its readings made by the ladder."""
    axes = Axes(
        np.array([5.0, 15.0, 25.0]), np.array([1.0, 100.0, 1e3, 1e4, 1e6]), ("good",), draws
    )
    return reach_map(TWIN, "posterior", axes, seed=SEED, damage="short")


def disturbed(draws: int) -> list[Sensitivity]:
    """The methods that a twin cable's sensitivity is told of."""
    names = ("three_readings", "murray", "murray_unequal", "three_capacitances", "echo_time")
    return [sensitivity(TWIN, name, seed=SEED, grades=("good",), draws=draws) for name in names]


def main(text: Path, figures: Path, draws: int = 400, batch: int = 150_000) -> None:
    """Write the page and its figures."""
    twin, single = maps_of(TWIN, draws), maps_of(SINGLE, draws)
    drawings = {
        "study-twin": lambda: overview_figure(twin, "Twin cable, 30 m, 88.2 ohm"),
        "study-single": lambda: overview_figure(single, "Single-conductor cable, 40 m, 60 ohm"),
        "study-three-readings": lambda: map_figure(twin[0], "Twin cable, 30 m, 88.2 ohm"),
        "study-first": lambda: first_figure(
            first_chart(TWIN, "good", seed=SEED, resistances=37, draws=draws),
            "Twin cable, 30 m, 88.2 ohm",
        ),
        "study-sensitivity": lambda: sensitivity_figure(
            sensitivity(TWIN, "three_readings", seed=SEED, draws=draws),
            "Twin cable, 30 m, 88.2 ohm",
        ),
    }
    for name, draw in drawings.items():
        (figures / f"{name}.png").write_bytes(png_of(draw))
    written = page(
        twin=twin,
        single=single,
        echo=echo_rows(),
        edge=edge_rows(),
        leak=leak_bias_rows(10 * draws),
        bounds=bound_rows(5 * draws),
        coupling=coupling_bias_rows(),
        disturbed=disturbed(draws),
        posterior=posterior_map(max(2, draws // 130)),
        speed=speed_rows(batch, max(20, batch // 300)),
        draws=draws,
        seed=SEED,
    )
    text.write_text(written, encoding="utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]), Path(sys.argv[2]), *map(int, sys.argv[3:4]))
