"""Classical methods on many displays at once: the same answers as one by one, in arrays.

Displays that are alike (the same ones have a value, and the same ones are the larger) share one
recipe, whose formula takes arrays. The interval is propagated as `cablesim.locate.classical`
propagates it for one case.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.errors import looked_up
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.budget import Declined
from cablesim.locate.propagation import STEP, coverage_factor
from cablesim.locate.recipes import RECIPES, Prepared

__all__ = ["Answers", "answers", "bare_of", "display_covariance"]


@dataclass(frozen=True, slots=True)
class Answers:
    """Places with their intervals.

    Parameters
    ----------
    place_m : ndarray, shape (...)
        Places [m from the cold joint]; NaN where the method declines.
    half_width_m : ndarray, shape (...)
        Half of each interval [m]; NaN where the method declines.
    """

    place_m: FloatArray
    half_width_m: FloatArray

    @property
    def declined(self) -> NDArray[np.bool]:
        """Where there is no answer, shape (...)."""
        return np.isnan(self.place_m)

    def without(self, these: NDArray[np.bool]) -> Answers:
        """The same with these answers declined."""
        return Answers(
            np.where(these, np.nan, self.place_m), np.where(these, np.nan, self.half_width_m)
        )


def answers(
    method: str, cable: Cable, probes: Sequence[Probe], shown: FloatArray, *, level: float = 0.95
) -> Answers:
    """Answer each of many sets of displays by one classical method.

    Parameters
    ----------
    method
        Name of the method, one of `cablesim.locate.classical.ESTIMATORS`.
    cable
        As rated, plain numbers.
    probes
        What was read.
    shown : ndarray, shape (..., readings)
        What the displays said, in each meter's unit; infinite for over range.
    level
        Probability that the intervals are meant to hold.

    Returns
    -------
    Answers
        Arrays of shape (...): what `cablesim.locate.classical.worked` answers to each.

    Raises
    ------
    InputError
        If there is no such method; the message gives the nearest.

    Examples
    --------
    >>> from cablesim.instruments.standard import standard_probes
    >>> cable = Cable.rated("twin", 30.0, 88.2)
    >>> shown = np.array([[88.5, 73.7, 125.5], [88.5, 125.5, 73.7], [88.5, np.inf, np.inf]])
    >>> found = answers("three_readings", cable, standard_probes(cable)[:3], shown)
    >>> found.place_m.round(2).tolist(), found.half_width_m.round(2).tolist()
    ([12.37, 12.37, nan], [0.19, 0.19, nan])
    """
    recipe = looked_up("method", method, RECIPES)
    shown = np.asarray(shown, float)
    shape = shown.shape[:-1]
    rows = shown.reshape(-1, shown.shape[-1])
    place = np.full(len(rows), np.nan)
    half = np.full(len(rows), np.nan)
    for alike in _alike(rows):
        first = rows[alike[0]]
        readings = [
            Reading(probe, float(value)) for probe, value in zip(probes, first, strict=True)
        ]
        prepared = recipe(cable, readings)
        if isinstance(prepared, Declined):
            continue
        taken = [next(k for k, r in enumerate(readings) if r is one) for one in prepared.readings]
        found, spread = _answered(prepared, rows[alike][:, taken])
        place[alike] = found
        half[alike] = coverage_factor(level) * spread
    return Answers(place.reshape(shape), half.reshape(shape))


def display_covariance(probes: Sequence[Probe], shown: FloatArray) -> FloatArray:
    """Covariance of displays from the meters' stated limits, all rectangular.

    Parameters
    ----------
    probes
        What was read.
    shown : ndarray, shape (..., readings)
        What the displays said; each has a value.

    Returns
    -------
    ndarray, shape (..., readings, readings)
        In the products of the meters' units: counts and rounding on the diagonal, a gain for those
        of one meter and range, a lead resistance for those of one meter.
    """
    size = shown.shape[-1]
    covariance = np.zeros((*shown.shape, size))
    ranges = []
    for i, probe in enumerate(probes):
        meter, setting = probe.meter, probe.setting
        step = meter.step_of(shown[..., i], setting)
        covariance[..., i, i] += (meter.accuracy_counts * step) ** 2 / 3 + step**2 / 12
        ranges.append(meter.range_of(np.minimum(shown[..., i], meter.over_range_from(setting))))
        for k, other in enumerate(probes[: i + 1]):
            if other.meter.name != meter.name:
                continue
            both: FloatArray | float = (meter.lead_ohm_tolerance / meter.unit_size) ** 2 / 3
            if (other.setting.method or "") == (setting.method or ""):
                gain = (meter.accuracy_percent / 100) ** 2 / 3 * shown[..., i] * shown[..., k]
                both = both + np.where(ranges[i] == ranges[k], gain, 0.0)
            covariance[..., i, k] += both
            if k < i:
                covariance[..., k, i] += both
    return covariance


def bare_of(probes: Sequence[Probe], shown: FloatArray) -> FloatArray:
    """Displays less the meters' leads, shape (..., readings)."""
    leads: FloatArray = np.array([p.meter.lead_ohm / p.meter.unit_size for p in probes])
    return np.subtract(shown, leads)


def _alike(rows: FloatArray) -> Iterator[NDArray[np.intp]]:
    """Numbers of the rows that a recipe cannot tell apart."""
    below = (rows[:, None, :] < rows[:, :, None]).sum(axis=2)
    marks = np.concatenate([below, np.isfinite(rows)], axis=1)
    code = marks @ (rows.shape[1] + 1) ** np.arange(marks.shape[1])
    for value in np.unique(code):
        yield np.flatnonzero(code == value)


def _answered(prepared: Prepared, shown: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Places and their standard uncertainties, NaN where the formula has no value."""
    probes = [reading.probe for reading in prepared.readings]
    count, cases = len(probes), len(shown)
    inputs = np.concatenate([bare_of(probes, shown).T, np.ones((len(prepared.spread), cases))])
    covariance = np.zeros((cases, len(inputs), len(inputs)))
    covariance[:, :count, :count] = display_covariance(probes, shown)
    factors = np.arange(count, len(inputs))
    covariance[:, factors, factors] = np.square(prepared.spread)

    def place_of(x: FloatArray) -> FloatArray:
        return np.broadcast_to(np.asarray(prepared.formula(x[:count], x[count:])[0]), (cases,))

    slopes = np.zeros((cases, len(inputs)))
    deviations = np.sqrt(np.einsum("bii->ib", covariance))
    for k, deviation in enumerate(deviations):
        step = np.where(
            deviation > 0, STEP * deviation, 1e-6 * np.maximum(np.abs(inputs[k]), 1e-12)
        )
        ends = []
        for sign in (1.0, -1.0):
            moved = inputs.copy()
            moved[k] += sign * step
            ends.append(place_of(moved))
        slopes[:, k] = (ends[0] - ends[1]) / (2 * step)
    variance = np.einsum("bi,bij,bj->b", slopes, covariance, slopes)
    place = place_of(inputs)
    good = np.isfinite(place) & np.isfinite(variance)
    return np.where(good, place, np.nan), np.where(good, np.sqrt(np.maximum(variance, 0.0)), np.nan)
