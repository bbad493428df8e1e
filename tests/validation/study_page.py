"""The page of `validation.study`: tables of what was mapped, and what to make of them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from cablesim import __version__
from cablesim.benchmark.study.damages import DAMAGES
from cablesim.benchmark.study.reach_map import ReachMap
from cablesim.benchmark.study.reach_view import ohm_words, plain_name, range_words
from cablesim.benchmark.study.reached import CLOSE_M, TENTH, reached
from cablesim.benchmark.study.sensitivity import Sensitivity
from cablesim.instruments.echo_finding import SEEN_DEVIATIONS

if TYPE_CHECKING:
    from validation.study import BiasRow, BoundRow, EchoRow, EdgeRow, SpeedRow


def _table(head: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    lines = ["| " + " | ".join(head) + " |", "|" + " --- |" * len(head)]
    return "\n".join([*lines, *("| " + " | ".join(row) + " |" for row in rows)])


def reach_table(maps: Sequence[ReachMap]) -> str:
    rows = []
    for found in maps:
        for column, grade in enumerate(found.axes.grades):
            limits = (CLOSE_M, TENTH * found.heated_length_m)
            close, far = (reached(found, limit, column) for limit in limits)
            held = "-" if far.range_ohm is None else f"{100 * far.coverage:.0f} %"
            bias = "-" if far.range_ohm is None else f"{far.bias_m:+.2f} m"
            rows.append(
                [
                    plain_name(found.method) if not column else "",
                    found.damage if not column else "",
                    grade,
                    range_words(found, close),
                    range_words(found, far),
                    held,
                    bias,
                ]
            )
    tenth = f"within {TENTH * maps[0].heated_length_m:g} m"
    head = ["method", "damage", "meters", f"within {CLOSE_M:g} m", tenth, "held", "bias"]
    return _table(head, rows)


def disturbed_table(found: Sequence[Sensitivity]) -> str:
    head, rows = ["method", "resistance", "as stated", "twice the tolerance", "20 K warmer",
                  "fault unsteady by 10 %"], []  # fmt: skip
    for one in found:
        for row, ohm in enumerate(one.axes.resistance_ohm):
            cells = []
            for number, level in ((0, 1.0), (0, 2.0), (1, 20.0), (2, 10.0)):
                if number >= len(one.factors):
                    cells.append("does not apply")
                    continue
                k = one.factors[number].levels.index(level)
                error = one.error_m(number)[k, row, 0]
                held = one.coverage(number)[k, row, 0]
                told = f"{float(f'{error:.2g}'):g} m, {100 * held:.0f} %"
                cells.append("declined" if np.isnan(error) else told)
            rows.append([plain_name(one.method) if not row else "", ohm_words(ohm), *cells])
    return _table(head, rows)


def _bias_table(rows: Sequence[BiasRow]) -> str:
    return _table(
        ["place", "theory", "map"],
        [
            [f"{r.place_m:g} m", f"{r.theory_m:.4f} m", f"{r.map_m:.4f} +- {r.uncertainty_m:.4f} m"]
            for r in rows
        ],
    )


def _bound_table(rows: Sequence[BoundRow]) -> str:
    """Ratios of spread to bound, a row for each method and place, a column for each class."""
    grades = list(dict.fromkeys(row.grade for row in rows))
    told = []
    for method, place in dict.fromkeys((row.method, row.place_m) for row in rows):
        cells = [
            f"{1e3 * row.map_m:.1f} / {1e3 * row.bound_m:.1f} mm = {row.map_m / row.bound_m:.2f}"
            for row in rows
            if (row.method, row.place_m) == (method, place)
        ]
        told.append([plain_name(method), f"{place:g} m", *cells])
    return _table(["method", "place", *grades], told)


def _posterior_table(found: ReachMap) -> str:
    rows = []
    for j, ohm in enumerate(found.axes.resistance_ohm):
        cells = []
        for i in range(len(found.axes.place_m)):
            if found.declined[i, j, 0] == 1:
                cells.append("not locatable")
            else:
                cells.append(
                    f"{found.median_error_m[i, j, 0]:.2f} m, {found.n[i, j, 0]:.0f} of "
                    f"{found.axes.draws} answered"
                )
        rows.append([ohm_words(ohm), *cells])
    return _table(["path", *(f"at {place:g} m" for place in found.axes.place_m)], rows)


def published_table(
    echo: Sequence[EchoRow], edge: Sequence[EdgeRow], bridge: dict[str, str]
) -> str:
    """What is published, what our maps say, and whether they agree."""
    ieee = "IEEE 1234 family, from memory"
    hawkins = "*Hawkins Electrical Guide No. 3* (1914), p. 523-524, seen"
    seen = {grade: [ohm_words(r.map_ohm) for r in echo if r.grade == grade] for grade in bridge}
    far, near = (f"{row.wet_ohm / 1e3:.0f} kohm" for row in (edge[-1], edge[0]))
    near_end, far_end = echo[0].place_m, echo[-1].place_m
    rows = [
        [
            "pulse echo: paths up to a few hundred ohm",
            ieee,
            f"at {near_end:g} m and at {far_end:g} m: "
            + "; ".join(f"{grade} {ohms[0]}, {ohms[-1]}" for grade, ohms in seen.items()),
            "agrees for portable meters; a bench reaches kilohms",
        ],
        [
            "pulse echo: breaks of any kind",
            ieee,
            "answered at every resistance mapped, 100 ohm to 1 Gohm",
            "agrees, but not in the last 5 % of the cable",
        ],
        [
            "bridges: kilohm to megohm, more with a high voltage",
            ieee,
            f"Murray within {CLOSE_M:g} m: "
            + "; ".join(f"{grade} {ohms}" for grade, ohms in bridge.items()),
            "lower end does not; upper end agrees for 9 V, and is no check for the others",
        ],
        [
            "capacitance: insulation above 100 kohm good, 50 to 100 kohm fair",
            hawkins,
            f"answered from {far} on (break at {edge[-1].place_m:g} m), from {near} on "
            f"(at {edge[0].place_m:g} m)",
            "same order; the limit depends on the place",
        ],
        [
            "capacitance: broken ends parted by more than 100 kohm, worth a try from 10 kohm",
            hawkins,
            "the same limits as for the insulation",
            "same order; nothing at 10 kohm",
        ],
        ["all else: burning, heat or spark", ieee, "not mapped", "-"],
    ]
    return _table(["published", "source", "our maps", "verdict"], rows)


def page(
    *,
    twin: Sequence[ReachMap],
    single: Sequence[ReachMap],
    echo: Sequence[EchoRow],
    edge: Sequence[EdgeRow],
    leak: Sequence[BiasRow],
    bounds: Sequence[BoundRow],
    coupling: Sequence[BiasRow],
    disturbed: Sequence[Sensitivity],
    posterior: ReachMap,
    speed: Sequence[SpeedRow],
    draws: int,
    seed: int,
) -> str:
    """The whole page as Markdown."""
    by_name = {found.method: found for found in twin}
    bridge = {
        grade: range_words(by_name["murray"], reached(by_name["murray"], CLOSE_M, k))
        for k, grade in enumerate(by_name["murray"].axes.grades)
    }
    echo_table = _table(
        ["meters", "place", "by the formula", "by the map", "ratio"],
        [
            [r.grade, f"{r.place_m:g} m", ohm_words(r.formula_ohm), ohm_words(r.map_ohm),
             f"{r.map_ohm / r.formula_ohm:.2f}"]
            for r in echo
        ],
    )  # fmt: skip
    edge_table = _table(
        ["place", "1 / (omega C)", "rest across the break, by the map", "leak, by the map"],
        [
            [f"{r.place_m:g} m", *(f"{ohm / 1e3:.0f} kohm"
             for ohm in (r.formula_ohm, r.break_ohm, r.wet_ohm))]
            for r in edge
        ],
    )  # fmt: skip
    speed_table = _table(
        ["three readings", "map, a second", "plain loop, a second", "ratio"],
        [[r.what, f"{r.batch:,.0f}", f"{r.loop:,.0f}", f"{r.batch / r.loop:,.0f}"] for r in speed],
    )
    kinds = "\n".join(f"- `{d.name}`: {d.words}; the resistance: {d.resistance_is}"
                      for d in DAMAGES.values())  # fmt: skip
    published = published_table(echo, edge, bridge)
    return f"""# How far methods reach, and published ranges held against it

