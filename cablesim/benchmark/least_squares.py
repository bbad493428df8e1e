"""Least squares on the exact circuit, as one would do it without any posterior.

Each kind of damage at one place is fitted to the readings by `scipy.optimize.least_squares`, with
the limits of cable and meters as further observations. The interval is the fit plus and minus its
expanded uncertainty from the covariance ``(J^T J)^-1``, and kinds are weighed by the Laplace
approximation of their evidence. So it is right where the readings are nearly linear in the place
and damage has one place; it knows neither abrupt ends nor several modes.

Source of the approximation: D. J. C. MacKay, Information Theory, Inference, and Learning Algorithms
(2003), chapter 27 (from memory).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from cablesim.benchmark.answer import Answer
from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.instruments.readings import Reading
from cablesim.locate.likelihood import Displays
from cablesim.locate.parameters import Unknowns
from cablesim.locate.prior import Hypothesis, hypotheses, place_prior
from cablesim.locate.propagation import coverage_factor

__all__ = ["least_squares"]

_LEVEL = 0.95
# Points along the place and each resistance among which a fit begins.
_PLACES, _OHMS = 25, 9
# A kind whose best start is worse than this, in squares beyond the best kind's, is not fitted.
_HOPELESS = 400.0
_MOST_FITS = 6
_STEP = 1e-6
# An even unknown in its box pulls to the middle like a normal one of equal variance.
_PULL = 12**-0.5
_DECIDED = 0.8


@dataclass(frozen=True, slots=True)
class _Fit:
    hypothesis: Hypothesis
    log_evidence: float
    # Lower end, best place, upper end.
    placed_m: tuple[float, float, float] | None


def least_squares(cable: Cable, readings: Sequence[Reading]) -> Answer:
    """Fit every damage at one place, take the likeliest, and place it by its fit.

    Parameters
    ----------
    cable
        As rated.
    readings
        In any number and order.
    """
    used = tuple(
        sorted(
            (r for r in readings if r.probe.meter.used_by_locate),
            key=lambda r: (r.probe.meter.name, r.probe.hookup.across, r.shown),
        )
    )
    if not used:
        return Answer(declined="needs a reading that tells where the damage is")
    displays = Displays.of(used)
    place = place_prior(cable)
    started = []
    for hypothesis in hypotheses(cable):
        if hypothesis.places < 2:
            unknowns = Unknowns(cable, hypothesis, place, used)
            started.append((unknowns, *_start(unknowns, displays)))
    started.sort(key=lambda item: item[2])
    least = started[0][2]
    chosen = [item for item in started[:_MOST_FITS] if item[2] < least + _HOPELESS]
    fits = [_fitted(unknowns, displays, start) for unknowns, start, _ in chosen]
    evidence = np.array([fit.log_evidence for fit in fits])
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    shares: dict[str, float] = {}
    for fit, weight in zip(fits, weights, strict=True):
        kind = fit.hypothesis.verdict
        shares[kind] = shares.get(kind, 0.0) + float(weight)
    shares = {kind: min(share, 1.0) for kind, share in shares.items()}
    kind = max(shares, key=lambda name: shares[name])
    best = max(
        (k for k, fit in enumerate(fits) if fit.hypothesis.verdict == kind),
        key=lambda k: float(weights[k]),
    )
    verdict = kind if shares[kind] >= _DECIDED else "undecided"
    placed = fits[best].placed_m
    if placed is None:
        return Answer(verdict, shares)
    low, at, high = placed
    return Answer(verdict, shares, at, ((low, high),), _LEVEL)


def _start(unknowns: Unknowns, displays: Displays) -> tuple[FloatArray, float]:
    """The best of an even grid over place and resistance, all else in the middle."""
    axes = [np.linspace(0.01, 0.99, _PLACES)] * unknowns.places
    axes += [np.linspace(0.01, 0.99, _OHMS)] * (unknowns.fault_size - unknowns.places)
    points = list(product(*axes))
    grid = np.array(points, float).reshape(len(points), unknowns.fault_size)
    z = np.full((len(grid), unknowns.size), 0.5)
    z[:, : unknowns.fault_size] = grid
    residual = displays.residuals(unknowns.indicated(z, unknowns.exact(z)))
    misfit = np.sum(residual**2, axis=1)
    best = int(np.argmin(misfit))
    return z[best], float(misfit[best])


def _fitted(unknowns: Unknowns, displays: Displays, start: FloatArray) -> _Fit:
    from scipy import optimize

    fault = unknowns.fault_size
    pulled = np.zeros((unknowns.size - fault, unknowns.size))
    pulled[:, fault:] = np.eye(unknowns.size - fault) / _PULL

    def rows(z: FloatArray) -> FloatArray:
        """Misfits in standard deviations, those of the limits last, shape (points, rows)."""
        misfit = displays.residuals(unknowns.indicated(z, unknowns.exact(z)))
        return np.concatenate([misfit, (z[:, fault:] - 0.5) / _PULL], axis=1)

    def residual(z: FloatArray) -> FloatArray:
        return np.asarray(rows(z[None])[0])

    def jacobian(z: FloatArray) -> FloatArray:
        inside = np.clip(z, _STEP, 1 - _STEP)
        steps = _STEP * np.eye(unknowns.size)
        moved = rows(np.concatenate([inside + steps, inside - steps]))
        half = len(moved) // 2
        return np.asarray((moved[:half] - moved[half:]).T / (2 * _STEP))

    found = optimize.least_squares(
        residual, start, jac=jacobian, bounds=(0.0, 1.0), x_scale=0.3, max_nfev=40
    )
    slopes = jacobian(found.x)
    # No unknown is less known than its box says.
    box = np.eye(unknowns.size) / _PULL
    information = slopes.T @ slopes + box[:, :fault] @ box[:, :fault].T
    _, log_information = np.linalg.slogdet(information / (2 * np.pi))
    log_evidence = float(np.log(unknowns.hypothesis.weight) - found.cost - 0.5 * log_information)
    if not unknowns.places:
        return _Fit(unknowns.hypothesis, log_evidence, None)
    spread = float(np.sqrt(np.linalg.inv(information)[0, 0]))
    ends = np.clip(found.x[0] + np.array([-1, 0, 1]) * coverage_factor(_LEVEL) * spread, 0, 1)
    low, at, high = (float(m) for m in unknowns.place.place_m(ends))
    return _Fit(unknowns.hypothesis, log_evidence, (low, at, high))
