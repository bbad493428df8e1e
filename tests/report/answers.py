"""Answers of every shape, made from drawn places: what tables and figures must cope with."""

from dataclasses import replace

import numpy as np

from cablesim import Break, Cable, Degraded, Short
from cablesim.locate.estimate import Alternative, Estimate, FaultEstimate, NextReading
from cablesim.locate.summary import density_of, intervals_of
from cablesim.report.answer import Answer
from cablesim.report.marking import mark

TWIN = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
SINGLE = Cable.rated("single", heated_length_m=55.0, loop_resistance_ohm=60.0)
OPEN = Cable.rated(
    "twin", heated_length_m=100.0, loop_resistance_ohm=88.2, far_end="open", cold_lead_m=0.5
)
SHORT = {"kind": "short", "between": ("core1", "braid"), "conductors": None}
BREAK = {"kind": "break", "between": None, "conductors": ("core1",)}
JOINT = {"kind": "joint", "between": None, "conductors": ("core2",)}
LEAK = {"kind": "degraded", "between": ("core1", "core2"), "conductors": None}


def spots(*places, sigma=0.1, count=4000):
    """Draw places around each of some spots [m]."""
    rng = np.random.default_rng(4)
    return np.concatenate([rng.normal(place, sigma, count) for place in places])


def fault(places, kind=SHORT, ohm=54.8):
    found = intervals_of(places, np.ones(len(places)), 0.95)
    return FaultEstimate(
        **kind,
        position_m=found.position_m,
        interval_m=found.interval_m,
        intervals_m=found.intervals_m,
        resistance_ohm=ohm,
    )


def answer(places, kind=SHORT, *, cable=TWIN, title="A floor", truth=(), **changes):
    estimate = Estimate(
        verdict=kind["kind"],
        probability=0.97,
        locatable=True,
        reason="",
        faults=(fault(places, kind),),
        level=0.95,
        alternatives=(),
        next_reading=None,
        cautions=("Mind the step.",),
        density=density_of(places, np.ones(len(places))),
    )
    estimate = replace(estimate, **changes)
    return Answer(cable, estimate, title, mark(estimate, truth))


def healthy():
    return answer(
        spots(9.0), verdict="healthy", faults=(), density=None, locatable=False, title="A good one"
    )


def undecided():
    wide = fault(np.linspace(1.0, 29.0, 4000), BREAK, None)
    others = [("short", 0.3, (fault(spots(20.0)),)), ("break", 0.2, (wide,))]
    others += [("several", 0.1, (wide, fault(spots(3.0)))), ("joint", 0.02, (wide,))]
    return answer(
        spots(11.0, sigma=0.5),
        verdict="undecided",
        locatable=False,
        reason="the readings do not decide between short (60 %) and break (20 %)",
        alternatives=tuple(Alternative(*other) for other in others),
        next_reading=NextReading("pocket_meter", ("core2", "braid"), "would tell them apart"),
    )


def double_damage():
    found = fault(spots(11.0), BREAK, None)
    beside = replace(fault(spots(11.0)), position_m=found.position_m)
    truth = (Break(("core1",), 11.2), Short(("core1", "braid"), 11.2, 1.0))
    return answer(spots(11.0), BREAK, truth=truth, verdict="several", faults=(found, beside))


def two_places():
    open_one = fault(np.linspace(2.0, 28.0, 4000), LEAK)
    other = Alternative("several", 0.3, (fault(spots(5.0)), fault(spots(21.0))))
    truth = (Short(("core1", "braid"), 11.2, 1.0), Short(("core2", "braid"), 25.0, 1.0))
    return answer(
        spots(11.0),
        truth=truth,
        verdict="several",
        faults=(fault(spots(11.0)), open_one),
        locatable=False,
        reason="25 m are open",
        alternatives=(other,),
    )


def contradiction():
    return answer(
        spots(9.0),
        verdict="undecided",
        faults=(),
        density=None,
        probability=0.0,
        locatable=False,
        reason="no single fault explains these readings; reading 2 fits least",
        conflict="no single fault explains these readings; reading 2 fits least",
        truth=(Short(("core1", "braid"), 5.0, 1.0), Short(("core2", "braid"), 25.0, 1.0)),
    )


SHAPES = {
    "narrow": lambda: answer(
        spots(12.41, sigma=0.0125), truth=(Short(("core1", "braid"), 12.4, 55.0),)
    ),
    "wide": lambda: answer(np.linspace(4.0, 26.0, 4000), locatable=False, reason="22 m are open"),
    "two": lambda: answer(spots(3.0, 22.0)),
    "three": lambda: answer(spots(3.0, 14.0, 28.0)),
    "four": lambda: answer(spots(3.0, 10.0, 17.0, 28.0)),
    "missed": lambda: answer(spots(12.4), truth=(Short(("core1", "braid"), 19.0, 55.0),)),
    "in the cold lead": lambda: answer(spots(-1.2)),
    "about the cold joint": lambda: answer(
        np.linspace(-1.9, 0.5, 4000), truth=(Short(("core1", "braid"), -1.3, 55.0),)
    ),
    "at the terminals": lambda: answer(-2.5 + np.abs(spots(0.0, sigma=0.05))),
    "at the far end": lambda: answer(30.0 - np.abs(spots(0.0, sigma=0.05))),
    "in the far cold lead": lambda: answer(spots(56.1), BREAK, cable=SINGLE),
    "leak": lambda: answer(
        spots(11.0), LEAK, cable=OPEN, truth=(Degraded(("core1", "core2"), 10.0, 12.0, 1e6),)
    ),
    "joint": lambda: answer(spots(11.0), JOINT),
    "long title": lambda: answer(spots(11.0), title="Kitchen, ünder the $x$ 床 [b] " * 7),
    "no title": lambda: answer(spots(11.0), title=""),
    "healthy": healthy,
    "undecided": undecided,
    "double damage": double_damage,
    "two places": two_places,
    "contradiction": contradiction,
}  # fmt: skip