Written by `python -m validation.study`; cablesim {__version__}, seed {seed}, {draws} simulated
measurements in each cell of a map. How a map is made:
[how far a method reaches](../study.md). Classical methods
are mapped with readings of the exact circuit: their formulas do not invert it. The posterior does,
so its readings come from the lumped ladder.

## Reach

Resistances at which 95 % of the errors are within so much at nine places of ten, with three classes
of meters. *Held*: how many of the 95 % intervals hold the truth, and *bias*: the largest mean
error, both where errors are within a tenth of the cable. *Mostly* stands where some resistances in
between miss the limit, which is chance where errors are about as large as it.

{kinds}

### Twin cable, 30 m, 88.2 ohm

{reach_table(twin)}

![Errors of every method on the twin cable](../figures/study-twin.png)

### Single-conductor cable, 40 m, 60 ohm

{reach_table(single)}

![Errors of every method on the single-conductor cable](../figures/study-single.png)

What stands out:

- **Three readings** (and two ends on a single conductor) stop at some hundred ohm to some kilohm:
  the display's step grows with the reading, while core ohms stay as few as they are.
- **Beyond their reach three readings err towards the cold joint**: the lower reading names the
  faulty core, so that what is left of the difference always counts as one of that sign.
- **Both ends of a break that still conducts say the middle of the cable**, wherever it is, with a
  narrow interval and nothing to warn of it: each end then reads the whole cable. The darker column
  at 20 m is the hour at which a stopped clock is right.
