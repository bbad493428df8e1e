"""What every candidate would show at points of the posterior, and what each display would tell.

Points of all likely hypotheses, equally weighted, stand for all that the readings leave open, and
each carries its own tolerances, leads and gains: those that the readings bear on as they were
found, the others drawn evenly within their limits. So a gain or a capacitance that several
candidates share cancels among them as it does in reality.

A display is drawn at one point, and every other point is weighted by how well it agrees (a normal
error with the variance of counts and rounding; widened where too few points agree). The information
is the mean logarithm by which the weight of the point's own hypothesis grows, and within it that of
its own cell along the cable, of fine or of coarse cells, whichever shows more. The point itself
does not count, so few points cannot feign precision: the mean then comes out too small and never
too large (cross-validated log score; T. Gneiting and A. Raftery, Journal of the American
Statistical Association 102 (2007) 359-378, from memory).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.faults import Break, Degraded, Fault, Flashover, Joint
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Reading
from cablesim.locate.candidates import Candidate
from cablesim.locate.parameters import Unknowns

if TYPE_CHECKING:
    from cablesim.locate.weighing import Posterior

__all__ = ["Gain", "Outlook", "outlook"]

POINTS = 3000
# Displays drawn for each candidate; of one that may or may not be worth its minutes, more of them.
DISPLAYS, CLOSER_DISPLAYS = 80, 240
# Cells along the cable of either sort.
_PLACES = 80
# So many neighbouring cells are taken as one, from fine to coarse.
_MERGED = (1, 4, 16, 54)
# Below this probability a hypothesis is left out of account.
_LIKELY = 0.01
_LEAST_AGREEING = 40.0
_WIDENED = 6
# So many points' worth of what was known before is mixed into what agrees.
_BEFORE = 3.0
# What an open circuit or no such place is, so that it compares.
_OPEN = 1e29
_LEVEL = 0.95


@dataclass(frozen=True, slots=True)
class Gain:
    """What one reading is expected to tell.

    Parameters
    ----------
    bits
        Expected information about what is broken and where.
    bits_what
        Of these, about what is broken.
    halvings
        Of these, how often the spread of the place is expected to halve.
    """

    bits: float
    bits_what: float
    halvings: float


@dataclass(frozen=True)
class Outlook:
    """Points of the posterior, and what each candidate would indicate there.

    Parameters
    ----------
    candidates
        The readings that could be taken.
    label : ndarray, shape (points,)
        Number of the hypothesis.
    places_m : ndarray, shape (points, 2)
        Places of the damage; both alike where there is one, not a number where healthy.
    indicated, error : ndarray, shape (points, candidates)
        What the meter indicates before counts and rounding, and the standard deviation of these,
        in the meter's unit.
    over : ndarray, shape (candidates,)
        From here on the display says over range.
    displays
        How many displays are drawn for each candidate.
    """

    candidates: tuple[Candidate, ...]
    label: NDArray[np.int64]
    places_m: FloatArray
    indicated: FloatArray
    error: FloatArray
    over: FloatArray
    displays: int = DISPLAYS

    @cached_property
    def edges_m(self) -> FloatArray:
        """Edges of the cells along the cable: even ones, and such of equal probability."""
        known = self.places_m[np.isfinite(self.places_m)]
        if not known.size or np.ptp(known) < 1e-9:
            middle = float(known[0]) if known.size else 0.0
            return np.array([middle - 1e-3, middle + 1e-3])
        even = np.linspace(known.min(), known.max(), _PLACES + 1)
        likely = np.quantile(known, np.linspace(0, 1, _PLACES + 1))
        edges = np.unique(np.concatenate([even, likely]))
        apart = np.append(True, np.diff(edges) > 1e-6 * np.ptp(edges))
        edges = edges[apart]
        edges[-1] = known.max() + 1e-9
        return np.asarray(edges)

    @cached_property
    def _cells(self) -> NDArray[np.int64]:
        """Cell along the cable of each point's two places, shape (points, 2); healthy has one."""
        count = len(self.edges_m) - 1
        cell = np.clip(np.searchsorted(self.edges_m, self.places_m, side="right") - 1, 0, count - 1)
        return np.asarray(np.where(np.isfinite(self.places_m), cell, count))

    @property
    def open_m(self) -> float:
        """Spread of the place as it is [m]; 0 where all is healthy.

        From the entropy: 0.95 of the even stretch of equal entropy. That is the length of the 95 %
        intervals for an even place, within 0.3 % for a normal one, and the sum for several spots.
        Where little of the probability lies far off it is shorter, and longer where a hypothesis
        that is unlikely leaves much of the cable open.
        """
        broken = np.isfinite(self.places_m[:, 0])
        if not broken.any():
            return 0.0
        lengths = np.diff(self.edges_m)
        share = np.bincount(self._cells[broken].ravel(), minlength=len(lengths))
        share = share / share.sum()
        filled = share > 0
        entropy = -np.sum(share[filled] * np.log(share[filled] / lengths[filled]))
        return _LEVEL * float(np.exp(entropy))

    @cached_property
    def truth(self) -> NDArray[np.int64]:
        """Points that may be the truth, shape (rows,)."""
        count = len(self.label)
        return np.linspace(0, count - 1, min(self.displays, count)).astype(np.int64)

    @property
    def closer(self) -> Outlook:
        """The same with more displays drawn."""
        return replace(self, displays=CLOSER_DISPLAYS)

    def nothing_read(self) -> FloatArray:
        """Weights of all other points for each true one, shape (rows, points)."""
        weights = np.full((len(self.truth), len(self.label)), 1.0)
        weights[np.arange(len(self.truth)), self.truth] = 0.0
        return np.asarray(weights / weights.sum(axis=1, keepdims=True))

    @cached_property
    def _alike(self) -> FloatArray:
        """What each point shares with each true one, shape (rows, questions, points).

        The questions: the hypothesis; the cell along the cable within it, from fine to coarse; and
        the same cells whatever the hypothesis. There are several sizes because a partition that is
        too fine for the points in agreement shows too little.
        """
        same = (self.label[None, :] == self.label[self.truth][:, None]).astype(float)
        scales = []
        for merged in _MERGED:
            cells = np.where(np.isfinite(self.places_m), self._cells // merged, -1)
            mine = cells[self.truth]
            place = np.zeros(same.shape)
            for one in (0, 1):
                for other in (0, 1):
                    place += 0.25 * (cells[None, :, other] == mine[:, one, None])
            scales.append(place)
        return np.stack([same, *(place * same for place in scales), *scales], axis=1)

    def _shares(self, weights: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Share of the truth's like in each question, and how many points' worth it rests on.

        Both of shape (rows, questions).
        """
        alike = np.matmul(self._alike, weights[:, :, None])[:, :, 0]
        broken = weights @ np.isfinite(self.places_m[:, 0])
        among = np.repeat(
            np.stack([weights.sum(axis=1), alike[:, 0], broken], axis=1),
            (1, len(_MERGED), len(_MERGED)),
            axis=1,
        )
        among = np.maximum(among, 1e-300)
        return alike / among, among / np.einsum("rp,rp->r", weights, weights)[:, None]

    def gains(self, before: FloatArray, numbers: Iterable[int]) -> dict[int, Gain]:
        """What each of some candidates is expected to tell.

        Parameters
        ----------
        before : ndarray, shape (rows, points)
            Weights before it, from `nothing_read` or `after`.
        numbers
            Which candidates.
        """
        old = np.maximum(self._shares(before)[0], 0.5 / len(self.label))
        mine = np.isfinite(self.places_m[self.truth, 0])
        scales = len(_MERGED)
        found = {}
        for number in numbers:
            after = self.after(number, before)
            if after is before:
                found[number] = Gain(0.0, 0.0, 0.0)
                continue
            new, agreeing = self._shares(after)
            mixed = (agreeing * new + _BEFORE * old) / (agreeing + _BEFORE)
            bits = np.log2(mixed / old)
            what, *where = bits[:, : 1 + scales].mean(axis=0).tolist()
            halved = bits[mine, 1 + scales :].mean(axis=0).tolist() if mine.any() else []
            what = max(0.0, what)
            found[number] = Gain(what + max(0.0, *where), what, max([0.0, *halved]))
        return found

    def after(self, number: int, before: FloatArray) -> FloatArray:
        """Weights of all points after a candidate's display at each true point.

        Parameters
        ----------
        number
            Which candidate.
        before : ndarray, shape (rows, points)
            Weights before.

        Returns
        -------
        ndarray, shape (rows, points)
            They sum to 1 over the points.
        """
        truth = self.truth
        values, error, over = self.indicated[:, number], self.error[:, number], self.over[number]
        shown = values[truth] + error[truth] * _offsets(len(truth), number)
        says_over = shown >= over
        beyond = values >= over
        # Where all meters agree nothing is told.
        if np.array_equal(beyond, np.full(len(beyond), beyond[0])) and (
            beyond[0] or np.ptp(values) < 0.1 * error.min()
        ):
            return before
        enough = np.minimum(_LEAST_AGREEING, 0.5 / np.sum(before**2, axis=1))
        result = before.copy()
        left = np.arange(len(truth))
        for again in range(_WIDENED):
            wide = (error[truth[left]] * 2.0**again)[:, None]
            apart = np.clip((shown[left, None] - values[None, :]) / wide, -30.0, 30.0)
            agree = np.exp(-0.5 * apart**2)
            agree = np.where(says_over[left, None], beyond, np.where(beyond, 0.0, agree))
            agree *= before[left]
            total = agree.sum(axis=1, keepdims=True)
            found = total[:, 0] > 1e-100
            agree /= np.maximum(total, 1e-100)
            result[left[found]] = agree[found]
            few = np.sum(agree**2, axis=1) * enough[left] > 1.0
            left = left[(few | ~found) & ~says_over[left]]
            if not len(left):
                break
        return result


def _picked(weights: FloatArray, count: int) -> NDArray[np.int64]:
    """So many points, evenly along the weights."""
    below = np.cumsum(weights)
    even = (np.arange(count) + 0.5) / count * below[-1]
    return np.asarray(np.searchsorted(below, even).clip(0, len(weights) - 1))


def _offsets(count: int, number: int) -> FloatArray:
    """Errors of drawn displays in standard deviations, even within their limits."""
    return np.asarray(np.random.default_rng(number).uniform(-(3**0.5), 3**0.5, count))


def outlook(
    answers: Sequence[Posterior], candidates: Sequence[Candidate], points: int = POINTS
) -> Outlook | None:
    """Points of all likely hypotheses, with what each candidate would indicate.

    Parameters
    ----------
    answers
        The posterior of each hypothesis.
    candidates
        The readings that could be taken, at least one.
    points
        How many points in all; each step of a plan leaves fewer of them in agreement.

    Returns
    -------
    Outlook or None
        None where no hypothesis explains the readings.
    """
    likely = [a for a in answers if a.probability > _LIKELY and a.points is not None]
    if not likely:
        return None
    total = sum(a.probability for a in likely)
    rng = np.random.default_rng(0)
    labels, places, indicated, errors = [], [], [], []
    for number, answer in enumerate(likely):
        if answer.points is None:
            continue
        count = max(4, round(points * answer.probability / total))
        picked = _picked(answer.points.weight, count)
        # In any order, so that the first of them are no corner of the cube.
        z = answer.points.z[rng.permutation(picked)]
        where = answer.unknowns.places_m(z)
        at = np.full((count, 2), np.nan)
        if where:
            at = np.stack([where[0], where[-1]], axis=-1)
        seen, error = _indicated(answer.unknowns, z, candidates, rng)
        labels.append(np.full(count, number))
        places.append(at)
        indicated.append(seen)
        errors.append(error)
    over = [c.probe.meter.over_range_from(c.probe.setting) for c in candidates]
    return Outlook(
        tuple(candidates),
        np.concatenate(labels),
        np.concatenate(places),
        np.concatenate(indicated),
        np.concatenate(errors),
        np.array(over),
    )


def _indicated(
    unknowns: Unknowns,
    z: FloatArray,
    candidates: Sequence[Candidate],
    rng: np.random.Generator,
) -> tuple[FloatArray, FloatArray]:
    """What each candidate indicates at points of one hypothesis, and its own error."""
    probes = [c.probe for c in candidates]
    coming = tuple(Reading(probe, 0.0) for probe in probes)
    wider = replace(unknowns, readings=(*unknowns.readings, *coming))
    # What the readings so far say nothing about is as open as before them.
    known = {name: k for k, (name, _) in enumerate(unknowns.cable_changes)}
    start = unknowns.circuit_size - len(known)
    columns = [z[:, k] for k in range(start)]
    for name, _ in wider.cable_changes:
        columns.append(z[:, start + known[name]] if name in known else rng.random(len(z)))
    exact = wider.exact(np.stack(columns, axis=-1), probes)
    faults = unknowns.faults_at(z)
    leads: dict[str, FloatArray] = {}
    gains: dict[tuple[str, str], FloatArray] = {}
    values, errors = np.empty_like(exact), np.empty_like(exact)
    for k, candidate in enumerate(candidates):
        probe = candidate.probe
        meter, setting = probe.meter, probe.setting
        value = _found(candidate, faults, exact[:, k])
        if meter.name not in leads:
            leads[meter.name] = _lead_share(unknowns, z, meter.name, rng)
        lead = meter.lead_ohm + meter.lead_ohm_tolerance * (2 * leads[meter.name] - 1)
        value = value + lead / meter.unit_size
        over = meter.over_range_from(setting)
        number = meter.range_of(np.minimum(value, over))
        group = (meter.name, setting.method or "")
        if group not in gains:
            gains[group] = _gain_shares(unknowns, z, group, meter.ranges, rng)
        gain = 2 * np.take_along_axis(gains[group], number[:, None], axis=1)[:, 0] - 1
        value = np.minimum(value * (1 + meter.accuracy_percent / 100 * gain), _OPEN)
        step = meter.step_of(np.minimum(value, over), setting)
        unseen = meter.unseen(wider.cable, faults, probe.hookup, setting)
        unseen = np.minimum(np.nan_to_num(np.asarray(unseen, float), nan=_OPEN), _OPEN)
        noise = meter.accuracy_counts * step + unseen
        values[:, k] = np.maximum(value, meter.least(setting))
        errors[:, k] = np.sqrt(noise**2 / 3 + step**2 / 12)
    return values, errors


def _lead_share(
    unknowns: Unknowns, z: FloatArray, name: str, rng: np.random.Generator
) -> FloatArray:
    if name in unknowns.lead_meters:
        return unknowns.lead_share(z, unknowns.lead_meters.index(name))
    return rng.random(len(z))


def _gain_shares(
    unknowns: Unknowns,
    z: FloatArray,
    group: tuple[str, str],
    ranges: int,
    rng: np.random.Generator,
) -> FloatArray:
    """Gains of one meter on each of its ranges, shape (points, ranges)."""
    shares = rng.random((len(z), ranges))
    for k, (name, method, number) in enumerate(unknowns.gain_groups):
        if (name, method) == group and number < ranges:
            shares[:, number] = unknowns.gain_share(z, k)
    return shares


def _found(candidate: Candidate, faults: Sequence[Fault], exact: FloatArray) -> FloatArray:
    """What there is for a candidate to find: for a camera less than all that warms.

    A residual-current device trips on a path to the braid before it warms, and a withstand test
    makes weak insulation break down.
    """
    if candidate.method == "withstand_and_camera":
        weak = [np.asarray(f.position_m) for f in faults if isinstance(f, Degraded | Flashover)]
        return np.maximum(np.min(weak, axis=0), 0.0) if weak else np.full_like(exact, _OPEN)
    leaks = any(not isinstance(f, Break | Joint) and "braid" in f.between for f in faults)
    blind = candidate.method == "thermal_camera" and leaks
    return np.full_like(exact, _OPEN) if blind else exact
