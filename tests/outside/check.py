"""A check against something outside the product: how far apart, and how far apart is allowed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from math import ceil, isnan

_share = 1 / 3


@dataclass(frozen=True)
class Outcome:
    """What one check found."""

    cases: int
    largest: float  # largest relative deviation
    at: str = ""  # where, for the one who has to look into it


@dataclass(frozen=True)
class Check:
    """One row of the table: what is compared with what, by which measure."""

    what: str
    against: str
    source: str
    allowed: float
    why: str  # the reason for what is allowed
    run: Callable[[], Outcome]

    @property
    def name(self) -> str:
        return self.run.__name__


def some(count: int) -> int:
    """How many random cases of so many are taken: the tests take a third, the written page all."""
    return ceil(count * _share)


@contextmanager
def every_case() -> Iterator[None]:
    """Let checks take all their random cases."""
    global _share
    before, _share = _share, 1.0
    try:
        yield
    finally:
        _share = before


def check(what: str, *, against: str, source: str, allowed: float, why: str):
    """Make a check of a function that returns its outcome."""

    def make(run: Callable[[], Outcome]) -> Check:
        return Check(what, against, source, allowed, why, run)

    return make


class Worst:
    """The largest deviation so far, and where it was."""

    def __init__(self) -> None:
        self.cases, self.largest, self.at = 0, 0.0, ""

    def add(self, deviation: float, at: object = "") -> None:
        self.cases += 1
        # What is not a number is worst of all, and stays so.
        if deviation > self.largest or (isnan(deviation) and not isnan(self.largest)):
            self.largest, self.at = float(deviation), str(at)

    def outcome(self) -> Outcome:
        return Outcome(self.cases, self.largest, self.at)
