"""Making a suite: draw the truth, read it by a formulation that no answer inverts, freeze it.

Truth, nuisances and meters' errors are drawn within the limits that the prior of `cablesim.locate`
states, so that a posterior under that prior is calibrated on a suite if it is right. Every case has
a seed of its own. What is drawn is rounded before anything is read, so that the same seed makes the
same bytes wherever it runs.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import product

import numpy as np

from cablesim.benchmark.case import Case
from cablesim.benchmark.formulations import Formulation, Ladder
from cablesim.benchmark.meter_classes import METER_CLASSES, probes_of
from cablesim.benchmark.true_cable import Deviation
from cablesim.cable.cable import Cable
from cablesim.cable.construction import CONSTRUCTIONS
from cablesim.cable.faults import Fault
from cablesim.instruments.display import MeterErrors, displayed
from cablesim.instruments.meters import LoopBridge
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.limits import NORMAL_95, bound
from cablesim.locate.prior import heated_part, hypotheses, place_prior
from cablesim.scenario.scenario import Scenario

__all__ = ["DIFFICULTIES", "Plan", "cases_of", "difficulty_of", "drawn_case"]

DIFFICULTIES = {"easy": 0.3, "fair": 1.5}
"""Half of a 95 % interval at the limit, up to which a case counts as this [m]: a tile, an arm's
reach; beyond it a case is ``hard``, and ``open`` from a quarter of the cable on."""
_OPEN_SHARE = 0.25
# A bound of more lengths of the cable than this says that the readings do not tell the place.
_NO_BOUND = 10.0
# A supply of 230 V and usual outputs; common practice, no source.
_SUPPLY_VOLT = 230.0
_WATT_PER_M = (8.0, 20.0)
_LENGTH_M = (8.0, 120.0)
_TIGHT_CAPACITANCE = (-20.0, 25.0)


@dataclass(frozen=True, slots=True)
class Plan:
    """What a suite shall hold.

    Parameters
    ----------
    name, version, title
        Of the suite.
    seed
        Of the suite; case k begins with (seed, k).
    each
        Cases for each kind of damage, construction and class of meters.
    kinds, constructions, meters
        Which ones.
    formulation
        What makes the readings.
    """

    name: str
    version: int
    title: str
    seed: int
    each: int
    kinds: tuple[str, ...] = ("healthy", "short", "break", "degraded", "joint", "several")
    constructions: tuple[str, ...] = tuple(CONSTRUCTIONS)
    meters: tuple[str, ...] = tuple(METER_CLASSES)
    formulation: Formulation = field(default_factory=Ladder)

    @property
    def strata(self) -> tuple[tuple[str, str, str], ...]:
        """Kind, construction and class of meters of every case in order."""
        every = product(range(self.each), self.kinds, self.constructions, self.meters)
        return tuple((kind, built, meters) for _, kind, built, meters in every)


def cases_of(plan: Plan) -> Iterator[Case]:
    """Draw every case of a plan, in order."""
    for number, stratum in enumerate(plan.strata):
        yield drawn_case(number, (plan.seed, number), *stratum, formulation=plan.formulation)


def drawn_case(
    number: int,
    seed: tuple[int, ...],
    kind: str,
    construction: str,
    meters: str,
    *,
    formulation: Formulation,
) -> Case:
    """Draw one case.

    Parameters
    ----------
    number
        Its number in the suite.
    seed
        Of its random generator.
    kind, construction, meters
        What is broken, the construction, the class of meters.
    formulation
        What makes the readings.
    """
    rng = np.random.default_rng(seed)
    cable = _rated(construction, rng)
    faults = _damage(cable, kind, rng)
    probes = probes_of(cable, meters)
    deviation = Deviation.drawn(cable, rng)
    true = deviation.of(cable)
    errors = MeterErrors.drawn(probes, rng)
    exact = formulation.exact(true, faults, probes)
    unseen = [p.meter.unseen(true, faults, p.hookup, p.setting) for p in probes]
    shown = displayed(exact, probes, errors, unseen)
    readings = [Reading(p, _on_scale(p, float(s))) for p, s in zip(probes, shown, strict=True)]
    least = _bound_m(cable, faults, probes)
    return Case(
        number=number,
        seed=seed,
        kind=kind,
        construction=construction,
        meters=meters,
        difficulty=difficulty_of(cable, least) if faults else "none",
        scenario=Scenario.of(cable, faults, readings),
        deviation=deviation,
        gain_percent=tuple(_gain_percent(reading, errors) for reading in readings),
        lead_ohm=tuple(_rounded(float(errors.lead_ohm(probe))) for probe in probes),
        bound_m=least,
    )


def difficulty_of(cable: Cable, bound_m: float | None) -> str:
    """How well the readings can place a fault at best, by the bound."""
    half = np.inf if bound_m is None else NORMAL_95 * bound_m
    if half > _OPEN_SHARE * float(cable.heated_length_m):
        return "open"
    return next((name for name, most in DIFFICULTIES.items() if half <= most), "hard")


def _rated(construction: str, rng: np.random.Generator) -> Cable:
    """A cable of usual length and output, rounded as a label is."""
    length_m = float(np.exp(rng.uniform(*np.log(_LENGTH_M))))
    loop_ohm = _SUPPLY_VOLT**2 / (rng.uniform(*_WATT_PER_M) * length_m)
    lead_m = rng.uniform(1.5, 4)
    cable = Cable.rated(
        construction, round(length_m, 1), round(loop_ohm, 1), cold_lead_m=round(lead_m, 1)
    )
    if rng.random() < 0.5:
        cable = replace(cable, capacitance_tolerance_percent=_TIGHT_CAPACITANCE)
    return cable


def _damage(cable: Cable, kind: str, rng: np.random.Generator) -> tuple[Fault, ...]:
    """One of the damages of this kind, by the weights and ranges of the prior."""
    table = [h for h in hypotheses(cable) if h.verdict == kind]
    weights = np.array([h.weight for h in table])
    hypothesis = table[int(rng.choice(len(table), p=weights / weights.sum()))]
    where = place_prior(cable) if hypothesis.places < 2 else heated_part(cable)
    places = [round(float(at), 3) for at in where.place_m(rng.random(hypothesis.places))]
    ohms = [
        float(f"{low * (high / low) ** rng.random():.4g}") for low, high in hypothesis.resistances
    ]
    return hypothesis.at(places, ohms)


def _bound_m(cable: Cable, faults: tuple[Fault, ...], probes: Sequence[Probe]) -> float | None:
    """Least standard deviation of the place nearest the cold joint [m]."""
    if not faults:
        return None
    places = list(dict.fromkeys(float(fault.position_m) for fault in faults))
    least = float(bound(cable, faults, probes).place_m[0, places.index(min(places))])
    if not least <= _NO_BOUND * float(cable.heated_length_m):
        return None
    # Slopes are differences: their last digits are noise.
    return float(f"{least:.4g}")


def _on_scale(probe: Probe, shown: float) -> float:
    """A display, where errors would take a slide beyond its end: at its end."""
    slide = isinstance(probe.meter, LoopBridge) and probe.setting.method != "varley"
    return 1.0 if slide and 1.0 < shown < np.inf else shown


def _gain_percent(reading: Reading, errors: MeterErrors) -> float:
    """By how much the range on which a reading was taken reads high [%]."""
    probe, number = reading.probe, reading.gain_group[2]
    share = float(errors.gain_shares(probe)[number])
    return _rounded(share * probe.meter.accuracy_percent)


def _rounded(value: float) -> float:
    return float(f"{value:.9g}")
