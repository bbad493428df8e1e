"""Making cases: draw damage, see how hard it is, keep what the syllabus asks for."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Degraded, Fault, Short
from cablesim.errors import InputError
from cablesim.instruments.meters import Meter
from cablesim.instruments.readings import Probe
from cablesim.locate.prior import Hypothesis, heated_part, hypotheses, place_prior
from cablesim.locate.unsteady import loosened
from cablesim.scenario.practice import MOST_SEED, Deviation, Practice
from cablesim.scenario.scenario import Scenario
from cablesim.training.bags import bag_of, first_probes, probes_of
from cablesim.training.bench import Bench
from cablesim.training.case import Case
from cablesim.training.difficulty import width_of
from cablesim.training.evidence import loosened_probes, taken
from cablesim.training.floors import invented_floor
from cablesim.training.levels import PLAUSIBLE, level_of
from cablesim.training.stories import told_story, told_title
from cablesim.training.syllabus import Syllabus

__all__ = ["case_name", "make_case", "make_cases"]

# So many draws for one case before the syllabus is said to have none.
_MOST_DRAWS = 2000
# One kind of damage is drawn so often before another one gets its turn.
_PATIENCE = 60
# Share of cases that cannot be located, where they are asked for.
_HOPELESS_SHARE = 0.2
_LENGTHS_M = (10.0, 60.0)
_WATT_PER_M = (8.0, 20.0)
_COLD_LEAD_M = (1.5, 4.0)
# Somebody has measured a piece of the same cable; common practice, no source.
_CAPACITANCE_PERCENT = (-20.0, 25.0)
# So near to an end of the heated part nothing is drawn: the splice there is the joint's own.
_FROM_ENDS_M = 0.1
_DRIFT_PERCENT = (10.0, 50.0)
_UNSTEADY = ("short", "degraded")
# A level that only hypotheses could raise costs many posteriors: it is tried once in so many draws.
_RAISED_ONCE_IN = 3


def make_cases(syllabus: Syllabus) -> Iterator[Case]:
    """Make the cases of a syllabus, one after the other.

    The same syllabus gives the same cases; each case has a stream of chance of its own.

    Parameters
    ----------
    syllabus
        What is asked for.

    Raises
    ------
    InputError
        If no damage of these kinds is as hard as asked for with this bag.

    Examples
    --------
    >>> (case,) = make_cases(Syllabus(number=1, seed=5, levels=(1,), kinds=("short",)))
    >>> case.key.level, case.faults[0].kind, case.trainee.faults
    (1, 'short', ())
    """
    known: set[tuple[object, ...]] = set()
    for number in range(1, syllabus.number + 1):
        case = make_case(syllabus, number, without=known)
        known.add(_signature(case.cable, case.faults))
        yield case


def make_case(
    syllabus: Syllabus, number: int, *, without: Collection[tuple[object, ...]] = ()
) -> Case:
    """Make one case of a syllabus.

    Parameters
    ----------
    syllabus
        What is asked for.
    number
        Of the case, from 1.
    without
        Cables with damage that are not made again.

    Raises
    ------
    InputError
        If no damage of these kinds is as hard as asked for with this bag.
    """
    rng = np.random.default_rng([syllabus.seed, number])
    levels = syllabus.levels
    hopeless = syllabus.hopeless and bool(rng.random() < _HOPELESS_SHARE)
    # What cannot be located is as hard as it is.
    levels = () if hopeless else levels
    wanted = _Wanted(
        name=case_name(syllabus, number),
        meters=bag_of(syllabus.bag),
        level=levels[(number - 1) % len(levels)] if levels else None,
        hopeless=hopeless,
    )
    kinds = [k for k in syllabus.kinds if not syllabus.unsteady or k in _UNSTEADY]
    kind = kinds[0]
    for tried in range(_MOST_DRAWS):
        if tried % _PATIENCE == 0:
            kind = kinds[int(rng.integers(len(kinds)))]
        draw = _drawn(syllabus, kind, rng)
        if draw is None or _signature(draw.label, draw.faults) in without:
            continue
        case = _judged(wanted, syllabus, draw, rng)
        if case is not None:
            return case
    sought = f"damage of level {wanted.level}" if wanted.level else "damage that it can place"
    sought = "damage that it cannot place" if wanted.hopeless else sought
    raise InputError(
        f"the bag {', '.join(wanted.meters)} has no {sought} among {', '.join(kinds)}",
        try_this="ask for other levels or kinds, or give it another meter",
    )


def case_name(syllabus: Syllabus, number: int) -> str:
    """The name of a case, which says nothing of it.

    Parameters
    ----------
    syllabus
        What is asked for.
    number
        Of the case, from 1.
    """
    return f"{syllabus.prefix}-{number:0{max(2, len(str(syllabus.number)))}d}"


@dataclass(frozen=True, slots=True)
class _Wanted:
    """What one case must be."""

    name: str
    meters: Mapping[str, Meter]
    level: int | None
    hopeless: bool


@dataclass(frozen=True, slots=True)
class _Draw:
    """A cable with damage, not yet judged."""

    label: Cable
    true: Deviation
    faults: tuple[Fault, ...]
    seed: int


def _signature(label: Cable, faults: Sequence[Fault]) -> tuple[object, ...]:
    """What no two cases have in common."""
    places = tuple(float(fault.position_m) for fault in faults)
    return (float(label.heated_length_m), float(label.loop_resistance_ohm), places)


def _drawn(syllabus: Syllabus, kind: str, rng: np.random.Generator) -> _Draw | None:
    """A cable of the market, its damage, and how it differs from its label."""
    construction = syllabus.constructions[int(rng.integers(len(syllabus.constructions)))]
    length_m = round(float(np.exp(rng.uniform(*np.log(_LENGTHS_M)))), 1)
    watt_per_m = rng.uniform(*_WATT_PER_M)
    label = Cable.rated(
        construction,
        length_m,
        round(230.0**2 / (watt_per_m * length_m), 1),
        cold_lead_m=round(rng.uniform(*_COLD_LEAD_M), 1),
        capacitance_tolerance_percent=_CAPACITANCE_PERCENT,
    )
    table = [h for h in hypotheses(label) if _asked_for(h, syllabus, kind)]
    if not table:
        return None
    hypothesis = table[int(rng.integers(len(table)))]
    prior = place_prior(label) if hypothesis.places < 2 else heated_part(label)
    places = [round(float(p), 2) for p in prior.place_m(rng.random(hypothesis.places))]
    ohms = [_rounded(low * (high / low) ** rng.random()) for low, high in hypothesis.resistances]
    drift = round(rng.uniform(*_DRIFT_PERCENT), 0) if syllabus.unsteady else 0.0
    seed = int(rng.integers(MOST_SEED))
    true = _deviation(label, rng)
    if any(not _FROM_ENDS_M <= place <= length_m - _FROM_ENDS_M for place in places):
        return None
    faults = tuple(
        replace(fault, drift_percent=drift) if isinstance(fault, Short | Degraded) else fault
        for fault in hypothesis.at(places, ohms)
    )
    return _Draw(label, true, faults, seed)


def _asked_for(hypothesis: Hypothesis, syllabus: Syllabus, kind: str) -> bool:
    kinds = [fault.kind for fault in hypothesis.faults]
    if len(kinds) != syllabus.faults:
        return False
    return kind in kinds and all(one in syllabus.kinds for one in kinds)


def _deviation(label: Cable, rng: np.random.Generator) -> Deviation:
    """How the true cable differs from its label, within what `locate` holds possible."""

    def within(limits: tuple[float, float]) -> float:
        return round(1 + rng.uniform(*limits) / 100, 4)

    capacitance = label.capacitance_tolerance_percent
    return Deviation(
        core=within(label.tolerance_percent),
        braid=round(2.0 ** rng.uniform(-1, 1), 4),
        insulation=round(30.0 ** rng.uniform(-1, 1), 4),
        capacitance_core_braid=within(capacitance),
        capacitance_core_core=within(capacitance),
        velocity=within(label.velocity_tolerance_percent),
    )


def _judged(
    wanted: _Wanted, syllabus: Syllabus, draw: _Draw, rng: np.random.Generator
) -> Case | None:
    """The case, where it is as hard as asked for; else None."""
    meters, level, hopeless = wanted.meters, wanted.level, wanted.hopeless
    probes = probes_of(draw.label, meters)
    first = first_probes(draw.label, meters)
    evidence = loosened_probes(draw.label, draw.faults, probes)
    width = width_of(draw.label, draw.faults, evidence)
    if width.placed == hopeless:
        return None
    needed = tuple(dict.fromkeys((*first, *(probes[k] for k in width.needed))))
    # The hypotheses can only raise the level, by one: what is far off costs no posterior.
    least, most = (level_of(width.half_width_m, len(needed), open_) for open_ in (1, len(probes)))
    if level not in (None, least) and (level != most or rng.integers(_RAISED_ONCE_IN)):
        return None
    bench = Bench(draw.true.of(draw.label), draw.faults, draw.seed)
    plausible = _plausible(draw.label, loosened(taken(bench, first)))
    found = level_of(width.half_width_m, len(needed), plausible)
    if level not in (None, found):
        return None
    if not _as_promised(draw, bench, probes if hopeless else needed, hopeless):
        return None
    told = Scenario.of(
        draw.label,
        meters=meters.values(),
        supply_volt=230.0,
        title=told_title(rng),
        floor=invented_floor(float(draw.label.heated_length_m), syllabus.covered, rng),
        practice=Practice(told_story(draw.label, draw.faults, rng), syllabus.covered),
    )
    return Case.of(
        wanted.name,
        told,
        draw.faults,
        level=found,
        seed=draw.seed,
        true=draw.true,
        locatable=not hopeless,
        half_width_m=_rounded(width.half_width_m),
        readings_needed=None if hopeless else len(needed),
        plausible=plausible,
    )


def _plausible(label: Cable, readings: Sequence[object]) -> int:
    """Hypotheses that stay plausible."""
    from cablesim.locate.weighing import posterior

    answers = posterior(label, readings)  # type: ignore[arg-type]
    return max(1, sum(answer.probability >= PLAUSIBLE for answer in answers))


def _as_promised(draw: _Draw, bench: Bench, probes: Sequence[Probe], hopeless: bool) -> bool:
    """Whether `locate` finds the damage with these readings, or says that it cannot."""
    from cablesim.locate.answer import locate
    from cablesim.report.marking import mark

    estimate = locate(draw.label, taken(bench, probes))
    marked = mark(estimate, draw.faults)
    if hopeless:
        return not estimate.locatable
    return estimate.locatable and marked is not None and marked.right


def _rounded(value: float) -> float:
    """Three significant digits, as people write a value down."""
    return float(f"{value:.3g}") if math.isfinite(value) else value
