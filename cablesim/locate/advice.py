"""What to read next, and what to mind.

The best next reading is the one whose display would tell most about what is broken and where, given
all that the readings so far leave open: the mutual information between the display and (hypothesis,
place), from the points of the posterior. A reading without test voltage goes before one with it
where both tell about as much.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.meters import LoopBridge, Setting
from cablesim.instruments.readings import Probe, Reading
from cablesim.instruments.standard import standard_probes
from cablesim.line.terminals import Hookup
from cablesim.locate.estimate import NextReading
from cablesim.locate.summary import weighted_quantile

if TYPE_CHECKING:
    from cablesim.locate.weighing import Posterior

__all__ = ["best_next", "cautions", "placed_m"]

# Damage counts as placed where its intervals together are at most this long.
PLACED_SHARE = 0.1
PLACED_LEAST_M = 0.5

_POINTS = 1500
# Less likely hypotheses do not count for the next reading: their wide places would drown the rest.
_WEIGHED = 0.03
_PLACES = 24
_DISPLAYS = 24
# Below this gain in bits a reading is not worth its minutes.
_WORTH_BITS = 0.25
# Below this probability of the likeliest hypothesis what is broken comes before where.
_LIKELY = 0.5
CAMERA, WITHSTAND, ECHO = "thermal camera", "withstand tester", "pulse echo"
# An insulation test must tell this much more than a reading without test voltage to go first.
_VOLTAGE_BITS = 0.3

ALWAYS = (
    "Work dead: switch off, lock off and prove dead before touching the cable; local codes and "
    "licensed practice come first.",
)
ENERGISED = (
    "Energise a damaged cable only after its insulation to the braid has been tested, behind a "
    "residual-current device, at reduced voltage or limited current (a shorted cable draws more "
    "than its rating), for a short time, with nobody on the floor, by a licensed person.",
)
OPENING = (
    "Of several damages this answer knows two, each a short or a cut core; others can look like "
    "one in between.",
    "Confirm the place with a second, independent method before opening the floor, and lift the "
    "covering between the runs, not over them.",
    "After the repair take the three readings again before closing the floor.",
)
INSULATION = (
    "An insulation test puts a high voltage on the cable: nobody on the floor or at the ends, the "
    "thermostat disconnected, and discharge the cable afterwards.",
)


def cautions(
    readings: Sequence[Reading], coming: NextReading | None, *, opening: bool
) -> tuple[str, ...]:
    """Usual cautions for what was done and what may come next.

    Parameters
    ----------
    readings
        Those taken.
    coming
        The reading that is advised.
    opening
        Whether somebody may open the floor on this answer.
    """
    said = list(ALWAYS)
    kinds = {reading.probe.meter.kind for reading in readings}
    if coming is not None:
        kinds.add(coming.kind)
    if kinds & {"insulation_tester", WITHSTAND}:
        said += INSULATION
    if CAMERA in kinds:
        said += ENERGISED
    if opening:
        said += OPENING
    return tuple(said)


def best_next(
    cable: Cable,
    readings: Sequence[Reading],
    answers: Sequence[Posterior],
    bag: Sequence[Probe] = (),
) -> NextReading | None:
    """The reading that would tell most, or None where no reading in the bag tells much.

    Parameters
    ----------
    cable
        As rated.
    readings
        Those taken; not proposed again.
    answers
        The posterior of each hypothesis.
    bag
        Readings that could be taken; the usual ones unless given.
    """
    taken = {(r.probe.meter.kind, r.probe.hookup) for r in readings}
    offered = [*(bag or standard_probes(cable)), *_bridges(cable)]
    probes = [
        p for p in offered if (p.meter.kind, p.hookup) not in taken and p.meter.used_by_locate
    ]
    likely = [a for a in answers if a.probability > _WEIGHED and a.points is not None]
    if not likely:
        return None
    if not probes:
        return _beyond(likely[0])
    labels, places, displays = _drawn(likely, probes)
    gains = np.array([_bits(labels, places, displays[:, k]) for k in range(len(probes))])
    voltage = np.array([p.meter.kind == "insulation_tester" for p in probes])
    best = int(np.argmax(gains - _VOLTAGE_BITS * voltage))
    if gains[best] < _WORTH_BITS:
        return _beyond(likely[0])
    probe = probes[best]
    return NextReading(
        probe.meter.name,
        probe.hookup.across,
        _why(labels, places, displays[:, best], likely[0].probability),
        probe.meter.kind,
    )


def _bridges(cable: Cable) -> list[Probe]:
    """Loop bridge from each side, where the cable closes a loop."""
    bridge = LoopBridge(name="loop_bridge")
    murray = Setting(method="murray")
    if cable.construction.returns:
        return [Probe(bridge, Hookup.of(cable, ("core1@far", "core1", "braid")), murray)]
    if cable.far_end == "joined":
        return [Probe(bridge, Hookup.of(cable, ("core2", "core1", "braid")), murray)]
    return []


# Where no reading of ohms, insulation, capacitance or balance helps; common practice, no source.
_BEYOND = {
    "flashover": (
        WITHSTAND,
        "nothing at low voltage shows where it breaks down; bursts of the withstand test by a "
        "licensed person warm the spot, where a thermal camera may find it",
    ),
    "short": (
        CAMERA,
        "no ohms, capacitance or bridge narrow this further; an echo may, and while energised (see "
        "the cautions) the cable is warm up to a path between its cores and cold beyond it",
    ),
    "joint": (
        CAMERA,
        "no ohms, capacitance or bridge narrow this further; an echo may, and while energised (see "
        "the cautions) a bad joint is the hottest spot of the cable",
    ),
    "degraded": (
        WITHSTAND,
        "no ohms, capacitance or bridge narrow this further; a high-voltage withstand test by a "
        "licensed person makes the weak spot break down, where a thermal camera may find it",
    ),
    "break": (
        ECHO,
        "no reading in this bag narrows this further; an echo comes back from a break at any "
        "resistance",
    ),
    "several": (
        ECHO,
        "no reading in this bag narrows this further; an echo comes back from a break at any "
        "resistance",
    ),
}


def _beyond(likely: Posterior) -> NextReading | None:
    """A method outside the bag, where the place is still open."""
    hypothesis, points = likely.hypothesis, likely.points
    if not hypothesis.faults or points is None:
        return None
    ends = [
        [weighted_quantile(place, points.weight, share) for share in (0.025, 0.975)]
        for place in likely.unknowns.places_m(points.z)
    ]
    if all(high - low <= placed_m(likely.unknowns.cable) for low, high in ends):
        return None
    meter, why = _BEYOND[hypothesis.verdict]
    return NextReading(meter, (), why, meter)


def placed_m(cable: Cable) -> float:
    """Length of the intervals [m] up to which damage counts as placed."""
    return max(PLACED_LEAST_M, PLACED_SHARE * float(cable.heated_length_m))


def _drawn(
    likely: Sequence[Posterior], probes: Sequence[Probe]
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Equally weighted points of all likely hypotheses: label, place, place on each scale."""
    total = sum(a.probability for a in likely)
    labels, places, shown = [], [], []
    for number, answer in enumerate(likely):
        points = answer.points
        if points is None:
            continue
        count = max(1, round(_POINTS * answer.probability / total))
        below = np.cumsum(points.weight) / points.weight.sum()
        picked = np.searchsorted(below, (np.arange(count) + 0.5) / count).clip(0, len(below) - 1)
        z = points.z[picked]
        exact = answer.unknowns.exact(z, probes)
        where = answer.unknowns.places_m(z)
        labels.append(np.full(count, number, float))
        places.append(where[0] if where else np.full(count, np.nan))
        shown.append(np.stack([_scale(p, exact[:, k]) for k, p in enumerate(probes)], axis=-1))
    return np.concatenate(labels), np.concatenate(places), np.concatenate(shown)


