"""Records of the calibration check in groups: what was placed, held, ranked, and how far off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from validation.calibration import Record
from validation.calibration_cases import CABLES
from validation.calibration_measures import LEVELS, rms

from cablesim.locate.limits import NORMAL_95

# A class of cases counts against the bound where that is at most this share of the cable; where
# `locate` calls the place found, where the 95 % interval of the bound is.
_PLACED_BY_BOUND = 0.1
_FEWEST = 8
_LOST: tuple[bool, ...] = (False,) * len(LEVELS)


def placed(records: Sequence[Record]) -> list[Record]:
    """Cases with something to be placed."""
    return [record for record in records if record.places]


def held(records: Sequence[Record], name: str = "held") -> list[Sequence[bool]]:
    """Whether intervals hold; where the truth was ruled out none does."""
    return [getattr(record, name) or _LOST for record in records]


def ranks(records: Sequence[Record], name: str = "rank") -> list[float]:
    return [getattr(r, name) for r in records if getattr(r, name) is not None]


def kind_of(record: Record) -> str:
    return "several, two places" if record.places == 2 else record.kind


@dataclass(frozen=True)
class Efficiency:
    """Errors of a class of cases beside their bounds."""

    name: str
    n: int
    error_m: float  # RMS
    bound_m: float  # RMS
    ratio_spread: float
    median: float  # of the error over its own bound


def efficiency(records: Sequence[Record], *, located: bool = False) -> list[Efficiency]:
    """By kind and construction, where the bound places the damage.

    Parameters
    ----------
    records
        All cases.
    located
        Those only that `locate` itself calls placed, among all hypotheses. Else what is broken is
        known, and an answer may lie open over half of the cable.
    """
    groups: dict[str, list[tuple[float, float]]] = {}
    for r in records:
        error_m = r.error_m if located else r.known_error_m
        if error_m is None or r.bound_m is None or (located and not r.placed):
            continue
        width_m = r.bound_m * (2 * NORMAL_95 if located else 1.0)
        if width_m > _PLACED_BY_BOUND * float(CABLES[r.cable].heated_length_m):
            continue
        for name in (f"{r.kind}, {r.cable.split()[0]}", "all"):
            groups.setdefault(name, []).append((error_m, r.bound_m))
    rows = []
    for name in sorted(groups, key=lambda name: (name == "all", name)):
        error, least = np.abs(np.array(groups[name])).T
        if len(error) < _FEWEST:
            continue
        spread = np.std(error**2) / np.mean(error**2) / len(error) ** 0.5 / 2
        ratio = rms(list(error)) / rms(list(least))
        rows.append(
            Efficiency(
                name,
                len(error),
                rms(list(error)),
                rms(list(least)),
                float(ratio * spread),
                float(np.median(error / least)),
            )
        )
    return rows


def classical(records: Sequence[Record]) -> list[tuple[str, int, float, float, float, float]]:
    """Formula, n, RMS error of it and of locate, median error of both [m]."""
    rows = []
    for name in sorted({r.classical for r in records if r.classical}):
        group = [r for r in records if r.classical == name and r.classical_error_m is not None]
        group = [r for r in group if r.known_error_m is not None]
        if len(group) < _FEWEST:
            continue
        theirs = np.abs([r.classical_error_m or 0.0 for r in group])
        ours = np.abs([r.known_error_m or 0.0 for r in group])
        medians = float(np.median(theirs)), float(np.median(ours))
        rows.append((name, len(group), rms(list(theirs)), rms(list(ours)), *medians))
    return rows