- **Bridges' intervals are too narrow for high leaks.** They know the slide and not the
  galvanometer, whose dead zone grows with the leak's resistance. With cheap meters the share of
  intervals that hold the truth falls from 10 kohm on, while the error itself stays within
  {CLOSE_M:g} m {bridge["cheap"]}.
- **At one place coverage is not 95 %**, though it is over all places: rounding to a division of the
  slide is the same error each time at one place. The columns in the maps of Murray show it.
- **Murray unequal and Varley** are off by the tolerance of the ohm per metre, -5 to +10 %, which
  also shifts them outwards by 2.5 % of the distance. On a cable with equal cores plain Murray needs
  no ohm per metre: take that one. Varley's box belongs to the near half of a single conductor's
  loop; beyond it the box would have to go to the other side, and the method declines.
- **Two capacitances** are biased by the coupling between the cores, and their intervals, which do
  not know it, hold the truth next to never. **Capacitance per metre** is as bad as that value is
  known, half to double; its errors exceed a tenth of the cable but for the first metres.
- **The echo** is as good as the speed of pulses is known, 5 %, whatever the meter: a better meter
  buys resistance and no metres.

![Three readings: error, bias, coverage and refusals](../figures/study-three-readings.png)

## Published ranges beside the maps

{published}

### Echo: as the formula says

A path of `R` across the cable reflects `-Z0 / (2 R + Z0)` (em.emedu.org.tw/elec_sim/5-5.html).
The echo must stand {SEEN_DEVIATIONS:g} deviations out of the trace's noise (1, 0.5 and 0.1 % of the
step that enters); at the terminals it is `2 Rs / (Rs + Z0)` times as high, and each way costs
`exp(-r x / (2 Z0))`. Solved for `R`, beside the largest resistance that the map answers, on a grid
of 1.03 to 1:

{echo_table}

So *a few hundred ohm* is what a trace shows whose least visible echo is 5 to 10 % of the step. It
is no property of the method: with a tenth of the noise it is ten times as far. What the published
range leaves out is the cable: heated cores are lossy, and 20 m cost half of the reach. The map
never answers for the last 5 % of the cable: an echo from there cannot be told from that of the end,
since the speed is not known better.

### Bridges: no lower end, and an upper end that is the battery's

