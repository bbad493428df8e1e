"""What a key reasons with: closed forms on the readings of a case, and what is often done wrong."""

from __future__ import annotations

from dataclasses import dataclass

from cablesim.cable.cable import Cable
from cablesim.locate.budget import Declined
from cablesim.locate.classical import worked
from cablesim.training.sheets import sums
from cablesim.training.sheets.content import Sum
from cablesim.training.sheets.expert import Expert, Taken

__all__ = [
    "Method",
    "Mistake",
    "Solved",
    "echo_methods",
    "half_m",
    "ohm_pairs",
    "other_core",
    "values",
]


@dataclass(frozen=True, slots=True)
class Mistake:
    """What is often done wrong, and what it would have given."""

    what: str
    sum: Sum


@dataclass(frozen=True, slots=True)
class Method:
    """One closed form on the readings of the case.

    Parameters
    ----------
    name
        In a word or two.
    why
        Why it answers this damage.
    sum
        Its arithmetic.
    half_m
        Half of its 95 % interval, from the meters' limits [m]; None where it was not told.
    mistakes
        What is often done wrong with it.
    """

    name: str
    why: str
    sum: Sum
    half_m: float | None
    mistakes: tuple[Mistake, ...] = ()


@dataclass(frozen=True, slots=True)
class Solved:
    """How a case is reasoned out.

    Parameters
    ----------
    kind
        What the readings come down to, in a sentence.
    methods
        The closed forms that serve, the narrowest first; empty where none places it.
    bounds
        What can be said where no place can.
    wide
        Closed forms that hold the place within an interval too wide to open by.
    failing
        Closed forms that do not answer this damage, with what they would have given.
    advice
        What else to say or do.
    """

    kind: str
    methods: tuple[Method, ...]
    bounds: tuple[Sum, ...] = ()
    wide: tuple[Method, ...] = ()
    failing: tuple[Method, ...] = ()
    advice: tuple[str, ...] = ()


def half_m(expert: Expert, method: str) -> float | None:
    """Half of the 95 % interval of a classical method on the readings so far [m].

    Parameters
    ----------
    expert
        With its readings.
    method
        Name of the method; None comes back where it declines.
    """
    found = worked(method, expert.case.cable, expert.readings())
    if isinstance(found, Declined):
        return None
    low, high = found.estimate.faults[0].interval_m
    return (high - low) / 2


def values(*taken: Taken | None) -> list[float] | None:
    """The numbers of readings; None where one is missing or shows none.

    Parameters
    ----------
    *taken
        The readings.
    """
    numbers = [t.value for t in taken if t is not None and t.has_value]
    return numbers if len(numbers) == len(taken) else None


def ohm_pairs(cable: Cable) -> tuple[tuple[str, str], ...]:
    """What an ohmmeter reads first.

    Parameters
    ----------
    cable
        Its construction decides.
    """
    if cable.construction.returns:
        return (("core1", "core1@far"), ("core1", "braid"), ("core1@far", "braid"))
    return (("core1", "core2"), ("core1", "braid"), ("core2", "braid"))


def other_core(core: str) -> str:
    """The other core of a cable with two."""
    return "core2" if core == "core1" else "core1"


def echo_methods(expert: Expert, first: str, second: str, sign: str) -> tuple[Method, ...]:
    """Pulse echo between two conductors; empty where the bag has none, or no echo is seen.

    Parameters
    ----------
    expert
        Takes the reading.
    first, second
        What the leads touch.
    sign
        Of the echo: ``-`` from a path across, ``+`` from something in series.
    """
    cable = expert.case.cable
    time = values(expert.read("pulse_echo", first, second, sign=sign))
    if time is None:
        return ()
    (ns,) = time
    speed = round(float(cable.pulse_velocity_m_per_s) * 1e-9, 4)
    lead = float(cable.cold_lead_m)
    mistakes = (
        Mistake(
            "Not halved: the pulse goes there and back",
            Sum(
                "not halved",
                "x = v t − c",
                f"{sums.told(speed)} × {sums.told(ns)} − {sums.told(lead)}",
                speed * ns - lead,
                "m",
            ),
        ),
        Mistake(
            "The cold lead forgotten",
            Sum(
                "no cold lead",
                "x = v t / 2",
                f"{sums.told(speed)} × {sums.told(ns)} / 2",
                speed * ns / 2,
                "m",
            ),
        ),
    )
    across = "a path across" if sign == "-" else "something in series, such as a break"
    why = f"Pulse echo: the first echo of this sign comes from {across}."
    return (Method("pulse echo", why, sums.echo(ns, cable), half_m(expert, "echo_time"), mistakes),)
