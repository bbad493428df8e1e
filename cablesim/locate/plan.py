"""What to read next, and after that: information for the minutes that it costs, safe ones first.

A plan is greedy: at each step the reading with the most bits a minute, given displays of all steps
before it, whatever they may be. Of readings that give nearly as much for their minutes the least
dangerous one goes first. The first step is the same for a plan of any length, so that it is also
the one reading that an answer names.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import FloatArray
from cablesim.errors import InputError, looked_up
from cablesim.instruments.readings import Probe, Reading
from cablesim.locate.candidates import Candidate, candidates
from cablesim.locate.effort import RISKS, USUAL_EFFORT, Effort
from cablesim.locate.estimate import NextReading
from cablesim.locate.outlook import Gain, Outlook, outlook

if TYPE_CHECKING:
    from cablesim.locate.weighing import Posterior

__all__ = ["LeftOut", "Plan", "Step", "allowed_methods", "best_next", "plan_next"]

# Below this gain in bits a reading is not worth its minutes.
WORTH_BITS = 0.25
# What is so little above it may be there by chance, and more displays are drawn.
_DOUBTFUL_BITS = 0.15
# Gains for the minutes this near to the best count as equal.
_EQUAL = 0.8
# From this share of a gain on, that it tells what is broken comes before where.
_WHAT = 0.5
# A place counts as narrowed where its spread becomes this much shorter.
_NARROWED = 0.8
MOST_STEPS = 10
# Points for the steps after the first, each of which leaves fewer of them in agreement.
POINTS_OF_A_PLAN = 6000
_HIGH_VOLTAGE = RISKS.index("high-voltage")
_CAMERA_WORDS = {
    "edge": "while energised (see the cautions) the cable is warm up to a path between its cores "
    "and cold beyond it",
    "spot": "while energised (see the cautions) a bad joint is the hottest spot of the cable",
}
_WITHSTAND_WORDS = (
    "a high-voltage withstand test by a licensed person makes the weak spot break down, where a "
    "thermal camera may find it"
)


@dataclass(frozen=True, slots=True)
class Step:
    """One reading of a plan.

    Parameters
    ----------
    candidate
        What is read.
    effort
        What it costs.
    bits
        Expected information about what is broken and where.
    before_m, after_m
        Expected spread of the place before and after it [m], as `Outlook.open_m` has it, which is
        not the length of its 95 % intervals; 0 where all is healthy.
    why
        What it would decide, in words.
    """

    candidate: Candidate
    effort: Effort
    bits: float
    before_m: float
    after_m: float
    why: str

    @property
    def bits_per_minute(self) -> float:
        """Expected information for the work [bit/min]."""
        return self.bits / self.effort.minutes

    @property
    def reading(self) -> NextReading:
        """The step alone, as an answer names it."""
        read = self.candidate
        return NextReading(read.named, read.across, self.why, read.method, read.setting)

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {
            "method": self.candidate.method,
            "meter": self.candidate.named,
            "across": list(self.candidate.across),
            "setting": self.candidate.setting or None,
            "minutes": self.effort.minutes,
            "risk": self.effort.risk,
            "bits": self.bits,
            "before_m": self.before_m,
            "after_m": self.after_m,
            "why": self.why,
        }


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A method of which no reading could enter a plan.

    Parameters
    ----------
    method
        As in `USUAL_EFFORT`.
    by
        ``risk`` or ``without``, as given to `plan_next`; ``healthy`` where high voltage is left
        out since the cable is most likely healthy.
    bits
        The most that one of its readings is expected to tell; None where that was not reckoned,
        since the plan has steps or nobody could ask for the method.
    """

    method: str
    by: str
    bits: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {"method": self.method, "by": self.by, "bits": self.bits}


@dataclass(frozen=True, slots=True)
class Plan:
    """Readings to take one after the other.

    Parameters
    ----------
    steps
        In their order; none where no reading tells enough.
    others
        What else could be read first, the most bits a minute first.
    open_m
        Spread of the place as it is [m], as `Outlook.open_m` has it.
    left_out
        Methods that were not allowed; of a plan without steps those that would tell most first.
    """

    steps: tuple[Step, ...]
    others: tuple[Step, ...]
    open_m: float
    left_out: tuple[LeftOut, ...] = ()

    def to_dict(self) -> dict[str, Any]:
        """The fields by name, ready for JSON."""
        return {
            "level": 0.95,
            "open_m": self.open_m,
            "steps": [step.to_dict() for step in self.steps],
            "others": [step.to_dict() for step in self.others],
            "left_out": [each.to_dict() for each in self.left_out],
        }


