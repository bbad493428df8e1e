"""What makes a scenario a case to practise on: its story, and in the key how it was made."""

from __future__ import annotations

import re
from dataclasses import astuple, dataclass, field, fields, replace

from cablesim.cable.cable import Cable
from cablesim.cable.numbers import require
from cablesim.errors import InputError

__all__ = ["LEVELS", "MOST_SEED", "Deviation", "Practice", "PracticeKey"]

LEVELS = (1, 2, 3, 4, 5)
# JSON numbers keep whole numbers up to here in every program.
MOST_SEED = 2**53 - 1


@dataclass(frozen=True, slots=True)
class Deviation:
    """The true cable, each value as a multiple of what its label says.

    Parameters
    ----------
    core
        Of the resistance of what heats.
    braid
        Of the resistance of the braid.
    insulation
        Of the healthy insulation resistance.
    capacitance_core_braid, capacitance_core_core
        Of the two capacitances per metre.
    velocity
        Of the speed of pulses.
    """

    core: float = 1.0
    braid: float = 1.0
    insulation: float = 1.0
    capacitance_core_braid: float = 1.0
    capacitance_core_core: float = 1.0
    velocity: float = 1.0

    def __post_init__(self) -> None:
        for part in fields(self):
            require(part.name, getattr(self, part.name), above=0.0, at_most=1e6)

    def of(self, label: Cable) -> Cable:
        """The true cable behind a label.

        Parameters
        ----------
        label
            The cable as rated.
        """
        core_braid = label.capacitance_core_braid_pf_per_m * self.capacitance_core_braid
        core_core = label.capacitance_core_core_pf_per_m * self.capacitance_core_core
        return replace(
            label.with_core_factor(self.core),
            braid_ohm_per_m=label.braid_ohm_per_m * self.braid,
            insulation_gigaohm_m=label.insulation_gigaohm_m * self.insulation,
            capacitance_core_braid_pf_per_m=core_braid,
            capacitance_core_core_pf_per_m=core_core,
            velocity_factor=label.velocity_factor * self.velocity,
        )


@dataclass(frozen=True, slots=True)
class PracticeKey:
    """What the trainer's file says beside the faults.

    Parameters
    ----------
    level
        How hard the case is, from 1 to 5; see ``docs/practice.md``.
    seed
        Of all chance on the bench: gains, leads and counts of the meters, unsteady faults.
    trainee_sha256
        Of the bytes of the trainee's file, in hexadecimal.
    locatable
        Whether the bag can place the damage; else the right answer is to say that it cannot.
    half_width_m
        Half of the narrowest 95 % interval that the bag allows [m]; None where it is open.
    readings_needed
        Least number of readings that place the damage nearly as well; None where none do.
    plausible
        Hypotheses that stay plausible after the ohm readings.
    true
        The true cable.
    """

    level: int
    seed: int
    trainee_sha256: str
    locatable: bool = True
    half_width_m: float | None = None
    readings_needed: int | None = None
    plausible: int = 1
    true: Deviation = field(default_factory=Deviation)

    def __post_init__(self) -> None:
        if self.level not in LEVELS:
            raise InputError("level", self.level, "from 1 to 5")
        if not 0 <= self.seed <= MOST_SEED:
            raise InputError("seed", self.seed, f"from 0 to {MOST_SEED}")
        if not re.fullmatch("[0-9a-f]{64}", self.trainee_sha256):
            raise InputError(
                "trainee_sha256", self.trainee_sha256, "64 hexadecimal digits, in lower case"
            )
        if self.half_width_m is not None:
            require("half_width_m", self.half_width_m, above=0.0)
        if self.readings_needed is not None and self.readings_needed < 1:
            raise InputError("readings_needed", self.readings_needed, "at least 1")
        if self.plausible < 1:
            raise InputError("plausible", self.plausible, "at least 1")


@dataclass(frozen=True, slots=True)
class Practice:
    """What a case tells, and in the trainer's file what it hides.

    Parameters
    ----------
    story
        What the customer says, on the phone and at the door.
    covered
        Whether the covering is closed over the cable.
    key
        In the trainer's file only.
    """

    story: str = ""
    covered: bool = True
    key: PracticeKey | None = None

    def __hash__(self) -> int:
        return hash((self.story, self.covered, None if self.key is None else astuple(self.key)[:3]))
