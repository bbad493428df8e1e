"""Simulated measurements: the true cable within its tolerance, the meters with their errors."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from cablesim.benchmark.study.damages import Damage
from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray, require
from cablesim.instruments.readings import Probe, measure
from cablesim.line.ladder import ladder
from cablesim.line.layout import MeshMaker
from cablesim.line.piece import uniform_piece
from cablesim.locate.parameters import uncertain_in

__all__ = ["FORMULATIONS", "Conditions", "displays", "true_cable"]

# Rungs in each uniform piece of the second formulation.
RUNGS = 48
FORMULATIONS: dict[str, MeshMaker] = {"exact": uniform_piece, "ladder": ladder(RUNGS)}
# All that a study varies: whatever a meter of these kinds could notice.
_EVERY_KIND = ("pulse_echo", "insulation_tester")
_LEAST_PERCENT = -90.0


@dataclass(frozen=True, slots=True)
class Conditions:
    """What else is true of cable and fault, and unknown to the method.

    Parameters
    ----------
    tolerance_share
        How far the true cable deviates, as a multiple of the limits stated for core resistance,
        capacitances and speed; 1 is as stated, 0 is a cable as rated.
    warmer_kelvin
        By how much the heated part is warmer than stated [K].
    drift_percent
        How unsteady the fault is, see `cablesim.instruments.drift` [%].
    """

    tolerance_share: float = 1.0
    warmer_kelvin: float = 0.0
    drift_percent: float = 0.0

    def __post_init__(self) -> None:
        require("tolerance_share", self.tolerance_share, at_least=0.0, at_most=10.0)
        require("warmer_kelvin", self.warmer_kelvin, at_least=-100.0, at_most=200.0)
        require("drift_percent", self.drift_percent, at_least=0.0, at_most=1000.0)


def true_cable(
    cable: Cable,
    shape: tuple[int, ...],
    *,
    rng: np.random.Generator,
    conditions: Conditions | None = None,
) -> Cable:
    """Cables as they really are: what `locate` holds uncertain, drawn within its limits.

    Parameters
    ----------
    cable
        As rated, plain numbers.
    shape
        Shape of the batch.
    rng
        Source of the deviations.
    conditions
        How far they go.
    """
    given = conditions or Conditions()

    def scaled(limits: tuple[float, float]) -> tuple[float, float]:
        low, high = (given.tolerance_share * limit for limit in limits)
        return max(low, _LEAST_PERCENT), high

    wider = replace(
        cable,
        tolerance_percent=scaled(cable.tolerance_percent),
        capacitance_tolerance_percent=scaled(cable.capacitance_tolerance_percent),
        velocity_tolerance_percent=scaled(cable.velocity_tolerance_percent),
        temperature_c=cable.temperature_c + given.warmer_kelvin,
    )
    fields: dict[str, object] = {}
    for _, change in uncertain_in(wider, _EVERY_KIND, at_frequency=True):
        fields |= change(wider, rng.random(shape))
    return replace(wider, **fields)  # type: ignore[arg-type]


def displays(
    cable: Cable,
    damage: Damage,
    place_m: FloatArray,
    resistance_ohm: FloatArray,
    probes: Sequence[Probe],
    *,
    draws: int,
    seed: Sequence[int],
    conditions: Conditions | None = None,
    formulation: str = "exact",
) -> FloatArray:
    """What the displays say, many times at each place.

    Parameters
    ----------
    cable
        As rated.
    damage, place_m, resistance_ohm
        What is broken, where and by how much: shapes (places,) and (resistances,).
    probes
        What is read.
    draws
        How many measurements of each, every one of another true cable and with other errors.
    seed
        The cables' deviations and the meters' errors come from two generators of this seed: other
        meters read the same cables.
    conditions
        What else is true.
    formulation
        One of `FORMULATIONS`.

    Returns
    -------
    ndarray, shape (resistances, places, draws, readings)
        In each meter's unit; infinite for over range.
    """
    given = conditions or Conditions()
    cables, errors = (np.random.default_rng((*seed, k)) for k in range(2))
    shape = (len(resistance_ohm), len(place_m), draws)
    real = true_cable(cable, shape, rng=cables, conditions=given)
    # Spelt out over the batch: a meter that takes places alone then sees all of it.
    at_m = np.broadcast_to(place_m[:, None], shape)
    ohm = np.broadcast_to(resistance_ohm[:, None, None], shape)
    faults = damage.faults(real, at_m, ohm, given.drift_percent)
    return measure(real, faults, probes, rng=errors, mesh_of=FORMULATIONS[formulation])