def plan_next(
    cable: Cable,
    readings: Sequence[Reading],
    answers: Sequence[Posterior],
    bag: Sequence[Probe] = (),
    *,
    steps: int = 3,
    risk: str = "high-voltage",
    efforts: Mapping[str, Effort] = USUAL_EFFORT,
    without: Sequence[str] = (),
) -> Plan:
    """What to read next, and after that.

    Parameters
    ----------
    cable
        As rated.
    readings
        Those taken; not proposed again.
    answers
        The posterior of each hypothesis.
    bag
        Readings that were asked for, with one's own meters; the usual ones unless given.
    steps
        How many readings at most, from 1 to 10.
    risk
        The most dangerous that is allowed, one of `RISKS`.
    efforts
        Minutes and risk of each method; a method that it lacks is not proposed.
    without
        Methods that are not at hand.

    Raises
    ------
    InputError
        If the number of steps, the risk or a method is none of these.
    """
    allowed = allowed_methods(steps=steps, risk=risk, efforts=efforts, without=without)
    most = RISKS.index(risk)
    # Nobody energises or overstresses a cable that seems healthy to find a fault in it.
    healthy = bool(answers) and not answers[0].hypothesis.faults
    offered: list[Candidate] = []
    costs: list[Effort] = []
    barred: dict[str, list[Candidate]] = {"risk": [], "without": [], "healthy": []}
    for read in candidates(cable, bag, readings, faulty=_faulty(answers)):
        priced = efforts.get(read.method)
        effort = priced.on(read.probe.meter) if priced else None
        if healthy and effort and effort.rank >= _HIGH_VOLTAGE:
            barred["healthy"].append(read)
        elif effort is None or read.method not in allowed:
            barred["without"].append(read)
        elif effort.rank > most:
            barred["risk"].append(read)
        else:
            offered.append(read)
            costs.append(effort)
    left_out = _left_out(barred)
    seen = outlook(answers, offered) if offered else None
    if seen is None:
        return Plan((), (), 0.0, _with_bits(left_out, barred, answers))
    left = list(range(len(offered)))
    weights, open_m = seen.nothing_read(), seen.open_m
    offers = _offers(seen, weights, left, costs, open_m)
    doubtful = [k for k in left if 0.0 <= offers[k].bits - WORTH_BITS < _DOUBTFUL_BITS]
    if doubtful:
        closer = seen.closer
        offers |= _offers(closer, closer.nothing_read(), doubtful, costs, open_m)
    chosen = _chosen(offers)
    others = sorted(
        (step for k, step in offers.items() if k != chosen and step.bits >= WORTH_BITS),
        key=lambda step: -step.bits_per_minute,
    )
    taken: list[Step] = []
    while chosen is not None:
        taken.append(offers[chosen])
        left.remove(chosen)
        if len(taken) == steps:
            break
        if len(taken) == 1:
            seen = outlook(answers, offered, POINTS_OF_A_PLAN) or seen
            weights = seen.nothing_read()
        weights = seen.after(chosen, weights)
        offers = _offers(seen, weights, left, costs, taken[-1].after_m)
        chosen = _chosen(offers)
    if not taken:
        left_out = _with_bits(left_out, barred, answers)
    return Plan(tuple(taken), tuple(others), open_m, left_out)


def allowed_methods(
    *, steps: int, risk: str, efforts: Mapping[str, Effort], without: Sequence[str]
) -> dict[str, Effort]:
    """The methods that a plan may use, with what they cost where the meter does not matter.

    Parameters
    ----------
    steps, risk, efforts, without
        As for `plan_next`.

    Raises
    ------
    InputError
        If the number of steps, the risk or a method is none that there is.
    """
    if steps not in range(1, MOST_STEPS + 1):
        raise InputError("steps", steps, f"a whole number from 1 to {MOST_STEPS}")
    if risk not in RISKS:
        raise InputError("risk", risk, "one of " + ", ".join(RISKS))
    for method in without:
        looked_up("method", method, efforts)
    return {method: effort for method, effort in efforts.items() if method not in without}