- *From a kilohm on.* The maps have no lower end. At balance the leak lies in the battery's branch
  alone, and less of it is only more current. We read the published lower end as saying from where a
  bridge is worth its trouble: below it an ohmmeter does (three readings above).
- *To megohms, more with high voltage.* The dead zone of the galvanometer is worth metres in
  proportion to the leak times the galvanometer's current over the battery's voltage: the cheap
  bridge, 0.1 microampere at 9 V, keeps {CLOSE_M:g} m {bridge["cheap"]}. The good one, 0.01 at
  100 V, would by that proportion go a hundred times as far, but the model stops every bridge of up
  to 500 V at 10 Mohm. **That stop is the published range itself, from memory**, put into the meter
  (`LoopBridge.reach_ohm`): for the good and the bench bridge the map confirms nothing at the upper
  end. Below it the map shows what does grow there, the pull of the healthy insulation.

Bias of plain Murray at 9 Mohm, 500 V, by the map and as the mean of places weighted by conductance
(Wilkinson, *Submarine Cable Laying and Repairing*, p. 451): `(L - x) G / Gf` with the mean healthy
conductance `G`:

{_bias_table(leak)}

### Capacitances: Hawkins' 100 kohm is 1 / (omega C)

The capacitance range stops where its loss factor exceeds 1, that is where a leak, or what is left
across the break, is less than `1 / (omega C)` with `C` the capacitance of the near piece at 1 kHz
(140 pF/m, cold lead of 2.5 m included):

{edge_table}

- Hawkins' good above 100 kohm holds on this cable from about 10 m on; nearer breaks need more,
  since a shorter piece is a smaller capacitor. His figures are for lines of miles, read by bridges
  of low frequency. That both come to some 100 kohm is then a coincidence of a large capacitance at
  a low frequency with a small one at 1 kHz; his frequency is not known to us.
- Between *good* and *none* there is no *fair* in the maps: a meter that shows the parallel
  capacitance keeps the leak's current apart from the capacitance's, until it shows nothing. A meter
  that does not, such as one that shows the modulus, would be off in between; neither it nor his
  bridge of that time is modelled, so that his *fair* is not checked here.
- At 10 kohm across the break, where he would still try, this meter shows nothing at any place.

Bias of two capacitances on a cable as rated, by the map and by the star of partial capacitances
(see `break_from_two_capacitances`):

{_bias_table(coupling)}

## Beside the bound

Spread of the answers (standard deviation) by the map, over the least that any estimator linear in
the same readings can have ([what readings can tell at best](../limits.md)), which simulates
nothing. A short of 10 ohm,
a break of 1 Gohm.

{_bound_table(bounds)}

Three readings and the echo attain the bound. Murray does over all places; at one place rounding is
always the same error, larger or smaller than its mean. For three capacitances the bound is that of
the rated cable, while true capacitances are half to double: the display's step and range, and with
them the error, are then other ones.

## Which method first

![Which method first](../figures/study-first.png)

## What disturbs

95 % of the errors are smaller, at the middling place, and how many of the 95 % intervals hold the
truth at all places; twin cable, good meters. One thing departs at a time.

{disturbed_table(disturbed)}

![What disturbs three readings](../figures/study-sensitivity.png)

Three readings and plain Murray are ratios: the cable's tolerance and its temperature cancel, as
they do for three capacitances. An unsteady fault ruins three readings in proportion to its
resistance, since the readings come one after the other, and leaves the bridge alone, whose leak is
in no ratio; their intervals know nothing of it. The echo's error is that of the speed.

## The posterior, for a few cells

Median error of `locate` with the usual readings by good meters, from the ladder of 48 rungs a
piece; {posterior.axes.draws} measurements in each cell only, since each answer weighs every kind of
damage:

{_posterior_table(posterior)}

Such a table shows no more than that the posterior stops where three readings do: without a bridge
there is no other reading that places a leak. How calibrated it is:
[is `locate` calibrated?](calibration.md).

## Speed

Measurements of three readings on one core (processor time, best of three, on a shared machine; the
ratio is what counts). The map reads in batches; the loop draws a cable, calls `predict` and
`display`, and where it answers `worked`, which also works out the bias, one after the other.

{speed_table}
"""