def _scale(probe: Probe, exact: FloatArray) -> FloatArray:
    """Position on a scale on which displays one unit apart can just be told apart."""
    meter = probe.meter
    over = meter.over_range_from(probe.setting)
    value = np.clip(exact, 0.0, over)
    step = float(meter.step_of(0.0, probe.setting))
    floor = (2 * meter.accuracy_counts + 1) * step
    relative = 2 * max(meter.accuracy_percent / 100, (meter.accuracy_counts + 0.5) / meter.counts)
    # Even steps near zero, even ratios further up.
    return np.asarray(np.log1p(value * relative / floor) / relative)


def _bits(labels: FloatArray, places: FloatArray, display: FloatArray) -> float:
    """Mutual information between a display and what is broken where, in bits."""
    what = _cells(labels, places)
    seen = _bins(display)
    joint = np.zeros((what.max() + 1, seen.max() + 1))
    np.add.at(joint, (what, seen), 1.0 / len(what))
    apart = joint.sum(axis=1, keepdims=True) * joint.sum(axis=0, keepdims=True)
    filled = joint > 0
    return float(np.sum(joint[filled] * np.log2(joint[filled] / apart[filled])))


def _cells(labels: FloatArray, places: FloatArray) -> np.ndarray:
    spread = np.nan_to_num(places, nan=0.0)
    low, high = float(spread.min()), float(spread.max())
    cell = ((spread - low) / max(high - low, 1e-9) * _PLACES).clip(0, _PLACES - 1).astype(int)
    _, what = np.unique(labels.astype(int) * _PLACES + cell, return_inverse=True)
    return np.asarray(what)


def _bins(display: FloatArray) -> np.ndarray:
    """Displays that can be told apart, at most so many of them."""
    low, high = float(display.min()), float(display.max())
    count = int(min(_DISPLAYS, 1 + (high - low)))
    scaled = (display - low) / max(high - low, 1e-9)
    return np.asarray((scaled * count).clip(0, count - 1).astype(int))


def _why(labels: FloatArray, places: FloatArray, display: FloatArray, probability: float) -> str:
    """What the reading would decide, in words and metres."""
    seen = _bins(display)
    known = np.isfinite(places)
    before = after = 0.0
    if known.any():
        before = _width(places[known])
        widths = [
            (np.sum(chosen), _width(places[chosen]))
            for b in np.unique(seen)
            if (chosen := known & (seen == b)).any()
        ]
        after = sum(n * w for n, w in widths) / sum(n for n, _ in widths)
    if probability < _LIKELY and len(np.unique(labels)) > 1:
        return "would tell apart what may be broken"
    if before > 0 and after < 0.8 * before and f"{before:.1f}" != f"{after:.1f}":
        return f"would narrow the place from about {before:.1f} m to about {after:.1f} m"
    if len(np.unique(labels)) > 1:
        return "would tell apart what may be broken"
    return "would check the answer"


def _width(places: FloatArray) -> float:
    weights = np.ones(len(places))
    return weighted_quantile(places, weights, 0.975) - weighted_quantile(places, weights, 0.025)