def _faulty(answers: Sequence[Posterior]) -> str:
    """The one core that most probably leaks to the braid; the first where none does by itself."""
    weight: dict[str, float] = {}
    for answer in answers:
        for fault in answer.hypothesis.faults:
            if "braid" in (between := getattr(fault, "between", ())):
                (core,) = (name for name in between if name != "braid")
                weight[core] = weight.get(core, 0.0) + answer.probability
    return max(sorted(weight), key=lambda core: round(weight[core], 6), default="core1")


def best_next(
    cable: Cable,
    readings: Sequence[Reading],
    answers: Sequence[Posterior],
    bag: Sequence[Probe] = (),
) -> Step | None:
    """The first step of a plan, or None where no reading tells more than it costs.

    Parameters
    ----------
    cable, readings, answers, bag
        As for `plan_next`.
    """
    steps = plan_next(cable, readings, answers, bag, steps=1).steps
    return steps[0] if steps else None


def _left_out(barred: Mapping[str, Sequence[Candidate]]) -> tuple[LeftOut, ...]:
    """The methods of readings that were not allowed, by what they were not."""
    return tuple(
        LeftOut(method, by)
        for by, reads in barred.items()
        for method in dict.fromkeys(read.method for read in reads)
    )


def _with_bits(
    left_out: Sequence[LeftOut],
    barred: Mapping[str, Sequence[Candidate]],
    answers: Sequence[Posterior],
) -> tuple[LeftOut, ...]:
    """The same with what they would tell, the most first: for whoever may change their mind."""
    reads = [*barred["risk"], *barred["without"]]
    seen = outlook(answers, reads) if reads else None
    if seen is None:
        return tuple(left_out)
    bits: dict[str, float] = {}
    for k, gain in seen.gains(seen.nothing_read(), range(len(reads))).items():
        method = reads[k].method
        bits[method] = max(bits.get(method, 0.0), gain.bits)
    told = [
        replace(each, bits=bits[each.method]) if each.by != "healthy" else each for each in left_out
    ]
    return tuple(sorted(told, key=lambda each: -(each.bits or 0.0)))


def _offers(
    seen: Outlook,
    weights: FloatArray,
    left: Sequence[int],
    efforts: Sequence[Effort],
    open_m: float,
) -> dict[int, Step]:
    """Every reading that is left, as a step."""
    return {
        k: _step(seen.candidates[k], efforts[k], gain, open_m)
        for k, gain in seen.gains(weights, left).items()
    }


def _chosen(offers: Mapping[int, Step]) -> int | None:
    """The best for its minutes; of those nearly as good the least dangerous."""
    worth = {k: step for k, step in offers.items() if step.bits >= WORTH_BITS}
    if not worth:
        return None
    best = max(step.bits_per_minute for step in worth.values())
    near = [k for k, step in worth.items() if step.bits_per_minute >= _EQUAL * best]
    return min(near, key=lambda k: (worth[k].effort.rank, -worth[k].bits_per_minute))


def _step(candidate: Candidate, effort: Effort, gain: Gain, open_m: float) -> Step:
    after_m = open_m * 2.0**-gain.halvings
    narrowed = after_m < _NARROWED * open_m
    if gain.bits_what > _WHAT * gain.bits or (gain.bits_what >= WORTH_BITS and not narrowed):
        why = "would tell apart what may be broken"
    elif narrowed:
        # A ratio, since a length would be taken for that of the interval beside it.
        why = f"would narrow the place about {_times(open_m / after_m)} times"
    else:
        why = "would check the answer"
    if candidate.method == "thermal_camera":
        why = f"{why}; {_CAMERA_WORDS[candidate.probe.setting.method or 'spot']}"
    if candidate.method == "withstand_and_camera":
        why = f"{why}; {_WITHSTAND_WORDS}"
    return Step(candidate, effort, gain.bits, open_m, after_m, why)


def _times(ratio: float) -> str:
    """A ratio as one says it.

    >>> _times(2.38), _times(347.0)
    ('2.4', '350')
    """
    return f"{float(f'{ratio:.2g}'):g}"
