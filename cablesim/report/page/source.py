"""All that a page is made from: the answer, and what the other commands say of it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace

from cablesim.errors import InputError
from cablesim.locate.budget import Budget, Declined
from cablesim.report.answer import Answer, beside
from cablesim.report.camera import CameraAnswer, camera_answer
from cablesim.report.floor import FloorAnswer, floor_of_estimate
from cablesim.report.repair import RepairAnswer, repair_answer
from cablesim.scenario.scenario import Scenario

__all__ = ["PageSource", "page_source"]


@dataclass(frozen=True, slots=True)
class PageSource:
    """What a page shows.

    Parameters
    ----------
    scenario
        The file's content.
    answer
        What its readings say.
    budget
        What the uncertainty of the place is made of; None where there is no place.
    floor
        The place on the floor; None where the file does not say where the cable lies.
    camera
        Whether a thermal camera sees the damage; None where nothing is broken.
    repair
        What the meters must show after it; None where there is nothing to mend or to judge.
    name
        The file's name, without folders.
    sha256
        Of the file's bytes, in hexadecimal digits.
    """

    scenario: Scenario
    answer: Answer
    budget: Budget | Declined | None
    floor: FloorAnswer | None
    camera: CameraAnswer | None
    repair: RepairAnswer | None
    name: str
    sha256: str

    @property
    def title(self) -> str:
        """The scenario's title, or the name of its file."""
        return self.scenario.title or self.name


def page_source(scenario: Scenario, answer: Answer, name: str, data: bytes) -> PageSource:
    """Work out all that a page shows.

    Parameters
    ----------
    scenario
        The file's content.
    answer
        What its readings say.
    name
        The file's name, without folders.
    data
        The file's bytes, for their SHA-256.
    """
    estimate = answer.estimate
    # What stands in the file as the truth marks the answer, and is used for nothing else.
    unknown = replace(scenario, faults=())
    budget = beside(unknown, estimate, budget=True).budget if estimate.faults else None
    floor = floor_of_estimate(unknown, estimate) if scenario.plan is not None else None
    try:
        repair = repair_answer(unknown, estimate=estimate)
    except InputError:  # nothing is broken, and nothing was read after a repair
        repair = None
    return PageSource(
        scenario,
        answer,
        budget,
        floor,
        camera_answer(unknown, estimate),
        repair,
        name,
        hashlib.sha256(data).hexdigest(),
    )
