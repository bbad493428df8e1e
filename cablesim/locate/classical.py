"""The classical closed forms as estimators: an `Estimate` from cable and readings, or why not.

Each interval is the place plus and minus its expanded uncertainty, from the meters' stated errors
(counts and rounding of each display; one gain for each range and one lead resistance for each
meter, which correlate the readings) and the tolerance of what a formula takes from the cable,
propagated as in `cablesim.locate.propagation`. No other source of error is in it: that a formula
leaves something out is told apart, by putting its own answer into the exact circuit, reading that
with ideal meters and looking where the formula puts it then.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Break, Joint
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError, looked_up
from cablesim.instruments.readings import Reading, predict
from cablesim.locate.advice import cautions, methods_of, placed_m
from cablesim.locate.batch import bare_of, display_covariance
from cablesim.locate.budget import Declined
from cablesim.locate.estimate import Density, Estimate, FaultEstimate
from cablesim.locate.propagation import coverage_factor, propagate
from cablesim.locate.recipes import RECIPES, Prepared

__all__ = ["ESTIMATORS", "Estimator", "Worked", "methods_named", "reading_covariance", "worked"]

Estimator = Callable[[Cable, Sequence[Reading]], Estimate | Declined]

ALL = "all"
# What a formula may leave out, and the cable without it.
_EFFECTS: dict[str, Callable[[Cable], Cable]] = {
    "the capacitance between the cores": lambda c: replace(
        c, capacitance_core_core_pf_per_m=1e-6, cold_lead_capacitance_core_core_pf_per_m=None
    ),
    "the braid's resistance": lambda c: replace(c, braid_ohm_per_m=1e-9),
    "the cold leads": lambda c: replace(c, cold_lead_m=0.0),
    "the leakage of the healthy insulation": lambda c: replace(
        c, insulation_gigaohm_m=np.inf, cold_lead_insulation_gigaohm_m=None
    ),
    "unequal cores": lambda c: replace(
        c,
        core_ohm_per_m=(float(sum(c.core_ohm_per_m)) / len(c.core_ohm_per_m),)
        * len(c.core_ohm_per_m),
    ),
    "losses in the insulation": lambda c: replace(c, loss_tangent=0.0, cold_lead_loss_tangent=None),
}
# A bias is told from this length on, or from this share of the interval.
_TOLD_M, _TOLD_SHARE = 0.01, 0.1
_ROUNDS = 8
_CURVE = 161


@dataclass(frozen=True, slots=True)
class Worked:
    """A method's answer with what it leaves out.

    Parameters
    ----------
    method
        Name of the method.
    estimate
        Its answer, in the contract of `locate`.
    bias_m
        How far the formula is off at this place [m]: positive is too far out. NaN where its place
        lies off the cable.
    corrected_m
        Place at which the exact circuit makes the formula say what it says [m].
    cause
        What mainly makes the bias; empty where there is none worth telling.
    """

    method: str
    estimate: Estimate
    bias_m: float
    corrected_m: float
    cause: str

    @property
    def note(self) -> str:
        """The bias in words; empty where there is none worth telling."""
        if not self.cause:
            return ""
        way = "far out" if self.bias_m > 0 else "near"
        return (
            f"the formula puts it {abs(self.bias_m):.2g} m too {way} here, mainly for "
            f"{self.cause}; by the exact circuit {self.corrected_m:.2f} m"
        )

    def to_dict(self) -> dict[str, Any]:
        """The object under ``methods`` of ``cablesim locate --method --json``."""
        known = np.isfinite(self.bias_m)
        return {
            "method": self.method,
            "estimate": self.estimate.to_dict(),
            "bias_m": self.bias_m if known else None,
            "corrected_m": self.corrected_m if known else None,
            "note": self.note or None,
        }


def methods_named(name: str) -> tuple[str, ...]:
    """The one method of this name, or every method for ``"all"``.

    Raises
    ------
    InputError
        If there is no such method; the message gives the nearest.
    """
    if name == ALL:
        return tuple(RECIPES)
    looked_up("method", name, {**RECIPES, ALL: None})
    return (name,)


def worked(
    method: str, cable: Cable, readings: Sequence[Reading], *, level: float = 0.95
) -> Worked | Declined:
    """Answer by one classical method.

    Parameters
    ----------
    method
        Name of the method, one of `ESTIMATORS`.
    cable
        As rated, plain numbers.
    readings
        In any number and order; those that the method does not need are left aside.
    level
        Probability that the interval is meant to hold.

    Returns
    -------
    Worked or Declined
        Declined where a reading that the method needs is missing or has no value, or where the
        cable is not one for it.

    Raises
    ------
    InputError
        If there is no such method; the message gives the nearest.
    """
    recipe = looked_up("method", method, RECIPES)
    prepared = recipe(cable, readings)
    if isinstance(prepared, Declined):
        return prepared
    bare, _ = _middle(prepared)
    count = len(bare)
    inputs = np.append(bare, np.ones(len(prepared.spread)))
    covariance = np.zeros((len(inputs), len(inputs)))
    covariance[:count, :count] = reading_covariance(prepared.readings)
    covariance[count:, count:] = np.diag(np.square(prepared.spread))
    try:
        found = propagate(
            lambda x: np.nan_to_num(prepared.formula(x[:count], x[count:])), inputs, covariance
        )
        place, ohm = map(float, prepared.formula(bare, inputs[count:]))
    except InputError as error:
        return Declined(f"cannot be formed from these readings: {error}")
    half = coverage_factor(level) * float(found.uncertainty[0])
    ohm = prepared.resistance_ohm if np.isnan(ohm) else max(float(ohm), 0.0)
    estimate = _estimate(cable, prepared, place, half, ohm, level)
    corrected = _inverted(cable, prepared, place, ohm)
    bias = place - corrected
    told = np.isfinite(bias) and abs(bias) >= max(_TOLD_M, _TOLD_SHARE * half)
    cause = _cause(recipe, cable, readings, corrected, ohm) if told else ""
    result = Worked(method, estimate, bias, corrected, cause)
    if not result.note:
        return result
    noted = (_sentence(result.note), *estimate.cautions)
    return replace(result, estimate=replace(estimate, cautions=noted))


def reading_covariance(readings: Sequence[Reading]) -> FloatArray:
    """Covariance of displays from the meters' stated limits, all rectangular.

    Parameters
    ----------
    readings
        Readings that have a value.

    Returns
    -------
    ndarray, shape (readings, readings)
        In the products of the meters' units: counts and rounding on the diagonal, a gain for those
        of one meter and range, a lead resistance for those of one meter.
    """
    shown = np.array([reading.shown for reading in readings])
    return display_covariance([reading.probe for reading in readings], shown)


def _estimate(
    cable: Cable, prepared: Prepared, place: float, half: float, ohm: float, level: float
) -> Estimate:
    interval = (place - half, place + half)
    faults = []
    known = (
        not np.isnan(float(prepared.formula(*_middle(prepared))[1])) if prepared.readings else False
    )
    for fault in prepared.damage(place, ohm):
        series = isinstance(fault, Break | Joint)
        faults.append(
            FaultEstimate(
                kind=fault.kind,
                between=None if isinstance(fault, Break | Joint) else fault.between,
                conductors=fault.conductors if isinstance(fault, Break | Joint) else None,
                position_m=place,
                interval_m=interval,
                intervals_m=(interval,),
                resistance_ohm=ohm if known and not series else None,
            )
        )
    reason = ""
    low, high = float(cable.first_m), float(cable.last_m)
    if interval[1] < low or interval[0] > high:
        reason = "the formula puts it off the cable, so the method does not fit what is broken"
    elif 2 * half > placed_m(cable):
        reason = f"the method leaves {2 * half:.2g} m open"
    verdict = faults[0].kind
    spots = place + half * np.linspace(-2, 2, _CURVE)
    width = max(half, 1e-12) / coverage_factor(level)
    middle = (spots[1:] + spots[:-1]) / 2
    height = np.exp(-0.5 * ((middle - place) / width) ** 2)
    density = Density(spots, height / np.sum(height * np.diff(spots))) if half > 0 else None
    return Estimate(
        verdict=verdict,
        probability=1.0,
        locatable=not reason,
        reason=reason,
        faults=tuple(faults),
        level=level,
        alternatives=(),
        next_reading=None,
        cautions=cautions(methods_of(r.probe.meter for r in prepared.readings), opening=True),
        density=density,
    )


def _middle(prepared: Prepared) -> tuple[FloatArray, FloatArray]:
    probes = [reading.probe for reading in prepared.readings]
    bare = bare_of(probes, np.array([reading.shown for reading in prepared.readings]))
    return bare, np.ones(len(prepared.spread))


def _said(cable: Cable, prepared: Prepared, at_m: float, fault_ohm: float) -> tuple[float, float]:
    """What the formula says to ideal readings of the exact circuit."""
    exact = predict(cable, prepared.damage(at_m, fault_ohm), [r.probe for r in prepared.readings])
    if not np.isfinite(exact).all():
        return float("nan"), float("nan")
    try:
        place, ohm = prepared.formula(np.asarray(exact, float), np.ones(len(prepared.spread)))
        return float(place), float(ohm)
    except InputError:
        return float("nan"), float("nan")


def _inverted(cable: Cable, prepared: Prepared, place: float, ohm: float) -> float:
    """Place at which the formula says this place, by the exact circuit; NaN where there is none."""
    first, last = float(cable.first_m), float(cable.last_m)
    if not first <= place <= last:
        return float("nan")
    at, fault = place, ohm
    for _ in range(_ROUNDS):
        said, said_ohm = _said(cable, prepared, at, fault)
        if np.isnan(said):
            return float("nan")
        at = float(np.clip(at - (said - place), first, last))
        if not np.isnan(said_ohm):
            fault = max(fault - (said_ohm - ohm), 0.0 if fault < 1e4 else 1.0)
    return at


def _cause(
    recipe: Callable[[Cable, Sequence[Reading]], Prepared | Declined],
    cable: Cable,
    readings: Sequence[Reading],
    place: float,
    ohm: float,
) -> str:
    """What makes most of the bias: that without which most of it is gone."""
    left: dict[str, float] = {}
    for name, without in _EFFECTS.items():
        other = without(cable)
        prepared = recipe(other, readings)
        if isinstance(prepared, Declined) or not other.first_m <= place <= other.last_m:
            continue
        said, _ = _said(other, prepared, place, ohm)
        if np.isfinite(said):
            left[name] = abs(said - place)
    return min(left, key=lambda name: left[name]) if left else "what it leaves out"


def _sentence(clause: str) -> str:
    return clause[:1].upper() + clause[1:] + "."


def _estimator(method: str) -> Estimator:
    def estimator(cable: Cable, readings: Sequence[Reading]) -> Estimate | Declined:
        found = worked(method, cable, readings)
        return found if isinstance(found, Declined) else found.estimate

    estimator.__name__ = method
    estimator.__doc__ = f"The classical method ``{method}``, see `cablesim.locate.classical`."
    return estimator


ESTIMATORS: dict[str, Estimator] = {name: _estimator(name) for name in RECIPES}
"""Every classical method as an estimator, by name."""
