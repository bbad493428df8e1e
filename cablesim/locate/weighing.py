"""Weigh every hypothesis by the readings: its probability, and weighted points of its unknowns."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError
from cablesim.instruments.readings import Reading
from cablesim.locate.arguments import read_of, several
from cablesim.locate.explore import explore
from cablesim.locate.fitting import Asking
from cablesim.locate.integrate import POINTS, Points, Sketch, integrate, mended, sketch
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns
from cablesim.locate.prior import (
    Hypothesis,
    PlacePrior,
    heated_part,
    hypotheses,
    place_prior,
)
from cablesim.locate.together import answered_together

__all__ = ["Posterior", "posterior"]

# Largest sum of squares of an even error per reading, and per unknown, that is possible at all.
_MOST_MISFIT_READING = 6.0
_MOST_MISFIT_UNKNOWN = 3.0
# Digits of a probability that tell two hypotheses apart.
_TOLD_APART = 6
# From this probability on a hypothesis gets all points; the least share of them.
_LIKELY, _LEAST_SHARE = 0.1, 0.2


@dataclass(frozen=True, slots=True)
class Posterior:
    """One hypothesis after the readings.

    Parameters
    ----------
    unknowns
        The hypothesis and its cube of unknowns.
    points
        Weighted points of it; None where it cannot have shown these readings.
    probability
        Among all hypotheses.
    misfit
        Least sum of squares found, for the case that none fits.
    residual : ndarray, shape (readings,)
        Misfit of each reading at the best fit, in standard deviations.
    """

    unknowns: Unknowns
    points: Points | None
    probability: float
    misfit: float
    residual: FloatArray

    @property
    def hypothesis(self) -> Hypothesis:
        """What may be broken."""
        return self.unknowns.hypothesis


def posterior(
    cable: Cable,
    readings: Iterable[Reading],
    *,
    table: Iterable[Hypothesis] | None = None,
    place: PlacePrior | None = None,
) -> tuple[Posterior, ...]:
    """Probability of every hypothesis and weighted points of each.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    readings
        In any number and order, at least one.
    table, place
        Other priors than those of `hypotheses` and `place_prior`.

    Returns
    -------
    tuple of Posterior
        Likeliest first, in the order of the table where six digits do not tell them apart; the
        probabilities sum to 1. Where no hypothesis can have shown the readings all have probability
        0 and the least misfit comes first.
    """
    given = read_of(cable, readings)
    if not given:
        raise InputError(
            "there is no reading with a value", try_this="give at least one reading as taken"
        )
    if any(np.ndim(n) for n in (cable.heated_length_m, *cable.core_ohm_per_m)):
        raise InputError("the cable holds arrays", try_this="locate one cable at a time")
    # One order for all orders: permuting the readings changes nothing, not even the rounding.
    order = sorted(range(len(given)), key=lambda k: _identity(given[k]))
    taken = tuple(given[k] for k in order)
    displays = Displays.of(taken)
    place = place_prior(cable) if place is None else place
    if not isinstance(place, PlacePrior):
        raise InputError("place", place, "a PlacePrior", "leave it out for the usual one")
    table = hypotheses(cable) if table is None else several("table", table, Hypothesis)
    if not table:
        raise InputError("table", [], "at least one hypothesis", "leave it out for the usual ones")
    anywhere = heated_part(cable)
    unknowns = [
        Unknowns(cable, hypothesis, anywhere, taken, by_order=True)
        if hypothesis.places == 2
        else Unknowns(cable, hypothesis, place, taken)
        for hypothesis in table
    ]
    searched = answered_together(unknowns, [_searched(one, displays) for one in unknowns])
    sketches = {k: found.sketch for k, found in enumerate(searched) if found.sketch is not None}
    # What is unlikely needs neither straight cells nor a fine integral.
    held = _held(unknowns, sketches)
    total = sum(held.values())
    seen = answered_together(
        [unknowns[k] for k in held],
        [
            mended(
                unknowns[k],
                searched[k].displays,
                sketches[k],
                total / unknowns[k].hypothesis.weight,
            )
            for k in held
        ],
    )
    sketches = dict(zip(held, seen, strict=True))
    held = _held(unknowns, sketches)
    total = sum(held.values())
    points = answered_together(
        [unknowns[k] for k in held],
        [
            _integrated(unknowns[k], searched[k].displays, sketches[k], held[k] / total)
            for k in held
        ],
    )
    weighed = dict(zip(held, points, strict=True))
    weights = [
        u.hypothesis.weight * (weighed[k].evidence if k in weighed else 0.0)
        for k, u in enumerate(unknowns)
    ]
    total = sum(weights)
    back = np.argsort(order)
    answers = [
        Posterior(
            u,
            weighed[k] if w > 0 else None,
            w / total if total > 0 else 0.0,
            searched[k].misfit,
            searched[k].residual[back],
        )
        for k, (u, w) in enumerate(zip(unknowns, weights, strict=True))
    ]
    return tuple(sorted(answers, key=_rank))


def _rank(answer: Posterior) -> tuple[float, float]:
    """What to sort by: the last digits of a probability are those of the quadrature."""
    if answer.probability == 0:
        return 0.0, answer.misfit
    return -float(f"{answer.probability:.{_TOLD_APART}g}"), 0.0


@dataclass(frozen=True, slots=True)
class _Searched:
    """Where one hypothesis can explain the readings, roughly how well, and its best fit."""

    displays: Displays
    sketch: Sketch | None
    misfit: float
    residual: FloatArray


def _searched(unknowns: Unknowns, displays: Displays) -> Asking[_Searched]:
    others = unknowns.size - unknowns.grid
    hopeless = 20.0 + _MOST_MISFIT_READING * len(displays.low) + _MOST_MISFIT_UNKNOWN * others
    found = yield from explore(unknowns, displays, give_up=hopeless)
    cells = found.cells
    best = int(np.argmin(cells.misfit))
    misfit = float(cells.misfit[best])
    seen = None
    if cells.surely_misfit.min() <= hopeless:
        seen = yield from sketch(unknowns, found.displays, cells, hopeless)
    return _Searched(found.displays, seen, misfit, cells.residual[best, : len(displays.low)])


def _held(unknowns: Sequence[Unknowns], sketches: dict[int, Sketch]) -> dict[int, float]:
    """What each hypothesis that can have shown the readings holds of their probability."""
    held = {k: unknowns[k].hypothesis.weight * seen.evidence for k, seen in sketches.items()}
    return {k: share for k, share in held.items() if share > 0.0}


def _integrated(
    unknowns: Unknowns, displays: Displays, seen: Sketch, probability: float
) -> Asking[Points]:
    points = int(POINTS[unknowns.places] * min(1.0, _LEAST_SHARE + probability / _LIKELY))
    return (yield from integrate(unknowns, displays, seen, points))


def _identity(reading: Reading) -> tuple[str, str, str, float, bool]:
    probe = reading.probe
    links = "+".join(str(t) for group in probe.hookup.links for t in group)
    across = " ".join(probe.hookup.across)
    return (probe.meter.name, across, links, reading.shown, reading.at_least)
