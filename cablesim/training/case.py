"""A case: what the trainee is given, and the key to it, as two scenario files.

``NAME.toml`` says what a label, a bag and a customer say; ``NAME.key.toml`` says besides what is
broken, how the true cable differs from its label, and from which seed all chance of its bench
comes. The key names its trainee's file by the hash of its bytes.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path

from cablesim.cable.cable import Cable
from cablesim.cable.faults import Fault
from cablesim.errors import InputError, ScenarioError, in_file
from cablesim.scenario.practice import Deviation, PracticeKey
from cablesim.scenario.reading import load_scenario
from cablesim.scenario.scenario import Scenario
from cablesim.scenario.toml_text import MOST_BYTES
from cablesim.scenario.writing import dump_scenario, save_scenario

__all__ = ["KEY_SUFFIX", "SUFFIX", "Case", "load_case", "save_case", "sha256_of"]

SUFFIX = ".toml"
KEY_SUFFIX = ".key.toml"
_NAME = r"[A-Za-z0-9][A-Za-z0-9_-]{0,79}"


@dataclass(frozen=True, slots=True)
class Case:
    """A case to practise on.

    Parameters
    ----------
    name
        As its files are named.
    scenario
        The trainer's: with the faults and the key, without readings.

    Raises
    ------
    InputError
        If the name cannot be that of a file, if there is no key, or if the key belongs to another
        trainee's file.

    Examples
    --------
    >>> from cablesim.cable.faults import Short
    >>> from cablesim.scenario.practice import Practice
    >>> cable = Cable.rated("twin", heated_length_m=30.0, loop_resistance_ohm=88.2)
    >>> told = Scenario.of(cable, title="A bathroom", practice=Practice("It trips at once."))
    >>> short = Short(("core1", "braid"), 12.4, 55.0)
    >>> case = Case.of("bath", told, [short], level=1, seed=7, true=Deviation(core=1.02))
    >>> case.trainee.faults, case.trainee.practice.key
    ((), None)
    >>> round(case.true_cable.loop_resistance_ohm, 3)
    89.964
    """

    name: str
    scenario: Scenario

    def __post_init__(self) -> None:
        if not re.fullmatch(_NAME, self.name):
            raise InputError(
                "the name of the case", self.name, "letters, digits, - and _, at most 80 of them"
            )
        practice = self.scenario.practice
        if practice is None or practice.key is None:
            raise InputError(
                "this is no key: [practice.key] is missing",
                try_this=f"name the trainer's file, which ends in {KEY_SUFFIX}",
            )
        if self.scenario.entries or self.scenario.after_repair:
            raise InputError("a case has no readings", try_this="leave every [[reading]] out")
        if self.key.trainee_sha256 != sha256_of(self.trainee_text):
            raise InputError(
                "the key does not belong to the cable, meters, floor and story that it states",
                try_this="take the two files as they were made",
            )

    @classmethod
    def of(
        cls,
        name: str,
        told: Scenario,
        faults: Iterable[Fault],
        *,
        level: int,
        seed: int,
        true: Deviation | None = None,
        locatable: bool = True,
        half_width_m: float | None = None,
        readings_needed: int | None = None,
        plausible: int = 1,
    ) -> Case:
        """Make a case from what the trainee is told and what is hidden.

        Parameters
        ----------
        name
            As its files will be named.
        told
            The trainee's scenario, with its story.
        faults
            What is broken.
        level, seed, true, locatable, half_width_m, readings_needed, plausible
            As in `cablesim.scenario.practice.PracticeKey`.
        """
        if told.practice is None:
            raise InputError("practice", None, "a story", "give the scenario a Practice")
        told = replace(told, faults=(), practice=replace(told.practice, key=None))
        key = PracticeKey(
            level=level,
            seed=seed,
            trainee_sha256=sha256_of(dump_scenario(told)),
            locatable=locatable,
            half_width_m=half_width_m,
            readings_needed=readings_needed,
            plausible=plausible,
            true=true or Deviation(),
        )
        assert told.practice is not None  # set above
        practice = replace(told.practice, key=key)
        return cls(name, replace(told, faults=tuple(faults), practice=practice))

    @property
    def key(self) -> PracticeKey:
        """How it was made."""
        assert self.scenario.practice is not None and self.scenario.practice.key is not None
        return self.scenario.practice.key

    @property
    def trainee(self) -> Scenario:
        """What the trainee is given."""
        assert self.scenario.practice is not None  # checked when made
        return replace(self.scenario, faults=(), practice=replace(self.scenario.practice, key=None))

    @property
    def trainee_text(self) -> str:
        """The trainee's file."""
        return dump_scenario(self.trainee)

    @property
    def cable(self) -> Cable:
        """The cable as its label says."""
        return self.scenario.cable

    @property
    def true_cable(self) -> Cable:
        """The cable as it is."""
        return self.key.true.of(self.scenario.cable)

    @property
    def faults(self) -> tuple[Fault, ...]:
        """What is broken."""
        return self.scenario.faults

    @property
    def story(self) -> str:
        """What the customer says."""
        assert self.scenario.practice is not None  # checked when made
        return self.scenario.practice.story

    @property
    def covered(self) -> bool:
        """Whether the covering is closed over the cable."""
        assert self.scenario.practice is not None  # checked when made
        return self.scenario.practice.covered


def sha256_of(text: str | bytes) -> str:
    """SHA-256 in hexadecimal.

    Parameters
    ----------
    text
        What a file holds; text as UTF-8.
    """
    return hashlib.sha256(text.encode() if isinstance(text, str) else text).hexdigest()


def save_case(
    case: Case, folder: str | os.PathLike[str], *, force: bool = False
) -> tuple[Path, Path]:
    """Write both files of a case.

    Parameters
    ----------
    case
        The case.
    folder
        Where to; must be there.
    force
        Whether files of these names may be replaced.

    Returns
    -------
    tuple of Path
        The trainee's file and the key.

    Raises
    ------
    InputError
        If one of them exists and `force` is not set (then neither is written), or if they cannot
        be written.
    """
    told, key = (Path(folder) / f"{case.name}{end}" for end in (SUFFIX, KEY_SUFFIX))
    for path in (told, key):
        if path.exists() and not force:
            raise InputError(
                f"{path} exists already", try_this="name another folder, or add --force"
            )
    save_scenario(case.scenario, key, force=force)
    save_scenario(case.trainee, told, force=force)
    return told, key


def load_case(path: str | os.PathLike[str]) -> Case:
    """Read a case by its key.

    Parameters
    ----------
    path
        The trainer's file, ``NAME.key.toml``. Where the trainee's file lies beside it, it is
        checked too.

    Raises
    ------
    ScenarioError
        If the file cannot be read, is no key, or its trainee's file has been changed.
    """
    name = os.fspath(path)
    scenario = load_scenario(name)
    base = Path(name).name
    stem = base.removesuffix(KEY_SUFFIX) if base.endswith(KEY_SUFFIX) else Path(name).stem
    with in_file(name):
        case = Case(stem, scenario)
    beside = Path(name).with_name(stem + SUFFIX)
    if base.endswith(KEY_SUFFIX) and beside.is_file():
        with open(beside, "rb") as file:
            data = file.read(MOST_BYTES + 1)
        if sha256_of(data) != case.key.trainee_sha256:
            raise ScenarioError(
                "this is not the file that the key was made for",
                try_this="take the two files as they were made",
                file=os.fspath(beside),
            )
    return case
